"""A MusicXML 4.0 tree in, an MEI 5.1 tree out, with the lines of the editor's own file.

Verovio's importer does the conversion, once, in a process of its own (`musicxml_import`). What it
puts in that changes from run to run (time stamp, identifiers) is taken out; what it leaves out is
read by `musicxml_playing` or told by `musicxml_tally`. Identifiers that the file has are kept, all
others are ours.
"""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from lxml import etree

from pipeline.score.durations import written_value
from pipeline.score.identifiers import REFERENCES, attributes, give_identifiers
from pipeline.score.mei_names import MEI_VERSION, XML_ID, Element, local, tag, whole_number
from pipeline.score.musicxml_playing import put_playing
from pipeline.score.musicxml_tally import tell_losses
from pipeline.score.safe_xml import parse_xml
from pipeline.score.trouble import Trouble

_MARK = "taken-over-"
"""Begins the identifiers by which notes are followed through the import; they do not stay."""

# What it says about drawing does not matter here; ties left open are told of each tie.
_ABOUT_IMPORT = re.compile(
    r"^(?:\[Error\] |\[Warning\] MusicXML import: )(?P<about>(?!.*ties left open).*)$"
)

MAX_IMPORT_SECONDS = 300
"""A quartet of 19,000 notes took half a minute on a slow machine."""
_IMPORTER = Path(__file__).with_name("musicxml_import.py")
_QUOTED = re.compile(r"(?:element )?'([^']+)'")


@dataclass(frozen=True)
class Imported:
    """The MEI tree of an import and its elements by the MusicXML element each comes from.

    `mei_of` has notes and rests; what the import dropped is missing.
    """

    source: Element
    root: Element
    mei_of: dict[Element, Element]


def mei_from_musicxml(source: Element, trouble: Trouble) -> Element | None:
    """Return the root of an MEI 5.1 document, or None (told) where it cannot be converted."""
    if source.tag != "score-partwise":
        trouble.error(
            "timewise-musicxml",
            source,
            "the file is ordered by bars (score-timewise), which is not read",
            "Export it as ordinary (partwise) MusicXML.",
        )
        return None
    marked, own, by_mark = _marked(source)
    written, said = _convert(etree.tostring(marked, encoding="unicode"))
    for line in said:
        mark = _QUOTED.search(line)
        trouble.warn(
            "import-warning",
            by_mark.get(mark[1], source) if mark else source,
            f"the importer says: {_QUOTED.sub(_named(by_mark), line)}",
            "Compare what it names with the source; it may be missing.",
        )
    parsed = parse_xml(written.encode(), trouble.file) if written else None
    if parsed is None or parsed.value is None:
        trouble.error(
            "not-importable",
            source,
            "the file is MusicXML but cannot be converted into a score",
            "Open it in the program that made it and export it once more.",
        )
        return None
    # Serialised and parsed again, the tree is free of the schema hints before its first element.
    root = etree.fromstring(etree.tostring(parsed.value))
    imported = Imported(source, root, _followed(root, by_mark))
    _put_note_values(root)
    _put_bar_rests(imported)
    put_playing(imported, trouble)
    tell_losses(imported, trouble)
    _take_over_lines(imported)
    _own_identifiers(root, own)
    _tidy(root)
    return root


def _named(by_mark: dict[str, Element]) -> Callable[[re.Match[str]], str]:
    """Return what names a note by where it is, and leaves any other quoted word as it is."""
    return lambda quoted: "this note" if quoted[1] in by_mark else quoted[0]


def _marked(source: Element) -> tuple[Element, frozenset[str], dict[str, Element]]:
    """Return a copy with an `id` on every note, the ids the file has, and the notes by id."""
    own = frozenset(element.get("id", "") for element in source.iter("*")) - {""}
    copy = deepcopy(source)
    by_mark: dict[str, Element] = {}
    for number, (note, twin) in enumerate(
        zip(source.iter("note"), copy.iter("note"), strict=True), 1
    ):
        mark = twin.get("id") or f"{_MARK}{number}"
        twin.set("id", mark)
        by_mark[mark] = note
    # The importer would leave out the bars that a rest of several bars stands for.
    for several in list(copy.iter("multiple-rest")):
        style = several.getparent()
        if style is not None:
            style.remove(several)
    return copy, own, by_mark


