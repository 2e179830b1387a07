"""A state of an edition: a folder, or what it was at a git revision, read as far as it can be.

What is written on the command line goes in; out comes the edition with its music. A revision is
read into a folder for the time of reading only; the repository itself is never changed.
"""

from __future__ import annotations

import hashlib
import re
import subprocess
import zipfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

from pipeline.checks.material import Material
from pipeline.edition.model import Edition
from pipeline.edition.read import HEAD_FILE, RECORD_FOLDER, read_edition
from pipeline.edition.suggestions import closest
from pipeline.problems import Origin, Outcome, Problem, Severity, error, warning

_ID = re.compile(r"^\s*(?:-\s+)?id:\s*[\"']?([A-Za-z][A-Za-z0-9._-]*)", re.MULTILINE)


@dataclass(frozen=True)
class State:
    """An edition at one time. `material` is None where its base text cannot be read.

    `not_read` are ids that stand in its files of records, but whose records cannot be read;
    `digests` tell by path whether a music file is the same (SHA-256).
    """

    name: str
    edition: Edition
    material: Material | None
    not_read: frozenset[str]
    digests: Mapping[str, str]


class _CallError(Exception):
    """What is wrong with the call itself."""


def two_states(old: str, new: str) -> Outcome[tuple[State, State]] | str:
    """Return both states with what is to be told of them, or what is wrong with the call.

    The value is None where one of them has no edition.yaml that can be read.
    """
    problems: list[Problem] = []
    states: list[State] = []
    for written, other in ((old, new), (new, old)):
        with TemporaryDirectory(prefix="apparatus-") as empty:
            try:
                folder, name = _folder(written, other, Path(empty))
            except _CallError as wrong:
                return str(wrong)
            state = _read(folder, name)
        problems += state.problems
        if state.value is not None:
            states.append(state.value)
    if len(states) < 2:
        return Outcome(None, tuple(problems))
    return Outcome((states[0], states[1]), tuple(problems))


def _folder(written: str, other: str, empty: Path) -> tuple[Path, str]:
    """Return the folder that is meant and what it is called; a revision is put into `empty`."""
    path = Path(written)
    if _is_folder(path):
        return path, written if path.name else path.resolve().name
    if path.is_file():
        raise _CallError(
            f"{written} is a file; name the folder that holds {HEAD_FILE}. A player's own copy "
            "is named last."
        )
    beside = Path(other) if _is_folder(Path(other)) else Path()
    if not (beside / HEAD_FILE).is_file():
        raise _CallError(
            f"{written} is no folder. If it is a git revision, name the edition's folder as the "
            "other state, or call this in that folder."
        )
    commit = _commit(written, beside)
    within = _line(beside, "rev-parse", "--show-prefix")
    top = Path(_line(beside, "rev-parse", "--show-toplevel"))
    archive = _tried(top, "archive", "--format=zip", f"{commit}:{within}")
    if archive is None:
        raise _CallError(f"The folder {within} is not there at the revision {written}.")
    with zipfile.ZipFile(BytesIO(archive)) as files:
        files.extractall(empty)
    if not (empty / HEAD_FILE).is_file():
        raise _CallError(f"There is no {HEAD_FILE} at the revision {written}.")
    return empty, written if commit.startswith(written) else f"{written} ({commit[:7]})"


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except OSError:
        return False


def _commit(written: str, folder: Path) -> str:
    """Return the commit that a revision names."""
    if _tried(folder, "rev-parse", "--is-inside-work-tree") is None:
        raise _CallError(
            f"{written} is no folder, and {folder} is in no git repository whose revision it "
            "could be."
        )
    found = _tried(folder, "rev-parse", "--verify", "--quiet", "--end-of-options",
                   f"{written}^{{commit}}")  # fmt: skip
    if found is not None:
        return found.decode().strip()
    names = _line(folder, "for-each-ref", "--format=%(refname:short)").split()
    near = closest(written, ["HEAD", *names])
    revision, _, path = written.partition(":")
    if path and _tried(folder, "rev-parse", "--verify", "--quiet", "--end-of-options", revision):
        near = revision  # the folder is that of the other state
    meant = f" Did you mean {near}?" if near else ""
    raise _CallError(f"{written} is neither a folder nor a git revision of this edition.{meant}")


def _tried(folder: Path, *arguments: str) -> bytes | None:
    """Return what git answers in that folder, None where it refuses."""
    try:
        # A list of arguments, none of which can be taken for an option.
        return subprocess.check_output(["git", *arguments], cwd=folder, stderr=subprocess.DEVNULL)
    except subprocess.CalledProcessError:
        return None
    except OSError:
        raise _CallError("git is not installed here, so no revision can be read.") from None


def _line(folder: Path, *arguments: str) -> str:
    return (_tried(folder, *arguments) or b"").decode("utf-8", "surrogateescape").rstrip("\n")


def _read(folder: Path, name: str) -> Outcome[State]:
    from pipeline.build import examine

    examined = examine(folder)
    edition = examined.value.edition if examined.value else read_edition(folder).value
    if edition is None:
        found = examined.problems[0]
        message = f"this state cannot be read: {found.origin}: {found.message}"
        return Outcome(None, (error("state-not-read", Origin(name), message, found.remedy),))
    errors = [p for p in examined.problems if p.severity is Severity.ERROR]
    state = State(
        name,
        edition,
        examined.value,
        frozenset(_written_ids(folder)) - {one.record.id for one in edition.records},
        dict(_digests(folder, edition)),
    )
    return Outcome(state, _told(state, errors))


def _told(state: State, errors: list[Problem]) -> tuple[Problem, ...]:
    """Tell that a state has errors; `check` tells all of them."""
    if not errors:
        return ()
    first = errors[0]
    more = f" and {len(errors) - 1} more" if len(errors) > 1 else ""
    hidden = sorted(state.not_read)
    unread = f"; not read: {', '.join(hidden)}" if hidden else ""
    return (
        warning(
            "state-with-errors",
            Origin(state.name),
            f"this state has errors: {first.origin}: {first.message.splitlines()[0]}{more}{unread}",
            "Compared is what can be read; `apparatus check` tells every error of a folder.",
        ),
    )


def _written_ids(folder: Path) -> Iterator[str]:
    """Yield whatever looks like the id of a record in the files of records."""
    for file in sorted((folder / RECORD_FOLDER).glob("*.yaml")):
        try:
            yield from _ID.findall(file.read_text(encoding="utf-8", errors="replace"))
        except OSError:
            continue


def _digests(folder: Path, edition: Edition) -> Iterator[tuple[str, str]]:
    """Yield each music file in the folder with the digest of its content."""
    root = folder.resolve()
    for file in _music_files(edition):
        path = (root / file).resolve()
        if path.is_relative_to(root) and path.is_file():
            yield file, hashlib.sha256(path.read_bytes()).hexdigest()


def _music_files(edition: Edition) -> Iterator[str]:
    head = edition.head
    yield from (movement.base for movement in head.movements)
    for witness in head.witnesses.values():
        yield from witness.encodings.values()
    for filed in edition.records:
        music = getattr(filed.record, "music", None)
        readings = getattr(filed.record, "readings", ())
        for one in (music, *(variant.music for variant in readings)):
            if one is not None and one.file is not None:
                yield one.file
