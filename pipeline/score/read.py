"""READ (score): the music files that an edition names in, passages with events and places out.

Each file is read once and turned into MEI 5.1 with identifiers; from there on MEI and MusicXML,
old and new, are one thing. A file that cannot be read is told and left out, the others are kept.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from pipeline.edition.files import locate
from pipeline.edition.model import Edition, Step
from pipeline.edition.records import Emendation, Music, Ossia, Reading, Record, Tradition
from pipeline.edition.strict import in_language
from pipeline.problems import Origin, Outcome, Problem, error, in_reading_order
from pipeline.score.identifiers import (
    as_identifier,
    give_identifiers,
    identifiers,
    prefix_identifiers,
)
from pipeline.score.mei_names import Element
from pipeline.score.model import Movement, Passage, Score
from pipeline.score.musicxml import mei_from_musicxml
from pipeline.score.mxl import ZIP_MAGIC, is_musicxml, unpacked
from pipeline.score.passage import passage_of
from pipeline.score.safe_xml import parse_xml
from pipeline.score.signs_by_attribute import signs_as_elements
from pipeline.score.trouble import Trouble
from pipeline.score.versions import as_current_mei


@dataclass(frozen=True)
class _Document:
    """A whole MEI 5.1 document, not yet read for its events."""

    root: Element
    trouble: Trouble


def read_passage(folder: Path, file: str, origin: Origin, prefix: str = "") -> Outcome[Passage]:
    """Return the music of one file, every xml:id with `prefix` before it.

    `origin` is where the edition names the file: what is told when there is no such file.
    """
    found = _document(folder, file, origin)
    if found.value is None:
        return Outcome(None, found.problems)
    return _passage(found.value, file, prefix)


def read_score(edition: Edition) -> Outcome[Score]:
    """Return the base text. A later movement's xml:ids are prefixed where they occur already.

    The value is None only where no movement at all could be read.
    """
    movements: list[Movement] = []
    problems: list[Problem] = []
    taken: frozenset[str] = frozenset()
    main = edition.head.main_language
    for index, head in enumerate(edition.head.movements):
        origin = edition.head_origins.at("movements", index, "base")
        found = _document(edition.folder, head.base, origin)
        if found.value is None:
            problems += found.problems
            continue
        prefix, own = "", identifiers(found.value.root)
        while not taken.isdisjoint({prefix + one for one in own}):
            prefix += f"mov{head.n}-"
        passage = _passage(found.value, head.base, prefix)
        problems += passage.problems
        if passage.value is not None:
            taken |= {prefix + one for one in own}
            title = in_language(head.title, main, main) or ""
            movements.append(Movement(head.n, title, passage.value))
    score = Score(tuple(movements)) if movements else None
    return Outcome(score, in_reading_order(problems))


def read_encodings(edition: Edition) -> Outcome[Mapping[tuple[str, int], Passage]]:
    """Return what each witness's encodings hold, by siglum and movement number.

    The xml:ids of siglum A, movement 1 begin with `A-1-`, so that no two encodings share any.
    """
    passages: dict[tuple[str, int], Passage] = {}
    problems: list[Problem] = []
    for siglum, witness in edition.head.witnesses.items():
        for n, file in witness.encodings.items():
            origin = edition.head_origins.at("witnesses", siglum, "encodings", n)
            prefix = f"{_word(siglum)}-{n}-"
            found = read_passage(edition.folder, file, origin, prefix)
            problems += found.problems
            if found.value is not None:
                passages[siglum, n] = found.value
    return Outcome(passages, in_reading_order(problems))


def read_music(edition: Edition) -> Outcome[Mapping[str, Passage]]:
    """Return the music files that records name, by the path as it is written there.

    The xml:ids of each begin with the file's name; files of one name are told apart by a number.
    """
    passages: dict[str, Passage] = {}
    problems: list[Problem] = []
    prefixes: set[str] = set()
    for filed in edition.records:
        for path, music in _music_of(filed.record):
            if music.file is None or music.file in passages:
                continue
            stem = _word(PurePosixPath(music.file).stem)
            prefix, number = f"{stem}-", 1
            while prefix in prefixes:
                number += 1
                prefix = f"{stem}.{number}-"
            prefixes.add(prefix)
            origin = filed.origins.at(*path, "file")
            found = read_passage(edition.folder, music.file, origin, prefix)
            problems += found.problems
            if found.value is not None:
                passages[music.file] = found.value
    return Outcome(passages, in_reading_order(problems))


def _word(written: str) -> str:
    """Return text as the beginning of an xml:id, which must be a letter."""
    word = as_identifier(written)
    return word if word[:1].isalpha() else f"x{word}"


def _music_of(record: Record) -> Iterator[tuple[tuple[Step, ...], Music]]:
    match record:
        case Ossia() | Tradition():
            yield ("music",), record.music
        case Reading() | Emendation():
            for index, variant in enumerate(record.readings):
                if variant.music is not None:
                    yield ("readings", index, "music"), variant.music
        case _:
            return


def _document(folder: Path, file: str, origin: Origin) -> Outcome[_Document]:
    located = locate(folder, file, origin)
    if located.value is None:
        return Outcome(None, located.problems)
    try:
        data = located.value.read_bytes()
    except OSError as wrong:
        problem = error(
            "unreadable-file",
            origin,
            f"{file} cannot be read ({wrong.strerror})",
            "Check its rights.",
        )
        return Outcome(None, (problem,))
    if data.startswith(ZIP_MAGIC):
        inside = unpacked(data, file)
        if inside.value is None:
            return Outcome(None, inside.problems)
        data = inside.value
    parsed = parse_xml(data, file)
    if parsed.value is None:
        return Outcome(None, parsed.problems)
    trouble = Trouble(file)
    convert = mei_from_musicxml if is_musicxml(parsed.value) else as_current_mei
    root = convert(parsed.value, trouble)
    if root is None:
        return Outcome(None, tuple(trouble.problems))
    give_identifiers(root)
    if signs_as_elements(root, trouble):
        give_identifiers(root)
    return Outcome(_Document(root, trouble))


def _passage(document: _Document, file: str, prefix: str) -> Outcome[Passage]:
    if prefix:
        prefix_identifiers(document.root, prefix)
    passage = passage_of(document.root, file, document.trouble)
    return Outcome(passage, in_reading_order(document.trouble.problems))
