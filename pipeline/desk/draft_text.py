"""Drafts as an editor would have begun them: YAML, with what differs above each record in words.

In come drafts; out goes text to append to a file of records. The reason is left open.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from pipeline.checks.material import Material
from pipeline.checks.wording import number
from pipeline.collation.collated import BarDifference, Departure
from pipeline.desk.drafts import Draft
from pipeline.desk.plain_words import plain_words
from pipeline.edition.places import Place
from pipeline.typeset.collation_words import CollationWords
from pipeline.typeset.wording import Wording, languages, wording_of

_WIDTH = 100
_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_NOTHING = frozenset({"null", "Null", "NULL"})
_FALLBACK = "en"


@dataclass(frozen=True)
class DraftText:
    """Writes the drafts of one edition: `by` is who is to decide, `day` when it was drafted."""

    material: Material
    by: str
    day: date

    def record(self, draft: Draft) -> str:
        """Return one record with the lines of comment above it, ending in a line break."""
        return "".join(f"{line}\n" for line in (*self._comments(draft), *self._record(draft)))

    def _comments(self, draft: Draft) -> Iterator[str]:
        words = self._words(draft.subject.movement, self._main)
        if draft.subject.throughout:
            yield from _comment(self._throughout(draft, words))
        else:
            for said in self._departures(draft.subject.departures, words):
                yield from _comment(said)
        if draft.unseen:
            yield from _comment(f"not encoded, please look: {', '.join(draft.unseen)}")

    def _departures(self, departures: Sequence[Departure], words: CollationWords) -> Iterator[str]:
        """Yield what differs: place, text, and what each witness has, once for each place."""
        told: dict[tuple[str, str], list[str]] = {}
        edited = self.material.edition.head.edited_staff.n
        for departure in departures:
            first = departure.differences[0]
            beside = self.material.besides[departure.witnesses[0], departure.movement]
            if isinstance(first, BarDifference):
                readings = words.bars(first)
                where = plain_words(words.bar_names((first.at,)))
            else:
                readings = words.readings(first, beside)
                bar = words.bar_names((first.start.bar,))
                kind = words.wording.say(f"collation.kinds.{first.kind.value}")
                staff = "" if first.staff == edited else words.staff(first.staff)
                parts = (bar, staff, words.place(first), kind)
                where = ", ".join(plain_words(part) for part in parts if part)
            who = ", ".join(departure.witnesses)
            has = f"{who}: {plain_words(readings.reading)}"
            told.setdefault((where, plain_words(readings.text)), []).append(has)
        for (where, text), has_each in told.items():
            yield f"{where} – text: {text}; {'; '.join(has_each)}"

    def _throughout(self, draft: Draft, words: CollationWords) -> str:
        counts = {
            siglum: sum(siglum in d.witnesses for d in draft.subject.departures)
            for group in draft.readings
            for siglum in group
        }
        first, last = draft.standing.span.start.bar, draft.standing.span.end.bar
        bars = plain_words(words.bar_names((first, min(last, len(words.text.bars) - 1))))
        listed = ", ".join(f"{siglum} {count}" for siglum, count in counts.items())
        return f"{draft.subject.throughout} throughout {bars}; places: {listed}"

    def _record(self, draft: Draft) -> Iterator[str]:
        yield f"- id: {draft.id}"
        yield f"  kind: {'reading' if draft.lemma else 'emendation'}"
        yield f"  place: {_place(draft.standing.place)}"
        yield f"  by: {self.by}"
        yield f"  date: {self.day.isoformat()}"
        yield "  status: proposed"
        if draft.subject.throughout:
            yield f"  throughout: {draft.subject.throughout}"
        if draft.lemma:
            yield f"  lemma: {_sigla(draft.lemma)}"
        yield "  readings:"
        for group in draft.readings:
            yield f"    - witnesses: {_sigla(group)}"
            if draft.described:
                yield "      says:"
                for language, said in self._described(draft).items():
                    yield f"        {language}: {_scalar(said)}"
        yield "  reason:"

    def _described(self, draft: Draft) -> Mapping[str, str]:
        """Return what is lacking or added, in every language of the edition."""
        difference = draft.subject.departures[0].differences[0]
        if not isinstance(difference, BarDifference):
            return {}
        said = {}
        for language in self.material.edition.head.languages:
            words = self._words(draft.subject.movement, _known(language))
            if difference.text:
                what = words.bar_names(difference.text)
                phrase = words.wording.say("differences.lacking", n=len(difference.text), what=what)
            else:
                phrase = words.bars(difference).reading
            said[language] = plain_words(phrase)
        return said

    @property
    def _main(self) -> Wording:
        return _known(self.material.edition.head.main_language)

    def _words(self, movement: int, wording: Wording) -> CollationWords:
        return CollationWords(self.material.texts[movement], movement, wording)


def _known(language: str) -> Wording:
    return wording_of(language if language in languages() else _FALLBACK)


def _comment(said: str) -> Iterator[str]:
    said = " ".join(said.replace("\u00a0", " ").split())
    for line in textwrap.wrap(said, _WIDTH - 4, break_long_words=False) or [""]:
        yield f"# {line}"


def _place(place: Place) -> str:
    parts = [f"movement: {place.movement}"]
    if place.staff is not None:
        parts.append(f"staff: {place.staff}")
    parts += [f"bar: {_scalar(place.bar)}", *_within_bar(place.beat, place.note)]
    if place.to is not None:
        to = [] if place.to.bar is None else [f"bar: {_scalar(place.to.bar)}"]
        parts.append(f"to: {{{', '.join([*to, *_within_bar(place.to.beat, place.to.note)])}}}")
    return f"{{{', '.join(parts)}}}"


def _within_bar(beat: Fraction | None, note: int | None) -> list[str]:
    if note is not None:
        return [f"note: {note}"]
    return [] if beat is None else [f"beat: {number(beat)}"]


def _sigla(sigla: Sequence[str]) -> str:
    written = [_scalar(siglum) for siglum in sigla]
    return written[0] if len(written) == 1 else f"[{', '.join(written)}]"


def _scalar(text: str) -> str:
    """Return a text as YAML has it: plain where nothing in it means something else."""
    if _PLAIN.fullmatch(text) and text not in _NOTHING:
        return text
    return "'" + text.replace("'", "''") + "'"
