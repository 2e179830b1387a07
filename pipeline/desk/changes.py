"""The command `changes`: two states of an edition in, all that is otherwise out.

Gathers what the forms of the answer share. Nothing is printed here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from markupsafe import Markup

from pipeline.collation.collate import collate
from pipeline.collation.collated import BarChange, BarDifference, Collation, SetAside
from pipeline.collation.laying import lay_beside
from pipeline.collation.set_aside import set_aside
from pipeline.desk.states import State, two_states
from pipeline.edition.changes import (
    FieldChange,
    RecordChange,
    TextChange,
    Turn,
    changed_head,
    changed_records,
    changed_texts,
)
from pipeline.problems import Origin, Outcome
from pipeline.score.model import Passage
from pipeline.typeset.change_rows import ChangeRows, Row, Side
from pipeline.typeset.wording import Wording, find_wording, languages

_ASIDE = frozenset({Turn.NOT_IN_FORCE, Turn.NOT_READ})
"""What does not concern a new printing, or cannot be told for certain."""

_FALLBACK = "en"


@dataclass(frozen=True)
class Changes:
    """All that is otherwise in the new state. `music` holds, by number of the movement, the new
    base text collated with the old one; `files` are encodings of witnesses that are otherwise."""

    old: State
    new: State
    wording: Wording
    records: tuple[RecordChange, ...]
    head: tuple[FieldChange, ...]
    texts: tuple[TextChange, ...]
    music: Mapping[int, Collation]
    files: tuple[str, ...]

    @property
    def none(self) -> bool:
        """Whether nothing at all is otherwise."""
        music = self.music_rows or self.written_otherwise
        return not (self.records or self.head or self.texts or self.files or music)

    @cached_property
    def rows(self) -> ChangeRows:
        """Words the changes."""
        return ChangeRows(_side(self.old), _side(self.new), self.wording)

    @cached_property
    def records_in_order(self) -> tuple[RecordChange, ...]:
        """Every changed record, in the order of the music."""
        return self.rows.in_order(self.records)

    @cached_property
    def in_force(self) -> tuple[RecordChange, ...]:
        """The changes of records that reach, or reached, what is printed."""
        return tuple(change for change in self.records if change.turn not in _ASIDE)

    @cached_property
    def aside(self) -> tuple[RecordChange, ...]:
        """The other ones: proposals, superseded records, records that cannot be read."""
        return tuple(change for change in self.records if change.turn in _ASIDE)

    @cached_property
    def set_aside(self) -> Mapping[int, Mapping[SetAside, int]]:
        """How often the base text is written otherwise without another meaning, by movement."""
        return {
            n: set_aside(self.rows.old.texts[n], collation.beside)
            for n, collation in self.music.items()
        }

    @cached_property
    def movements(self) -> Mapping[int, tuple[Row, ...]]:
        """The rows of text and records by movement, in the order of the music."""
        records, music = self.rows.records(self.in_force), self.music_rows
        return {
            n: tuple(sorted((*music.get(n, ()), *records.get(n, ())), key=lambda r: r.order))
            for n in sorted({*records, *music})
        }

    @cached_property
    def further(self) -> Mapping[Markup, tuple[Row, ...]]:
        """The rows that stand in no movement, by heading: edition, texts, what is aside."""
        rows, say = self.rows, self.wording.say
        aside = rows.records(self.aside).values()
        return {
            say("changes.sections.edition"): (*rows.head(self.head), *rows.files(self.files)),
            say("changes.sections.texts"): rows.texts(self.texts),
            say("changes.sections.aside"): tuple(row for those in aside for row in those),
        }

    @cached_property
    def written_otherwise(self) -> tuple[Markup, ...]:
        """What was counted in the base texts, a sentence a movement."""
        say, found = self.wording.say, []
        for n, counts in self.set_aside.items():
            counted = [
                say("changes.counted", count, what=say(f"collation.set_aside.{kind.name}"))
                for kind, count in counts.items()
                if count
            ]
            if counted:
                listed = Markup(", ").join(counted)
                found.append(say("changes.engraved_otherwise", n, counts=listed))
        return tuple(found)

    @cached_property
    def music_rows(self) -> Mapping[int, tuple[Row, ...]]:
        """What is otherwise in the base text, by movement; movements without any are left out."""
        found = {n: tuple(self.rows.music(collation)) for n, collation in self.music.items()}
        return {n: rows for n, rows in found.items() if rows}


def changes_between(old: str, new: str, language: str | None) -> Outcome[Changes] | str:
    """Return all that is otherwise in `new`, or what is wrong with the call.

    Each is a folder or a git revision. The value is None where a state cannot be read at all or
    there is no wording for the language.
    """
    states = two_states(old, new)
    if isinstance(states, str):
        return states
    if states.value is None:
        return Outcome(None, states.problems)
    before, after = states.value
    main = after.edition.head.main_language
    code = language or (main if main in languages() else _FALLBACK)
    wording = find_wording(code, Origin("--language"))
    if wording.value is None:
        return Outcome(None, wording.problems)
    return Outcome(_compared(before, after, wording.value), states.problems)


def _compared(old: State, new: State, wording: Wording) -> Changes:
    other = {
        file for file, digest in old.digests.items() if new.digests.get(file, digest) != digest
    }
    encodings = {
        file for state in (old, new) for one in state.edition.head.witnesses.values()
        for file in one.encodings.values()
    }  # fmt: skip
    return Changes(
        old,
        new,
        wording,
        changed_records(old.edition, new.edition, frozenset(other), (old.not_read, new.not_read)),
        changed_head(old.edition, new.edition),
        changed_texts(old.edition, new.edition),
        _music(old, new),
        tuple(sorted(other & encodings)),
    )


def _music(old: State, new: State) -> Mapping[int, Collation]:
    """Collate the base text of every movement that is not the same file in both states."""
    ours, theirs = _side(old).texts, _side(new).texts
    files = [
        {one.n: state.digests.get(one.base) for one in state.edition.head.movements}
        for state in (old, new)
    ]
    return {
        n: _whole(ours[n], collate(ours[n], lay_beside(ours[n], theirs[n]), "", n))
        for n in ours
        if n in theirs and files[0].get(n) != files[1].get(n)
    }


def _whole(text: Passage, collation: Collation) -> Collation:
    """Return the collation with bars lacking at either end, which a witness need not have."""
    if collation.beside.obstacle is not None:
        return collation
    reached = collation.beside.reading_bar
    lacking = [bar for bar in range(len(text.bars)) if bar not in reached]
    first = tuple(bar for bar in lacking if not reached or bar < min(reached))
    last = tuple(bar for bar in lacking if bar not in first)
    ends = tuple(
        BarDifference(BarChange.MISSING, bars[0] - 1, text=bars) for bars in (first, last) if bars
    )
    return replace(collation, bars=(*ends, *collation.bars))


def _side(state: State) -> Side:
    material = state.material
    if material is None:
        return Side(state.edition, {}, {})
    return Side(state.edition, {one.id: one for one in material.decisions}, material.texts)
