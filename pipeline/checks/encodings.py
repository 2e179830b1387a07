"""Rules about how an encoding stands beside the text: in its octave and key, with its staves."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.collation.beside import Shift
from pipeline.collation.versions import label_remedy, staff_list
from pipeline.edition.head import WitnessKind
from pipeline.edition.quoting import listed


def witness_written_elsewhere(material: Material) -> Iterator[Fault]:
    """An encoding that is in another octave or key than the text from end to end.

    It is compared as if it stood where the text stands; if that is only a slip of the file, whoever
    reads the file by itself is misled.
    """
    for (siglum, movement), beside in material.besides.items():
        if not beside.shifts:
            continue
        by_shift: dict[Shift, list[int]] = {}
        for staff, shift in beside.shifts.items():
            by_shift.setdefault(shift, []).append(staff)
        parts = []
        for shift, staves in by_shift.items():
            all_of_it = len(staves) == len(beside.staves)
            numbers = listed([str(staff) for staff in staves], "and")
            where = "" if all_of_it else f"on staff {numbers} of the text "
            parts.append(f"{where}{shift_in_words(shift)}")
        yield Fault(
            material.edition.head_origins.at("witnesses", siglum, "encodings", movement),
            f"the encoding of {siglum} is written {'; '.join(parts)} throughout; it is compared as "
            "if at the text's pitch",
            "Nothing need be done where the witness is so written; else correct the file.",
        )


def witness_staff_missing(material: Material) -> Iterator[Fault]:
    """A score whose encoding has some staves of the text, but not all of them.

    What that witness has on the others cannot be told. A part lacks them by its nature, and a
    single staff of a score may have been all that was wanted.
    """
    for (siglum, movement), beside in material.besides.items():
        witness = material.edition.head.witnesses[siglum]
        wanted = len(beside.staves) > 1 or (beside.staves and beside.further_staves)
        part = witness.kind is WitnessKind.PRINTED_PART or witness.part_of is not None
        if part or not beside.missing_staves or not wanted:
            continue
        text = material.texts[movement]
        missing = staff_list([s for s in text.staves if s.n in beside.missing_staves])
        left = staff_list([s for s in beside.passage.staves if s.n in beside.further_staves])
        yield Fault(
            material.edition.head_origins.at("witnesses", siglum, "encodings", movement),
            f"the encoding of {siglum} has not all staves of movement {movement}: it lacks "
            f"{missing}"
            + (f"; it is not clear which staff of the text is its staff {left}" if left else ""),
            label_remedy(text, beside.missing_staves)
            if left
            else "Add the staff to the encoding, or leave it if the witness does not have it.",
        )


_NAMES = ("unison", "second", "third", "fourth", "fifth", "sixth", "seventh")
_MAJOR = (0, 2, 4, 5, 7, 9, 11)
_PERFECT = (0, 3, 4)
_OCTAVES = ("", "an octave", "two octaves", "three octaves", "four octaves")


def shift_in_words(shift: Shift) -> str:
    """Return `an octave lower`, `a major second higher`, `two octaves and a minor third lower`."""
    sign = -1 if (shift.steps, shift.semitones) < (0, 0) else 1
    octaves, steps = divmod(sign * shift.steps, 7)
    semitones = sign * shift.semitones - 12 * octaves
    if steps == 1 and semitones == 0:
        return "with other names for the same pitches"
    words = [_OCTAVES[octaves] if octaves < len(_OCTAVES) else f"{octaves} octaves"]
    if steps or semitones:
        words.append(_interval(steps, semitones))
    return f"{' and '.join(filter(None, words))} {'lower' if sign < 0 else 'higher'}"


def _interval(steps: int, semitones: int) -> str:
    wide = semitones - _MAJOR[steps]
    if steps in _PERFECT:
        quality = {0: "perfect", 1: "augmented", -1: "diminished"}.get(wide)
    else:
        quality = {0: "major", -1: "minor", 1: "augmented", -2: "diminished"}.get(wide)
    if quality is None:
        return f"{_NAMES[steps]} of {semitones} semitones"
    article = "an" if quality == "augmented" else "a"
    return f"{article} {quality} {_NAMES[steps]}"
