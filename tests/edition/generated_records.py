"""Records of all kinds made by chance, and how an editor would write them down as YAML.

`written` is the inverse of reading: plain text for the main language, the short notation for
fingerings, nothing for what is left out.
"""

from __future__ import annotations

import string
from datetime import date
from enum import Enum
from fractions import Fraction
from typing import Any

from hypothesis import strategies as st
from pydantic import BaseModel

from pipeline.edition.fingers import THUMB, Finger, Fingering
from pipeline.edition.kinds_of_difference import KINDS, Change
from pipeline.edition.places import Place, PlaceEnd
from pipeline.edition.records import (
    Bowing,
    BowingAlternative,
    Certainty,
    Citation,
    EditorialRecord,
    Emendation,
    Evidence,
    FingeringAlternative,
    FingeringRecord,
    FirstEvidence,
    Letter,
    Music,
    Ossia,
    Purpose,
    Reading,
    Remark,
    Status,
    Tradition,
    Variant,
)
from pipeline.edition.strict import MAIN_LANGUAGE

# Anything that can be typed and printed: no control characters, no lone halves of characters.
_CHARACTERS = st.characters(
    exclude_categories=["Cc", "Cs", "Cn", "Co", "Zl", "Zp"], exclude_characters="\ufeff"
)
texts = (
    st.one_of(
        st.text(_CHARACTERS, min_size=1, max_size=30),
        st.sampled_from(["no", "null", "~", "1", "2025-03-02", "4.", "0x1F", "true", "- a", "# b"]),
        st.sampled_from(
            ["a: b", "'", '"', "[A", "{", "*a", "&a", "!a", "%a", "@a", "`a`", ">", "|"]
        ),
    )
    .map(str.strip)
    # libyaml, a YAML 1.1 parser, asks for quotes around an entry of a bracket that begins so.
    .filter(lambda text: text and text[0] not in ":?")
)
_FIRST = st.sampled_from(string.ascii_letters)
_REST = st.text(string.ascii_letters + string.digits + "._-", max_size=8)
ids = st.builds(str.__add__, _FIRST, _REST)
sigla = st.sampled_from(["A", "E1", "[D]", "no", "1", "B*"])
numbers = st.integers(1, 999)
beats = st.one_of(
    st.integers(1, 12).map(Fraction),
    st.fractions(1, 12, max_denominator=48),
)
prose = st.one_of(
    texts.map(lambda text: {MAIN_LANGUAGE: text}),
    st.dictionaries(st.sampled_from(["en", "de", "pt-BR", "no"]), texts, min_size=1),
)
optional_prose = st.one_of(st.just({}), prose)


def some(strategy: st.SearchStrategy[Any], at_least: int = 0) -> st.SearchStrategy[tuple[Any, ...]]:
    return st.lists(strategy, min_size=at_least, max_size=3).map(tuple)


def places() -> st.SearchStrategy[Place]:
    where = st.one_of(
        st.just({}), beats.map(lambda beat: {"beat": beat}), numbers.map(lambda n: {"note": n})
    )
    bars = st.one_of(numbers.map(str), st.sampled_from(["14a", "X1", "0"]))
    ends = st.builds(lambda bar, how: PlaceEnd(bar=bar, **how), bars, where)
    staves = st.one_of(st.none(), st.integers(1, 9), st.sampled_from(["violin", "no"]))
    return st.builds(
        lambda movement, bar, staff, how, to: Place(
            movement=movement, bar=bar, staff=staff, to=to, **how
        ),
        st.integers(1, 9),
        bars,
        staves,
        where,
        st.one_of(st.none(), ends),
    )


_DIGITS = st.sampled_from(["0", "1", "2", "3", "4", "7", THUMB])
fingers = st.builds(
    Finger,
    digit=_DIGITS,
    string=st.sampled_from(["", "G", "D", "A", "E", "I", "II", "III", "IV"]),
    natural=st.booleans(),
    touched=st.sampled_from(["", "3", "4", THUMB]),
)
runs = some(st.builds(Fingering, fingers=some(fingers)), 1)

evidence = st.builds(
    Evidence,
    witnesses=some(sigla),
    literature=some(st.builds(Citation, cite=texts, at=st.one_of(st.just(""), texts))),
    letters=some(st.builds(Letter, sender=texts, recipient=texts, says=prose)),
)
music = st.one_of(texts.map(lambda t: Music(file=t)), texts.map(lambda t: Music(derive=t)))
variants = some(
    st.builds(
        Variant,
        witnesses=some(sigla, 1),
        music=st.one_of(st.none(), music),
        says=optional_prose,
        hand=st.one_of(st.none(), ids),
    ),
    1,
)
_NAMED: dict[str, Any] = {
    "by": st.one_of(st.none(), ids),
    "speaks_for": optional_prose,
    "speaks_against": optional_prose,
}


