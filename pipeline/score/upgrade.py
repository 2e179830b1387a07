"""A tree in MEI 3 or 4 in, the same tree with the names of MEI 5.1 out, changed in place.

What was renamed between the versions and concerns common music notation (MEI release notes 4.0.0
and 5.0, recalled from memory; every new name is in the 5.1 schema, every old one is not). Whatever
was not renamed stays, header and comments included. What has no successor is taken out and told.

Verovio's own upgrade was tried instead (6.4.1, one page of MEI 3 with these names): it reads the
key, the turn and the mordent as we do, but keeps `measperf` and a slur's `rend`, empties
artic="ten-stacc", loses the meter's visibility, and refuses a file that opens with a comment.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from lxml import etree

from pipeline.score.mei_names import Element, local, tag
from pipeline.score.trouble import Trouble

_RENAMED: Mapping[str, str] = {
    "key.sig": "keysig",
    "key.sig.show": "keysig.visible",
    "keysig.show": "keysig.visible",
    "sig.show": "visible",
    "meter.rend": "meter.form",
    "octave.default": "oct.default",
    "barthru": "bar.thru",
    "barlen": "bar.len",
    "barmethod": "bar.method",
    "barplace": "bar.place",
    "measperf": "unitdur",
    "headshape": "head.shape",
    "beam.rest": "beam.rests",
    "slur.rend": "slur.lform",
    "tie.rend": "tie.lform",
    "midi.tempo": "midi.bpm",
    "authority": "auth",
    "authURI": "auth.uri",
    "authuri": "auth.uri",
}
_RENAMED_ON: Mapping[tuple[str, str], str] = {
    ("fTrem", "slash"): "beams",
    ("meterSig", "rend"): "form",
    ("slur", "rend"): "lform",
    ("tie", "rend"): "lform",
    ("hairpin", "rend"): "lform",
    ("octave", "rend"): "lform",
}
_RENAMED_ELEMENTS: Mapping[str, str] = {
    "workDesc": "workList",
    "instrVoice": "perfRes",
    "instrVoiceGrp": "perfResList",
    "pgHead2": "pgHead",
    "pgFoot2": "pgFoot",
}
_NEW_VALUES: Mapping[tuple[str, str], Mapping[str, str]] = {
    # An inverted turn begins below, an inverted mordent goes above (common practice, no source).
    ("turn", "form"): {"norm": "upper", "inv": "lower"},
    ("mordent", "form"): {"norm": "lower", "inv": "upper"},
}
_SPLIT_ARTICULATIONS: Mapping[str, str] = {"ten-stacc": "ten stacc", "marc-stacc": "marc stacc"}
_CANCEL: Mapping[str, str] = {"true": "before", "false": "none"}
_WITHOUT_SUCCESSOR = frozenset(
    {"clef.showchange", "key.sig.mixed", "sig.mixed", "meter.show", "size", "lvoice.name"}
)
_DURATION_UNITS: Mapping[str, str] = {"p": "dur.ppq", "r": "dur.recip", "s": "dur.real"}


def upgrade(root: Element, trouble: Trouble) -> None:
    """Give every element and attribute its name in MEI 5.1."""
    lost: dict[str, Element] = {}
    for element in root.iter("*"):
        name = local(element)
        if not name:
            continue
        for change in _CHANGES:
            change(element, name)
        for attribute in _WITHOUT_SUCCESSOR & set(map(str, element.keys())):
            lost.setdefault(attribute, element)
            del element.attrib[attribute]
        if name in _RENAMED_ELEMENTS:
            element.tag = tag(_RENAMED_ELEMENTS[name])
    for attribute, element in lost.items():
        trouble.warn(
            "no-successor-in-mei",
            element,
            f"the attribute {attribute} of older MEI has no successor in 5.1 and is left out",
            "Write what it says in MEI 5.1 if the edition needs it.",
        )
    _drop_schema_hints(root)


def _rename(element: Element, name: str) -> None:
    for attribute in list(map(str, element.keys())):
        new = _RENAMED_ON.get((name, attribute)) or _RENAMED.get(attribute)
        if new is not None:
            value = element.get(attribute, "")
            del element.attrib[attribute]
            if new not in element.attrib:
                element.set(new, value)


def _renew_values(element: Element, name: str) -> None:
    for (bearer, attribute), values in _NEW_VALUES.items():
        if name == bearer and element.get(attribute) in values:
            element.set(attribute, values[element.get(attribute, "")])
    artic = element.get("artic")
    if artic is not None:
        parts = (_SPLIT_ARTICULATIONS.get(one, one) for one in artic.split())
        element.set("artic", " ".join(parts))


def _hide_meter(element: Element, name: str) -> None:
    """Make an invisible meter's form ("invis") what MEI 5 says: not visible."""
    for form, visible in (("form", "visible"), ("meter.form", "meter.visible")):
        if element.get(form) == "invis" and (form != "form" or name == "meterSig"):
            del element.attrib[form]
            element.set(visible, "false")


def _cancel_key(element: Element, name: str) -> None:
    for old, new in (
        ("key.sig.showchange", "keysig.cancelaccid"),
        ("keysig.showchange", "keysig.cancelaccid"),
        ("sig.showchange", "cancelaccid"),
    ):
        value = element.get(old)
        if value is not None:
            del element.attrib[old]
            element.set(new, _CANCEL.get(value, value))


def _split_gestural_duration(element: Element, name: str) -> None:
    """Write "8p" (pulses), "4r" (reciprocal) and "2.5s" (seconds) each in its own attribute."""
    value = element.get("dur.ges", "")
    attribute = _DURATION_UNITS.get(value[-1:])
    if attribute is not None and len(value) > 1:
        del element.attrib["dur.ges"]
        element.set(attribute, value[:-1])


_CHANGES: tuple[Callable[[Element, str], None], ...] = (
    _cancel_key,
    _rename,
    _renew_values,
    _hide_meter,
    _split_gestural_duration,
)


def _drop_schema_hints(root: Element) -> None:
    """Take out the `xml-model` instructions before the first element: they name an old schema."""
    hint = root.getprevious()
    aside = etree.Element("aside")
    while hint is not None:
        earlier = hint.getprevious()
        if isinstance(hint, etree._ProcessingInstruction) and hint.target == "xml-model":
            aside.append(hint)
        hint = earlier
