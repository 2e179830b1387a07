"""What a bowing asks of the bow: four slurred notes, two single ones, two slurred ones.

Gehrkens (*Essentials in Conducting*, 1919): a slur is one bow, no slur a stroke for each tone. The
rest is common practice, no source.
"""

from __future__ import annotations

import pytest

from pipeline.score.model import MarkingKind, Passage
from tests.checks.asking import asked, record
from tests.collation.letters import music, sign, slur
from tests.collation.small_edition import HEAD

TEXT = music(
    "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 4:B5 4:C6 | 4:C5 4:D5 4:r 4:F5",
    slur("0:0", "0:3"), slur("1:2", "1:3"), slur("2:0", "2:3"),
)  # fmt: skip
SIGNED = music(
    "4:C5 4:D5 4:E5 4:F5 | 4:G5'dnbow 4:A5 2:B5 | 2:D5 2:E5",
    slur("0:0", "0:3"), slur("1:0", "1:1"),
)  # fmt: skip
GRACED = music("4:C5 g8:E5 4:D5 4:E5 4:F5", slur("0:0", "0:3"))
PLUCKED = music("4:C5 4:D5 2:E5", sign(MarkingKind.WORDS, "0:1", content="pizz."))
TEMPO = HEAD.replace("movement-1.mei}", "movement-1.mei, tempo: {beat: 4, per_minute: %s}}")


def bowing(place: str, *alternatives: str) -> str:
    listed = ", ".join(f"{{name: way {n + 1}, {a}}}" for n, a in enumerate(alternatives))
    return record("bowing", "b1", place, f"alternatives: [{listed}]")


TWO = "bar: 1, to: {bar: 2}"
PARTED = [
    "7:66 error bow-signs-against-division: movement 1, bar 1: down bow at note 3, e″, does not "
    "follow from down bow at note 1, c″: by the division of the slur it is up bow > Correct "
    "the sign, or change where the slur is divided."
]

CASES: list[tuple[str, Passage, str, list[str]]] = [
    ("bow-signs-against-division", TEXT,
     bowing("bar: 1", "divide_after: 2, signs: {1: down, 3: down}"), PARTED),
    ("bow-signs-against-division", TEXT,
     bowing("bar: 1", "divide_after: 2, signs: {1: down, 3: up}"), []),
    ("bow-signs-against-division", TEXT,
     bowing("bar: 3", "divide_after: 2, signs: {1: down, 3: down}"), []),  # a rest is between
    ("bow-signs-against-division", TEXT,
     bowing("bar: 1", "divide_after: 2, signs: {1: down, 3: down}", "opposite: true"), PARTED),
    ("bow-sign-within-a-stroke", TEXT,
     bowing("bar: 1", "signs: {1: down, 3: up}"),
     ["7:49 error bow-sign-within-a-stroke: movement 1, bar 1: the up bow at note 3, e″, stands "
      "within a stroke, which began with note 1 > If the bow changes there, add 2 to "
      "`divide_after`; if not, move the sign to note 1."]),
    ("bow-sign-within-a-stroke", TEXT,
     bowing(TWO, "join: true, signs: {1: down, 5: up}"),
     ["7:61 error bow-sign-within-a-stroke: movement 1, bars 1 to 2: the up bow at note 5, g″, "
      "stands within a stroke, which began with note 1 > If the bow changes there, remove `join`; "
      "if not, move the sign to note 1."]),
    ("bow-sign-within-a-stroke", TEXT,
     bowing("bar: 1, note: 2, to: {note: 4}", "signs: {1: down}"),
     ["7:40 error bow-sign-within-a-stroke: movement 1, bar 1, note 2 to note 4: the down bow at "
      "note 1, d″, stands within a stroke, which began with a note before the place > If the bow "
      "changes there, let the place begin earlier and divide the slur; if not, remove the sign."]),
    ("bow-sign-within-a-stroke", TEXT,
     bowing(TWO, "divide_after: 2, signs: {1: down, 3: up, 5: down, 7: down}"), []),
    ("bow-signs-without-retake", TEXT,
     bowing(TWO, "signs: {1: down, 5: down}"),
     ["7:49 warning bow-signs-without-retake: movement 1, bars 1 to 2: down bow at note 5, g″, "
      "does not follow from down bow at note 1, c″: by the strokes between it is up bow, and no "
      "rest lets the bow be taken back > Correct one of the signs, divide or join a stroke between "
      "them, or leave it if the bow is to be lifted."]),
    ("bow-signs-without-retake", TEXT,
     bowing(TWO, "divide_after: 2, signs: {1: down, 5: down}"), []),
    ("bow-signs-without-retake", TEXT, bowing("bar: 2", "signs: {1: down, 2: down}"), []),
    ("bow-signs-without-retake", TEXT,
     bowing("bar: 2, to: {bar: 3}", "divide_after: 6, signs: {5: down, 7: down}"), []),
    ("bow-changes-within-a-note", GRACED,
     bowing("bar: 1", "divide_after: [1, 2]"),
     ["7:50 error bow-changes-within-a-note: movement 1, bar 1: the bow cannot change between note "
      "2, e″, and note 3, d″: they are taken in one movement of the bow > Let it change before the "
      "grace note, or where the held note ends."]),
    ("bow-changes-within-a-note", GRACED, bowing("bar: 1", "divide_after: [1, 3]"), []),
    ("bow-sign-at-plucked-note", PLUCKED,
     bowing("bar: 1", "signs: {1: down, 2: up}"),
     ["7:49 error bow-sign-at-plucked-note: movement 1, bar 1: the up bow stands at note 2, d″, "
      "which is plucked > Remove the sign, or correct the place."]),
    ("bow-sign-at-plucked-note", PLUCKED, bowing("bar: 1", "signs: {1: down}"), []),
    ("bow-signs-beside-the-text", SIGNED,
     bowing("bar: 1", "signs: {1: down}"),
     ["7:18 warning bow-signs-beside-the-text: movement 1, bar 1: `way 1` ends with down bow, and "
      "the stroke after it is down bow, by the sign of the text > Divide or join a stroke, or "
      "leave it if the bow is to be lifted."]),
    ("bow-signs-beside-the-text", SIGNED,
     bowing("bar: 2, note: 3", "signs: {1: down}"),
     ["7:18 warning bow-signs-beside-the-text: movement 1, bar 2, note 3: `way 1` begins with down "
      "bow, and so does the stroke before it, by the sign of the text > Divide or join a stroke, "
      "or leave it if the bow is to be lifted."]),
    ("bow-signs-beside-the-text", SIGNED, bowing("bar: 1", "signs: {1: up}"), []),
    ("bow-signs-beside-the-text", SIGNED,
     bowing("bar: 1", "divide_after: 2, signs: {1: down}"), []),
    ("bow-signs-beside-the-text", SIGNED, bowing("bar: 2, note: 3", "signs: {1: up}"), []),
]  # fmt: skip


