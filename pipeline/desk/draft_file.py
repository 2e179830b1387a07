"""Drafted records appended to a file of the edition: what stands in it stays as it is.

In come the folder, the path the editor gave and the drafts' text; out goes the file written, or why
nothing was. The new file is read before it takes the place of the old one.
"""

from __future__ import annotations

from pathlib import Path, PurePosixPath

from pipeline.edition.files import read_text
from pipeline.edition.quoting import printable, quoted
from pipeline.edition.read import RECORD_FOLDER
from pipeline.edition.record_files import read_record_file
from pipeline.problems import Origin, Outcome, Problem, error, has_errors
from pipeline.writing import write_all

HEADING = "# Drafted from the collation: each of these is still to be decided.\n"


def draft_name(folder: Path, given: Path) -> Outcome[str]:
    """Return the name of the file in the folder of records that a path means.

    It counts from the edition folder, as paths in the edition do; one that leads there from the
    working folder is understood too. Records are read from nowhere else.
    """
    records = (folder / RECORD_FOLDER).resolve()
    meant = next(
        (path for path in (folder / given, given) if path.resolve().parent == records), None
    )
    name = "" if meant is None else meant.resolve().name
    if any((folder / given).resolve() == found for found in (records, folder.resolve())):
        return _refused(
            given,
            "a file is needed here, to which the records are appended",
            f"Write for instance `--draft {RECORD_FOLDER}/new.yaml`.",
        )
    if not name:
        shown = quoted(printable(str(given)))
        return _refused(
            given,
            f"{shown} is not in the folder `{RECORD_FOLDER}`, so its records would not be read",
            f"Write for instance `--draft {RECORD_FOLDER}/new.yaml`; the path counts from the "
            "edition folder.",
        )
    if not name.endswith(".yaml") or name.startswith("."):
        return _refused(
            given,
            f"{quoted(printable(name))} would not be read: names of record files end in .yaml and "
            "begin with no dot",
            f"Write for instance `--draft {RECORD_FOLDER}/new.yaml`.",
        )
    return Outcome(name)


def append_drafts(folder: Path, name: str, records: tuple[str, ...]) -> Outcome[Path]:
    """Append records to a file, made where there is none; return its path."""
    file = folder / RECORD_FOLDER / name
    shown = str(PurePosixPath(RECORD_FOLDER) / name)
    before = b""
    if file.exists():
        known = read_text(folder, shown)
        if known.value is None and not _only_empty(known.problems):
            return Outcome(None, known.problems)
        before = file.read_bytes()
    after = _appended(before, records)
    if _count(after, shown) != _count(before, shown) + len(records):
        return Outcome(None, (_cannot_append(shown),))
    written = write_all(file.parent, {name: after})
    return Outcome(written.value[0] if written.value else None, written.problems)


def _appended(before: bytes, records: tuple[str, ...]) -> bytes:
    """Return the file with the records after what stands in it, with its own kind of line ends."""
    added = "\n".join(records)
    if not before.strip():
        added = f"{HEADING}\n{added}"
    line_end = b"\r\n" if b"\r\n" in before else b"\n"
    text = added.encode().replace(b"\n", line_end)
    if not before:
        return text
    gap = b"" if before.endswith(line_end * 2) else line_end
    return before + (b"" if before.endswith(b"\n") else line_end) + gap + text


def _count(content: bytes, shown: str) -> int:
    """Return how many records a file holds; none where it is not wholly right."""
    outcome = read_record_file(content.decode("utf-8-sig"), printable(shown))
    return 0 if has_errors(outcome.problems) else len(outcome.value or ())


def _only_empty(problems: tuple[Problem, ...]) -> bool:
    return all(problem.code == "empty-file" for problem in problems)


def _cannot_append(shown: str) -> Problem:
    return error(
        "cannot-append",
        Origin(printable(shown)),
        "records cannot be appended to this file: it is not a list with a line for each `- id:`",
        "Name a file after `--draft` that is not there yet.",
    )


def _refused(given: Path, message: str, remedy: str) -> Outcome[str]:
    return Outcome(
        None, (error("not-a-record-file", Origin(printable(str(given))), message, remedy),)
    )
