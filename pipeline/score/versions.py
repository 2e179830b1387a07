"""A tree in MEI 3, 4 or 5 in, a whole document in MEI 5.1 out.

A document in MEI 5 keeps every element and attribute it has; an older one is upgraded by our own
renames (`upgrade`), not by an engraver's reading, which drops what it does not draw. A fragment (a
section, a score) is given the document around it that the schema asks for.
"""

from __future__ import annotations

from lxml import etree

from pipeline.score.mei_names import MEI_NAMESPACE, MEI_VERSION, Element, local, tag
from pipeline.score.trouble import Trouble
from pipeline.score.upgrade import upgrade

_CURRENT = ("5.0", "5.1")
_OLD = ("3.0", "4.0")
_AROUND = ("mei", "music", "body", "mdiv", "score", "section")
"""What encloses what, down to the smallest fragment that can stand alone in a file."""


def as_current_mei(root: Element, trouble: Trouble) -> Element | None:
    """Return the root of a whole MEI 5.1 document, or None (told) where this is no MEI."""
    if not local(root):
        _tell_foreign(root, trouble)
        return None
    if local(root) not in _AROUND:
        trouble.error(
            "not-a-score",
            root,
            f"the file begins with `{local(root)}`; music is expected in a whole MEI document "
            "or a `score`",
            "Export the bars as a document of their own.",
        )
        return None
    written = root.get("meiversion")
    version = _version(written)
    if written is None and local(root) == "mei":
        trouble.warn(
            "no-mei-version",
            root,
            f"the file does not say in which version of MEI it is; read as {MEI_VERSION}",
            'Write meiversion="5.1" on its first element.',
        )
    elif written is not None and version not in (*_CURRENT, *_OLD):
        trouble.error(
            "unknown-mei-version",
            root,
            f"the file is in MEI {written}; versions 3.0, 4.0, 5.0 and 5.1 are read",
            "Export it in one of these.",
        )
        return None
    if version in _OLD:
        upgrade(root, trouble)
    document = _whole(root)
    document.set("meiversion", MEI_VERSION)
    _keep_opening_comments(document)
    _number_staves_and_layers(document)
    return document


def _version(written: str | None) -> str:
    """Return the version proper of a value such as "5.1+CMN" or "4.0.1"."""
    return ".".join((written or "").split("+")[0].split("-")[0].split(".")[:2])


def _tell_foreign(root: Element, trouble: Trouble) -> None:
    name = etree.QName(root)
    if name.localname in _AROUND:
        trouble.error(
            "wrong-namespace",
            root,
            f"`{name.localname}` is not in the namespace of MEI",
            f'Write xmlns="{MEI_NAMESPACE}" on the first element.',
        )
    else:
        trouble.error(
            "not-music",
            root,
            f"the file begins with `{name.localname}`; MEI or MusicXML is expected",
            "Export the music as MEI 5.1 or as MusicXML.",
        )


def _keep_opening_comments(document: Element) -> None:
    """Move comments before the first element into it: Verovio 6.4 refuses a file with them."""
    before = document.getprevious()
    while before is not None:
        earlier = before.getprevious()
        if isinstance(before, etree._Comment):
            before.tail = None
            document.insert(0, before)
        before = earlier


def _number_staves_and_layers(document: Element) -> None:
    """Write the `n` that staves and layers have by their order where the file leaves it out."""
    for kind, parent in (("staff", "measure"), ("layer", "staff")):
        for bearer in document.iter(tag(parent)):
            for position, child in enumerate(bearer.findall(tag(kind)), 1):
                if "n" not in child.attrib:
                    child.set("n", str(position))


def _whole(root: Element) -> Element:
    name = local(root)
    if name == "mei":
        return root
    document = etree.fromstring(f'<mei xmlns="{MEI_NAMESPACE}"/>')
    head = etree.SubElement(etree.SubElement(document, tag("meiHead")), tag("fileDesc"))
    title = etree.SubElement(etree.SubElement(head, tag("titleStmt")), tag("title"))
    title.text = ""
    etree.SubElement(head, tag("pubStmt"))
    inner = document
    for enclosing in _AROUND[1 : _AROUND.index(name)]:
        inner = etree.SubElement(inner, tag(enclosing))
    inner.append(root)
    return document
