"""One value that has changed, in words: what it is called, what it was, what it is.

In: field changes as `edition/changes.py` finds them. Out: a label and two short phrases in one
language; of long texts and runs only what differs, with a little before and after.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from markupsafe import Markup
from pydantic import BaseModel

from pipeline.edition.changes import FieldChange
from pipeline.edition.fingers import Fingering, as_written
from pipeline.edition.head import EditionHead
from pipeline.edition.places import Place
from pipeline.edition.records import Music
from pipeline.edition.strict import in_language
from pipeline.typeset.places import bars_of_place, position_of_place, runs_of_numbers
from pipeline.typeset.wording import Wording

NOTHING = Markup("")
_CONTEXT = 3
"""Words of a text, or entries of a run, that are shown before and after what differs."""

_AGENTS = frozenset({"by", "hand", "played_by"})
_ENUMERATED = frozenset(
    {"certainty", "purpose", "kind", "role", "sounds", "composer_fingering", "status"}
)
"""Keys whose values are words of the program; so are bow signs, whose key is a number."""

_IN_LABELS = frozenset({"name", "n", "bar", "cite", "sender", "recipient"})
"""Keys that an entry of a list is known by, which its label names already."""

_SECTIONS = ("changes.values", "remark.levels", "fingering.purposes", "kinds", "sources.kinds",
             "people.roles")  # fmt: skip


@dataclass(frozen=True)
class Told:
    """A change in words; a side that has nothing is empty."""

    label: Markup
    was: Markup
    now: Markup


@dataclass(frozen=True)
class ChangeWords:
    """Words changes in one language; `heads` are edition.yaml of the old and the new state."""

    wording: Wording
    heads: tuple[EditionHead, EditionHead]

    def told(self, change: FieldChange) -> Told:
        """Return a change in words."""
        label, (before, after) = self.label(change), (change.before, change.after)
        if change.path[-1] == "notes":
            return Told(label, NOTHING, self._say("other_notes", file=str(after)))
        if change.prose:
            return self.passages(label, str(before or ""), str(after or ""), change.path[-1])
        if isinstance(before, Place) and isinstance(after, Place):
            other = before.movement != after.movement
            return Told(label, self.place(before, other), self.place(after, other))
        ours, theirs = _run_of(before), _run_of(after)
        if ours and theirs:
            return self._run(label, ours, theirs)
        return Told(label, self.value(before, change.path[-1], 0),
                    self.value(after, change.path[-1], 1))  # fmt: skip

    def passages(self, label: Markup, before: str, after: str, language: str) -> Told:
        """Return two texts in a language, of both only what differs."""
        if before and after:
            before, after = excerpts(before.split(), after.split(), " ")
        return Told(label, *(self._in(language, text) for text in (before, after)))

    def _in(self, language: str, text: str) -> Markup:
        if not text or language == self.wording.code:
            return Markup.escape(text)
        return Markup('<span lang="{}">{}</span>').format(language, text)

    def label(self, change: FieldChange) -> Markup:
        """Return what the value is called: `“pos. I”, fingers`."""
        path = change.path[:-1] if change.prose else change.path
        parts, index = [], 0
        while index < len(path):
            name, entry = path[index], path[index + 1] if index + 1 < len(path) else None
            if entry not in {None, "order"} and self.wording.has(f"changes.entries.{name}"):
                parts.append(self._say(f"entries.{name}", entry=str(entry)))
                index += 1
            else:
                parts.append(self._say(f"fields.{name}"))
            index += 1
        said = Markup(", ").join(parts)
        if not change.prose or len(self.wording_languages) < 2:
            return said
        return self._say("in_language", what=said, language=change.path[-1])

    @property
    def wording_languages(self) -> tuple[str, ...]:
        """The languages of both states: only where there are several, one is named."""
        return tuple(dict.fromkeys((*self.heads[0].languages, *self.heads[1].languages)))

    def value(self, value: object, name: str, side: int) -> Markup:
        """Return a value in words; `name` is its key, `side` 0 the old and 1 the new state."""
        match value:
            case None | () | "":
                return NOTHING
            case bool():
                return self._say(f"values.{'yes' if value else 'no'}")
            case date():
                return Markup.escape(self.wording.day(value))
            case Place():
                return self.place(value)
            case float():
                return Markup.escape(f"{value:g}")
            case Fingering():
                return Markup.escape(as_written(value))
            case Music():
                return Markup.escape(value.file or value.derive or "")
            case BaseModel():
                return self._model(value, side)
            case Mapping():
                return self._mapping(value, name, side)
            case tuple():
                return Markup(", ").join(self.value(one, name, side) for one in value)
            case _:
                return self._word(str(value), name, side)

    def place(self, place: Place, with_movement: bool = False) -> Markup:
        """Return the movement if it is wanted, bars, notes or beats, staff and voice of a place."""
        bars, position = bars_of_place(place), position_of_place(place, self.wording)
        parts = [self._say("entries.movements", entry=str(place.movement))] if with_movement else []
        if bars == place.bar:
            parts.append(self.wording.say("place.bar", bar=bars))
            parts.append(position)
        else:  # a position in several bars names them itself
            parts.append(self.wording.say("collation.bars_shown", bars=position or bars))
        if isinstance(place.staff, int):
            parts.append(self.wording.say("place.staff", n=place.staff))
        elif place.staff is not None:
            parts.append(Markup.escape(place.staff))
        if place.voice is not None:
            parts.append(self.wording.say("place.voice", voice=str(place.voice)))
        return Markup(", ").join(part for part in parts if part)

    def _run(self, label: Markup, before: Sequence[Fingering], after: Sequence[Fingering]) -> Told:
        was, now = [as_written(one) for one in before], [as_written(one) for one in after]
        if len(was) == len(now):
            notes = [n for n, pair in enumerate(zip(was, now, strict=True)) if pair[0] != pair[1]]
            several = len(notes) > 1
            numbers = runs_of_numbers([n + 1 for n in notes])
            key, name = ("at_notes", "notes") if several else ("at_note", "note")
            label = self._say(key, what=label, **{name: numbers})
            was, now = [was[n] for n in notes], [now[n] for n in notes]
        else:
            was, now = (text.split(", ") for text in excerpts(was, now, ", "))
        return Told(label, *(Markup.escape(", ".join(one)) for one in (was, now)))

    def _model(self, value: BaseModel, side: int) -> Markup:
        """Return the values of a model that are not left out; what the label names comes last."""
        parts: list[Markup] = []
        named: list[Markup] = []
        for key, field in type(value).model_fields.items():
            inner = getattr(value, key)
            worded = self.value(inner, key, side)
            if worded and inner != field.get_default(call_default_factory=True):
                said = Markup("{}: {}").format(self._say(f"fields.{key}"), worded)
                in_label = key in _IN_LABELS and not isinstance(inner, Mapping)
                (named if in_label else parts).append(said)
        return Markup("; ").join(parts or named)

    def _mapping(self, value: Mapping[object, object], name: str, side: int) -> Markup:
        if all(isinstance(text, str) for text in value.values()) and name != "signs":
            texts = {str(code): str(text) for code, text in value.items()}
            main = self.heads[side].main_language
            found = in_language(texts, self.wording.code, main) or next(iter(texts.values()), "")
            return Markup.escape(found)
        return Markup(", ").join(
            Markup("{}: {}").format(str(key), self.value(inner, name, side))
            for key, inner in value.items()
        )

    def _word(self, value: str, name: str, side: int) -> Markup:
        if name in _AGENTS:
            agent = self.heads[side].agents.get(value)
            return self.value(agent.name, "name", side) if agent else Markup.escape(value)
        for section in _SECTIONS if name in _ENUMERATED or name.isdigit() else ():
            if self.wording.has(f"{section}.{value}"):
                return self.wording.say(f"{section}.{value}")
        return Markup.escape(value)

    def _say(self, key: str, **values: object) -> Markup:
        return self.wording.say(f"changes.{key}", **values)  # type: ignore[arg-type] # no plural


def _run_of(value: object) -> tuple[Fingering, ...]:
    """Return the entries of a fingering, none where it is something else."""
    entries = value if isinstance(value, tuple) else ()
    return tuple(entry for entry in entries if isinstance(entry, Fingering))


def excerpts(before: Sequence[str], after: Sequence[str], between: str) -> tuple[str, str]:
    """Return both sides without what is the same at their beginning and end."""
    shorter = min(len(before), len(after))
    start = next((n for n in range(shorter) if before[n] != after[n]), shorter)
    end = next(
        (n for n in range(shorter - start) if before[-1 - n] != after[-1 - n]), shorter - start
    )
    first, rest = max(0, start - _CONTEXT), max(0, end - _CONTEXT)
    cut = []
    for words in (before, after):
        shown = list(words[first : len(words) - rest])
        cut.append(between.join(["…"] * (first > 0) + shown + ["…"] * (rest > 0)))
    return cut[0], cut[1]
