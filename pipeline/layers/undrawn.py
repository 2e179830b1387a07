"""Alternatives that cannot be drawn because another one stands above the same bar of the staff.

Engraving shows one `oStaff` a staff and bar. A further one is kept under a staff number that no
staff has, and its signs in the `rdg` of an `app` with an empty `lem`, so that nothing hangs on what
is not drawn. When layers are taken out, the first that is left moves up.
"""

from __future__ import annotations

from lxml import etree

from pipeline.layers.names import Names
from pipeline.layers.sheet import Sheet, unwrap
from pipeline.layers.strands import references_of
from pipeline.layers.tags import Provenance
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, local, tag

HIDDEN = 100
"""Added to the `n` of a further alternative on a staff in a bar: no staff has that number."""

UNDRAWN = "undrawn"
"""The `type` of an `app` that keeps signs of an alternative that is not drawn."""


def set_aside(sheet: Sheet, holder: Element, provenance: Provenance) -> Element:
    """Return an `app` that keeps signs without drawing them."""
    fork = sheet.create("app", [provenance], type=UNDRAWN)
    fork.append(sheet.create("lem", [provenance]))
    branch = sheet.create("rdg", [provenance], type=f"layer-{provenance.layer}")
    branch.append(holder)
    fork.append(branch)
    return fork


def number_alternatives(ossia: Element) -> None:
    """Give the first alternative the number of its staff, every further one a hidden one."""
    staff = next((one for one in ossia if local(one) == "staff"), None)
    n = 1 if staff is None else int(staff.get("n", "1"))
    for before, other in enumerate(one for one in ossia if local(one) == "oStaff"):
        other.set("n", str(n + HIDDEN * before))


def is_drawn(other: Element) -> bool:
    """Whether an alternative is the one that is drawn in its bar."""
    return int(other.get("n", "1")) < HIDDEN


def draw_what_is_left(movement: Element, names: Names) -> None:
    """Number the alternatives of our ossias anew and bring back signs that can now be drawn."""
    for ossia in movement.iter(tag("ossia")):
        if any(names.owns(one.get(XML_ID, "")) for one in ossia if local(one) == "oStaff"):
            number_alternatives(ossia)
    drawn = {
        one.get(XML_ID, "")
        for other in movement.iter(tag("oStaff"))
        if is_drawn(other)
        for one in other.iter(etree.Element)
    }
    for fork in list(movement.iter(tag("app"))):
        ours = fork.get("type") == UNDRAWN and names.owns(fork.get(XML_ID, ""))
        if ours and _hangs_on(fork) <= drawn:
            unwrap(fork, fork[1])


def _hangs_on(fork: Element) -> set[str]:
    """Return what the signs inside hang on, their own ids left out."""
    ids = {one.get(XML_ID, "") for one in fork.iter(etree.Element)}
    return {
        xml_id
        for one in fork[1].iter(etree.Element)
        for name in references_of(one)
        if name in {"startid", "endid", "plist"}
        for xml_id in referred(one.get(name, ""))
    } - ids
