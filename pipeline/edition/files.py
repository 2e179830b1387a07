"""Paths and texts of the edition folder, opened only where they lie inside it.

In: a path as somebody wrote it. Out: a file that exists, is a plain file, is not empty, not too
large and not outside the folder, or the text in it (UTF-8, The Unicode Standard, section 3.9).
"""

from __future__ import annotations

import re
import stat
from pathlib import Path, PurePosixPath, PureWindowsPath

from pipeline.edition.quoting import UNPRINTABLE, printable, quoted
from pipeline.edition.suggestions import closest
from pipeline.problems import Origin, Outcome, Problem, error

MAX_MUSIC_BYTES = 64 * 1024 * 1024
"""Largest music file that is opened: some twenty times a long symphonic movement in MEI."""

MAX_TEXT_BYTES = 4 * 1024 * 1024
"""Largest YAML or Markdown file that is opened: some thousands of records."""

_MARKS_OF_OTHER_ENCODINGS = (
    (b"\xff\xfe\x00\x00", "UTF-32"),
    (b"\x00\x00\xfe\xff", "UTF-32"),
    (b"\xff\xfe", "UTF-16"),
    (b"\xfe\xff", "UTF-16"),
)


def locate(
    folder: Path, written: str, origin: Origin, limit_bytes: int = MAX_MUSIC_BYTES
) -> Outcome[Path]:
    """Return the file that is meant by a path written in the edition, without opening it.

    `written` is relative to the edition folder, with `/` between folders; `origin` is where it was
    written. Absolute paths, `..`, and links that leave the folder are refused.
    """
    refused = _refuse_spelling(written, origin)
    if refused is not None:
        return Outcome(None, (refused,))
    try:
        root = folder.resolve()
        path = (root / written).resolve()
        if not path.is_relative_to(root):
            return Outcome(None, (_outside(written, origin, "a link that leaves"),))
        found = path.stat()
    except (FileNotFoundError, NotADirectoryError):
        return Outcome(None, (_missing(root, written, origin),))
    except (OSError, RuntimeError, ValueError):
        # RuntimeError: links in a circle (Python before 3.13); ValueError: a NUL in the name.
        return Outcome(None, (_unreadable(written, origin),))
    refused = _refuse_content(written, origin, found.st_mode, found.st_size, limit_bytes)
    return Outcome(None, (refused,)) if refused is not None else Outcome(path)


def read_text(folder: Path, written: str) -> Outcome[str]:
    """Return the text of a file of the edition; problems are located in that file.

    A byte order mark before UTF-8 is dropped without a word: some editors always write it.
    """
    origin = Origin(printable(written))
    located = locate(folder, written, origin, MAX_TEXT_BYTES)
    if located.value is None:
        return Outcome(None, located.problems)
    try:
        with located.value.open("rb") as opened:
            data = opened.read(MAX_TEXT_BYTES)
    except OSError:
        return Outcome(None, (_unreadable(written, origin),))
    return _decoded(data, origin)


def list_folder(folder: Path, name: str) -> Outcome[tuple[str, ...]]:
    """Return the names in a folder of the edition, sorted, without hidden files and backups."""
    origin = Origin(name)
    try:
        root = folder.resolve()
        path = (root / name).resolve()
        if not path.is_relative_to(root):
            return Outcome(None, (_outside(name, origin, "a link that leaves"),))
        names = sorted(entry.name for entry in path.iterdir())
    except FileNotFoundError:
        problem = error(
            "missing-folder",
            origin,
            f"there is no folder {quoted(name)}",
            f"Make a folder {quoted(name)} beside edition.yaml.",
        )
        return Outcome(None, (problem,))
    except NotADirectoryError:
        problem = error(
            "not-a-folder",
            origin,
            f"{quoted(name)} is a file; a folder is needed here",
            "Rename it.",
        )
        return Outcome(None, (problem,))
    except (OSError, RuntimeError):
        return Outcome(None, (_unreadable(name, origin),))
    return Outcome(tuple(n for n in names if not n.startswith(".") and not n.endswith("~")))


