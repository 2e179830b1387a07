"""Bytes of a file in, an lxml tree out: the one place where the parser's settings are made.

Nothing is fetched, no entity is expanded, no document type definition is processed (W3C XML 1.0,
sections 2.8 and 4). A bare `<!DOCTYPE name PUBLIC "..." "...">`, which MusicXML files usually
carry, is tolerated and never followed; one that declares anything is refused before the tree is
built, so a bomb costs no memory.
"""

from __future__ import annotations

from contextlib import suppress
from typing import Any
from xml.parsers import expat

from lxml import etree

from pipeline.problems import Origin, Outcome, Problem, error

MAX_XML_BYTES = 32 * 1024 * 1024
"""A full symphony in MEI is a few megabytes; more than this is not one movement."""

_UNDECLARED = "Entity '"


class _PrologRead(Exception):  # noqa: N818 -- a signal that the first element is reached, no error
    """The part of the file that may declare something has been read."""


def parse_xml(data: bytes, file: str) -> Outcome[etree._Element]:
    """Return the root element, or the problems that keep the file from being read."""
    refused = _too_large_or_empty(data, file) or _declarations(data, file)
    if refused is not None:
        return Outcome(None, (refused,))
    parser = etree.XMLParser(
        resolve_entities=False,
        load_dtd=False,
        dtd_validation=False,
        attribute_defaults=False,
        no_network=True,
        huge_tree=False,
        recover=False,
    )
    try:
        root = etree.fromstring(data, parser)
    except (etree.XMLSyntaxError, ValueError):
        return Outcome(None, (_syntax_problem(parser, data, file),))
    if _declares(root):
        return Outcome(None, (_declared(Origin(file)),))
    undeclared = tuple(
        _entity_problem(Origin(file, entry.line, entry.column), entry.message)
        for entry in parser.error_log
        if entry.message.startswith(_UNDECLARED)
    )
    return Outcome(None if undeclared else root, undeclared)


def _too_large_or_empty(data: bytes, file: str) -> Problem | None:
    if not data.strip():
        return error(
            "empty-file", Origin(file), "the file is empty", "Export the music into it once more."
        )
    if len(data) > MAX_XML_BYTES:
        return error(
            "file-too-large",
            Origin(file),
            f"the file has {len(data) // 2**20} MiB; at most {MAX_XML_BYTES // 2**20} are read",
            "Keep one movement in one file, without images or sound.",
        )
    return None


def _declarations(data: bytes, file: str) -> Problem | None:
    """Return a problem if the prolog declares entities or a document type of its own."""
    found: list[Problem] = []
    parser = expat.ParserCreate()

    def doctype(_name: str, _system: str | None, _public: str | None, internal: int) -> None:
        if internal:
            at = Origin(file, parser.CurrentLineNumber, parser.CurrentColumnNumber + 1)
            found.append(_declared(at))
            raise _PrologRead

    def element(_name: str, _attributes: dict[str, str]) -> None:
        raise _PrologRead

    parser.StartDoctypeDeclHandler = doctype
    parser.StartElementHandler = element
    # What is not well formed is told by the real parser, in its own words.
    with suppress(_PrologRead, expat.ExpatError, LookupError, ValueError):
        parser.Parse(data, True)
    return found[0] if found else None


def _declares(root: etree._Element) -> bool:
    """Return whether entities are declared, in an encoding that hid them from the first look."""
    own: Any = root.getroottree().docinfo.internalDTD
    return own is not None and any(own.iterentities())


def _declared(at: Origin) -> Problem:
    return error(
        "declarations-in-xml",
        at,
        "the file declares entities or a document type of its own; "
        "such declarations can pull in other files or fill the memory",
        "Delete everything between [ and ] in the DOCTYPE line.",
    )


def _syntax_problem(parser: etree.XMLParser, data: bytes, file: str) -> Problem:
    entry = next(
        (e for e in parser.error_log if e.level_name in {"FATAL", "ERROR"}),
        None,
    )
    if entry is None or "Start tag expected" in entry.message or "is empty" in entry.message:
        return error(
            "not-xml", Origin(file), "this is not an XML file", "Export it as MEI or MusicXML."
        )
    at = Origin(file, max(entry.line, 1), max(entry.column, 1))
    message = entry.message.strip()
    if message.startswith(_UNDECLARED):
        return _entity_problem(at, message)
    if "ncoding" in message or "not proper UTF-8" in message:
        return error(
            "wrong-encoding",
            at,
            "the bytes do not fit the character encoding that the first line claims "
            "(UTF-8 where it claims none)",
            "Save the file as UTF-8.",
        )
    if entry.type_name == "DTD_ID_REDEFINED":
        name = message.removeprefix("ID ").removesuffix(" already defined")
        return error(
            "duplicate-xml-id",
            at,
            f'the xml:id "{name}" is used a second time',
            "Give each element an xml:id of its own.",
        )
    if "is not an NCName" in message:
        name = message.removeprefix("xml:id : attribute value ").removesuffix(" is not an NCName")
        return error(
            "invalid-xml-id",
            at,
            f'the xml:id "{name}" is none: it must begin with a letter and hold no space or colon',
            "Put a letter before it, here and in every reference to it.",
        )
    if "Premature end" in message or not data.rstrip(b" \r\n\t\0").endswith(b">"):
        return error(
            "truncated-xml",
            at,
            f"the file breaks off, its end is missing ({message})",
            "Get a whole copy of the file.",
        )
    return error(
        "malformed-xml", at, f"not well-formed XML: {message}", "Correct the mark-up here."
    )


def _entity_problem(at: Origin, message: str) -> Problem:
    name = message.removeprefix(_UNDECLARED).split("'")[0]
    return error(
        "entity-in-xml",
        at,
        f"the entity &{name}; is not one of XML's five; entities are never expanded",
        "Write the character itself.",
    )
