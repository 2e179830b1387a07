"""Rules about the whole edition: languages, sources, people, movements."""

from __future__ import annotations

from dataclasses import replace

import pytest

from pipeline.edition.model import Text
from pipeline.problems import Origin
from tests.checks.asking import asked, record
from tests.collation.letters import music
from tests.collation.small_edition import HEAD

REMARK = record("remark", "r1", "bar: 1")
TWO_LANGUAGES = HEAD.replace("languages: en", "languages: [en, de]")


def test_a_text_that_is_missing_in_one_language() -> None:
    records = REMARK.replace("reason: because", "reason: {en: because}")
    told = [
        one for one in asked("missing-translation", records, head=TWO_LANGUAGES) if one[0] == "6"
    ]
    assert told == [
        "6:3 error missing-translation: movement 1, bar 1: `reason` is missing in de > Write "
        "`reason` with one text for each language: `en:`, `de:`."
    ]


def test_prose_deep_inside_a_record_and_in_the_head() -> None:
    letter = "evidence: {letters: [{sender: a, recipient: b, says: {de: gut}}]}"
    told = asked("missing-translation", record("remark", "r1", "bar: 1", letter))
    assert told == [
        "7:50 error missing-translation: movement 1, bar 1: `evidence.letters.says` is missing in "
        "en > Write `says` with one text for each language: `en:`."
    ]
    told = asked("missing-translation", "", head=TWO_LANGUAGES)
    assert told[0] == (
        "edition.yaml:1:1 error missing-translation: `title` is missing in de > Write `title` with "
        "one text for each language: `en:`, `de:`."
    )
    assert "`witnesses.A.title` is missing in de" in told[2]
    assert not any("agents" in one for one in told)  # a person is called the same everywhere


def test_texts_in_every_language_are_not_told() -> None:
    records = REMARK.replace("reason: because", "reason: {en: because, de: weil}")
    assert [one for one in asked("missing-translation", records, head=TWO_LANGUAGES)
            if not one.startswith("edition.yaml")] == []  # fmt: skip
    assert asked("missing-translation", REMARK) == []


def test_a_superseded_record_needs_no_translation() -> None:
    records = record("remark", "r1", "bar: 1", "status: superseded").replace(
        "reason: because", "reason: {de: weil}"
    )
    assert asked("missing-translation", records) == []


def test_a_language_that_the_edition_does_not_have() -> None:
    records = REMARK.replace("reason: because", "reason: {en: because, eng: because}")
    texts = (Text("preface", "fr", "", Origin("texts/preface.fr.md")),)
    assert asked("unknown-language", records, texts=texts) == [
        "6:25 warning unknown-language: movement 1, bar 1: `eng` is not a language of this edition "
        "> Did you mean `en`?",
        "texts/preface.fr.md:1:1 warning unknown-language: `fr` is not a language of this edition "
        "> Languages are `en`.",
    ]
    assert asked("unknown-language", REMARK) == []


def test_a_preface_that_is_missing_in_one_language() -> None:
    english = Text("preface", "en", "", Origin("texts/preface.en.md"))
    german = Text("preface", "de", "", Origin("texts/preface.de.md"))
    assert asked("missing-text", "", head=TWO_LANGUAGES, texts=(english,)) == [
        "texts/preface.en.md:1:1 error missing-text: the text `preface` is missing in de > "
        "Add `texts/preface.de.md`."
    ]
    assert asked("missing-text", "", head=TWO_LANGUAGES, texts=(english, german)) == []


