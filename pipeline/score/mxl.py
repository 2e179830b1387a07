"""A compressed MusicXML file (.mxl) in, the MusicXML inside it out.

W3C MusicXML 4.0, "Compressed .mxl files": a ZIP archive whose META-INF/container.xml names the
root file. Nothing is unpacked to disk, names are only looked up, sizes are bounded.
"""

from __future__ import annotations

import io
import zipfile
import zlib

from lxml import etree

from pipeline.problems import Origin, Outcome, Problem, error
from pipeline.score.safe_xml import MAX_XML_BYTES, parse_xml

ZIP_MAGIC = b"PK\x03\x04"
_CONTAINER = "META-INF/container.xml"
_DAMAGE = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError, OSError)


def unpacked(data: bytes, file: str) -> Outcome[bytes]:
    """Return the bytes of the archive's root file, or what is wrong with the archive."""
    origin = Origin(file)
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            container = _member(archive, _CONTAINER, file)
            if container.value is None:
                return container
            root_file = _root_file(container.value, f"{file}/{_CONTAINER}")
            if root_file.value is None:
                return Outcome(None, root_file.problems)
            return _member(archive, root_file.value, file)
    except _DAMAGE as wrong:
        problem = error(
            "damaged-archive",
            origin,
            f"the compressed file cannot be unpacked ({wrong})",
            "Export it once more, or uncompressed as .musicxml.",
        )
        return Outcome(None, (problem,))


def _member(archive: zipfile.ZipFile, name: str, file: str) -> Outcome[bytes]:
    try:
        info = archive.getinfo(name)
    except KeyError:
        return Outcome(None, (_not_mxl(file, f"it holds no {name}"),))
    with archive.open(info) as member:
        # The size that the archive states may be false: read no further than the limit.
        content = member.read(MAX_XML_BYTES + 1)
    if len(content) > MAX_XML_BYTES:
        problem = error(
            "file-too-large",
            Origin(file),
            f"{name} inside it unpacks to more than {MAX_XML_BYTES // 2**20} MiB",
            "Keep one movement in one file, without images or sound.",
        )
        return Outcome(None, (problem,))
    return Outcome(content)


def _root_file(container: bytes, file: str) -> Outcome[str]:
    parsed = parse_xml(container, file)
    if parsed.value is None:
        return Outcome(None, parsed.problems)
    for element in parsed.value.iter("{*}rootfile"):
        kind = element.get("media-type", "application/vnd.recordare.musicxml+xml")
        path = element.get("full-path", "")
        if path and "musicxml" in kind:
            return Outcome(path)
    return Outcome(None, (_not_mxl(file, "its container names no MusicXML"),))


def _not_mxl(file: str, why: str) -> Problem:
    return error(
        "not-compressed-musicxml",
        Origin(file),
        f"this archive is no compressed MusicXML: {why}",
        "Export it once more, or uncompressed as .musicxml.",
    )


def is_musicxml(root: etree._Element) -> bool:
    """Return whether a tree is MusicXML, partwise or timewise."""
    return root.tag in {"score-partwise", "score-timewise"}
