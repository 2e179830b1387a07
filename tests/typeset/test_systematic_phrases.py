"""What a witness has otherwise throughout, in one summary: how often, and in which bars."""

from __future__ import annotations

import pytest

from pipeline.engrave.examples import example_wanted
from pipeline.score.model import Marking, MarkingKind, Passage
from tests.collation.letters import dynamic, hairpin, music, sign, slur
from tests.collation.small_edition import small_edition
from tests.typeset.small_commentary import HEAD
from tests.typeset.test_findings import stated

BARS = 12
DIGITS = [sign(MarkingKind.FINGERING, f"{bar}:0", content="1") for bar in range(BARS)]
SLURS = [slur(f"{bar}:0", f"{bar}:3") for bar in range(BARS)]


def drawn(*markings: Marking, bar: str = "4:C5 4:D5 4:E5 4:F5", others: str = "") -> Passage:
    """Return twelve bars alike, those in `others` (such as "2: 1:C5, 4: 1:D5") otherwise."""
    bars = [bar] * BARS
    for one in filter(None, others.split(", ")):
        number, _, notes = one.partition(": ")
        bars[int(number) - 1] = notes
    return music(" | ".join(bars), *markings)


def without(signs: list[Marking], *bars: int) -> list[Marking]:
    """Return signs without those of some bars, counted from 1."""
    return [one for one in signs if one.start.bar + 1 not in bars]


def summed_up(
    text: Passage,
    throughout: str,
    readings: str = "[{witnesses: E}]",
    language: str = "en",
    more: str = "",
    **witnesses: Passage,
) -> str:
    return stated(
        witnesses,
        readings,
        language=language,
        text=text,
        place="{movement: 1, bar: 1, to: {bar: 12}}",
        more=f"  throughout: {throughout}\n{more}",
    )


DOTS = "4:C5'stacc 4:D5'stacc 4:E5 4:F5"

CASES = [
    # All that the text has of a kind is lacking.
    (drawn(*DIGITS), drawn(), "fingering",
     "without fingerings throughout (12 places: bars 1–12)",
     "durchweg ohne Fingersätze (12 Stellen: Takt 1–12)"),
    (drawn(*without(DIGITS, 2, 3)), drawn(), "fingering missing",
     "without fingerings throughout (10 places: bars 1 and 4–12)",
     "durchweg ohne Fingersätze (10 Stellen: Takt 1 und 4–12)"),
    (drawn(bar=DOTS), drawn(), "articulation",
     "without staccato dots throughout (24 places: bars 1–12)",
     "durchweg ohne Staccatopunkte (24 Stellen: Takt 1–12)"),
    # Some of it is.
    (drawn(*DIGITS), drawn(*without(DIGITS, 3, 5, 6, 7, 10)), "fingering",
     "fingerings lacking (5 places: bars 3, 5–7 and 10)",
     "Fingersätze fehlen (5 Stellen: Takt 3, 5–7 und 10)"),
    (drawn(*DIGITS), drawn(*without(DIGITS, 3)), "fingering",
     "fingerings lacking (1 place: bar 3)",
     "Fingersätze fehlen (1 Stelle: Takt 3)"),
    # Nothing is lacking throughout where the witness has a sign that the text has not.
    (drawn(*DIGITS[1:]), drawn(DIGITS[0]), "fingering missing",
     "fingerings lacking (11 places: bars 2–12)",
     "Fingersätze fehlen (11 Stellen: Takt 2–12)"),
    # Two digits of a chord are one place.
    (drawn(DIGITS[0], sign(MarkingKind.FINGERING, "0:0", content="3")), drawn(), "fingering",
     "without fingerings throughout (1 place: bar 1)",
     "durchweg ohne Fingersätze (1 Stelle: Takt 1)"),
    # What else may happen throughout.
    (drawn(), drawn(*without(DIGITS, 1)), "fingering",
     "additional fingerings (11 places: bars 2–12)",
     "zusätzliche Fingersätze (11 Stellen: Takt 2–12)"),
    (drawn(*DIGITS), drawn(*DIGITS[:2], *(sign(MarkingKind.FINGERING, f"{bar}:0", content="2")
                                          for bar in range(2, BARS))), "fingering",
     "other fingerings (10 places: bars 3–12)",
     "andere Fingersätze (10 Stellen: Takt 3–12)"),
    (drawn(*SLURS), drawn(*without(SLURS, 4), slur("3:0", "3:1"), slur("3:2", "3:3")), "slur",
     "slurs divided (1 place: bar 4)", "Bögen geteilt (1 Stelle: Takt 4)"),
    (drawn(*SLURS), drawn(*without(SLURS, 4, 5), slur("3:0", "3:2"), slur("4:0", "4:2")), "slur",
     "slurs ending elsewhere (2 places: bars 4–5)",
     "Bögen mit anderem Ende (2 Stellen: Takt 4–5)"),
    (drawn(*SLURS), drawn(*without(SLURS, 4, 5), slur("3:1", "3:3"), slur("4:1", "4:3")), "slur",
     "slurs beginning elsewhere (2 places: bars 4–5)",
     "Bögen mit anderem Anfang (2 Stellen: Takt 4–5)"),
    (drawn(slur("1:0", "1:1"), slur("1:2", "1:3")), drawn(slur("1:0", "1:3")), "slur joined",
     "slurs joined (1 place: bar 2)", "Bögen verbunden (1 Stelle: Takt 2)"),
    (drawn(dynamic("4:0", "p")), drawn(dynamic("4:2", "p")), "dynamic",
     "dynamics placed elsewhere (1 place: bar 5)",
     "dynamische Zeichen an anderem Ort (1 Stelle: Takt 5)"),
    (drawn(hairpin("4:0", "4:3")), drawn(), "hairpin",
     "without hairpins throughout (1 place: bar 5)", "durchweg ohne Gabeln (1 Stelle: Takt 5)"),
    (drawn(), drawn(others="4: 4:C5 4:D5 4:E5 4:G5, 9: 4:C5 4:D5 4:E5 4:G5"), "pitch",
     "other pitches (2 places: bars 4 and 9)", "andere Tonhöhen (2 Stellen: Takt 4 und 9)"),
    (drawn(), drawn(others="4: 4:C5 4:D5 2:E5, 9: 4:C5 4:D5 2:E5"), "notes missing",
     "notes lacking (2 places: bars 4 and 9)", "Noten fehlen (2 Stellen: Takt 4 und 9)"),
    (drawn(), drawn(others="4: 4:C5 8:D5 8:D5 4:E5 4:F5"), "notes added",
     "additional notes (1 place: bar 4)", "zusätzliche Noten (1 Stelle: Takt 4)"),
    # Several kinds, in the order of the kinds; a sign is named where it is always the same.
    (drawn(*DIGITS, bar=DOTS), drawn(), "[fingering, articulation]",
     "without staccato dots throughout (24 places: bars 1–12); "
     "without fingerings throughout (12 places: bars 1–12)",
     "durchweg ohne Staccatopunkte (24 Stellen: Takt 1–12); "
     "durchweg ohne Fingersätze (12 Stellen: Takt 1–12)"),
    (drawn(bar="4:C5'stacc 4:D5'acc 4:E5'dnbow 4:F5"), drawn(), "[articulation, bow sign]",
     "without articulation signs throughout (24 places: bars 1–12); "
     "without down bows throughout (12 places: bars 1–12)",
     "durchweg ohne Artikulationszeichen (24 Stellen: Takt 1–12); "
     "durchweg ohne Abstriche (12 Stellen: Takt 1–12)"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "witness", "throughout", "english", "german"), CASES)
