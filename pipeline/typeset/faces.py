"""The faces a page is set in: found in installed packages, never committed, never fetched.

The text face is an ordinary dependency (SIL Open Font License), so that the same edition gives the
same bytes on every machine. Where it is missing, the page is set in what fontconfig calls "serif"
and a problem says so.
"""

from __future__ import annotations

import importlib.resources
import importlib.util
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from pipeline.engrave.fonts import MUSIC_FACE
from pipeline.problems import Origin, Problem, warning
from pipeline.typeset.signs_face import FAMILY as SIGNS_FAMILY
from pipeline.typeset.signs_face import music_face, signs_face

TEXT_FAMILY = "Apparatus Text"
WEIGHTS = (400, 600)
TEXT_FAMILIES = f"'{TEXT_FAMILY}', 'DejaVu Serif', serif"
"""The text face with its fallback, as a CSS font-family for words inside pictures."""

MUSIC_TEXT_FAMILY = "Apparatus Music Text"
MUSIC_TEXT_FAMILIES = f"'{MUSIC_TEXT_FAMILY}', 'DejaVu Serif', serif"
"""The same face with lining figures: an old-style 1 or 2 is too small for a fingering."""

FACE_ITSELF = "EB Garamond"
"""What the text face calls itself: its name where faces are files, not CSS rules."""

SCHEME = "face"
LINING_FIGURES = ' font-feature-settings: "lnum";'


@dataclass(frozen=True)
class FaceFile:
    """One style of the text face: where its package keeps it and which CSS style it is."""

    name: str
    package: str
    file: str
    style: str


TEXT_FACE = (
    FaceFile("text-roman", "fontpkg_eb_garamond", "files/EBGaramond[wght].ttf", "normal"),
    FaceFile("text-italic", "fontpkg_eb_garamond", "files/EBGaramond-Italic[wght].ttf", "italic"),
)
"""EB Garamond: dense, quiet, small capitals and old-style figures in both styles."""


@dataclass(frozen=True)
class Faces:
    """The CSS that declares the faces, and the file behind each `face:` address in it."""

    css: str
    files: Mapping[str, bytes]
    problems: tuple[Problem, ...]


@cache
def faces(text_face: tuple[FaceFile, ...] = TEXT_FACE) -> Faces:
    """Return the faces of this machine; a missing text face is a warning, never an error."""
    files = {"signs": signs_face(), "music": music_face()}
    rules = [
        _rule(SIGNS_FAMILY, "signs", "normal", 400),
        _rule(MUSIC_FACE, "music", "normal", 400),
    ]
    problems = []
    for face in text_face:
        data = _read(face)
        if data is None:
            problems.append(_missing(face))
            continue
        files[face.name] = data
        for weight in WEIGHTS:
            rules.append(_rule(TEXT_FAMILY, face.name, face.style, weight))
            rules.append(_rule(MUSIC_TEXT_FAMILY, face.name, face.style, weight, LINING_FIGURES))
    return Faces("\n".join(rules), files, tuple(problems))


def _rule(family: str, name: str, style: str, weight: int, more: str = "") -> str:
    return (
        f'@font-face {{ font-family: "{family}"; src: url("{SCHEME}:{name}");'
        f" font-style: {style}; font-weight: {weight};{more} }}"
    )


def _read(face: FaceFile) -> bytes | None:
    if importlib.util.find_spec(face.package) is None:
        return None
    file = importlib.resources.files(face.package) / face.file
    return file.read_bytes() if file.is_file() else None


def _missing(face: FaceFile) -> Problem:
    package = face.package.replace("_", "-")
    return warning(
        "text-face-missing",
        Origin("edition.yaml"),
        f"the text face ({face.style}) is not installed; the commentary is set in another serif",
        f"run `pip install {package}`",
    )
