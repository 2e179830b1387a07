"""What Verovio draws of a layered file, and what it says about it: for tests only."""

from __future__ import annotations

import os
import re
import tempfile
from dataclasses import dataclass

import verovio
from lxml import etree

from pipeline.layers.sheet import parse
from pipeline.layers.undrawn import HIDDEN
from pipeline.score.mei_names import XML_ID, local, tag

MUST_BE_DRAWN = frozenset(
    {"note", "rest", "chord", "slur", "tie", "dynam", "hairpin", "dir", "tempo", "fing", "artic"}
    | {"trill", "turn", "mordent", "fermata"}
)


@dataclass(frozen=True)
class Drawn:
    """The SVG of all pages, the line that Verovio wrote to stderr, the ids that are not there."""

    svg: str
    said: str
    lost: tuple[str, ...]


def draw(mei: bytes) -> Drawn:
    """Load and draw a document, every movement of it."""
    with tempfile.TemporaryFile() as caught:
        kept = os.dup(2)
        os.dup2(caught.fileno(), 2)
        try:
            toolkit = verovio.toolkit()
            toolkit.setOptions({"mdivAll": True, "adjustPageHeight": True})
            assert toolkit.loadData(mei.decode()), "Verovio refuses the file"
            pages = [toolkit.renderToSVG(n + 1) for n in range(toolkit.getPageCount())]
        finally:
            os.dup2(kept, 2)
            os.close(kept)
        caught.seek(0)
        said = caught.read().decode()
    svg = "".join(pages)
    there = set(re.findall(r' id="([^"]+)"', svg))
    lost = tuple(sorted(_must_be_drawn(mei) - there))
    return Drawn(svg, said, lost)


def _must_be_drawn(mei: bytes) -> set[str]:
    """Return the ids of all signs and notes that no reading of a witness holds."""
    music = parse(mei).find("{http://www.music-encoding.org/ns/mei}music")
    assert music is not None
    hidden = {
        one.get(XML_ID, "")
        for other in music.iter(tag("oStaff"))
        if int(other.get("n", "1")) > HIDDEN
        for one in other.iter(etree.Element)
    }
    wanted = set()
    for element in music.iter(etree.Element):
        around = {local(one) for one in element.iterancestors()}
        on_hidden = element.get("startid", "").removeprefix("#") in hidden
        if local(element) in MUST_BE_DRAWN and not around & {"rdg", "sic"} and not on_hidden:
            wanted.add(element.get(XML_ID, ""))
    wanted -= hidden
    return wanted - {""}
