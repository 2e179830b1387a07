"""Whole bars that only one side has: an `app` around a measure, or between measures.

A bar that a witness lacks stands in the lemma, beside an empty `rdg`; a bar that only it has in the
`rdg`, beside an empty lemma. What records say of one bar on several staves becomes one measure.
MEI Guidelines 5.1, chapter 11.1: an empty branch says that nothing is there.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lxml import etree

from pipeline.layers.beats import keep_in_place
from pipeline.layers.readings import Woven, branch_of_text, open_fork, strands_by_witness
from pipeline.layers.segments import Claim
from pipeline.layers.sheet import Sheet, children, remove, wrap
from pipeline.layers.strands import Strand, references_of
from pipeline.layers.tellings import Told
from pipeline.score.identifiers import referred
from pipeline.score.mei_names import XML_ID, Element, local, whole_number


@dataclass
class _Added:
    """A bar that only a version has; `after` is the bar it follows where nothing else tells."""

    bar: int
    claims: list[Claim]
    after: int

    @property
    def strand(self) -> Strand:
        """One of the strands that have it."""
        return self.claims[0].strand

    @property
    def follows(self) -> int | None:
        """The text's bar after which it stands, None for one before all that the version has."""
        for bar in range(self.bar - 1, -1, -1):
            known = self.strand.text_bar(bar)
            if known is not None:
                return known
        return None if self.strand.version.beside is not None else self.after

    @property
    def precedes(self) -> int:
        """The text's bar before which it stands, where it follows none."""
        later = map(self.strand.text_bar, range(self.bar + 1, len(self.strand.passage.bars)))
        return next((bar for bar in later if bar is not None), 0)


def weave_bars(sheet: Sheet, told: Told, woven: Woven) -> None:
    """Write the bars that versions lack, then those that they have more than the text."""
    lacking: dict[int, list[Claim]] = {}
    adding: dict[object, _Added] = {}
    for telling in told.bars:
        for bar in telling.difference.text:
            lacking.setdefault(bar, []).extend(telling.claims)
        for bar in telling.difference.reading:
            _gather(adding, bar, telling.claims, telling.difference.after)
    for added in woven.added_bars:
        _gather(adding, added.bar, [added.claim], added.after)
    for bar, claims in sorted(lacking.items()):
        measure = sheet.measure(bar)
        fork = open_fork(sheet, claims, [(list(strands_by_witness(claims)), [])], [measure])
        wrap([measure], fork, branch_of_text(fork))
    last: dict[int, Element] = {}
    for one in sorted(
        adding.values(), key=lambda a: (-1 if a.follows is None else a.follows, a.bar)
    ):
        _insert(sheet, one, last)


def _gather(adding: dict[object, _Added], bar: int, claims: Sequence[Claim], after: int) -> None:
    strand = claims[0].strand
    key = (id(strand.passage), strand.owner, bar)
    adding.setdefault(key, _Added(bar, [], after)).claims.extend(claims)


def _insert(sheet: Sheet, added: _Added, last: dict[int, Element]) -> None:
    """Put the bar in its place; `last` holds what was put after each bar of the text so far."""
    claims = list({id(claim): claim for claim in added.claims}.values())
    measure = _measure(added.strand, added.bar)
    fork = open_fork(sheet, claims, [(list(strands_by_witness(claims)), [measure])], [])
    after = added.follows
    known = None if after is None else last.get(after)
    anchor = (
        known
        if known is not None
        else sheet.around_measure(added.precedes if after is None else after)
    )
    parent = anchor.getparent()
    if parent is None:
        raise ValueError("a measure that stands in no section")
    # Inserted without moving the white space that follows the anchor.
    parent.insert(parent.index(anchor) + (after is not None), fork)
    if after is not None:
        last[after] = fork
    added.strand.turn_references(measure)
    if added.strand.whole:
        _keep_signs_in_place(sheet, added, measure)


def _keep_signs_in_place(sheet: Sheet, added: _Added, measure: Element) -> None:
    strand = added.strand
    bar = added.precedes if added.follows is None else added.follows
    original = strand.by_id[strand.passage.bars[added.bar].xml_id]
    copies = {one.get(XML_ID, ""): one for one in measure}
    for sign in original:
        copied = copies.get(strand.copied.get(sign.get(XML_ID, ""), ""))
        staff = strand.staves.get(staff_of_sign(strand, sign) or 0)
        if copied is not None and staff is not None and local(sign) != "staff":
            keep_in_place(sheet, staff, sign, copied, (added.bar, bar))


def _measure(strand: Strand, bar: int) -> Element:
    """Return a copy of the version's bar with the staves that answer one of the text."""
    original = strand.by_id[strand.passage.bars[bar].xml_id]
    (copy,) = strand.copies([original])
    position = 0
    for child, copied in zip(children(original), children(copy), strict=True):
        if local(child) == "staff":
            position += 1
            staff = strand.staves.get(whole_number(child.get("n", "")) or position)
            if staff is None:
                remove(copied)
            else:
                copied.set("n", str(staff.text_staff))
        elif local(child) and staff_of_sign(strand, child) not in strand.staves:
            remove(copied)
    return copy


def staff_of_sign(strand: Strand, sign: Element) -> int | None:
    """Return on which of the version's staves a sign of it stands, None where nothing tells."""
    for one in sign.iter(etree.Element):
        marking = strand.music.markings.get(one.get(XML_ID, ""))
        if marking is not None:
            return marking.staff
    for one in sign.iter(etree.Element):
        for name in references_of(one):
            for xml_id in referred(one.get(name, "")):
                event = strand.passage.by_id.get(xml_id)
                if event is not None:
                    return event.staff
    return None