@pytest.mark.parametrize(("code", "text", "records", "expected"), CASES)
def test_the_bow(code: str, text: Passage, records: str, expected: list[str]) -> None:
    assert asked(code, records, {}, text=text) == expected


@pytest.mark.parametrize(
    ("per_minute", "expected"),
    [
        (10, ["7:18 warning stroke-longer-than-bow: movement 1, bar 1: `way 1`: the stroke from c″ "
              "to f″ lasts 24.0 seconds at the tempo given; drawn most slowly, the bow lasts 16.0 "
              "> Divide it, or correct the tempo in edition.yaml."]),
        (15, []),
        (60, []),
    ],
)  # fmt: skip
def test_a_bow_does_not_last_for_ever(per_minute: int, expected: list[str]) -> None:
    """640 mm of hair at 40 mm a second: settings, from memory (instruments.yaml)."""
    records = bowing("bar: 1", "signs: {1: down}", "divide_after: 2, signs: {1: down}")
    head = TEMPO % per_minute
    assert asked("stroke-longer-than-bow", records, {}, text=TEXT, head=head) == expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ("{bar: 4, beat: 4, per_minute: 60}",
         ["edition.yaml:15:73 error tempo-change-at-no-bar: movement 1: there is no bar 4 for the "
          "change of tempo: it has bars 1 to 3 > Write the printed number of the bar from which "
          "the tempo holds."]),
        ("{bar: 3, beat: 4, per_minute: 60}", []),
    ],
)  # fmt: skip
def test_a_tempo_changes_at_a_bar(changes: str, expected: list[str]) -> None:
    head = HEAD.replace("movement-1.mei}", f"movement-1.mei, tempo_changes: [{changes}]}}")
    assert asked("tempo-change-at-no-bar", "", {}, text=TEXT, head=head) == expected


@pytest.mark.parametrize(
    ("movement", "expected"),
    [
        ("tempo: {beat: 4, per_minute: 60}",
         ["edition.yaml:15:56 warning tempo-without-figure: movement 1: the strokes of `b1` are "
          "reckoned at an earlier tempo: no figure is given for “Più mosso” at bar 2 > Add it: "
          "`tempo_changes: [{bar: 2, beat: 4, per_minute: …}]`."]),
        ("tempo: {beat: 4, per_minute: 60}, tempo_changes: [{bar: 2, beat: 4, per_minute: 80}]",
         []),
        ("tempo: {beat: 4, per_minute: 60}, tempo_changes: [{bar: 3, beat: 4, per_minute: 80}]",
         ["edition.yaml:15:56 warning tempo-without-figure: movement 1: the strokes of `b1` are "
          "reckoned at an earlier tempo: no figure is given for “Più mosso” at bar 2 > Add it: "
          "`tempo_changes: [{bar: 2, beat: 4, per_minute: …}]`."]),
        ("", []),  # no tempo, no seconds
    ],
)  # fmt: skip
def test_a_tempo_word_has_a_figure(movement: str, expected: list[str]) -> None:
    text = music("1:C5 | 2:D5 2:E5 | 1:F5", slur("1:0", "1:2"),
                 sign(MarkingKind.TEMPO, "0:0", content="Allegro"),
                 sign(MarkingKind.TEMPO, "1:0", content="Più mosso"))  # fmt: skip
    head = HEAD.replace("movement-1.mei}", f"movement-1.mei, {movement}}}")
    records = bowing("bar: 2", "signs: {1: down}")
    assert asked("tempo-without-figure", records, {}, text=text, head=head) == expected
    assert asked("tempo-without-figure", bowing("bar: 1", "signs: {1: down}"), {}, text=text,
                 head=head) == []  # fmt: skip