HEADS = [
    (
        "stemma-circle",
        ("{kind: autograph, title: Autograph score,",
         "{kind: autograph, title: Autograph score, copied_from: [S, L],"),
        ["edition.yaml:10:48 error stemma-circle: A is copied from L, which is copied from A > "
         "Remove one `copied_from`: a source is later than what it was copied from.",
         "edition.yaml:10:48 error stemma-circle: A is copied from S, which is copied from E, "
         "which is copied from A > Remove one `copied_from`: a source is later than what it was "
         "copied from."],
    ),
    (
        "stemma-circle",
        ("copied_from: E", "copied_from: S"),
        ["edition.yaml:12:45 error stemma-circle: S is said to be copied from itself > Remove one "
         "`copied_from`: a source is later than what it was copied from."],
    ),
    ("stemma-circle", ("copied_from: E", "copied_from: [A, E, L]"), []),
    (
        "part-of-no-score",
        ("copied_from: E", "part_of: S"),
        ["edition.yaml:12:45 error part-of-no-score: S is said to be a part of itself > Write the "
         "siglum of the score that it was issued or written out with, or remove `part_of`."],
    ),
    (
        "part-of-no-score",
        ("title: Lost copy,", "title: Lost copy, part_of: S,"),
        ["edition.yaml:13:37 error part-of-no-score: L is said to be a part of S, which is a "
         "printed part > Write the siglum of the score that it was issued or written out with, or "
         "remove `part_of`."],
    ),
    (
        "part-of-no-score",
        ("copied_from: E, encodings: {1: S.mei}}\n  L: {kind: copy,",
         "part_of: L, encodings: {1: S.mei}}\n  L: {kind: copy, part_of: S,"),
        ["edition.yaml:12:45 error part-of-no-score: S is said to be a part of L, which is itself "
         "a part of S > Write the siglum of the score that it was issued or written out with, or "
         "remove `part_of`.",
         "edition.yaml:13:19 error part-of-no-score: L is said to be a part of S, which is itself "
         "a part of L > Write the siglum of the score that it was issued or written out with, or "
         "remove `part_of`."],
    ),
    ("part-of-no-score", ("copied_from: E", "copied_from: E, part_of: E"), []),
    (
        "unknown-siglum",
        ("copied_from: E", "part_of: F"),
        ["edition.yaml:12:45 error unknown-siglum: `F` is not the siglum of a witness > Witnesses "
         "are `A`, `E`, `S` and `L`."],
    ),
    (
        "principal-witness",
        ("principal: true", "principal: false"),
        ["edition.yaml:9:1 error principal-witness: no witness is the principal source > Write "
         "`principal: true` at the witness that the text follows."],
    ),
    (
        "principal-witness",
        ("{kind: copy,", "{principal: true, kind: copy,"),
        ["edition.yaml:13:7 error principal-witness: `A` and `L` are each called the principal "
         "source > Leave `principal: true` at one of them."],
    ),
    ("principal-witness", ("", ""), []),
    (
        "witness-unused",
        ("", ""),
        ["edition.yaml:13:3 warning witness-unused: the witness L is used nowhere > Name it in a "
         "record, or remove it."],
    ),
    ("witness-unused", ("copied_from: E", "copied_from: [E, L]"), []),
    (
        "agents-of-one-name",
        ("The Veldt school", "ilse  Brand"),
        ["edition.yaml:8:12 error agents-of-one-name: `editor` and `school` are both called ilse  "
         "Brand > Use one agent for one person; tell namesakes apart by their names."],
    ),
    ("agents-of-one-name", ("", ""), []),
    (
        "agent-unused",
        ("", ""),
        ["edition.yaml:8:3 warning agent-unused: `school` is responsible for nothing in this "
         "edition > Name it in a record or at a witness, or remove it."],
    ),
    ("agent-unused", ("title: Solo part,", "title: Solo part, by: school,"), []),
    (
        "movement-twice",
        ("movements:\n", "movements:\n  - {n: 1, title: Lento, base: l.mei}\n"),
        ["edition.yaml:16:6 error movement-twice: a movement 1 was given before > Give each "
         "movement a number of its own."],
    ),
    ("movement-twice", ("movements:\n", "movements:\n  - {n: 2, title: Lento, base: l.mei}\n"), []),
    (
        "unknown-instrument",
        ("instrument: violin", "instrument: violn"),
        ["edition.yaml:4:22 error unknown-instrument: the strings of `violn` are not known > Did "
         "you mean `violin`?"],
    ),
    ("unknown-instrument", ("instrument: violin", "instrument: double bass"), []),
    (
        "edited-staff-missing",
        ("edited_staff: {n: 1,", "edited_staff: {n: 3,"),
        ["edition.yaml:4:16 error edited-staff-missing: movement 1: movement 1 has no staff 3; its "
         "staves are 1 > Write the number of the staff that the edition is about."],
    ),
    ("edited-staff-missing", ("", ""), []),
]  # fmt: skip


@pytest.mark.parametrize(("code", "change", "expected"), HEADS)
def test_heads(code: str, change: tuple[str, str], expected: list[str]) -> None:
    head = HEAD.replace(*change) if change[0] else HEAD
    records = "" if "staff" in code else REMARK
    assert asked(code, records, {}, head=head) == expected


def test_two_bars_of_one_number() -> None:
    text = music("1:C5 | 1:D5 | 1:E5", numbers="1 2 2")
    assert asked("duplicate-bar-number", "", {}, text=text) == [
        "edition.yaml:15:28 error duplicate-bar-number: movement 1, bar 2: two bars are numbered "
        "2: the 2nd and the 3rd bar of `score/movement-1.mei` > Number the second one apart in "
        'that file, such as n="2a".'
    ]
    assert asked("duplicate-bar-number", "", {}) == []


def test_a_bar_without_a_number() -> None:
    text = music("1:C5 | 1:D5 | 1:E5", numbers="1 2 3")
    unnumbered = replace(text, bars=(text.bars[0], *(replace(bar, n="") for bar in text.bars[1:])))
    assert asked("bar-without-number", "", {}, text=unnumbered) == [
        "edition.yaml:15:28 warning bar-without-number: movement 1: 2 bars, the first of them the "
        "2nd bar, of `score/movement-1.mei` have no number > Number the bars in that file with `n`."
    ]
    assert asked("bar-without-number", "", {}) == []


def test_a_bar_that_holds_more_than_its_meter() -> None:
    text = music("1:C5 | 2:D5 4:E5 2:F5 | 1:E5")
    assert asked("bar-too-long", "", {}, text=text) == [
        "edition.yaml:15:28 warning bar-too-long: movement 1, bar 2: bar 2 holds 5 quarter notes; "
        "its meter is for 4 > Mend the note values of that bar in `score/movement-1.mei`."
    ]
    upbeat = music("4:C5 | 1:D5", numbers="0 1")
    assert asked("bar-too-long", "", {}, text=upbeat) == []
