"""The layered document in, the solo part's own MEI out: one staff, every mark with its classes.

Other staves and their signs go, layers that are not wanted go, mark-up is resolved (`lem`, `corr`),
and whose a mark is stands in `@type`, which Verovio turns into classes: `layer-L`, `record-R`, and
`alternative-N` where several stand side by side. Every xml:id is kept.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field

from lxml import etree

from pipeline.edition.layer import Layer
from pipeline.engrave.markings import layer_class
from pipeline.engrave.mei_tree import XML_ID, drop, local, mei
from pipeline.engrave.part_one_staff import keep_staff
from pipeline.layers.carried import is_own
from pipeline.layers.extract import movements_of, open_layered, strip
from pipeline.layers.header import bare_header
from pipeline.layers.names import Names
from pipeline.layers.sheet import make, new_document, remove, unwrap
from pipeline.layers.tags import own_tokens
from pipeline.layers.undrawn import draw_what_is_left, is_drawn
from pipeline.score.mei_names import Element, written_text

_FORKS = frozenset({"app", "choice"})
_TEXT_BRANCHES = ("lem", "corr", "reg", "expan")
_ESCAPE = re.compile(r"_x([0-9a-f]+)_")
_EMENDED = "emended"
CORRECTED = "corrected"
"""Class of what an emendation has otherwise than any source."""
_CORRECTED = ("note", "hairpin", "slur", "tie", "dir", "dynam", "tempo")
_REMARK = "remark accepted"
OPEN_RECORD = "."
"""With this begins what stands for a record where none in force tells a difference."""


@dataclass(frozen=True)
class Mark:
    """One element that a record puts there or speaks of; `xml_id` is empty where nothing is."""

    record: str
    layer: Layer
    measure: str
    xml_id: str


@dataclass
class Solo:
    """One movement of the part as a document that Verovio reads. `marks` in document order.

    `undrawn` names the records of alternatives for which there is no room over their bars.
    """

    n: int
    root: Element
    marks: list[Mark] = field(default_factory=list)
    undrawn: set[str] = field(default_factory=set)

    @property
    def score(self) -> Element:
        """The `score` of the movement."""
        return next(self.root.iter(mei("score")))


def solo_movements(
    document: bytes,
    staff: int,
    layers: Collection[Layer],
    shown: Mapping[str, tuple[str, ...]],
) -> list[Solo]:
    """Return each movement's part. `shown` are the alternatives ordered, by record.

    Linear in the size of the document. Raises NotLayeredError, NotMeiError.
    """
    root, names = open_layered(document)
    hidden = frozenset(record for record, chosen in shown.items() if not chosen)
    made = []
    for movement, work in movements_of(root, names):
        keep_staff(movement, staff)
        drop_records(movement, names, hidden)
        strip(movement, names, {Layer.TEXT, *layers})
        solo = Solo(int(work.get("n", "0")), _document(movement, work.findtext(mei("title"), "")))
        _Tagger(solo, names).run(movement)
        solo.marks += _remarks(root, movement, solo, names, layers, hidden)
        made.append(solo)
    return made


def records_of(element: Element) -> list[str]:
    """Return the records a mark belongs to."""
    words = element.get("type", "").split()
    return [word.removeprefix("record-") for word in words if word.startswith("record-")]


def record_of(reference: str, names: Names) -> str:
    """Return the record whose annot `#id` points to; begins with a dot where none decides."""
    written = reference.removeprefix("#").removeprefix(names.decision(""))
    return _ESCAPE.sub(lambda found: chr(int(found[1], 16)), written)


def _document(movement: Element, title: str) -> Element:
    root = new_document()
    root.append(bare_header(title))
    music, body = make("music"), make("body")
    root.append(music)
    music.append(body)
    body.append(movement)
    drop(movement, "decls")
    return root


def drop_records(movement: Element, names: Names, records: Collection[str]) -> None:
    """Take out what these records put into the music; what they adopt of the text stays."""
    hidden = {names.decision(record) for record in records}
    if not hidden:
        return
    for one in list(movement.iter(mei("supplied"), mei("oStaff"), mei("app"))):
        tokens = {t.removeprefix("#") for t in own_tokens(one, "corresp", names)}
        if is_own(one, names) and tokens and tokens <= hidden and one.getparent() is not None:
            if local(one) == "app" and one.get("type") != "undrawn":
                continue
            remove(one)
    for ossia in list(movement.iter(mei("ossia"))):
        if is_own(ossia, names) and ossia.find(mei("oStaff")) is None:
            unwrap(ossia, ossia)
    draw_what_is_left(movement, names)


def _remarks(
    root: Element,
    movement: Element,
    solo: Solo,
    names: Names,
    layers: Collection[Layer],
    hidden: Collection[str],
) -> Iterator[Mark]:
    """Yield the remarks on this movement: they have a place, but nothing in the music is theirs.

    A note that a remark speaks of gets its class, and no layer's: it is the text's.
    """
    places: dict[str, tuple[Element, str]] = {}
    for measure in movement.iter(mei("measure")):
        for element in measure.iter(etree.Element):
            places[element.get(XML_ID, "")] = element, measure.get(XML_ID, "")
    for annot in root.iterfind(f".//{mei('notesStmt')}/{mei('annot')}"):
        if annot.get("type") != _REMARK or annot.get("n") != str(solo.n):
            continue
        layer = names.layer_of_reference(annot.get("class", "").split(" ")[0])
        record = record_of(annot.get(XML_ID, ""), names)
        place = annot.get("plist", "").split(" ")[0].removeprefix("#")
        if layer in layers and layer is not None and record not in hidden and place in places:
            element, measure_id = places[place]
            if place == measure_id:
                yield Mark(record, layer, measure_id, "")
                continue
            element.set("type", f"{element.get('type', '')} record-{record}".strip())
            yield Mark(record, layer, measure_id, place)


class _Tagger:
    """Goes through a movement once: resolves mark-up, writes classes, takes the marks down."""

    def __init__(self, solo: Solo, names: Names) -> None:
        self._solo = solo
        self._names = names
        self._pushed: dict[Element, list[tuple[str, Layer]]] = defaultdict(list)
        self._measure = ""

    def run(self, movement: Element) -> None:
        for element in list(movement.iter(etree.Element)):
            if element.getparent() is None or not _inside(element, movement):
                continue
            name = local(element)
            if name == "measure":
                self._measure = element.get(XML_ID, "")
            if name in _FORKS:
                self._resolve(element)
            elif name == "oStaff" and not is_drawn(element):
                self._solo.undrawn.update(record for record, _ in self._own(element))
                remove(element)
            elif name == "supplied" and is_own(element, self._names):
                self._unwrap(element, self._own(element))
            elif name == "ossia" and is_own(element, self._names):
                drop(element, "class", "corresp", "resp")
            else:
                self._tag(element)

    def _own(self, element: Element) -> list[tuple[str, Layer]]:
        """The records an element names, with their layers; those still undecided are left out."""
        if element.get("class") is None:
            return []
        layers = own_tokens(element, "class", self._names)
        records = own_tokens(element, "corresp", self._names)
        found = []
        for reference, decision in zip(layers, records, strict=False):
            layer = self._names.layer_of_reference(reference)
            record = record_of(decision, self._names)
            if layer is not None and not record.startswith(OPEN_RECORD):
                found.append((record, layer))
        return found

    def _resolve(self, fork: Element) -> None:
        """Put the text's branch where an `app` or `choice` stands; its records speak of it."""
        branch = _branch(fork)
        told: list[tuple[str, Layer]] = []
        if is_own(fork, self._names) and fork.get("type") != "undrawn":
            told = self._own(fork if branch is None or not self._own(branch) else branch)
        told = [*self._pushed.pop(fork, ()), *told]
        held = [] if branch is None else list(branch.iterchildren(etree.Element))
        if branch is not None and local(branch) == "corr" and is_own(fork, self._names):
            _mark_corrected(fork, branch)
        if not held:
            for record, layer in told:
                self._solo.marks.append(Mark(record, layer, self._measure, ""))
        for one in held:
            self._pushed[one].extend(told)
        unwrap(fork, branch)

    def _unwrap(self, wrapper: Element, told: list[tuple[str, Layer]]) -> None:
        for one in wrapper.iterchildren(etree.Element):
            if local(one) != "layer":
                self._pushed[one].extend(told)
        unwrap(wrapper, wrapper)

    def _tag(self, element: Element) -> None:
        if element.get("class") is None and element not in self._pushed:
            return
        classes = element.get("type", "").split()
        own = self._own(element)
        if not is_own(element, self._names):
            own = [(record, layer_of_text_mark(layer, classes)) for record, layer in own]
        told = list(dict.fromkeys([*own, *self._pushed.pop(element, ())]))
        drop(element, "class", "corresp", "resp")
        if not told:
            return
        classes = [word for word in classes if not word.startswith("layer-")]
        for record, layer in told:
            classes += [layer_class(layer), f"record-{record}"]
            self._solo.marks.append(Mark(record, layer, self._measure, element.get(XML_ID, "")))
        if element.get("n") and local(element) in {"fing", "dir", "artic", "slur"}:
            classes.append(f"alternative-{element.get('n')}")
        element.set("type", " ".join(dict.fromkeys(classes)))


