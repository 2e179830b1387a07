"""Slurs and fermatas that notes carry as attributes in, elements of their bar out.

MEI allows both (Guidelines 5.1, chapters 4.3.3 and 4.3.5); only an element has an identifier that a
decision can speak of, so one way is kept. What the file means stays the same.
"""

from __future__ import annotations

import re

from lxml import etree

from pipeline.score.mei_names import XML_ID, Element, elements_with, local, tag
from pipeline.score.trouble import Trouble

_SLUR = re.compile(r"^([imt])(\d*)$")
_NOT_READ = ("ornam", "gliss")
_Open = dict[tuple[str, str], Element]
"""Slurs that are open, by staff and number, each with the note it began on."""


def signs_as_elements(root: Element, trouble: Trouble) -> bool:
    """Turn the attributes `slur` and `fermata` into elements; events must have identifiers.

    Return whether there were any, whose elements now need identifiers of their own.
    """
    opened: _Open = {}
    found = False
    if not elements_with(root, "slur", "fermata", *_NOT_READ):
        return found
    for measure in root.iter(tag("measure")):
        for staff in measure.findall(f".//{tag('staff')}"):
            for element in staff.iter("*"):
                if "slur" in element.attrib:
                    found = True
                    _slurs(element, staff.get("n", ""), opened, trouble)
                if "fermata" in element.attrib and local(element) != "barLine":
                    found = True
                    _fermata(element, staff.get("n", ""), measure)
                for attribute in _NOT_READ:
                    if attribute in element.attrib:
                        trouble.warn(
                            "sign-not-read",
                            element,
                            f"the attribute {attribute} is not read",
                            "Write the sign as an element of its bar.",
                        )
    for note in opened.values():
        trouble.warn(
            "slur-without-end",
            note,
            "a slur begins on this note but does not end",
            'Write slur="t…" with the same number on its last note.',
        )
    return found


def _slurs(element: Element, staff: str, opened: _Open, trouble: Trouble) -> None:
    for one in element.get("slur", "").split():
        found = _SLUR.match(one)
        if found is None:
            trouble.warn(
                "unreadable-slur",
                element,
                f'slur="{one}" is neither a beginning (i), a middle (m) nor an end (t)',
                'Write slur="i1" on the first and slur="t1" on the last note.',
            )
            continue
        key = (staff, found[2])
        if found[1] == "i":
            opened[key] = element
        elif found[1] == "t":
            start = opened.pop(key, None)
            if start is None:
                trouble.warn(
                    "slur-without-beginning",
                    element,
                    "a slur ends on this note but has not begun",
                    'Write slur="i…" with the same number on its first note.',
                )
                continue
            slur = etree.SubElement(next(start.iterancestors(tag("measure"))), tag("slur"))
            _attach(slur, staff, start)
            slur.set("endid", f"#{element.get(XML_ID, '')}")
            slur.sourceline = start.sourceline
    del element.attrib["slur"]


def _fermata(element: Element, staff: str, measure: Element) -> None:
    fermata = etree.SubElement(measure, tag("fermata"))
    _attach(fermata, staff, element)
    fermata.set("place", element.get("fermata", "above"))
    fermata.sourceline = element.sourceline
    del element.attrib["fermata"]


def _attach(sign: Element, staff: str, event: Element) -> None:
    if staff:
        sign.set("staff", staff)
    sign.set("startid", f"#{event.get(XML_ID, '')}")
