"""Rules about what witnesses are said to have, held against what their encodings have."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import listed_differences, place_in_words
from pipeline.collation.comparisons import answer_to, systematic
from pipeline.collation.model import Decision, Difference, DifferenceKind
from pipeline.edition.model import Step
from pipeline.edition.quoting import listed
from pipeline.edition.records import Emendation, Reading, Record
from pipeline.score.model import Moment


def reading_repeats_the_text(material: Material) -> Iterator[Fault]:
    """A reading that has at its place just what the text has.

    The remark would tell the reader of a difference that does not exist.
    """
    for decision in material.decisions:
        for comparison in decision.comparisons:
            if comparison.differences:
                continue
            version = comparison.version
            path: tuple[Step, ...] = ("readings", comparison.variant)
            if version.origin != "encoding":
                message = f"`{version.passage.file}` has at this place what the text has"
                yield _fault(
                    decision,
                    (*path, "music"),
                    message,
                    "Correct the notes of the reading, or the place of the record.",
                )
                continue
            for siglum in version.witnesses:
                yield _fault(
                    decision,
                    _path_to(decision, comparison.variant, siglum),
                    *_nothing_otherwise(decision.filed.record, siglum),
                )


def _nothing_otherwise(record: Record, siglum: str) -> tuple[str, str]:
    """Return what was met and what to do where a witness has nothing that the record is about."""
    is_reading = isinstance(record, Reading)
    if isinstance(record, Reading | Emendation) and record.systematic:
        kinds = listed(record.throughout, "and")
        return (
            f"the encoding of {siglum} has at this place what the text has, as regards {kinds}",
            f"Correct `throughout` or the place, or move {siglum} to `lemma`."
            if is_reading
            else f"Correct `throughout` or the place; if {siglum} is right, the record is a "
            "`reading`.",
        )
    return (
        f"the encoding of {siglum} has at this place what the text has",
        f"Correct the place, or move {siglum} to `lemma`."
        if is_reading
        else f"Correct the place; if {siglum} is right, the record is a `reading`.",
    )


def witness_on_both_sides(material: Material) -> Iterator[Fault]:
    """A witness that is said to have the text and another reading too, or two readings at once.

    It can have only one of them, unless a later hand added the other.
    """
    for filed in material.edition.records:
        record = filed.record
        if not isinstance(record, Reading | Emendation):
            continue
        seen = dict.fromkeys(record.lemma if isinstance(record, Reading) else (), "`lemma`")
        for number, variant in enumerate(record.readings):
            if variant.hand is not None:
                continue
            for index, siglum in enumerate(variant.witnesses):
                if siglum in seen:
                    yield Fault(
                        filed.origins.at("readings", number, "witnesses", index),
                        f"{siglum} stands in {seen[siglum]} and here",
                        "Keep it in one of the two; for a later addition in the witness name its "
                        "`hand`.",
                        place_in_words(record.place),
                    )
                seen.setdefault(siglum, f"reading {number + 1}")


def lemma_witness_differs(material: Material) -> Iterator[Fault]:
    """A witness in `lemma` whose encoding differs from the text in what the readings are about.

    The text would be printed on the authority of a source that does not have it.
    """
    for decision, index, siglum in _lemma_witnesses(material):
        spoken_of = _spoken_of(decision)
        different = material.unread[decision.id].get(siglum, ())
        found = [
            d
            for d in different
            if (d.kind, d.start) in spoken_of
            and not (systematic(decision) and _answered(d, siglum, decision, material))
        ]
        if found:
            yield _fault(
                decision,
                ("lemma", index),
                f"the encoding of {siglum} does not have the text here: "
                + _listed(found, decision, material),
                f"Move {siglum} to `readings`.",
            )


def lemma_witness_differs_besides(material: Material) -> Iterator[Fault]:
    """A witness in `lemma` whose encoding differs at this place in what no record speaks of.

    The reader takes the source for one that has just what is printed.
    """
    for decision, index, siglum in _lemma_witnesses(material):
        spoken_of = _spoken_of(decision)
        different = material.unread[decision.id].get(siglum, ())
        found = [
            d
            for d in different
            if (d.kind, d.start) not in spoken_of and not _answered(d, siglum, decision, material)
        ]
        if found:
            yield _fault(
                decision,
                ("lemma", index),
                f"the encoding of {siglum} differs from the text here: "
                + _listed(found, decision, material),
                f"Move {siglum} to `readings`, or narrow the place to what is meant.",
            )


def reading_leaves_a_witness_out(material: Material) -> Iterator[Fault]:
    """A witness whose encoding has the place, but that the reading names nowhere.

    The reader cannot tell from the remark what that source has. One whose differences here are told
    by a record on what it has otherwise throughout may be left out.
    """
    for decision in material.decisions:
        record = decision.filed.record
        if not isinstance(record, Reading):
            continue
        named = {*record.lemma, *(s for variant in record.readings for s in variant.witnesses)}
        for siglum, found in material.unread[decision.id].items():
            if siglum in named or _told_throughout(found, siglum, decision, material):
                continue
            has = (
                f"it differs from the text: {_listed(found, decision, material)}"
                if found
                else "it has the text"
            )
            yield _fault(
                decision,
                ("readings",) if found else ("lemma",),
                f"{siglum} is named neither in `lemma` nor in `readings`; {has}",
                f"Add {siglum} to `{'readings' if found else 'lemma'}`.",
            )


def emendation_leaves_a_witness_out(material: Material) -> Iterator[Fault]:
    """A witness whose encoding has the place, but that the emendation does not cover.

    An emendation says that all sources are wrong; the reader has to see what each of them has.
    """
    for decision in material.decisions:
        record = decision.filed.record
        if not isinstance(record, Emendation):
            continue
        named = {siglum for variant in record.readings for siglum in variant.witnesses}
        for siglum, found in material.unread[decision.id].items():
            if siglum in named or _told_throughout(found, siglum, decision, material):
                continue
            if found:
                has = f"it differs from the text: {_listed(found, decision, material)}"
                remedy = f"Add {siglum} to `readings`."
            else:
                has = "it has the text"
                remedy = f"Make the record a `reading` with {siglum} in `lemma`."
            yield _fault(
                decision, ("readings",), f"the emendation does not cover {siglum}; {has}", remedy
            )


def _lemma_witnesses(material: Material) -> Iterator[tuple[Decision, int, str]]:
    for decision in material.decisions:
        record = decision.filed.record
        if isinstance(record, Reading):
            for index, siglum in enumerate(record.lemma):
                yield decision, index, siglum


def _spoken_of(decision: Decision) -> set[tuple[DifferenceKind, Moment]]:
    """Return in what and when the readings of the record differ from the text."""
    return {(d.kind, d.start) for c in decision.comparisons for d in c.differences}


def _answered(difference: Difference, siglum: str, decision: Decision, material: Material) -> bool:
    """Return whether a record, in force or proposed, speaks of a difference of that witness."""
    said = material.answers.to(difference, siglum, decision.span.movement)
    return bool(said.accepted or said.proposed)


def _told_throughout(
    found: Sequence[Difference], siglum: str, decision: Decision, material: Material
) -> bool:
    """Return whether a witness differs only in what is told elsewhere, of it as a whole.

    Of a record that is itself about what differs throughout, every other record takes its share.
    """
    if systematic(decision):
        return bool(found) and all(_answered(d, siglum, decision, material) for d in found)
    keys = [answer_to(d, siglum, decision.span.movement) for d in found]
    return bool(keys) and material.answered_throughout.issuperset(keys)


def _listed(found: Sequence[Difference], decision: Decision, material: Material) -> str:
    return listed_differences(found, material.texts[decision.span.movement])


def _path_to(decision: Decision, variant: int, siglum: str) -> tuple[Step, ...]:
    record = decision.filed.record
    if isinstance(record, Reading | Emendation):
        index = record.readings[variant].witnesses.index(siglum)
        return ("readings", variant, "witnesses", index)
    return ()


def _fault(decision: Decision, path: tuple[Step, ...], message: str, remedy: str) -> Fault:
    filed = decision.filed
    return Fault(filed.origins.at(*path), message, remedy, place_in_words(filed.record.place))