def _convert(musicxml: str) -> tuple[str, list[str]]:
    """Return Verovio's MEI, "" where it fails, and what it says about the import."""
    try:
        done = subprocess.run(
            [sys.executable, "-I", str(_IMPORTER)],
            input=musicxml.encode(),
            capture_output=True,
            timeout=MAX_IMPORT_SECONDS,
            check=False,
        )
    except subprocess.TimeoutExpired:
        return "", []
    lines = done.stderr.decode("utf-8", "replace").splitlines()
    found = (_ABOUT_IMPORT.match(line.strip()) for line in lines)
    said = list(dict.fromkeys(one["about"] for one in found if one))
    return done.stdout.decode() if done.returncode == 0 else "", said


def _followed(root: Element, by_mark: dict[str, Element]) -> dict[Element, Element]:
    found: dict[Element, Element] = {}
    for element in root.iter("*"):
        note = by_mark.get(element.get(XML_ID, ""))
        if note is not None:
            found[note] = element
    return found


def _put_note_values(root: Element) -> None:
    """Write the note value where the file gives only a duration (MusicXML `type` is optional)."""
    ppq = {e.get("n"): e.get("ppq", "") for e in root.iter(tag("staffDef"))}
    for element in root.iter(tag("note"), tag("rest"), tag("chord")):
        pulses = whole_number(element.get("dur.ppq", ""))
        if "dur" in element.attrib or pulses is None or element.get("visible") == "false":
            continue
        staff = next(element.iterancestors(tag("staff")), None)
        per_quarter = whole_number(ppq.get(staff.get("n"), "")) if staff is not None else None
        if per_quarter:
            value = written_value(Fraction(pulses, per_quarter))
            if value is not None:
                element.set("dur", value[0])
                if value[1]:
                    element.set("dots", str(value[1]))


def _put_bar_rests(imported: Imported) -> None:
    """Read a whole rest that stands alone in its voice as the rest of the bar, as it is drawn."""
    for element in imported.mei_of.values():
        layer = element.getparent()
        alone = layer is not None and local(layer) == "layer" and len(layer) == 1
        if alone and local(element) == "rest" and element.get("dur") == "1":
            element.tag = tag("mRest")
            del element.attrib["dur"]


def _take_over_lines(imported: Imported) -> None:
    """Give every MEI element the line of its note, or of its bar, in the MusicXML file."""
    for element in imported.root.iter("*"):
        element.sourceline = _storable(imported.source.sourceline)
    part = imported.source.find("part")
    lines = [measure.sourceline for measure in part.iter("measure")] if part is not None else []
    for index, measure in enumerate(imported.root.iter(tag("measure"))):
        if index < len(lines):
            for element in measure.iter("*"):
                element.sourceline = _storable(lines[index])
    for note, element in imported.mei_of.items():
        for inner in element.iter("*"):
            inner.sourceline = _storable(note.sourceline)


def _storable(line: object) -> Any:
    """Return the line, or the last one that libxml2 can be told: it keeps 16 bits of it.

    A problem further down names its bar as well, so it can still be found.
    """
    return min(line, 0xFFFF) if isinstance(line, int) else 1


def _own_identifiers(root: Element, own: frozenset[str]) -> None:
    """Replace every identifier that the MusicXML file does not have, and references to it."""
    former: dict[Element, str] = {}
    for element in root.iter("*"):
        identifier = element.get(XML_ID)
        if identifier is not None and identifier not in own:
            former[element] = identifier
            del element.attrib[XML_ID]
    give_identifiers(root)
    renamed = {old: element.get(XML_ID) for element, old in former.items()}
    for element in root.iter("*"):
        for name, value in attributes(element):
            if "#" in value and name in REFERENCES:
                parts = (
                    f"#{renamed.get(one[1:]) or one[1:]}" if one.startswith("#") else one
                    for one in value.split()
                )
                element.set(name, " ".join(parts))


def _tidy(root: Element) -> None:
    """Take out what the import adds of its own: its version, the clock, a needless section."""
    root.set("meiversion", MEI_VERSION)
    for element in root.iter(tag("application")):
        if "isodate" in element.attrib:
            del element.attrib["isodate"]
    for expansion in list(root.iter(tag("expansion"))):
        section = expansion.getparent()
        if section is None:
            continue
        inner = [child for child in section if child is not expansion]
        section.remove(expansion)
        if len(inner) == 1 and local(inner[0]) == "section":
            for child in list(inner[0]):
                section.append(child)
            section.remove(inner[0])
