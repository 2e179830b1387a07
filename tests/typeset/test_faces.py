"""The faces a page is set in: which signs they have, and what is told when one is missing."""

from __future__ import annotations

import io

from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont

from pipeline.typeset.faces import TEXT_FACE, FaceFile, faces
from pipeline.typeset.signs import dynamic, in_signs_face
from pipeline.typeset.signs_face import music_face, signs_face

ACCIDENTALS = "♭♮♯\U0001d12a\U0001d12b"
NOTE_VALUES = "".join(chr(code) for code in range(0x1D15D, 0x1D164))
RESTS = "".join(chr(code) for code in range(0x1D13B, 0x1D141))
"""Unicode 16, Miscellaneous Symbols and Musical Symbols (names as in the code charts)."""


def test_the_signs_face_has_every_sign_that_the_wording_uses() -> None:
    characters = TTFont(io.BytesIO(signs_face())).getBestCmap()
    assert {ord(sign) for sign in ACCIDENTALS + NOTE_VALUES + RESTS} <= set(characters)


def test_no_sign_is_empty_and_all_stand_between_the_lines_of_text() -> None:
    face = TTFont(io.BytesIO(signs_face()))
    glyphs, names = face.getGlyphSet(), face.getBestCmap()
    for code, name in names.items():
        bounds = BoundsPen(glyphs)
        glyphs[name].draw(bounds)
        left, bottom, right, top = bounds.bounds
        assert right > left >= -200, chr(code)
        assert -350 <= bottom < top <= 900, chr(code)


def test_the_text_face_has_raised_figures_primes_and_quotation_marks() -> None:
    roman = TTFont(io.BytesIO(faces().files["text-roman"]), lazy=True).getBestCmap()
    assert {ord(sign) for sign in "′″‴⁰¹²³⁴⁵⁶⁷₁₂₃“”„–½äöüß"} <= set(roman)


def test_the_same_signs_are_the_same_bytes() -> None:
    signs_face.cache_clear()
    first = signs_face()
    signs_face.cache_clear()
    assert signs_face() == first


def test_the_music_face_is_given_as_truetype() -> None:
    assert 0xE262 in TTFont(io.BytesIO(music_face())).getBestCmap()


def test_faces_that_are_there_are_no_problem() -> None:
    found = faces()
    assert found.problems == ()
    assert set(found.files) == {"signs", "music", "text-roman", "text-italic"}


def test_a_missing_face_is_told_and_the_others_stay() -> None:
    missing = FaceFile("text-italic", "fontpkg_no_such_face", "files/x.ttf", "italic")
    found = faces((TEXT_FACE[0], missing))
    (problem,) = found.problems
    assert (problem.severity, problem.code) == ("warning", "text-face-missing")
    assert problem.remedy == "run `pip install fontpkg-no-such-face`"
    assert "text-roman" in found.css
    assert "text-italic" not in found.css


def test_signs_are_set_in_their_face_and_text_is_not() -> None:
    assert in_signs_face(dynamic("p")) == '<span class="dynamic">p</span>'
    assert dynamic("cresc.") == "<i>cresc.</i>"
    assert dynamic("<p>") == "<i>&lt;p&gt;</i>"