def test_one_summary(
    text: Passage, witness: Passage, throughout: str, english: str, german: str
) -> None:
    assert summed_up(text, throughout, E=witness) == f"E: {english}. Text as in L."
    assert summed_up(text, throughout, language="de", E=witness) == f"E: {german}. Text nach L."


def test_witnesses_that_have_the_same_throughout_share_the_summary() -> None:
    text = drawn(*DIGITS, bar=DOTS)
    told = summed_up(
        text, "[fingering, articulation]", "[{witnesses: [E, S]}]", E=drawn(), S=drawn(bar=DOTS)
    )
    assert told == (
        "E, S: without fingerings throughout (12 places: bars 1–12). "
        "E besides: without staccato dots throughout (24 places: bars 1–12). Text as in L."
    )


def test_a_long_list_of_bars_is_cut_and_the_rest_counted() -> None:
    count = 60
    text = music(
        " | ".join(["1:C5"] * count),
        *(sign(MarkingKind.FINGERING, f"{bar}:0", content="1") for bar in range(0, count, 2)),
    )
    for language, expected in (
        ("en", "bars 1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21, 23, 25, 27, 29, 31, 33, 35, 37, 39, "
               "41, 43, 45, 47 and 6 more bars"),
        ("de", "Takt 1, 3, 5, 7, 9, 11, 13, 15, 17, 19, 21, 23, 25, 27, 29, 31, 33, 35, 37, 39, "
               "41, 43, 45, 47 und 6 weitere Takte"),
    ):  # fmt: skip
        told = stated(
            {"E": music(" | ".join(["1:C5"] * count))}, "[{witnesses: E}]", text=text,
            place="{movement: 1, bar: 1, to: {bar: 60}}", more="  throughout: fingering\n",
            language=language,
        )  # fmt: skip
        assert f"(30 {'places' if language == 'en' else 'Stellen'}: {expected})" in told


def test_what_a_narrower_record_tells_is_left_to_it() -> None:
    records = """\
- id: all
  kind: reading
  place: {movement: 1, bar: 1, to: {bar: 12}}
  by: editor
  date: 2026-03-01
  lemma: A
  readings: [{witnesses: E}]
  throughout: fingering
  reason: {en: x}
- id: one
  kind: reading
  place: {movement: 1, bar: 5}
  by: editor
  date: 2026-03-01
  lemma: A
  readings: [{witnesses: E}]
  reason: {en: x}
"""
    text = drawn(*DIGITS)
    material, problems = small_edition(records, {"A": text, "E": drawn()}, text=text, head=HEAD)
    assert problems == ()
    told = {
        decision.id: [len(c.differences) for c in decision.comparisons]
        for decision in material.decisions
    }
    assert told == {"all": [11], "one": [1]}
    assert [example_wanted(decision) for decision in material.decisions] == [False, True]
