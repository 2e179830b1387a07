"""Glyphs of a line as characters: the same glyph at the same place in the same size."""

from __future__ import annotations

from pipeline.typeset.part_pictures import in_music_face

LINE = (
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">'
    '<defs><g id="E0A4-x"><path d="M0 0"/></g></defs>'
    '<g class="note"><use xlink:href="#E0A4-x"'
    ' transform="translate(735, 914.5) scale(0.72, 0.72)"/></g></svg>'
)


def test_a_glyph_becomes_a_character_of_the_music_face() -> None:
    assert (
        '<g class="note"><text x="735" y="914.5" font-family="Leipzig" font-size="720">&#xE0A4;'
        "</text></g>"
    ) in in_music_face(LINE)
    assert "<defs>" not in in_music_face(LINE)


def test_glyphs_placed_in_another_way_are_left_as_they_are() -> None:
    turned = LINE.replace("scale(0.72, 0.72)", "rotate(90)")
    assert in_music_face(turned) == turned
