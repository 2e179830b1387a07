"""What several witnesses have, as one remark: "A, E: …; S: …", what they share said once.

E is the score that the solo part S belongs to.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markupsafe import Markup

from pipeline.score.model import Passage
from pipeline.typeset.commentary import commentary_view
from pipeline.typeset.findings import findings
from tests.collation.letters import dynamic, music, slur
from tests.collation.small_edition import small_edition
from tests.typeset.small_commentary import HEAD

NOTES = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5"
TEXT = music(NOTES)
B_FOR_D = music(NOTES.replace("D5", "B4"))
F_FOR_D = music(NOTES.replace("D5", "F5"))
WITH_SCORE = HEAD.replace("copied_from: E,", "copied_from: E, part_of: E,")


def stated(
    witnesses: dict[str, Passage],
    readings: str,
    lemma: str = "L",
    language: str = "en",
    head: str = HEAD,
    more: str = "",
    text: Passage = TEXT,
    place: str = "{movement: 1, bar: 1}",
) -> str:
    """Return what a remark states of its witnesses, as it is printed."""
    records = (
        f"- id: r\n  kind: reading\n  place: {place}\n  by: editor\n  date: 2026-03-01\n"
        f"  lemma: {lemma}\n  readings: {readings}\n  reason: {{en: x, de: y}}\n{more}"
    )
    material, problems = small_edition(records, witnesses, text=text, head=head)
    assert problems == ()
    view = commentary_view(
        material.edition, material.score, material.decisions, {}, {}, language, False
    )
    ((remark,),) = (movement.remarks for movement in view.movements)
    return " ".join(s.striptags() for s in remark.statements).replace("\u00a0", " ")


SHORTER = music(NOTES.replace("4:D5 4:E5", "4.:B4 8:E5"))
OTHER_VALUES = music(NOTES.replace("4:D5 4:E5 4:F5", "4:B4 4.:E5 8:F5"))
LONG_SHORT, EVEN = "\U0001d15f\U0001d16d \U0001d160", "\U0001d15f \U0001d15f"

TOGETHER = [
    (
        {"A": B_FOR_D, "E": TEXT, "S": B_FOR_D}, "[{witnesses: [A, S]}]",
        "A, S: b′ instead of d″ (note 2).",
        "A, S: h¹ statt d² (Note 2).",
    ),
    (
        {"A": B_FOR_D, "E": B_FOR_D, "S": F_FOR_D}, "[{witnesses: [A, E, S]}]",
        "A, E: b′ instead of d″ (note 2). S: f″ instead of d″ (note 2).",
        "A, E: h¹ statt d² (Note 2). S: f² statt d² (Note 2).",
    ),
    (  # in the order in which the editor names them, whatever the readings have in common
        {"A": B_FOR_D, "E": F_FOR_D, "S": B_FOR_D}, "[{witnesses: E}, {witnesses: [A, S]}]",
        "E: f″ instead of d″ (note 2). A, S: b′ instead of d″ (note 2).",
        "E: f² statt d² (Note 2). A, S: h¹ statt d² (Note 2).",
    ),
    (  # two entries of the record, and one and the same reading
        {"A": B_FOR_D, "E": TEXT, "S": B_FOR_D}, "[{witnesses: A}, {witnesses: S}]",
        "A, S: b′ instead of d″ (note 2).",
        "A, S: h¹ statt d² (Note 2).",
    ),
]  # fmt: skip

IN_PART = [
    (
        {"A": B_FOR_D, "E": TEXT, "S": SHORTER}, "[{witnesses: [A, S]}]",
        f"A, S: b′ instead of d″ (note 2). S besides: {LONG_SHORT} instead of {EVEN} (notes 2–3).",
        f"A, S: h¹ statt d² (Note 2). S außerdem: {LONG_SHORT} statt {EVEN} (Noten 2–3).",
    ),
    (
        {"A": B_FOR_D, "E": TEXT, "S": OTHER_VALUES}, "[{witnesses: [A, S]}]",
        f"A, S: b′ instead of d″ (note 2). S besides: {LONG_SHORT} instead of {EVEN} (notes 3–4).",
        f"A, S: h¹ statt d² (Note 2). S außerdem: {LONG_SHORT} statt {EVEN} (Noten 3–4).",
    ),
    (  # the one who has more is named first: what is shared still comes first
        {"A": SHORTER, "E": TEXT, "S": B_FOR_D}, "[{witnesses: [A, S]}]",
        f"A, S: b′ instead of d″ (note 2). A besides: {LONG_SHORT} instead of {EVEN} (notes 2–3).",
        f"A, S: h¹ statt d² (Note 2). A außerdem: {LONG_SHORT} statt {EVEN} (Noten 2–3).",
    ),
    (
        {"A": music(NOTES.replace("D5", "B4"), dynamic("0:0", "p")), "E": TEXT,
         "S": music(NOTES.replace("D5", "B4"), slur("0:0", "0:2"))}, "[{witnesses: [A, S]}]",
        "A, S: b′ instead of d″ (note 2). A besides: with p. S besides: with slur (notes 1–3).",
        "A, S: h¹ statt d² (Note 2). A außerdem: zusätzlich p. "
        "S außerdem: zusätzlich Bogen (Noten 1–3).",
    ),
    (  # of E nothing was said before
        {"A": music(NOTES.replace("D5", "B4"), dynamic("0:0", "p")),
         "E": music(NOTES, slur("0:0", "0:2")),
         "S": music(NOTES.replace("D5", "B4"), slur("0:0", "0:2"))}, "[{witnesses: [A, E, S]}]",
        "A, S: b′ instead of d″ (note 2). A besides: with p. E, S: with slur (notes 1–3).",
        "A, S: h¹ statt d² (Note 2). A außerdem: zusätzlich p. E, S: zusätzlich Bogen (Noten 1–3).",
    ),
    (  # a later hand is not the witness, and has nothing in common with it
        {"A": B_FOR_D, "E": B_FOR_D, "S": TEXT},
        "[{witnesses: [A, E]}, {witnesses: [S, E], hand: pupil, says: {en: a tie, de: Bogen}}]",
        "A, E: b′ instead of d″ (note 2). S, E (Tora Lind): a tie.",
        "A, E: h¹ statt d² (Note 2). S, E (Tora Lind): Bogen.",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("witnesses", "readings", "english", "german"), [*TOGETHER, *IN_PART])
def test_what_witnesses_share_is_said_once(
    witnesses: dict[str, Passage], readings: str, english: str, german: str
) -> None:
    assert stated(witnesses, readings) == f"{english} Text as in L."
    assert stated(witnesses, readings, language="de") == f"{german} Text nach L."


PHRASES = st.sets(st.sampled_from("uvwxyz"), min_size=1).map(
    lambda some: tuple(Markup(one) for one in sorted(some))
)
SAID = st.lists(
    st.tuples(st.tuples(st.sampled_from("AESLPD"), st.sampled_from([None, "hand"])), PHRASES),
    min_size=1,
    unique_by=lambda one: one[0],
)


@given(SAID)
def test_nothing_is_lost_and_nothing_said_twice(
    said: list[tuple[tuple[str, str | None], tuple[Markup, ...]]],
) -> None:
    found = findings(said)
    told = [(source, phrase) for one in found for source in one.sources for phrase in one.phrases]
    assert sorted(told, key=str) == sorted(
        ((source, phrase) for source, phrases in said for phrase in phrases), key=str
    )


@given(SAID)
def test_besides_only_after_something_was_said_of_each(
    said: list[tuple[tuple[str, str | None], tuple[Markup, ...]]],
) -> None:
    before: set[tuple[str, str | None]] = set()
    for one in findings(said):
        assert one.besides == (set(one.sources) <= before)
        before |= set(one.sources)


PART = [
    ({"A": TEXT, "E": TEXT, "S": B_FOR_D}, "[{witnesses: S}]", "[A, E]",
     "the text follows the score", "der Text folgt der Partitur"),
    ({"A": TEXT, "E": B_FOR_D, "S": TEXT}, "[{witnesses: E}]", "[A, S]",
     "the text follows the part", "der Text folgt der Stimme"),
    ({"A": TEXT, "E": F_FOR_D, "S": B_FOR_D}, "[{witnesses: [E, S]}]", "A",
     "the text follows neither", "der Text folgt keiner von beiden"),
    ({"A": TEXT, "E": F_FOR_D, "S": music(NOTES.replace("D5", "B4"), dynamic("0:0", "p"))},
     "[{witnesses: [E, S]}]", "A", "the text follows the score, though not in everything",
     "der Text folgt der Partitur, doch nicht in allem"),
    ({"A": TEXT, "E": music(NOTES.replace("D5", "B4"), dynamic("0:0", "p")), "S": F_FOR_D},
     "[{witnesses: [E, S]}]", "A", "the text follows the part, though not in everything",
     "der Text folgt der Stimme, doch nicht in allem"),
    ({"A": TEXT, "E": music(NOTES, dynamic("0:0", "p")), "S": B_FOR_D}, "[{witnesses: [E, S]}]",
     "A", "the text follows now the one, now the other",
     "der Text folgt teils der einen, teils der anderen"),
]  # fmt: skip


@pytest.mark.parametrize(("witnesses", "readings", "lemma", "english", "german"), PART)
def test_a_part_that_contradicts_its_score(
    witnesses: dict[str, Passage], readings: str, lemma: str, english: str, german: str
) -> None:
    said = stated(witnesses, readings, lemma, head=WITH_SCORE)
    assert said.endswith(f". The part S contradicts its score E; {english}.")
    said = stated(witnesses, readings, lemma, "de", head=WITH_SCORE)
    assert said.endswith(f". Die Stimme S widerspricht ihrer Partitur E; {german}.")


def test_a_part_that_agrees_with_its_score_is_not_spoken_of() -> None:
    same = {"A": TEXT, "E": B_FOR_D, "S": B_FOR_D}
    assert "contradicts" not in stated(same, "[{witnesses: [E, S]}]", "A", head=WITH_SCORE)
