"""The floor: Verovio and WeasyPrint alone, on the very scores and the very HTML of a build.

`python -m tests.benchmarks.floor record EDITION FILE` builds and keeps what both were given;
`python -m tests.benchmarks.floor run FILE` gives it to them again, and does nothing else.
"""

from __future__ import annotations

import pickle
import sys
import tempfile
from pathlib import Path
from typing import Any


def record(edition: Path, file: Path) -> None:
    """Build the edition and keep the calls: options and MEI for each engraving, and the HTML."""
    import verovio

    from pipeline import build
    from pipeline.typeset import commentary, pdf

    engravings: list[tuple[dict[str, object], str]] = []
    typeset: list[tuple[Any, ...]] = []
    options: dict[str, object] = {}

    class Kept(verovio.toolkit):  # type: ignore[misc]
        def setOptions(self, given: dict[str, object]) -> Any:  # noqa: N802
            options.update(given)
            return super().setOptions(given)

        def loadData(self, mei: str) -> Any:  # noqa: N802
            engravings.append((dict(options), mei))
            return super().loadData(mei)

    def kept_html_to_pdf(*arguments: Any) -> Any:
        typeset.append(arguments)
        return pdf.html_to_pdf(*arguments)

    verovio.toolkit = Kept
    commentary.html_to_pdf = kept_html_to_pdf
    with tempfile.TemporaryDirectory() as out:
        products = frozenset({"commentary"})
        made = build.build_edition(edition, Path(out) / "build", build.Order(products))
    if made.value is None:
        raise SystemExit("the edition has errors; run `apparatus check`")
    file.write_bytes(pickle.dumps((engravings, typeset)))


def run(file: Path) -> None:
    """Engrave and typeset what was kept."""
    import verovio

    from pipeline.typeset.pdf import html_to_pdf

    engravings, typeset = pickle.loads(file.read_bytes())
    toolkit = verovio.toolkit()
    for options, mei in engravings:
        toolkit.setOptions(options)
        toolkit.loadData(mei)
        for page in range(1, toolkit.getPageCount() + 1):
            toolkit.renderToSVG(page)
    for arguments in typeset:
        html_to_pdf(*arguments)


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["record", edition, file]:
            record(Path(edition), Path(file))
        case ["run", file]:
            run(Path(file))
        case _:
            raise SystemExit(__doc__)