def _mark_corrected(choice: Element, corr: Element) -> None:
    """Tell what the editor has changed: printed accidentals and signs that no `sic` has so."""
    before = {
        _as_printed(one)
        for sic in choice.iterchildren(etree.Element)
        if sic is not corr
        for one in sic.iter(etree.Element)
    }
    for one in corr.iter(*map(mei, _CORRECTED)):
        printed = local(one) != "note" or one.get("accid") or one.find(mei("accid")) is not None
        if printed and _as_printed(one) not in before:
            one.set("type", f"{one.get('type', '')} {CORRECTED}".strip())


def _as_printed(one: Element) -> tuple[str, ...]:
    """What of an element tells whether the editor changed it."""
    accidental = next((a.get("accid", "") for a in one.iter(mei("accid"))), one.get("accid", ""))
    return (
        local(one),
        *(one.get(name, "") for name in ("pname", "oct", "form")),
        accidental,
        written_text(one),
    )


def layer_of_text_mark(layer: Layer, classes: Collection[str]) -> Layer:
    """Return the layer of a sign that the base text has already and a record speaks of.

    A digit that is kept is the composer's, an emended note the editor's; a slur that is divided or
    a bow sign that is kept stays the text's.
    """
    return layer if layer is Layer.COMPOSER or _EMENDED in classes else Layer.TEXT


def _branch(fork: Element) -> Element | None:
    offered = list(fork.iterchildren(etree.Element))
    for wanted in _TEXT_BRANCHES:
        for child in offered:
            if local(child) == wanted:
                return child
    return offered[0] if offered else None


def _inside(element: Element, movement: Element) -> bool:
    """Whether an element was not taken out together with something around it."""
    return element is movement or any(one is movement for one in element.iterancestors())
