"""Bars drawn in letters, so that a test reads like music.

4:C5 8:D5 8:r          a crotchet C5, a quaver D5, a quaver rest (note value : pitch)
2.:C5+E5               a dotted minim chord;   4:F#5  4:Bb4  4:Cx5  sharp, flat, double sharp
g8:D5                  a grace note;           8/3:C5 a triplet quaver (three for two)
4:C5~ 4:=C5            a tie begun and ended;  4:C5'stacc'dnbow  articulations
4:F#5!                 with its sign printed;  4:A5<>  a diamond head;   4:s a space
4:A3+D4<^>             a diamond head on the highest note alone: a stopped harmonic
a | b                  bar lines;              a // b  two voices of one bar
"""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from dataclasses import replace
from fractions import Fraction

from pipeline.collation.laying import lay_beside
from pipeline.collation.model import Difference, Side, Version
from pipeline.collation.versions import fragment_version, witness_version
from pipeline.score.model import (
    Bar,
    Event,
    EventKind,
    Marking,
    MarkingKind,
    Moment,
    NoteHead,
    Passage,
    Pitch,
    Span,
    Staff,
)

_TOKEN = re.compile(
    r"(?P<grace>g)?(?P<value>\d+)(?P<dots>\.*)(?P<triplet>/3)?:(?P<ended>=)?(?P<what>[^~!<']+)"
    r"(?P<sign>!)?(?P<diamond><\^?>)?(?P<tie>~)?(?P<articulations>('\w+)*)$"
)
_PITCH = re.compile(r"(?P<step>[A-G])(?P<alter>x|#|b*)(?P<octave>\d)$")
_ALTER = {"": 0, "#": 1, "b": -1, "bb": -2, "x": 2}
_SIGN = {0: "n", 1: "s", -1: "f", -2: "ff", 2: "x"}


def music(
    drawn: str,
    *markings: Marking,
    numbers: str = "",
    staff: int = 1,
    labels: tuple[str, ...] = ("Violin",),
    meter: int = 4,
    file: str = "score/movement-1.mei",
) -> Passage:
    """Return a passage of one staff; `numbers` are the printed bar numbers, else 1, 2, 3."""
    drawn_bars = [bar.strip() for bar in drawn.split("|")]
    printed = numbers.split() or [str(n + 1) for n in range(len(drawn_bars))]
    bars: list[Bar] = []
    events: list[Event] = []
    for index, (drawn_bar, n) in enumerate(zip(drawn_bars, printed, strict=True)):
        of_bar: list[Event] = []
        for voice, drawn_voice in enumerate(drawn_bar.split("//"), start=1):
            of_bar += _voice(drawn_voice, index, staff, voice, file)
        filled = max((e.onset + e.duration for e in of_bar), default=Fraction(meter))
        bars.append(Bar(index, n, f"m{index}", Fraction(meter), filled, Fraction(1)))
        events += _numbered(of_bar)
    staves = tuple(Staff(n + 1, label) for n, label in enumerate(labels))
    return Passage(file, staves, tuple(bars), tuple(events), tuple(markings), b"")


def _voice(drawn: str, bar: int, staff: int, voice: int, file: str) -> list[Event]:
    events: list[Event] = []
    onset = Fraction(0)
    for position, token in enumerate(drawn.split()):
        found = _TOKEN.match(token)
        assert found, f"not a note in letters: {token}"
        grace = found["grace"] is not None
        dots = len(found["dots"])
        duration = Fraction(4, int(found["value"])) * (2 - Fraction(1, 2**dots))
        if found["triplet"]:
            duration *= Fraction(2, 3)
        xml_id = f"{file}-{staff}-{bar}-{voice}-{position}"
        kind, heads = _heads(found, xml_id)
        events.append(
            Event(
                xml_id=xml_id,
                kind=kind,
                bar=bar,
                staff=staff,
                voice=voice,
                onset=onset,
                duration=Fraction(0) if grace else duration,
                written=found["value"] + found["dots"],
                heads=heads,
                articulations=tuple(found["articulations"].split("'")[1:]),
                tuplet="3:2" if found["triplet"] else "",
                grace=grace,
            )
        )
        onset += events[-1].duration
    return events


def _heads(found: re.Match[str], xml_id: str) -> tuple[EventKind, tuple[NoteHead, ...]]:
    if found["what"] in {"r", "s"}:
        return (EventKind.REST if found["what"] == "r" else EventKind.SPACE), ()
    ties = {(True, True): "m", (True, False): "t", (False, True): "i", (False, False): ""}
    written_notes = found["what"].split("+")
    touched = {"<>": range(len(written_notes)), "<^>": (len(written_notes) - 1,)}
    heads = tuple(
        NoteHead(
            f"{xml_id}-{number}",
            pitch(written),
            accidental=_SIGN[pitch(written).alter] if found["sign"] else "",
            shape="diamond" if number in touched.get(found["diamond"], ()) else "",
            tie=ties[found["ended"] is not None, found["tie"] is not None],
        )
        for number, written in enumerate(written_notes)
    )
    return (EventKind.CHORD if len(heads) > 1 else EventKind.NOTE), heads


