"""Encodings that cannot be compared with their movement: one problem a witness and movement.

In come the edition and the encodings laid beside their text; out go problems. Whatever records say
of such a witness in that movement cannot be looked up, and is not told record by record.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from pipeline.collation.beside import Beside, Besides, Obstacle
from pipeline.collation.laying import lay_beside
from pipeline.collation.versions import label_remedy, staff_list
from pipeline.edition.model import Edition
from pipeline.edition.records import Emendation, Reading
from pipeline.problems import Problem, error, warning
from pipeline.score.model import Passage


def obstacle_problems(
    edition: Edition, besides: Besides, texts: Mapping[int, Passage]
) -> Iterator[Problem]:
    """Yield a problem for each encoding with an obstacle.

    It is an error where a record takes a reading from the encoding, else a warning.
    """
    claimed = set(_claims(edition))
    for (siglum, movement), beside in besides.items():
        if beside.obstacle is None:
            continue
        error_or_warning = error if (siglum, movement) in claimed else warning
        message, remedy = _in_words(siglum, movement, beside, texts)
        origin = edition.head_origins.at("witnesses", siglum, "encodings", movement)
        yield error_or_warning("witness-unlike-text", origin, message, remedy)


def _claims(edition: Edition) -> Iterator[tuple[str, int]]:
    for filed in edition.records:
        record = filed.record
        if isinstance(record, Reading | Emendation):
            for variant in record.readings:
                if variant.music is None and not variant.says:
                    yield from ((s, record.place.movement) for s in variant.witnesses)


def _in_words(
    siglum: str, movement: int, beside: Beside, texts: Mapping[int, Passage]
) -> tuple[str, str]:
    if beside.obstacle is Obstacle.EMPTY:
        return (
            f"the encoding of {siglum} has no notes",
            "Export it again with its music, or remove the line.",
        )
    if beside.obstacle is Obstacle.NO_STAFF:
        return (
            f"no staff of the encoding of {siglum} is known to be one of movement {movement}: it "
            f"has {staff_list(beside.passage.staves)}, the text has "
            f"{staff_list(texts[movement].staves)}",
            label_remedy(texts[movement], beside.missing_staves),
        )
    percent = round(100 * beside.likeness)
    message = (
        f"the encoding of {siglum} is hardly like movement {movement}: {percent} % of the notes "
        "stand where the text has them; it is not compared"
    )
    other = _like_another(movement, beside.passage, texts)
    if other is None:
        return message, (
            "Name the file that holds this movement; if this is it, put its staves in the order of "
            "the text, or correct its notes."
        )
    return (
        message,
        f"It is like movement {other}: were two files exchanged, of the witness or of the text?",
    )


def _like_another(movement: int, encoding: Passage, texts: Mapping[int, Passage]) -> int | None:
    """Return the number of the movement that the encoding is like instead."""
    found = {n: lay_beside(text, encoding) for n, text in texts.items() if n != movement}
    like = [n for n, beside in found.items() if beside.obstacle is None]
    return max(like, key=lambda n: found[n].likeness, default=None)
