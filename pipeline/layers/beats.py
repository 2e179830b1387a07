"""Copied signs keep their moment: what they hung on may not be copied, beats may be other beats.

In come a sign of a whole encoding and its copy in a bar of the text; afterwards the copy says its
staff, and a beat where it hangs on no note (MEI 5.1: att.timestamp.log, `tstamp` counts units of
the meter from 1).
"""

from __future__ import annotations

from lxml import etree

from pipeline.layers.sheet import Sheet
from pipeline.layers.strands import Strand
from pipeline.score.mei_names import XML_ID, Element, amount
from pipeline.score.model import Moment


def keep_in_place(
    sheet: Sheet, strand: Strand, sign: Element, copy: Element, bars: tuple[int, int]
) -> None:
    """Let the copy of a sign, and of what it holds, begin and end where the sign does.

    `bars` are the version's bar that the sign stands in, and the text's that answers it.
    """
    for one, copied in zip(sign.iter(etree.Element), copy.iter(etree.Element), strict=True):
        marking = strand.music.markings.get(one.get(XML_ID, ""))
        if marking is None:
            continue
        if "startid" not in copied.attrib and "plist" not in copied.attrib:
            _set_beat(sheet, copied, "tstamp", marking.start, bars)
            if "staff" not in copied.attrib:
                copied.set("staff", str(strand.text_staff))
        if "endid" not in copied.attrib and marking.end is not None:
            _set_beat(sheet, copied, "tstamp2", marking.end, bars)


def _set_beat(
    sheet: Sheet, copied: Element, name: str, moment: Moment, bars: tuple[int, int]
) -> None:
    own, bar = bars
    ahead = moment.bar - own
    units = sheet.units
    beat = moment.offset / units[min(bar + ahead, len(units) - 1)] + 1
    before = amount(copied.get(name, "").rpartition("m+")[2])
    if before is None or before.limit_denominator(3840) != beat:
        written = f"{float(beat):.9g}"
        copied.set(name, written if name == "tstamp" else f"{ahead}m+{written}")
