"""Marked-up text in, runs of plain text with a style out: for pages that are not HTML.

Typst is given text as data, never as source, so nothing an editor writes can be read as a command.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from html.parser import HTMLParser

from markupsafe import Markup

_ITALIC, _BOLD = frozenset({"i", "em"}), frozenset({"b", "strong"})
_BREAKS = frozenset({"p", "br", "li"})
_VOID = frozenset({"br", "img", "hr", "wbr"})


@dataclass(frozen=True)
class Run:
    """Text in one style; `sign` sets it in the face of music signs, `language` is another one."""

    text: str
    italic: bool = False
    bold: bool = False
    sign: bool = False
    language: str = ""


RichText = tuple[Run, ...]


def rich_text(markup: Markup | str) -> RichText:
    """Return the runs of inline markup; plain text is one run. Neighbours alike are joined."""
    reader = _Reader()
    reader.feed(str(Markup.escape(markup)))
    reader.close()
    joined: list[Run] = []
    for run in reader.runs:
        if joined and replace(joined[-1], text=run.text) == run:
            joined[-1] = replace(run, text=joined[-1].text + run.text)
        else:
            joined.append(run)
    return tuple(joined)


class _Reader(HTMLParser):
    """Keeps the style of the elements that are open."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.runs: list[Run] = []
        self._open: list[tuple[str, Run]] = [("", Run(""))]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in _BREAKS and self.runs:
            self.handle_data(" ")
        if tag in _VOID:
            return
        style, given = self._open[-1][1], dict(attrs)
        if tag in _ITALIC:
            style = replace(style, italic=not style.italic)
        if tag in _BOLD:
            style = replace(style, bold=True)
        if {"sign", "dynamic"} & set((given.get("class") or "").split()):
            style = replace(style, sign=True)
        self._open.append((tag, replace(style, language=given.get("lang") or style.language)))

    def handle_endtag(self, tag: str) -> None:
        if tag not in _VOID and len(self._open) > 1:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if data:
            self.runs.append(replace(self._open[-1][1], text=data))