def _refuse_spelling(written: str, origin: Origin) -> Problem | None:
    if not written.strip():
        return error(
            "missing-file", origin, "a file name is empty", "Name a file in the edition folder."
        )
    if "\\" in written or PureWindowsPath(written).drive:
        return error(
            "outside-folder",
            origin,
            f"{quoted(written)} is not a path that works on every computer",
            "Write it relative to the edition folder, with `/` between folders.",
        )
    path = PurePosixPath(written)
    if path.is_absolute() or written.startswith("~"):
        return _outside(written, origin, "an absolute path, which may lie outside")
    if ".." in path.parts:
        return _outside(written, origin, "a path with `..`, which leads out of")
    return None


def _refuse_content(
    written: str, origin: Origin, mode: int, size: int, limit_bytes: int
) -> Problem | None:
    shown = quoted(written)
    if not stat.S_ISREG(mode):
        what = "a folder" if stat.S_ISDIR(mode) else "not an ordinary file"
        return error(
            "not-a-file",
            origin,
            f"{shown} is {what}; a file is needed here",
            "Name a file, or rename what stands there.",
        )
    if size == 0:
        return error(
            "empty-file",
            origin,
            f"{shown} is empty",
            "Save its content again, or remove the file and what names it.",
        )
    if size > limit_bytes:
        return error(
            "file-too-large",
            origin,
            f"{shown} has {size / 2**20:.1f} MB; at most {limit_bytes // 2**20} MB are read",
            "Divide it into several files.",
        )
    return None


def _outside(written: str, origin: Origin, what: str) -> Problem:
    return error(
        "outside-folder",
        origin,
        f"{quoted(written)} is {what} the edition folder",
        "Put a copy into the edition folder and name it by its path from there.",
    )


def _unreadable(written: str, origin: Origin) -> Problem:
    return error(
        "unreadable-file",
        origin,
        f"{quoted(written)} cannot be opened",
        "See that it may be read, and that its links do not run in a circle.",
    )


def _missing(root: Path, written: str, origin: Origin) -> Problem:
    parent = PurePosixPath(written).parent
    try:
        names = [entry.name for entry in (root / parent).iterdir()]
    except OSError:
        names = []
    name = PurePosixPath(written).name
    near = closest(name, (other for other in names if other != name))  # a link may lead nowhere
    remedy = (
        f"Did you mean `{printable(str(parent / near))}`?"
        if near
        else "Add the file, or correct the path; it counts from the edition folder."
    )
    return error("missing-file", origin, f"there is no file {quoted(written)}", remedy)


def _decoded(data: bytes, origin: Origin) -> Outcome[str]:
    for mark, encoding in _MARKS_OF_OTHER_ENCODINGS:
        if data.startswith(mark):
            return Outcome(None, (_wrong_encoding(origin, f"the file is saved as {encoding}"),))
    if b"\0" in data[:1024]:
        return Outcome(None, (_wrong_encoding(origin, "the file is not text, or saved as UTF-16"),))
    data = data.removeprefix(b"\xef\xbb\xbf")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as fault:
        at = _position(data[: fault.start].decode("utf-8"), origin.file)
        read_as = data[fault.start : fault.start + 1].decode("cp1252", "replace")
        message = "this character is not UTF-8; as Latin-1 or Windows-1252 it would be "
        return Outcome(None, (_wrong_encoding(at, f"{message}`{read_as}`"),))
    found = UNPRINTABLE.search(text)
    if found is not None:
        at = _position(text[: found.start()], origin.file)
        problem = error(
            "unprintable-character",
            at,
            f"an invisible character stands here (U+{ord(found[0]):04X})",
            "Delete it and type the passage again.",
        )
        return Outcome(None, (problem,))
    if not text.strip():
        problem = error(
            "empty-file",
            origin,
            f"`{origin.file}` holds only spaces",
            "Save its content again, or remove the file.",
        )
        return Outcome(None, (problem,))
    return Outcome(text)


def _wrong_encoding(origin: Origin, message: str) -> Problem:
    return error("wrong-encoding", origin, message, "Save the file as UTF-8.")


def _position(before: str, file: str) -> Origin:
    lines = re.split("\r\n|\r|\n", before)
    return Origin(file, len(lines), len(lines[-1]) + 1)
