"""Notes that are copied under another key signature keep sounding as they do.

In comes a copy of a version's music with the pitches it was read with; where the version's key
signatures are not those of the text, every note that prints no accidental says in `accid.ges` how
it sounds (MEI 5.1, att.accidental.ges), for the signature above it may now be another.
"""

from __future__ import annotations

from lxml import etree

from pipeline.score.mei_names import XML_ID, Element, chosen_children, local, tag
from pipeline.score.model import Passage

_SIGN = {-2: "ff", -1: "f", 0: "n", 1: "s", 2: "ss"}


def one_key(first: frozenset[str], second: frozenset[str]) -> bool:
    """Whether both documents have one and the same key signature throughout (see `keys_of`)."""
    return len(first | second) == 1


def say_how_notes_sound(element: Element, passage: Passage) -> None:
    """Write the sounding alteration on each note of a copy whose ids are still the version's."""
    for note in element.iter(tag("note")):
        event = passage.by_id.get(note.get(XML_ID, ""))
        if event is None or "accid" in note.attrib or "accid.ges" in note.attrib:
            continue
        if any(local(child) == "accid" for child in chosen_children(note)):
            continue
        head = next((h for h in event.heads if h.xml_id == note.get(XML_ID)), None)
        if head is not None and head.pitch.alter in _SIGN:
            note.set("accid.ges", _SIGN[head.pitch.alter])


def keys_of(root: Element) -> frozenset[str]:
    """Return every key signature of a document; a document without any has none: `0`."""
    found: set[str] = set()
    for element in root.iter(etree.Element):
        name = local(element)
        if name in {"scoreDef", "staffDef"} and element.get("keysig"):
            found.add(element.get("keysig", ""))
        elif name == "keySig":
            found.add(element.get("sig") or "mixed")
    return frozenset(found) or frozenset({"0"})
