"""Notation written otherwise without another meaning, over the whole of a witness."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lxml import etree

from pipeline.score.model import EventKind
from tests.planting.ground import MEI, XML_ID, Element, Ground

Rewriting = Callable[[Ground], int]
"""Writes the witness otherwise; returns in how many places."""

_TURNED = {"up": "down", "down": "up", "above": "below", "below": "above"}


def stems_turned(ground: Ground) -> int:
    """Every stem points the other way."""
    notes = [one for name in ("note", "chord") for one in _all(ground, name)]
    for note in notes:
        note.set("stem.dir", _TURNED.get(note.get("stem.dir", ""), "up"))
    return len(notes)


def beams_removed(ground: Ground) -> int:
    """Every quaver has its own flag."""
    beams = _all(ground, "beam")
    for beam in beams:
        for child in list(beam):
            beam.addprevious(child)
        beam.getparent().remove(beam)  # type: ignore[union-attr]
    return len(beams)


def breaks_elsewhere(ground: Ground) -> int:
    """Breaks of the work are taken out; systems and pages break after other bars."""
    for name in ("sb", "pb"):
        for old in _all(ground, name):
            old.getparent().remove(old)  # type: ignore[union-attr]
    count = 0
    for index, measure in enumerate(_all(ground, "measure")[1:], 1):
        if index % 5 == 0:
            measure.addprevious(etree.Element(f"{MEI}{'pb' if index % 20 == 0 else 'sb'}"))
            count += 1
    return count


def other_side(ground: Ground) -> int:
    """Signs stand on the other side of the staff, slurs bend the other way."""
    count = 0
    for measure in _all(ground, "measure"):
        for sign in measure:
            if sign.tag in {f"{MEI}staff", f"{MEI}octave"}:
                continue
            name = "curvedir" if sign.tag in {f"{MEI}slur", f"{MEI}tie"} else "place"
            sign.set(name, _TURNED.get(sign.get(name, ""), "above"))
            count += 1
    return count


def other_clefs(ground: Ground) -> int:
    """Every third bar begins in another clef and its staves return to their own; the notes stay
    what they are, so they stand on other lines and sound the same."""
    count = 0
    for measure in _all(ground, "measure")[::3]:
        for layer in measure.iter(f"{MEI}layer"):
            for shape, line, at in (("C", "3", 0), ("G", "2", len(layer) + 1)):
                layer.insert(at, etree.Element(f"{MEI}clef", shape=shape, line=line))
                count += 1
    return count


def bars_numbered_from_the_upbeat(ground: Ground) -> int:
    """The first bar, full or not, is bar 1."""
    measures = _all(ground, "measure")
    first = 2 if measures[0].get("n") == "1" else 1
    for n, measure in enumerate(measures, first):
        measure.set("n", str(n))
    return len(measures)


def other_ids(ground: Ground) -> int:
    """Every xml:id is another one."""
    count = 0
    for one in ground.witness.root.iter("*"):
        for name in (XML_ID, "startid", "endid", "plist"):
            names = one.get(name, "").split()
            if names:
                one.set(name, " ".join(_renamed(old) for old in names))
                count += 1
    return count


def voices_renumbered(ground: Ground) -> int:
    """Layers bear other numbers in the same order."""
    layers = _all(ground, "layer")
    for layer in layers:
        layer.set("n", str(int(layer.get("n", "1")) + 4))
    return len(layers)


def ties_as_attributes(ground: Ground) -> int:
    """Ties are said of the notes instead of standing as elements."""
    heads = {h.xml_id: h for e in ground.base.events for h in e.heads}
    count = 0
    for tie in _all(ground, "tie"):
        ends = [tie.get(name, "").removeprefix("#") for name in ("startid", "endid")]
        if all(end in heads and heads[end].tie for end in ends):
            tie.getparent().remove(tie)  # type: ignore[union-attr]
            for end in ends:
                ground.witness[end].set("tie", heads[end].tie)
            count += 1
    return count


def signs_at_times(ground: Ground) -> int:
    """Dynamics, words and hairpins say their beat instead of their note."""
    count, unit = 0, _unit(ground)
    if unit is None:
        return 0
    for name in ("dynam", "dir", "tempo", "fermata"):
        for sign in _all(ground, name):
            event = ground.base.by_id.get(sign.get("startid", "").removeprefix("#"))
            if event is None or event.grace or "tstamp" in sign.attrib:
                continue
            del sign.attrib["startid"]
            sign.set("staff", sign.get("staff", str(event.staff)))
            sign.set("tstamp", str(float(event.onset) * unit / 4 + 1))
            count += 1
    return count


def rests_in_pieces(ground: Ground) -> int:
    """A rest is written as two of half its length, a rest of a whole bar as those of its beats."""
    count = 0
    for event in ground.base.events:
        element = ground.witness[event.xml_id]
        if event.kind is EventKind.REST and event.written in {"1", "2", "4"} and not event.tuplet:
            element.set("dur", str(2 * int(event.written)))
            element.attrib.pop("dur.ppq", None)
            element.addnext(etree.Element(f"{MEI}rest", dur=element.get("dur", "")))
            count += 1
    return count


def under_an_octave_sign(ground: Ground) -> int:
    """A bar of each staff is written an octave lower under an 8va sign: it sounds the same."""
    count = 0
    for bar in range(1, len(ground.base.bars) - 1, 4):
        for staff in ground.base.staves:
            notes = [e for e in ground.base.events_in.get((staff.n, bar), ()) if e.heads]
            events = [e for e in ground.base.events_in.get((staff.n, bar), ()) if not e.grace]
            if not notes or any(ground.staff_of(e.xml_id) != staff.n for e in notes):
                continue
            if any(m.kind == "octave" for m in ground.base.markings_in.get((staff.n, bar), ())):
                continue
            for head in (h for e in notes for h in e.heads):
                note = ground.witness[head.xml_id]
                note.set("oct", str(int(note.get("oct", "")) - 1))
            last = max(events, key=lambda e: e.onset)
            ground.witness.put(
                "octave", ground.new_id(), notes[0], end=last, dis="8", **{"dis.place": "above"}
            )
            count += 1
    return count


REWRITINGS: Mapping[str, Rewriting] = {
    "stems turned": stems_turned,
    "beams removed": beams_removed,
    "breaks elsewhere": breaks_elsewhere,
    "signs on the other side": other_side,
    "clefs that leave the sound": other_clefs,
    "bars numbered from the upbeat": bars_numbered_from_the_upbeat,
    "voices renumbered": voices_renumbered,
    "ties as attributes": ties_as_attributes,
    "signs at times": signs_at_times,
    "rests in pieces": rests_in_pieces,
    "under an octave sign": under_an_octave_sign,
    "other xml:ids": other_ids,
}
"""In an order in which all can be done to one witness: identifiers last."""


def _all(ground: Ground, name: str) -> list[Element]:
    return list(ground.witness.root.iter(f"{MEI}{name}"))


def _renamed(old: str) -> str:
    return f"#other-{old[1:]}" if old.startswith("#") else f"other-{old}"


def _unit(ground: Ground) -> int | None:
    """Return the unit of the meter in force, None where the work changes its meter."""
    units = {one.get("unit") for one in _all(ground, "meterSig")}
    return int(units.pop() or 4) if len(units) == 1 else None
