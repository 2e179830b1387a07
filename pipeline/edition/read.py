"""READ: an edition folder into typed, located objects; what does not fit becomes problems.

In: edition.yaml, records/*.yaml, texts/NAME.LANG.md. Out: an `Edition`, and all problems at once.
A file or record that cannot be read is left out and told; everything else is kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from pipeline.edition.files import list_folder, read_text
from pipeline.edition.fit import fit
from pipeline.edition.head import EditionHead
from pipeline.edition.model import Edition, FiledRecord, Origins, Text
from pipeline.edition.plain_values import plain
from pipeline.edition.quoting import printable, quoted
from pipeline.edition.record_files import read_record_file
from pipeline.edition.yaml_positions import Keyed, read_yaml
from pipeline.problems import Origin, Outcome, Problem, error, has_errors, in_reading_order

HEAD_FILE = "edition.yaml"
RECORD_FOLDER = "records"
TEXT_FOLDER = "texts"
_RECORDS_MAYBE = frozenset({".yaml", ".yml", ".json"})

_TEXT_NAME = re.compile(r"(?P<name>[\w-]+)\.(?P<language>[a-z]{2,3}(?:-[A-Za-z0-9]{2,8})*)\.md")


def read_edition(folder: Path) -> Outcome[Edition]:
    """Return everything a person wrote in the folder, except the music, with all its problems.

    The value is None where there is no usable edition.yaml. Records that fail are left out.
    """
    if not folder.is_dir():
        return Outcome(None, (_no_folder(folder),))
    head, head_origins, head_problems = _read_head(folder)
    records = _read_records(folder)
    texts = _read_texts(folder)
    problems = in_reading_order((*head_problems, *records.problems, *texts.problems))
    if head is None:
        return Outcome(None, problems)
    edition = Edition(
        folder.resolve(),
        head,
        head_origins,
        records.value or (),
        texts.value or (),
        complete=not has_errors(records.problems),
    )
    return Outcome(edition, problems)


def _read_head(folder: Path) -> tuple[EditionHead | None, Origins, tuple[Problem, ...]]:
    nowhere = Origins({(): Origin(HEAD_FILE)})
    text = read_text(folder, HEAD_FILE)
    if text.value is None:
        return None, nowhere, text.problems
    root = read_yaml(text.value, HEAD_FILE)
    if root.problems:
        return None, nowhere, root.problems
    if not isinstance(root.value, Keyed):
        problem = error(
            "wrong-value",
            Origin(HEAD_FILE),
            f"`{HEAD_FILE}` has no keys",
            "Write `title:`, `scoring:`, `languages:` and the other keys in it.",
        )
        return None, nowhere, (problem,)
    written = plain(root.value, HEAD_FILE)
    fitted = fit(EditionHead, written)
    return fitted.value, Origins(written.keys), fitted.problems


def _read_records(folder: Path) -> Outcome[tuple[FiledRecord, ...]]:
    listing = list_folder(folder, RECORD_FOLDER)
    if listing.value is None:
        return Outcome((), listing.problems)
    filed: list[FiledRecord] = []
    problems = list(listing.problems)
    for name in listing.value:
        if Path(name).suffix != ".yaml":
            problems.extend(_maybe_records(folder, name))
            continue
        text = read_text(folder, f"{RECORD_FOLDER}/{name}")
        problems.extend(text.problems)
        if text.value is not None:
            outcome = read_record_file(text.value, printable(f"{RECORD_FOLDER}/{name}"))
            filed.extend(outcome.value or ())
            problems.extend(outcome.problems)
    kept, repeated = _without_repeated_ids(filed)
    return Outcome(kept, (*problems, *repeated))


def _read_texts(folder: Path) -> Outcome[tuple[Text, ...]]:
    listing = list_folder(folder, TEXT_FOLDER)
    texts: list[Text] = []
    problems = [p for p in listing.problems if p.code != "missing-folder"]
    for name in listing.value or ():
        if not name.endswith(".md"):
            continue
        file = f"{TEXT_FOLDER}/{name}"
        named = _TEXT_NAME.fullmatch(name)
        if named is None:
            problems.append(
                error(
                    "text-without-language",
                    Origin(printable(file)),
                    f"{quoted(name)} does not say its language",
                    "Name it as NAME.LANGUAGE.md, such as preface.en.md.",
                )
            )
            continue
        text = read_text(folder, file)
        problems.extend(text.problems)
        if text.value is not None:
            texts.append(
                Text(named["name"], named["language"], text.value, Origin(printable(file)))
            )
    return Outcome(tuple(texts), tuple(problems))


def _no_folder(folder: Path) -> Problem:
    name = printable(str(folder))
    return error(
        "missing-folder",
        Origin(name),
        f"`{name}` is a file; an edition is a folder"
        if folder.exists()
        else f"there is no folder `{name}`",
        f"Name the folder that holds `{HEAD_FILE}`.",
    )


def _maybe_records(folder: Path, name: str) -> tuple[Problem, ...]:
    """Return a problem where a name looks like records that would not be read."""
    at = Origin(printable(f"{RECORD_FOLDER}/{name}"))
    inside = list_folder(folder, f"{RECORD_FOLDER}/{name}").value
    if inside is not None and any(Path(one).suffix in _RECORDS_MAYBE for one in inside):
        message = f"{quoted(name)} is a folder with files of records; they are not read there"
        remedy = f"Move its files up into `{RECORD_FOLDER}`, or move the folder out of it."
        return (error("file-not-read", at, message, remedy),)
    if Path(name).suffix.lower() not in _RECORDS_MAYBE:
        return ()
    message = f"{quoted(name)} is not read: names of record files end in .yaml"
    return (error("file-not-read", at, message, "Rename it, or move it out of the folder."),)


def _without_repeated_ids(
    filed: Iterable[FiledRecord],
) -> tuple[tuple[FiledRecord, ...], tuple[Problem, ...]]:
    """Keep the first record of each id; an id is what everything else calls a record by."""
    first: dict[str, FiledRecord] = {}
    problems = []
    for one in filed:
        earlier = first.setdefault(one.record.id, one)
        if earlier is not one:
            at = earlier.origins.at("id")
            message = f"{quoted(one.record.id)} is a record in {at.file}, line {at.line}, already"
            remedy = "Give this record an id of its own."
            problems.append(error("duplicate-record-id", one.origins.at("id"), message, remedy))
    return tuple(first.values()), tuple(problems)
