"""A value that has changed, in words: every key has a name, long things are cut to what differs."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

from pipeline.edition.changes import Turn, changed_head, changed_records
from pipeline.edition.head import Agent, EditionHead, Witness
from pipeline.edition.records import RECORD_OF_KIND
from pipeline.edition.shape import nested_models
from pipeline.typeset.change_words import ChangeWords, excerpts
from pipeline.typeset.wording import languages, wording_of
from tests.collation.small_edition import HEAD, edition_of


def models(root: type[BaseModel]) -> Iterator[type[BaseModel]]:
    yield root
    for _, model in nested_models(root):
        yield from models(model)


@pytest.mark.parametrize("language", languages())
def test_every_key_of_a_record_and_of_edition_yaml_has_a_name(language: str) -> None:
    named = wording_of(language).names("changes.fields")
    roots: list[type[BaseModel]] = [*RECORD_OF_KIND.values(), EditionHead, Agent, Witness]
    keys = {key for root in roots for model in models(root) for key in model.model_fields}
    assert keys - set(named) == set()
    assert set(named) - keys == {"order", "notes"}, "what has no key of its own"


@pytest.mark.parametrize("language", languages())
def test_whatever_can_become_of_a_record_has_a_word(language: str) -> None:
    assert {turn.value for turn in Turn} <= set(wording_of(language).names("changes.turns"))


COMMON = "  place: {movement: 1, bar: 1}\n  by: editor\n  date: 2026-03-01\n  reason: because\n"
HAND = (
    f"- id: x\n  kind: fingering\n{COMMON}"
    "  alternatives: [{name: low, fingers: '1, 2, 3, 4'}, {name: high, fingers: '1, 1, 1, 1'}]\n"
)
BOW = (
    f"- id: x\n  kind: bowing\n{COMMON}"
    "  alternatives: [{name: two, divide_after: 2, signs: {1: down, 3: up}}]\n"
)
READ = (
    f"- id: x\n  kind: reading\n{COMMON}  lemma: A\n"
    "  readings: [{witnesses: [E], says: no slur}]\n"
)


def told(old: str, new: str, head: str = HEAD, later: str = HEAD) -> list[tuple[str, str, str]]:
    before, after = edition_of(old, head), edition_of(new, later)
    words = ChangeWords(wording_of("en"), (before.head, after.head))
    fields = [f for change in changed_records(before, after) for f in change.fields]
    said = [words.told(field) for field in (*fields, *changed_head(before, after))]
    return [(one.label.striptags(), one.was.striptags(), one.now.striptags()) for one in said]


@pytest.mark.parametrize(
    ("record", "written", "instead", "said"),
    [
        (HAND, "'1, 2, 3, 4'", "'1, 2, 3 on A, 4'",
         ("“low”, fingers, note 3", "3", "3 on A")),
        (HAND, "'1, 2, 3, 4'", "'1, open, [1, 3], 4'",
         ("“low”, fingers, notes 2–3", "2, 3", "0, [1, 3]")),
        (HAND, "'1, 2, 3, 4'", "'1, 2, 3, 4, 4'",
         ("“low”, fingers", "…, 2, 3, 4", "…, 2, 3, 4, 4")),
        (HAND, ", {name: high, fingers: '1, 1, 1, 1'}", "",
         ("“high”", "fingers: 1, 1, 1, 1", "")),
        (HAND, "bar: 1}", "bar: 1, note: 2, to: {note: 3}}",
         ("place", "bar 1", "bar 1, notes 2–3")),
        (HAND, "movement: 1, bar: 1}", "movement: 2, bar: 1, to: {bar: 3}}",
         ("place", "movement 1, bar 1", "movement 2, bars 1–3")),
        (HAND, "by: editor", "by: school",
         ("responsible", "Ilse Brand", "The Veldt school")),
        (HAND, "2026-03-01", "2026-03-02",
         ("date", "1 March 2026", "2 March 2026")),
        (BOW, "3: up", "3: down",
         ("“two”, bow sign at note 3", "up bow", "down bow")),
        (BOW, "divide_after: 2", "divide_after: 3",
         ("“two”, slur divided after note", "2", "3")),
        (READ, "says: no slur", "says: a slur",
         ("reading of E, what it says", "no slur", "a slur")),
        (READ, "lemma: A", "lemma: [A, S]",
         ("sources of the text", "A", "A, S")),
        (READ, "lemma: A", "certainty: high\n  lemma: A",
         ("certainty", "", "high")),
    ],
)  # fmt: skip
def test_a_changed_value_is_told_as_a_musician_writes_it(
    record: str, written: str, instead: str, said: tuple[str, str, str]
) -> None:
    changed = record.replace(written, instead)
    assert changed != record
    expected = tuple(part.replace(" ", "\u00a0") for part in said)
    found = [tuple(p.replace(" ", "\u00a0") for p in one) for one in told(record, changed)]
    assert found == [expected]


def test_edition_yaml_is_told_by_person_source_and_movement() -> None:
    later = HEAD.replace("name: Ilse Brand,", "name: Ilse Brandt, years: 1970,").replace(
        "- {n: 1, title: Allegro,", "- {n: 1, tempo: {beat: 4, per_minute: 96}, title: Allegro,"
    )
    assert told("", "", HEAD, later) == [
        ("agent editor, name", "Ilse Brand", "Ilse Brandt"),
        ("agent editor, years", "", "1970"),
        ("movement 1, tempo", "", "beat: 4; beats a minute: 96"),
    ]


def test_prose_names_its_language_where_there_are_several() -> None:
    two = HEAD.replace("languages: en", "languages: [en, de]")
    changed = HAND.replace("reason: because", "reason: {en: therefore, de: darum}")
    assert told(HAND, changed, two, two) == [
        ("reason (en)", "because", "therefore"),
        ("reason (de)", "", "darum"),
    ]


def test_of_a_long_text_only_what_differs_is_shown() -> None:
    old = "The slur of the autograph goes on to the {} bar on the new line"
    sides = [old.format(word).split() for word in ("next", "last")]
    assert excerpts(*sides, " ") == (
        "… on to the next bar on the …",
        "… on to the last bar on the …",
    )


@given(st.lists(st.sampled_from("abc")), st.lists(st.sampled_from("abc")))
def test_what_is_cut_away_is_the_same_on_both_sides(one: list[str], other: list[str]) -> None:
    shown = [side.split() for side in excerpts(one, other, " ")]
    middles = [[word for word in side if word != "…"] for side in shown]
    assert [side.count("…") for side in shown] == [shown[0].count("…")] * 2
    cut = len(one) - len(middles[0])
    assert len(other) - len(middles[1]) == cut
    assert any(
        one == [*one[:n], *middles[0], *one[len(one) - cut + n :]]
        and other == [*one[:n], *middles[1], *one[len(one) - cut + n :]]
        for n in range(cut + 1)
    )
