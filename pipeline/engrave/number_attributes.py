"""Attributes that should hold a number and do not: taken out before Verovio sees them.

Verovio ends the whole process where it expects a number and finds a word (tried with 6.4.1). The
names are those of MEI 5.1 whose type is a number, as far as engraving reads them.
"""

from __future__ import annotations

import re

_NAMES = (
    "bar.len|clef.dis|clef.line|dis|dots|dots.default|dots.ges|dur.metrical|dur.ppq|dur.real|"
    "interval|lines|loc|meter.unit|midi.bpm|midi.channel|midi.mspb|midi.port|midi.track|mm|"
    "mm.dots|num|num.default|numbase|numbase.default|oct|oct.default|oct.ges|oloc|pnum|ppq|"
    "stem.len|stem.x|stem.y|tab.course|tab.fret|tab.line|tab.string|trans.diat|trans.semi|"
    "tstamp|tstamp.ges|tstamp.real|tune.Hz|vel|vgrp"
).replace(".", r"\.")
_NUMBER = r"\s*[-+]?(?:\d{1,9}(?:\.\d*)?|\.\d+)(?![\d.eE])"
_MEASURE_AND_BEAT = rf"\s*\d{{1,9}}m\s*\+{_NUMBER}"
_BROKEN = re.compile(
    rf' ((?:{_NAMES})="(?!{_NUMBER})[^"]*"'
    rf'|tstamp2="(?!{_MEASURE_AND_BEAT}|{_NUMBER}\s*")[^"]*")'
)


def without_broken_numbers(mei: str) -> tuple[str, tuple[str, ...]]:
    """Return the document without such attributes, and what they were: `mm="fast"`."""
    broken = tuple(dict.fromkeys(_BROKEN.findall(mei)))
    return (_BROKEN.sub("", mei), broken) if broken else (mei, ())
