"""A passage written at another pitch, staff by staff, in its events and in its MEI alike.

In come a passage and by how much each staff is to be moved; out goes the passage as if it had been
written there: `pname` and `oct` of every note (MEI 5.1, att.pitch, att.octave), the alteration in
its sign where one is printed, else in `accid.ges`, and the key signatures of the staff. A move by
octaves changes nothing but `oct` and `oct.ges` and is exact. Elsewhere the printed signs are those
that the notes had, turned to what they mean at the new pitch, and key signatures that would need
more than seven signs are left out, for every note says itself how it sounds. Clefs are left as they
are: they carry no sound.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from lxml import etree

from pipeline.score.mei_names import XML_ID, Element, chosen_children, local, tag, whole_number
from pipeline.score.model import SEMITONES_OF_STEP, Event, NoteHead, Passage, Pitch
from pipeline.score.signatures import ALTERATIONS

_STEPS = "CDEFGAB"
_SIGNS = {-3: "tf", -2: "ff", -1: "f", 0: "n", 1: "s", 2: "x", 3: "xs"}
_SOUNDS = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "ss"}
"""MEI data.ACCIDENTAL.WRITTEN and data.ACCIDENTAL.GESTURAL."""

_MOST_SIGNS = 7


@dataclass(frozen=True)
class Move:
    """Steps of the staff and semitones, up."""

    steps: int
    semitones: int

    @property
    def fifths(self) -> int:
        """How many sharps a key signature gains."""
        return 7 * self.semitones - 12 * self.steps


def moved(pitch: Pitch, by: Move) -> Pitch:
    """Return the pitch so many steps and semitones higher."""
    octave, step = divmod(7 * pitch.octave + _STEPS.index(pitch.step) + by.steps, 7)
    name = _STEPS[step]
    alter = pitch.midi + by.semitones - 12 * (octave + 1) - SEMITONES_OF_STEP[name]
    return Pitch(name, alter, octave)


def transposed(passage: Passage, moves: Mapping[int, Move]) -> Passage:
    """Return the passage with each staff of `moves` (by number) moved; the others are as before."""
    events = tuple(
        _moved_event(event, moves[event.staff]) if event.staff in moves else event
        for event in passage.events
    )
    if not passage.mei:
        return replace(passage, events=events)
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    root = etree.fromstring(passage.mei, parser)
    heads = {
        head.xml_id: (head, moves[event.staff])
        for event in events
        if event.staff in moves
        for head in event.heads
    }
    for note in root.iter(tag("note")):
        found = heads.get(note.get(XML_ID, ""))
        if found is not None:
            _write(note, *found)
    for key in list(_keys(root)):
        _write_key(key, passage, moves)
    tree = root.getroottree()
    return replace(
        passage,
        events=events,
        mei=etree.tostring(tree, encoding="UTF-8", xml_declaration=True),
    )


def _moved_event(event: Event, by: Move) -> Event:
    if not event.heads:
        return event
    return replace(event, heads=tuple(_moved_head(head, by) for head in event.heads))


def _moved_head(head: NoteHead, by: Move) -> NoteHead:
    pitch = moved(head.pitch, by)
    turned = by.fifths and head.accidental in ALTERATIONS
    sign = _SIGNS.get(pitch.alter, head.accidental) if turned else head.accidental
    return replace(head, pitch=pitch, accidental=sign)


def _write(note: Element, head: NoteHead, by: Move) -> None:
    """Write the note; under an octave sign `oct` is where it is drawn, not where it sounds."""
    step = _STEPS.index(note.get("pname", "c").upper())
    for name in ("oct", "oct.ges"):
        written = note.get(name)
        if written is not None:
            note.set(name, str((7 * int(written) + step + by.steps) // 7))
    if "oct" not in note.attrib:  # the octave was that of `oct.default`
        note.set("oct", str(head.pitch.octave))
        note.set("oct.ges", str(head.pitch.octave))
    if not by.fifths:
        return
    note.set("pname", head.pitch.step.lower())
    signs = [note, *(child for child in chosen_children(note) if local(child) == "accid")]
    for one in signs:
        if one.get("accid") in ALTERATIONS:
            one.set("accid", head.accidental)
        if "accid.ges" in one.attrib:
            del one.attrib["accid.ges"]
    if not head.accidental and head.pitch.alter in _SOUNDS:
        note.set("accid.ges", _SOUNDS[head.pitch.alter])


def _keys(root: Element) -> Iterator[tuple[Element, str]]:
    for element in root.iter(etree.Element):
        if local(element) == "keySig" and "sig" in element.attrib:
            yield element, "sig"
        elif "keysig" in element.attrib:
            yield element, "keysig"


def _write_key(key: tuple[Element, str], passage: Passage, moves: Mapping[int, Move]) -> None:
    """Turn a key signature of one staff, or one of all staves that are all moved alike."""
    element, name = key
    around = (element, *element.iterancestors())
    numbers = [e.get("n", "") for e in around if local(e) in {"staff", "staffDef"}]
    staves = {s.n for s in passage.staves if not numbers or str(s.n) == numbers[0]}
    turns = {moves[n].fifths if n in moves else 0 for n in staves}
    signs = _sharps(element.get(name, ""))
    if signs is None or len(turns) != 1 or turns == {0}:
        return
    sharps = signs + turns.pop()
    if abs(sharps) > _MOST_SIGNS:
        del element.attrib[name]
    else:
        element.set(name, f"{abs(sharps)}{'s' if sharps > 0 else 'f'}" if sharps else "0")


def _sharps(written: str) -> int | None:
    """Return the sharps of "3s", minus the flats of "2f"; None for a key of another kind."""
    if written == "0":
        return 0
    count = whole_number(written[:-1])
    if count is None or written[-1:] not in ("s", "f"):
        return None
    return count if written[-1] == "s" else -count
