"""Bars that only a version has: an `app` between measures, its lemma empty.

In come the bars found while the notes were woven; what several records say of one bar on several
staves becomes one measure. MEI Guidelines 5.1, chapter 11.1: an empty `lem` has nothing there.
"""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.layers.readings import Woven, open_fork, strands_by_witness
from pipeline.layers.segments import AddedBar, Claim
from pipeline.layers.sheet import Sheet, children, remove
from pipeline.layers.strands import Strand
from pipeline.score.mei_names import XML_ID, Element, local


def weave_added_bars(sheet: Sheet, woven: Woven) -> None:
    """Write the bars that versions have more than the text, each after the bar it follows."""
    groups: dict[object, list[AddedBar]] = {}
    for added in woven.added_bars:
        strand = added.claim.strand
        key = (id(strand.passage), strand.owner, added.bar)
        groups.setdefault(key, []).append(added)
    last: dict[int, Element] = {}
    for group in sorted(groups.values(), key=lambda g: (_follows(g[0]), g[0].bar)):
        first = group[0]
        claims = list({id(added.claim): added.claim for added in group}.values())
        measure = _measure(first.claim.strand, first.bar, [c.strand for c in claims])
        witnesses = list(strands_by_witness(claims))
        fork = open_fork(sheet, claims, [(witnesses, [measure])], [])
        after = _follows(first)
        anchor = last.get(after, sheet.measure(after))
        parent = anchor.getparent()
        if parent is None:
            raise ValueError("a measure that stands in no section")
        _insert_after(parent, anchor, fork)
        last[after] = fork
        _hang(claims, measure)


def _follows(added: AddedBar) -> int:
    """Return the text's bar after which the version's bar stands."""
    for bar in range(added.bar - 1, -1, -1):
        known = added.claim.strand.text_bar(bar)
        if known is not None:
            return known
    return added.after


def _insert_after(parent: Element, anchor: Element, fork: Element) -> None:
    """Insert without moving the white space that follows the anchor."""
    parent.insert(parent.index(anchor) + 1, fork)


def _measure(strand: Strand, bar: int, strands: Sequence[Strand]) -> Element:
    """Return a copy of the version's bar with only the staves that the records speak of."""
    copy = strand.copies([strand.by_id[strand.passage.bars[bar].xml_id]])[0]
    wanted = {str(other.text_staff) for other in strands}
    staff_of = {str(other.version.staff): str(other.text_staff) for other in strands}
    for child in children(copy):
        if local(child) == "staff":
            n = child.get("n", "1")
            child.set("n", staff_of.get(n, n))
            if child.get("n") not in wanted:
                remove(child)
        elif local(child) and _staff_of_sign(strand, child) not in wanted | staff_of.keys():
            remove(child)
    return copy


def _staff_of_sign(strand: Strand, copy: Element) -> str:
    written = copy.get("staff", "")
    if written:
        return written.split()[0]
    back = {new: old for old, new in strand.copied.items()}
    xml_id = back.get(copy.get(XML_ID, ""), "")
    for marking in strand.passage.markings:
        if marking.xml_id == xml_id:
            return str(marking.staff)
    return ""


def _hang(claims: Sequence[Claim], measure: Element) -> None:
    claims[0].strand.turn_references(measure)
