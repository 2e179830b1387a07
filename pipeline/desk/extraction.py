"""The command `extract`: a layered MEI file in, some of its layers or one of its witnesses out."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from pipeline.edition.layer import Layer
from pipeline.layers.extract import NotLayeredError, extract_layers
from pipeline.layers.sheet import NotMeiError
from pipeline.layers.witness import NotCarriedError, UnknownWitnessError, witness_document
from pipeline.problems import Origin, Outcome, Problem, error
from pipeline.score.safe_xml import MAX_XML_BYTES, parse_xml
from pipeline.writing import write_all


@dataclass(frozen=True)
class Wanted:
    """What is to be taken out: layers by name, or a witness, of which one movement or all."""

    layers: tuple[str, ...] = ()
    witness: str | None = None
    movement: int | None = None


def extract_to(file: Path, wanted: Wanted, out: Path) -> Outcome[Path]:
    """Take what is wanted out of a layered MEI file and write it to `out`.

    A witness comes out as its encoding has it, several movements as several `mdiv` of one file.
    """
    if wanted.witness is not None:
        siglum = wanted.witness
        return _written(file, [], lambda mei: witness_document(mei, siglum, wanted.movement), out)
    known = [layer.value for layer in Layer]
    problems = [
        error(
            "no-such-layer",
            Origin(str(file)),
            f"there is no layer `{name}`; the layers are {', '.join(known)}",
            "Name one or more of these, set apart by commas.",
        )
        for name in wanted.layers
        if name not in known
    ]
    layers = {Layer(name) for name in wanted.layers if name in known}
    return _written(file, problems, lambda mei: extract_layers(mei, layers), out)


def _written(
    file: Path, problems: list[Problem], take: Callable[[bytes], bytes], out: Path
) -> Outcome[Path]:
    """Read the file, take out of it what is wanted and write that; nothing where there is error."""
    here = Origin(str(file))
    try:
        with file.open("rb") as opened:
            data = opened.read(MAX_XML_BYTES + 1)
    except OSError as wrong:
        unreadable = f"the file cannot be opened ({wrong.strerror})"
        return Outcome(None, (error("unreadable-file", here, unreadable, "Check its rights."),))
    problems = [*problems, *parse_xml(data, str(file)).problems]
    if problems:
        return Outcome(None, tuple(problems))
    try:
        taken = take(data)
    except (NotLayeredError, NotMeiError) as wrong:
        remedy = "Give an edition.mei that `apparatus build` wrote."
        return Outcome(None, (error("not-layered", here, str(wrong), remedy),))
    except UnknownWitnessError as wrong:
        remedy = "Name one of these witnesses."
        return Outcome(None, (error("no-such-witness", here, str(wrong), remedy),))
    except NotCarriedError as wrong:
        remedy = (
            "Name the encoding under `encodings` of the witness in edition.yaml and build again, "
            "or take out what is encoded."
        )
        return Outcome(None, (error("witness-not-carried", here, str(wrong), remedy),))
    written = write_all(out.parent, {out.name: taken})
    return Outcome(None if written.value is None else out, written.problems)