def alternatives(model: type[BaseModel], **fields: Any) -> st.SearchStrategy[tuple[Any, ...]]:
    one = st.builds(model, name=texts, **_NAMED, **fields)
    return st.lists(one, min_size=1, max_size=3, unique_by=lambda made: made.name).map(tuple)


_COMMON: dict[str, Any] = {
    "id": ids,
    "place": places(),
    "by": ids,
    "date": st.dates(date(1990, 1, 1), date(2100, 1, 1)),
    "status": st.sampled_from(Status),
    "superseded_by": st.one_of(st.none(), ids),
    "evidence": evidence,
    "certainty": st.one_of(st.none(), st.sampled_from(Certainty)),
    "reason": prose,
}


def _made(model: type[EditorialRecord], kind: str, **fields: Any) -> st.SearchStrategy[Any]:
    return st.builds(model, kind=st.just(kind), **_COMMON, **fields)


_KINDS_AND_CHANGES = st.one_of(
    st.sampled_from(KINDS),
    st.tuples(st.sampled_from(KINDS), st.sampled_from(Change)).map(" ".join),
)
_THROUGHOUT = some(_KINDS_AND_CHANGES, 1)

_ALL_KINDS: st.SearchStrategy[EditorialRecord] = st.one_of(
    _made(Reading, "reading", lemma=some(sigla, 1), readings=variants),
    _made(Reading, "reading", lemma=some(sigla, 1), readings=variants, throughout=_THROUGHOUT),
    _made(Emendation, "emendation", readings=variants),
    _made(Emendation, "emendation", readings=variants, throughout=_THROUGHOUT),
    _made(
        FingeringRecord,
        "fingering",
        purpose=some(st.sampled_from(Purpose), 1),
        composer_fingering=st.sampled_from(["none", "kept", "changed", "left out"]),
        alternatives=alternatives(FingeringAlternative, fingers=runs),
        printed=some(texts),
    ),
    _made(
        Bowing,
        "bowing",
        alternatives=alternatives(
            BowingAlternative,
            circumstance=optional_prose,
            divide_after=some(numbers),
            join=st.booleans(),
            signs=st.dictionaries(numbers, st.sampled_from(["down", "up"]), max_size=3),
        ),
        printed=some(texts),
    ),
    _made(Ossia, "ossia", music=music, label=optional_prose),
    _made(
        Tradition,
        "tradition",
        music=music,
        label=optional_prose,
        origin=optional_prose,
        first_evidence=st.one_of(st.none(), st.builds(FirstEvidence, says=prose)),
        played_by=some(ids),
        note=optional_prose,
    ),
    _made(Remark, "remark"),
)


records = st.deferred(lambda: _ALL_KINDS)
"""Deferred, for a failing example would otherwise be printed with the whole strategy."""


def written(value: Any) -> Any:
    """Return a record, or any part of it, as the dicts, lists and texts an editor would write."""
    if isinstance(value, Fingering):
        return _entry(value)
    if isinstance(value, BaseModel):
        given = {key: getattr(value, key) for key in type(value).model_fields}
        return {key: written(one) for key, one in given.items() if one not in (None, "", {}, ())}
    if isinstance(value, dict):
        if set(value) == {MAIN_LANGUAGE}:
            return value[MAIN_LANGUAGE]
        return {key: written(one) for key, one in value.items()}
    if isinstance(value, tuple):
        return [written(one) for one in value]
    if isinstance(value, Fraction):
        whole, rest = divmod(value, 1)
        return f"{whole} {rest}" if rest else int(whole)
    if isinstance(value, Enum):
        return value.value
    return value.isoformat() if isinstance(value, date) else value


def _entry(entry: Fingering) -> Any:
    if not entry.fingers:
        return "none"
    said = [_said(finger) for finger in entry.fingers]
    return said[0] if len(said) == 1 else said


def _said(finger: Finger) -> str:
    natural = "touch " if finger.natural else ""
    touched = f" touch {finger.touched}" if finger.touched else ""
    string_name = f" on {finger.string}" if finger.string else ""
    return f"{natural}{finger.digit}{touched}{string_name}"
