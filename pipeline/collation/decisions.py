"""One decision per record: where it is, which layer it belongs to, what the versions have.

In come the edition, the score, the encodings of witnesses laid beside it and the music that records
name; out go decisions in the order of the music, and the problems of records that could not be
computed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from pipeline.collation.beside import Besides
from pipeline.collation.bowings import with_bowings
from pipeline.collation.comparisons import systematic, told_once
from pipeline.collation.derived import derived_version
from pipeline.collation.differences import differences
from pipeline.collation.fingerings import with_hands
from pipeline.collation.harmonics import with_harmonics
from pipeline.collation.model import Comparison, Decision, Version
from pipeline.collation.obstacles import obstacle_problems
from pipeline.collation.part_against_score import parts_against_scores
from pipeline.collation.versions import fragment_version, staff_list, witness_version
from pipeline.edition.layer import layer_of
from pipeline.edition.model import Edition, FiledRecord, Step
from pipeline.edition.records import Emendation, Music, Ossia, Reading, Tradition, Variant
from pipeline.problems import Origin, Outcome, Problem, error
from pipeline.score.model import Passage, Score, Span
from pipeline.score.resolve import resolve


@dataclass(frozen=True)
class _Sources:
    """Where versions come from: read-only, handed through."""

    edition: Edition
    texts: Mapping[int, Passage]
    besides: Besides
    music: Mapping[str, Passage]


def decide(
    edition: Edition, score: Score, besides: Besides, music: Mapping[str, Passage]
) -> Outcome[tuple[Decision, ...]]:
    """Return the decisions in the order of the music, whatever their status.

    Where several begin at one moment, what the text is stands before how it is played, and what
    differs throughout before what differs there.

    A record is left out where its place does not resolve (its problem is returned) or where its
    agent is unknown (the check tells that). Of several records in force whose places hold the same
    difference of a witness, the one whose place fits it tells it. Linear in the number of records.
    """
    texts = {movement.n: movement.passage for movement in score.movements}
    sources = _Sources(edition, texts, besides, music)
    decisions: list[Decision] = []
    problems: list[Problem] = [*obstacle_problems(edition, besides, texts)]
    for filed in edition.records:
        resolved = resolve(filed.record.place, score, edition.head.edited_staff.n, filed)
        problems += resolved.problems
        if resolved.value is None or filed.record.by not in edition.head.agents:
            continue
        decision, found = _decide_one(filed, resolved.value, sources)
        decisions.append(decision)
        problems += found
    decisions.sort(key=_in_the_music)
    told = parts_against_scores(told_once(decisions), decisions, edition.head.witnesses)
    carried_out = with_bowings(told, texts, edition.head)
    reckoned = with_harmonics(carried_out, texts, edition.head)
    handled = with_hands(reckoned, texts, edition.head)
    return Outcome(tuple(handled), tuple(problems))


_OF_THE_TEXT = ("reading", "emendation")


def _in_the_music(decision: Decision) -> tuple[object, ...]:
    span, record = decision.span, decision.filed.record
    about_playing = record.kind not in _OF_THE_TEXT
    in_places = not systematic(decision)
    return span.movement, span.start, span.staff, about_playing, in_places, record.id


def _decide_one(
    filed: FiledRecord, span: Span, sources: _Sources
) -> tuple[Decision, list[Problem]]:
    record = filed.record
    decision = Decision(filed, layer_of(record, sources.edition.head.agents), span)
    problems: list[Problem] = []
    if isinstance(record, Reading | Emendation):
        comparisons: list[Comparison] = []
        for index, variant in enumerate(record.readings):
            versions = _variant_versions(filed, index, variant, span, sources, problems)
            text = sources.texts[span.movement]
            for version in versions:
                found = differences(text, span, version)
                told = tuple(d for d in found if record.speaks_of(d.kind, d.change))
                comparisons.append(Comparison(version, index, told))
        decision = replace(decision, comparisons=tuple(comparisons))
    elif isinstance(record, Ossia | Tradition):
        music = _music_version(filed, ("music",), record.music, (), None, span, sources, problems)
        decision = replace(decision, music=music)
    return decision, problems


def _variant_versions(
    filed: FiledRecord,
    index: int,
    variant: Variant,
    span: Span,
    sources: _Sources,
    problems: list[Problem],
) -> list[Version]:
    path: tuple[Step, ...] = ("readings", index)
    if variant.music is not None:
        version = _music_version(
            filed, (*path, "music"), variant.music, variant.witnesses, variant.hand, span, sources,
            problems,
        )  # fmt: skip
        return [] if version is None else [version]
    if variant.says:
        return []
    versions = []
    for number, siglum in enumerate(variant.witnesses):
        if siglum not in sources.edition.head.witnesses:
            continue  # the check names unknown sigla
        origin = filed.origins.at(*path, "witnesses", number)
        version = _encoded_version(origin, siglum, variant.hand, span, sources, problems)
        if version is not None:
            versions.append(version)
    return versions


def _encoded_version(
    origin: Origin,
    siglum: str,
    hand: str | None,
    span: Span,
    sources: _Sources,
    problems: list[Problem],
) -> Version | None:
    beside = sources.besides.get((siglum, span.movement))
    if beside is None:
        if span.movement in sources.edition.head.witnesses[siglum].encodings:
            return None  # a file is named; whoever could not read it has told why
        found: Version | str = f"it has no encoding of movement {span.movement}"
    elif beside.obstacle is not None:
        return None  # told once for the whole encoding
    else:
        found = witness_version(sources.texts[span.movement], span, beside, siglum, hand)
    if isinstance(found, Version):
        return found
    problems.append(
        error(
            "witness-not-encoded",
            origin,
            f"the reading of {siglum} cannot be taken from the witness: {found}",
            f"Add these bars to the encoding of {siglum} that edition.yaml names, describe the "
            "reading under `says`, or give its notes under `music: {file: ...}`.",
        )
    )
    return None


def _music_version(
    filed: FiledRecord,
    path: tuple[Step, ...],
    written: Music,
    witnesses: tuple[str, ...],
    hand: str | None,
    span: Span,
    sources: _Sources,
    problems: list[Problem],
) -> Version | None:
    if written.derive is not None:
        found = derived_version(
            written.derive,
            sources.texts[span.movement],
            span,
            sources.edition.head,
            filed.origins.at(*path, "derive"),
            f"{filed.record.id}-{'-'.join(str(step) for step in path)}-",
        )
        problems += found.problems
        return found.value and replace(found.value, witnesses=witnesses, hand=hand)
    passage = sources.music.get(written.file or "")
    if passage is None:
        return None  # whoever could not read the file has told why
    if len(passage.staves) != 1:
        problems.append(
            error(
                "music-not-one-staff",
                filed.origins.at(*path, "file"),
                f"`{written.file}` holds {len(passage.staves)} staves: "
                f"{staff_list(passage.staves) or 'none'}; the music of a record is one staff",
                "Leave in the file only the staff that the record is about.",
            )
        )
        return None
    return fragment_version(passage, witnesses, hand)
