"""Finished files in, files in a folder out: all of them or none."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from pipeline.problems import Origin, Outcome, Problem, error


def write_all(out: Path, files: Mapping[str, bytes]) -> Outcome[tuple[Path, ...]]:
    """Write all files into a folder in `out` first, then move each into place: all or none.

    Return the paths written, or the problem that kept them from being written.
    """
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name in files:
            if (out / name).is_dir():
                return Outcome(None, (_not_written(out / name, "a folder has this name"),))
        with TemporaryDirectory(prefix=".making-", dir=out) as making:
            for name, data in files.items():
                (Path(making) / name).write_bytes(data)
            for name in files:
                (Path(making) / name).replace(out / name)
    except OSError as wrong:
        return Outcome(None, (_not_written(out, wrong.strerror or "no reason is given"),))
    return Outcome(tuple(out / name for name in files))


def _not_written(where: Path, why: str) -> Problem:
    return error(
        "cannot-write",
        Origin(str(where)),
        f"this cannot be written: {why}",
        "Name another folder or file after `--out`, or see that this one may be written to.",
    )
