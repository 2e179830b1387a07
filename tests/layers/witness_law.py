"""The law of extraction: what is taken out of the layers for a witness is its encoding.

Two comparisons that share no code: the collation of the encoding with what was taken out, and one
written here, event for event and sign for sign, which knows nothing of alignment.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path

from pipeline.collation.collate import collate
from pipeline.collation.collated import Collation
from pipeline.collation.laying import lay_beside
from pipeline.layers.witness import extract_witness
from pipeline.problems import Origin
from pipeline.score.model import Event, Marking, MarkingKind, Passage
from pipeline.score.read import read_passage

WORDS = {MarkingKind.WORDS, MarkingKind.TEMPO, MarkingKind.DYNAMIC}
"""Kinds between which encodings choose freely for one and the same word."""


def faults_of_extraction(
    layered: bytes,
    collations: Mapping[tuple[str, int], Collation],
    encodings: Mapping[tuple[str, int], Passage],
    folder: Path,
) -> list[str]:
    """Return, in words, every way in which a witness that is carried does not come back."""
    found: list[str] = []
    for (siglum, n), collation in collations.items():
        if collation.beside.obstacle is None:
            (folder / "out.mei").write_bytes(extract_witness(layered, siglum)[n])
            read = read_passage(folder, "out.mei", Origin("out.mei"))
            if read.value is None:
                found.append(f"{siglum}: cannot be read: {read.problems}")
                continue
            encoding, taken = encodings[siglum, n], read.value
            faults = unlike(encoding, taken, collation.beside.staves) + told(encoding, taken)
            found += [f"{siglum}: {fault}" for fault in faults]
    return found


def unlike(encoding: Passage, taken: Passage, staves: Mapping[int, int]) -> list[str]:
    """Return what is not the same; `staves` gives the encoding's staff for each that was taken."""
    found: list[str] = []
    if len(encoding.bars) != len(taken.bars):
        found.append(f"{len(taken.bars)} bars for {len(encoding.bars)}")
    if [bar.n for bar in encoding.bars] != [bar.n for bar in taken.bars]:
        found.append("bars are numbered otherwise")
    frames = [
        [(b.meter, b.repeat_start, b.repeat_end, b.ending) for b in passage.bars]
        for passage in (encoding, taken)
    ]
    if frames[0] != frames[1]:
        found.append("meters, repeat signs or endings are otherwise")
    if {staff.n for staff in taken.staves} != set(staves):
        found.append(f"staves {[s.n for s in taken.staves]} for {list(staves)}")
    for ours, theirs in staves.items():
        for bar in range(len(encoding.bars)):
            wanted = _voices(encoding, theirs, bar)
            got = _voices(taken, ours, bar)
            if wanted != got:
                found.append(f"bar index {bar}, staff {ours}: {got} for {wanted}")
        lost = _signs(encoding, theirs) - _signs(taken, ours)
        more = _signs(taken, ours) - _signs(encoding, theirs)
        found += [f"staff {ours}: lost {sign}" for sign in lost]
        found += [f"staff {ours}: too many {sign}" for sign in more]
    return found


def told(encoding: Passage, taken: Passage) -> list[str]:
    """Return what the collation finds between an encoding and what was taken out."""
    laid = lay_beside(encoding, taken)
    found = collate(encoding, laid, "X", 1)
    said = [f"{d.kind} {d.change} at {d.start}" for d in found.differences]
    said += [f"{one.change} at {one.at}" for one in found.bars]
    if laid.obstacle is not None:
        said.append(f"not comparable: {laid.obstacle}")
    if laid.shifts:
        said.append(f"at another pitch: {laid.shifts}")
    return [f"collated: {one}" for one in said]


def _voices(passage: Passage, staff: int, bar: int) -> list[list[tuple[object, ...]]]:
    """Return what sounds in each voice of a bar; neither numbers nor silence are music."""
    voices: dict[int, list[tuple[object, ...]]] = {}
    for event in passage.events_in.get((staff, bar), ()):
        if event.heads:
            voices.setdefault(event.voice, []).append(_event(event))
    return sorted(voices.values(), key=repr)


def _event(event: Event) -> tuple[object, ...]:
    heads = sorted(
        (h.pitch.midi, h.pitch.step, h.pitch.octave, h.accidental, h.shape, h.tie)
        for h in event.heads
    )
    return (
        str(event.onset), str(event.duration), event.grace, event.written if event.grace else "",
        sorted(event.articulations), heads,
    )  # fmt: skip


def _signs(passage: Passage, staff: int) -> Counter[tuple[object, ...]]:
    return Counter(_sign(one) for one in passage.markings if one.staff == staff and _printed(one))


def _printed(sign: Marking) -> bool:
    """Leave out words without a word; ties are told on the notes, however they are written."""
    if sign.kind is MarkingKind.TIE:
        return False
    return sign.kind not in WORDS or bool(sign.content.split())


def _sign(sign: Marking) -> tuple[object, ...]:
    words = sign.content.split()
    if sign.kind is MarkingKind.FERMATA:
        words = [word for word in words if word not in {"norm", "inv"}]
    kind = "words" if sign.kind in WORDS else sign.kind
    end = None if sign.end is None else (sign.end.bar, str(sign.end.offset))
    return kind, " ".join(words), (sign.start.bar, str(sign.start.offset)), end
