"""What the script of the reading copy is given beside the page: one JSON, nothing to compute.

Names of marks and notes in every language, where the bars are, what can be chosen.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from markupsafe import Markup

from pipeline.collation.model import Decision
from pipeline.edition.choices import SETTLED_DAYS
from pipeline.edition.model import Edition
from pipeline.edition.records import (
    Bowing,
    BowingAlternative,
    FingeringAlternative,
    FingeringRecord,
    Ossia,
    Tradition,
)
from pipeline.engrave.examples import bars_shown
from pipeline.score.model import Event, Score
from pipeline.strings.bow import bow_line
from pipeline.strings.instruments import INSTRUMENTS
from pipeline.typeset.alternatives import Alternatives
from pipeline.typeset.part_words import ossia_labels
from pipeline.typeset.pitches import chord_name
from pipeline.typeset.reading_copy_music import PRINTED, Choosable, ReadingLines, ink
from pipeline.typeset.reading_copy_names import MarkNames, Sign, signs
from pipeline.typeset.remarks import in_force, remark_numbers, roman
from pipeline.typeset.wording import Wording

FILE_NAME = "my-choices.yaml"


@dataclass(frozen=True)
class ReadingCopyData:
    """Gathers what the script needs for one edition in all its languages."""

    edition: Edition
    score: Score
    decisions: Sequence[Decision]
    layered: bytes
    wordings: Sequence[Wording]
    alternatives: Mapping[str, Alternatives]

    @property
    def notes(self) -> dict[str, tuple[int, str, Event]]:
        """The notes and chords of the edited staff: movement and printed bar, by xml:id."""
        staff = self.edition.head.edited_staff.n
        return {
            event.xml_id: (movement.n, movement.passage.bars[event.bar].n, event)
            for movement in self.score.movements
            for event in movement.passage.events
            if event.staff == staff and event.heads and event.number is not None
        }

    @property
    def choosable(self) -> Choosable:
        """The records that leave a choice."""
        kinds = [(one.id, one.filed.record) for one in in_force(self.decisions)]
        return Choosable(
            {
                i: max(1, len(record.printed))
                for i, record in kinds
                if isinstance(record, FingeringRecord | Bowing)
            },
            frozenset(i for i, record in kinds if isinstance(record, Ossia | Tradition)),
        )

    def as_json(self, lines: ReadingLines, titles: Mapping[str, str]) -> Markup:
        """Return the JSON, fit to stand inside a `script` element.

        `titles` are those of the document, by language.
        """
        head = self.edition.head
        instrument = INSTRUMENTS.get(head.edited_staff.instrument)
        held = {
            "key": f"reading-copy:{self._storage()}:",
            "file": FILE_NAME,
            "settled_days": SETTLED_DAYS,
            "digit_size": 405,
            "agents": list(head.agents),
            "strings": [pitch.step for pitch in instrument.strings] if instrument else [],
            "say": {w.code: self._texts(w) | {"document": titles[w.code]} for w in self.wordings},
            "numerals": {str(m.n): roman(m.n) for m in self.score.movements},
            "marks": self._marks(lines),
            "notes": {
                i: {"order": order, **self._note(*found)}
                for order, (i, found) in enumerate(self.notes.items())
            },
            "bars": self._bars(lines),
            "records": {one.id: self._record(one) for one in in_force(self.decisions)},
        }
        written = json.dumps(held, ensure_ascii=False, separators=(",", ":"), sort_keys=True)
        for sign in "<>&\u2028\u2029":
            written = written.replace(sign, f"\\u{ord(sign):04x}")
        return Markup(written)

    def _storage(self) -> str:
        """Return what tells this edition's kept choices from those of another in one browser."""
        head = self.edition.head
        told = json.dumps([dict(head.title), dict(head.subtitle), list(head.agents)])
        return hashlib.sha256(told.encode()).hexdigest()[:12]

    def _texts(self, wording: Wording) -> dict[str, str]:
        start = "reading_copy."
        return {
            key.removeprefix(start): Markup(text).striptags()
            for key, text in wording.texts.items()
            if key.startswith(start) and isinstance(text, str)
        }

    def _marks(self, lines: ReadingLines) -> dict[str, dict[str, str]]:
        known = signs(self.layered)
        kinds = {one.id: one.filed.record.kind for one in self.decisions}
        events = {i: event for i, (_, _, event) in self.notes.items()}
        events |= {head.xml_id: event for event in events.values() for head in event.heads}
        named: dict[str, dict[str, str]] = {}
        for page_id, records in lines.marks.items():
            xml_id = page_id[len(PRINTED) :]
            sign = known.get(xml_id)
            if sign is not None:
                named[page_id] = {
                    w.code: MarkNames(w, events, kinds).name(
                        xml_id, sign, records, ink(xml_id, _classes(sign))
                    )
                    for w in self.wordings
                }
        return named | {i: self._key_name(record) for i, record in lines.keys.items()}

    def _key_name(self, record: str) -> dict[str, str]:
        decision = next(one for one in self.decisions if one.id == record)
        number = str(remark_numbers(self.decisions)[record])
        bar = decision.filed.record.place.bar
        return {
            w.code: str(w.say("reading_copy.key_name", number=number, bar=bar).striptags())
            for w in self.wordings
        }

    def _note(self, movement: int, bar: str, event: Event) -> dict[str, object]:
        pitches = {w.code: chord_name(event, w) for w in self.wordings}
        of_all = {"movement": movement, "bar": bar, "note": event.number}
        amiss = self._bow_amiss.get(event.xml_id)
        return {**of_all, "heads": len(event.heads), **({"bow": amiss} if amiss else {}), **pitches}

    @cached_property
    def _bow_amiss(self) -> Mapping[str, str]:
        """What is amiss with a bow sign at a note, by xml:id; the checks of records ask the same.

        "plucked" where there is no bow, "within" where no stroke of the text begins.
        """
        amiss: dict[str, str] = {}
        for movement in self.score.movements:
            line = bow_line(movement.passage, self.edition.head.edited_staff.n)
            begins = frozenset(line.starts)
            of_note = line.sounds.of_note.items()
            amiss |= {note: "within" for note, sound in of_note if sound not in begins}
            amiss |= dict.fromkeys(line.sounds.plucked, "plucked")
        return amiss

    def _bars(self, lines: ReadingLines) -> dict[str, str]:
        """Return the measure of each bar; of bars joined into one rest, the one that is drawn."""
        drawn = {
            one.get("id", "").removeprefix(PRINTED)
            for movement in lines.movements
            for line in movement
            for one in line.printed.iter("{*}g")
            if "measure" in (one.get("class") or "").split()
        }
        found: dict[str, str] = {}
        for movement in self.score.movements:
            last = ""
            for bar in movement.passage.bars:
                last = bar.xml_id if bar.xml_id in drawn else last
                if bar.n and last:
                    found.setdefault(f"bar-{movement.n}-{bar.n}", last)
        return found

    def _record(self, decision: Decision) -> dict[str, object]:
        record = decision.filed.record
        passage = next(m.passage for m in self.score.movements if m.n == decision.span.movement)
        told: dict[str, object] = {
            "measures": [passage.bars[index].xml_id for index in bars_shown(decision.span)],
            "heading": {w.code: self._heading(decision, w) for w in self.wordings},
            "whole": isinstance(record, Ossia | Tradition) and decision.music is not None,
            "options": [],
            "printed": ["yes"],
        }
        if isinstance(record, FingeringRecord | Bowing):
            told["options"] = [
                {"name": one.name}
                | {code: each.label(one).striptags() for code, each in self.alternatives.items()}
                for one in in_printed_order(record)
            ]
            told["printed"] = list(record.printed or (record.alternatives[0].name,))
        if isinstance(record, Ossia | Tradition):
            told["label"] = {
                w.code: ossia_labels(self.edition, [decision], w.code)[record.id]
                for w in self.wordings
            }
        return told

    def _heading(self, decision: Decision, wording: Wording) -> str:
        record = decision.filed.record
        kind, bar = (
            wording.say(f"kinds.{record.kind}"),
            wording.say("place.bar", bar=record.place.bar),
        )
        return str(Markup("{}, {}").format(kind, bar).striptags())


def in_printed_order(
    record: FingeringRecord | Bowing,
) -> tuple[FingeringAlternative | BowingAlternative, ...]:
    """Return all alternatives, those that the part prints first, as they are engraved."""
    printed = record.printed or (record.alternatives[0].name,)
    by_name = {one.name: one for one in record.alternatives}
    names = [*printed, *(name for name in by_name if name not in printed)]
    return tuple(by_name[name] for name in names if name in by_name)


def _classes(sign: Sign) -> list[str]:
    return sign.element.get("type", "").split()
