"""The editor's prose as markup: Markdown (CommonMark), in the language asked for.

Nothing a text says can reach beyond the page: HTML is shown as text, pictures are not taken in.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from functools import cache

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererProtocol
from markdown_it.token import Token
from markupsafe import Markup, escape

from pipeline.edition.strict import in_language
from pipeline.typeset.signs import in_signs_face

_LOWEST_HEADING = 6
_WITH_WORD_BEFORE = re.compile(r"(?<=\w) (?=\d{1,3}(?:[^\w\s]|$)|[A-Z]\.$)")
"""The space before a number or siglum that ends a clause: neither begins a line alone."""


@dataclass(frozen=True)
class Prose:
    """Reads prose in one language; what is not translated is given in the main language, marked."""

    language: str
    main: str

    def inline(self, text: Mapping[str, str]) -> Markup:
        """Return the prose as one run of text; empty where there is none."""
        written, language = self._written(text)
        if not written:
            return Markup("")
        rendered = Markup(_reader().renderInline(written.strip()))
        return self._marked(rendered, language, "span")

    def blocks(self, text: Mapping[str, str]) -> Markup:
        """Return the prose as paragraphs."""
        written, language = self._written(text)
        return self._marked(markdown(written), language, "div") if written else Markup("")

    def plain(self, text: Mapping[str, str]) -> str:
        """Return the prose without markup, for titles and metadata."""
        return self.inline(text).striptags()

    def _written(self, text: Mapping[str, str]) -> tuple[str, str]:
        ours = in_language(text, self.language, self.main)
        if ours is not None:
            return ours, self.language
        theirs = in_language(text, self.main, self.main)
        return (theirs or next(iter(text.values()), "")), self.main

    def _marked(self, rendered: Markup, language: str, element: str) -> Markup:
        if language == self.language:
            return rendered
        return Markup('<{0} lang="{1}">{2}</{0}>').format(element, language, rendered)


def first_paragraph(blocks: Markup) -> tuple[Markup, Markup]:
    """Return the inside of the first paragraph and the blocks after it.

    Prose that begins with something else, or is in another language, has no first paragraph.
    """
    opening, closing = "<p>", "</p>"
    if not blocks.startswith(opening):
        return Markup(""), blocks
    inside, _, rest = str(blocks).removeprefix(opening).partition(closing)
    return Markup(inside), Markup(rest.strip())


def markdown(written: str, headings_below: int = 2) -> Markup:
    """Return Markdown as HTML blocks; a heading of level 1 becomes level `headings_below` + 1."""
    reader = _reader()
    tokens = reader.parse(written)
    for token in tokens:
        if token.type in {"heading_open", "heading_close"}:
            level = min(int(token.tag[1:]) + headings_below, _LOWEST_HEADING)
            token.tag = f"h{level}"
    return Markup(reader.renderer.render(tokens, reader.options, {}))


@cache
def _reader() -> MarkdownIt:
    reader = MarkdownIt("commonmark", {"html": False}).disable("image")
    reader.add_render_rule("text", _text)
    return reader


def _text(
    renderer: RendererProtocol,
    tokens: Sequence[Token],
    index: int,
    options: object,
    env: MutableMapping[str, object],
) -> str:
    held = _WITH_WORD_BEFORE.sub("\u00a0", tokens[index].content)
    return str(in_signs_face(escape(held)))
