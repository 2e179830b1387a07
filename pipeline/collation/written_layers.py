"""A layer of MEI as it is written: its events in order, the beams around each, changes of clef.

The elements are those of the file; editorial mark-up is looked through as the score stage does it
(MEI Guidelines 5.1, chapters 4.2 and 11).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from pipeline.score.mei_names import XML_ID, Element, chosen_children, local

_EVENTS = frozenset({"note", "chord", "rest", "space", "mRest", "mSpace"})
_AROUND_EVENTS = frozenset({"tuplet", "graceGrp", "bTrem", "fTrem"})
_CHANGES = frozenset({"clef", "keySig", "staffDef"})


@dataclass(frozen=True)
class WrittenEvent:
    """An event of a layer with the notes it holds and the numbers of its beams, outermost first."""

    element: Element
    notes: tuple[Element, ...]
    beams: tuple[int, ...]
    grace: bool

    @property
    def xml_id(self) -> str:
        """The event's own xml:id."""
        return self.element.get(XML_ID, "")

    def stated(self, attribute: str) -> str:
        """Return what the event or the first of its notes to say so states."""
        found = (one.get(attribute, "") for one in (self.element, *self.notes))
        return next((value for value in found if value), "")


@dataclass
class WrittenLayer:
    """A layer. `changes` are clefs, keys and definitions by the xml:id of the event they precede,
    which is empty for what stands at the end."""

    events: list[WrittenEvent] = field(default_factory=list)
    changes: list[tuple[str, Element]] = field(default_factory=list)


def written_layer(layer: Element, numbers: Iterator[int]) -> WrittenLayer:
    """Return what a layer holds; each beam gets the next of the numbers."""
    found = WrittenLayer()
    waiting: list[Element] = []
    _read(layer, (), False, numbers, found, waiting)
    found.changes += [("", element) for element in waiting]
    return _beams_by_attribute(found, numbers)


def _read(
    parent: Element,
    beams: tuple[int, ...],
    grace: bool,
    numbers: Iterator[int],
    found: WrittenLayer,
    waiting: list[Element],
) -> None:
    for child in chosen_children(parent):
        name = local(child)
        if name in _EVENTS:
            event = _event(child, name, beams, grace)
            found.events.append(event)
            found.changes += [(event.xml_id, element) for element in waiting]
            waiting.clear()
        elif name in _CHANGES:
            waiting.append(child)
        elif name == "beam":
            _read(child, (*beams, next(numbers)), grace, numbers, found, waiting)
        elif name in _AROUND_EVENTS:
            _read(child, beams, grace or name == "graceGrp", numbers, found, waiting)


def _event(element: Element, name: str, beams: tuple[int, ...], grace: bool) -> WrittenEvent:
    notes: tuple[Element, ...] = (element,) if name == "note" else ()
    if name == "chord":
        notes = tuple(child for child in chosen_children(element) if local(child) == "note")
    grace = grace or any(one.get("grace") is not None for one in (element, *notes))
    return WrittenEvent(element, notes, beams, grace)


def _beams_by_attribute(layer: WrittenLayer, numbers: Iterator[int]) -> WrittenLayer:
    """Number the beams that stand in `beam` attributes, such as "i1" (MEI data.BEAM)."""
    if not any(event.element.get("beam") for event in layer.events):
        return layer
    open_beam: int | None = None
    events = []
    for event in layer.events:
        written = event.element.get("beam", "")[:1]
        if written == "i":
            open_beam = next(numbers)
        if written and open_beam is not None and not event.beams:
            event = WrittenEvent(event.element, event.notes, (open_beam,), event.grace)
        if written == "t":
            open_beam = None
        events.append(event)
    return WrittenLayer(events, layer.changes)