def _numbered(events: list[Event]) -> list[Event]:
    ordered = sorted(events, key=lambda e: (e.onset, e.voice))
    count = 0
    numbered = []
    for event in ordered:
        if event.heads:
            count += 1
        numbered.append(replace(event, number=count if event.heads else None))
    return numbered


def pitch(written: str) -> Pitch:
    """Return the pitch of `F#5`."""
    found = _PITCH.match(written)
    assert found, f"not a pitch: {written}"
    return Pitch(found["step"], _ALTER[found["alter"]], int(found["octave"]))


def moment(written: str) -> Moment:
    """Return the moment of `2:1.5`: bar index from 0, quarter notes from its start."""
    bar, offset = written.split(":")
    return Moment(int(bar), Fraction(offset))


def sign(
    kind: MarkingKind, start: str, end: str = "", content: str = "", staff: int = 1
) -> Marking:
    """Return a marking, moments written as in `moment`."""
    return Marking(
        f"{kind}-{start}-{content}", kind, staff, moment(start), moment(end) if end else None,
        content=content,
    )  # fmt: skip


def slur(start: str, end: str) -> Marking:
    """Return a slur from note onset to note onset."""
    return sign(MarkingKind.SLUR, start, end)


def hairpin(start: str, end: str, content: str = "cres") -> Marking:
    """Return a hairpin."""
    return sign(MarkingKind.HAIRPIN, start, end, content)


def dynamic(start: str, content: str) -> Marking:
    """Return a dynamic sign."""
    return sign(MarkingKind.DYNAMIC, start, content=content)


def with_bar_signs(
    passage: Passage,
    meters: Mapping[int, str] | None = None,
    starts: Collection[int] = (),
    ends: Collection[int] = (),
    endings: Mapping[int, str] | None = None,
) -> Passage:
    """Return the passage with the meter from each bar on, repeat signs, the ending of each bar."""
    meter, bars = "", []
    for bar in passage.bars:
        meter = (meters or {}).get(bar.index, meter)
        start, end = bar.index in starts, bar.index in ends
        ending = (endings or {}).get(bar.index, "")
        bars.append(replace(bar, meter=meter, repeat_start=start, repeat_end=end, ending=ending))
    return replace(passage, bars=tuple(bars))


def whole(passage: Passage, first: int = 0, last: int | None = None, staff: int = 1) -> Span:
    """Return the span of whole bars `first` to `last` (indexes, inclusive; the end if left out)."""
    last = len(passage.bars) - 1 if last is None else last
    end = Moment(last, passage.bars[last].filled)
    return within(passage, Moment(first, Fraction(0)), end, staff, whole_bars=True)


def within(
    passage: Passage, start: Moment, end: Moment, staff: int = 1, whole_bars: bool = False
) -> Span:
    """Return the span of what begins from `start` up to `end`."""
    events = tuple(e for e in passage.events if e.staff == staff and start <= e.start < end)
    return Span(1, staff, start, end, events, whole_bars)


def fragment(passage: Passage) -> Version:
    """Return music of a record's own, all of it, as a version."""
    return fragment_version(passage, (), None)


def encoded(text: Passage, encoding: Passage, span: Span | None = None) -> Version:
    """Return a witness's encoding, laid beside the text, where it answers a place or all of it."""
    beside = lay_beside(text, encoding)
    assert beside.obstacle is None, beside.obstacle
    found = witness_version(text, span or whole(text, staff=min(beside.staves)), beside, "W", None)
    assert isinstance(found, Version), found
    return found


def told(difference: Difference) -> str:
    """Return a difference as one line: `pitch 0:1-0:2 D5 | E5`; dots stand for nothing."""
    change = "" if difference.change == "otherwise" else f" {difference.change}"
    return (
        f"{difference.kind}{change} {_at(difference.start)}-{_at(difference.end)} "
        f"{_side(difference.text)} | {_side(difference.reading)}"
    )


def _at(at: Moment) -> str:
    return f"{at.bar}:{float(at.offset):g}"


def _side(side: Side) -> str:
    if side.empty:
        return "."
    if side.markings:
        return " ".join(
            f"{m.content or m.kind}@{_at(m.start)}" + (f"-{_at(m.end)}" if m.end else "")
            for m in side.markings
        )
    return " ".join(f"{e.written}:{_what(e)}" for e in side.events)


def _what(event: Event) -> str:
    if not event.heads:
        return "s" if event.kind is EventKind.SPACE else "r"
    names = {0: "", 1: "#", -1: "b", -2: "bb", 2: "x"}
    return "+".join(f"{p.step}{names[p.alter]}{p.octave}" for p in event.pitches)
