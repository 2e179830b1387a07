"""The command `extract`: a layered MEI file and names of layers in, a file of these layers out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pipeline.edition.layer import Layer
from pipeline.layers.extract import NotLayeredError, extract_layers
from pipeline.layers.sheet import NotMeiError
from pipeline.problems import Origin, Outcome, error
from pipeline.score.safe_xml import MAX_XML_BYTES, parse_xml
from pipeline.writing import write_all


def extract_to(file: Path, names: Sequence[str], out: Path) -> Outcome[Path]:
    """Take the named layers out of a layered MEI file and write the result to `out`."""
    here = Origin(str(file))
    known = [layer.value for layer in Layer]
    problems = [
        error(
            "no-such-layer",
            here,
            f"there is no layer `{name}`; the layers are {', '.join(known)}",
            "Name one or more of these, set apart by commas.",
        )
        for name in names
        if name not in known
    ]
    try:
        with file.open("rb") as opened:
            data = opened.read(MAX_XML_BYTES + 1)
    except OSError as wrong:
        unreadable = f"the file cannot be opened ({wrong.strerror})"
        return Outcome(None, (error("unreadable-file", here, unreadable, "Check its rights."),))
    problems += parse_xml(data, str(file)).problems
    if problems:
        return Outcome(None, tuple(problems))
    try:
        taken = extract_layers(data, {Layer(name) for name in names})
    except (NotLayeredError, NotMeiError) as wrong:
        remedy = "Give an edition.mei that `apparatus build` wrote."
        return Outcome(None, (error("not-layered", here, str(wrong), remedy),))
    written = write_all(out.parent, {out.name: taken})
    return Outcome(None if written.value is None else out, written.problems)
