"""Rules about records that contradict each other at one place.

Every rule looks a decision up by its place or by its notes, so the cost is linear in the records.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from pipeline.checks.alternatives import printed_bowings, printed_fingerings
from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import difference_in_words, place_in_words
from pipeline.collation.bar_signs import KINDS_OF_BARS
from pipeline.collation.bars import bars_of
from pipeline.collation.comparisons import answer_to
from pipeline.collation.model import Decision, Difference
from pipeline.edition.model import Step
from pipeline.edition.records import (
    Bowing,
    Emendation,
    FingeringRecord,
    Ossia,
    Reading,
    Tradition,
)
from pipeline.edition.strict import in_language

_WRONG = "wrong"
_RIGHT = "right"


def contradicting_readings(material: Material) -> Iterator[Fault]:
    """Two readings in force at one place; by one a witness has the text, by the other it has not.

    One of the two remarks is false, and the reader cannot tell which.
    """
    at_place: dict[object, list[Decision]] = defaultdict(list)
    for decision in material.in_force():
        if isinstance(decision.filed.record, Reading):
            for subject in _subjects(decision):
                at_place[subject].append(decision)
    told: set[tuple[str, str]] = set()
    for decisions in at_place.values():
        said: dict[str, tuple[str, Decision]] = {}
        for decision in decisions:
            for siglum, verdict in _verdicts(decision).items():
                earlier, by = said.setdefault(siglum, (verdict, decision))
                if earlier != verdict and (by.id, decision.id) not in told and by is not decision:
                    told.add((by.id, decision.id))
                    has = "has not" if verdict == _WRONG else "has"
                    had = "has" if earlier == _RIGHT else "has not"
                    yield _fault(
                        decision,
                        ("readings",) if verdict == _WRONG else ("lemma",),
                        f"`{decision.id}` says that {siglum} {has} the text here, "
                        f"`{by.id}` that it {had} ({_where(by)})",
                        "Correct one of the two, narrow its place, or let one supersede the other.",
                    )
                    break


def reading_and_emendation(material: Material) -> Iterator[Fault]:
    """A reading and an emendation in force at one place.

    The one says that a source has the text, the other that none has.
    """
    emended: dict[object, Decision] = {}
    for decision in material.in_force():
        if isinstance(decision.filed.record, Emendation):
            emended.update(dict.fromkeys(_subjects(decision), decision))
    for decision in material.in_force():
        record = decision.filed.record
        other = next((emended[one] for one in _subjects(decision) if one in emended), None)
        if isinstance(record, Reading) and other is not None:
            yield _fault(
                decision,
                ("lemma",),
                f"`{decision.id}` says that {' and '.join(record.lemma)} "
                f"{'has' if len(record.lemma) == 1 else 'have'} the text here, "
                f"`{other.id}` that no witness has it ({_where(other)})",
                "Keep one of the two, narrow a place, or let one supersede the other.",
            )


def told_twice(material: Material) -> Iterator[Fault]:
    """Two records in force that tell the same difference of the same witness.

    The reader meets one variant in two remarks, perhaps with two reasons.
    """
    first: dict[tuple[object, ...], Decision] = {}
    for decision in material.in_force():
        again: dict[str, dict[str, None]] = {}
        for siglum, difference in _told(decision):
            key = answer_to(difference, siglum, decision.span.movement)
            earlier = first.setdefault(key, decision)
            if earlier is not decision:
                text = material.texts[decision.span.movement]
                words = f"{siglum}, {difference_in_words(difference, text)}"
                again.setdefault(earlier.id, {})[words] = None
        for other, told in again.items():
            yield _fault(
                decision,
                ("place",),
                f"`{other}` tells this too: {'; '.join(told)} ({_where_of(other, material)})",
                "Narrow one of the two places, or make one record of both.",
            )


def ossias_alike(material: Material) -> Iterator[Fault]:
    """Two ossias or traditions in force above the same bars with the same label.

    They stand one above the other, and the player cannot tell which is which.
    """
    main = material.edition.head.main_language
    seen: dict[tuple[int, int, int, str], Decision] = {}
    for decision in material.in_force():
        record = decision.filed.record
        if not isinstance(record, Ossia | Tradition):
            continue
        label = in_language(record.label, main, main) or ""
        span = decision.span
        keys = [(span.movement, span.staff, bar, label.casefold()) for bar in bars_of(span)]
        other = next((seen[key] for key in keys if key in seen), None)
        seen.update(dict.fromkeys(keys, decision))
        if other is not None:
            named = f"the label “{label}”" if label else "no label"
            yield _fault(
                decision,
                ("label",),
                f"`{decision.id}` and `{other.id}` stand above the same bars with {named} "
                f"({_where(other)})",
                "Give each a label of its own, or let one supersede the other.",
            )


def fingered_twice(material: Material) -> Iterator[Fault]:
    """Two fingerings in force by one person that both print digits above the same notes.

    The player finds two digits above a note and no word on how to choose.
    """
    taken: dict[tuple[str, str], Decision] = {}
    for decision in material.in_force():
        record = decision.filed.record
        if not isinstance(record, FingeringRecord):
            continue
        others: dict[str, Decision] = {}
        mine: set[tuple[str, str]] = set()
        for agent, alternative in printed_fingerings(record):
            for note, entry in zip(decision.span.notes, alternative.fingers, strict=False):
                key = (note.xml_id, agent)
                if entry.fingers and key in taken:
                    others[taken[key].id] = taken[key]
                if entry.fingers:
                    mine.add(key)
        taken.update(dict.fromkeys(mine, decision))
        for other in others.values():
            yield _fault(
                decision,
                ("place",),
                f"`{decision.id}` and `{other.id}` both print digits of the same person above the "
                f"same notes ({_where(other)})",
                "Make them alternatives of one record, or let one supersede the other.",
            )


def bowings_contradict(material: Material) -> Iterator[Fault]:
    """Bowings in force that divide and join, or ask for down and up bow, at the same note.

    No arm can do both.
    """
    divided: dict[str, Decision] = {}
    joined: dict[str, Decision] = {}
    signed: dict[tuple[str, str], tuple[str, Decision]] = {}
    for decision in material.in_force():
        record = decision.filed.record
        if not isinstance(record, Bowing):
            continue
        told: dict[str, str] = {}
        for agent, alternative in printed_bowings(record):
            ids = [note.xml_id for note in decision.span.notes]
            cuts = {ids[n - 1] for n in alternative.divide_after if 1 <= n < len(ids)}
            whole = set(ids[:-1]) if alternative.join else set()
            for note in ids:
                if note in cuts and note in joined and joined[note] is not decision:
                    told[joined[note].id] = "joins what this one divides"
                if note in whole and note in divided and divided[note] is not decision:
                    told[divided[note].id] = "divides what this one joins"
            divided.update(dict.fromkeys(cuts, decision))
            joined.update(dict.fromkeys(whole, decision))
            for number, sign in alternative.signs.items():
                if 1 <= number <= len(ids):
                    earlier, by = signed.setdefault((ids[number - 1], agent), (sign, decision))
                    if earlier != sign and by is not decision:
                        told[by.id] = f"asks for {earlier} bow where this one asks for {sign} bow"
        for other, what in told.items():
            yield _fault(
                decision,
                ("alternatives",),
                f"`{other}` {what} ({_where_of(other, material)})",
                "Make them alternatives of one record, or let one supersede the other.",
            )


def _events_of(decision: Decision) -> tuple[object, ...]:
    """Return what tells two places apart: their notes and rests, or their times if empty."""
    span = decision.span
    ids = tuple(event.xml_id for event in span.events)
    return (span.movement, span.staff, ids or (span.start, span.end))


def _subjects(decision: Decision) -> list[tuple[object, ...]]:
    """Return what the record decides: its place, or each kind that it speaks of throughout.

    A meter or a repeat sign is another matter than the notes and signs of the same bar.
    """
    record, place = decision.filed.record, _events_of(decision)
    told = [difference.kind for one in decision.comparisons for difference in one.differences]
    if told and KINDS_OF_BARS.issuperset(told):
        place = (*place, "the bar itself")
    kinds = record.throughout if isinstance(record, Reading | Emendation) else ()
    return [(*place, kind) for kind in kinds] or [place]


def _told(decision: Decision) -> Iterator[tuple[str, Difference]]:
    for comparison in decision.comparisons:
        if comparison.version.origin == "encoding" and comparison.version.hand is None:
            for siglum in comparison.version.witnesses:
                for difference in comparison.differences:
                    yield siglum, difference


def _verdicts(decision: Decision) -> Mapping[str, str]:
    """Return for each witness whether the record says that it has the text; later hands apart."""
    record = decision.filed.record
    found: dict[str, str] = {}
    if isinstance(record, Reading):
        found.update(dict.fromkeys(record.lemma, _RIGHT))
        for variant in record.readings:
            if variant.hand is None:
                found.update({s: _WRONG for s in variant.witnesses if s not in record.lemma})
    return found


def _where(decision: Decision) -> str:
    origin = decision.filed.origins.at("id")
    return f"{origin.file}, line {origin.line}"


def _where_of(record_id: str, material: Material) -> str:
    origin = material.filed[record_id].origins.at("id")
    return f"{origin.file}, line {origin.line}"


def _fault(decision: Decision, path: tuple[Step, ...], message: str, remedy: str) -> Fault:
    filed = decision.filed
    return Fault(filed.origins.at(*path), message, remedy, place_in_words(filed.record.place))
