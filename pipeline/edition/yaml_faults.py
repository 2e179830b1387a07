"""What a YAML parser complains of, told to somebody who writes notes about music.

In: the fault with the line it was met on. Out: a problem that names the likely slip, not the
grammar rule: a colon inside a text, a bracket left open, a key without its colon.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import yaml

from pipeline.edition.quoting import quoted
from pipeline.problems import Origin, Problem, error


class RefusedError(Exception):
    """Reading a YAML text has to stop here; carries the problem."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem


@dataclass(frozen=True)
class _Spot:
    """A line of the text and the column (from 0) at which something was met."""

    line: str
    col: int

    @property
    def before(self) -> str:
        return self.line[: self.col]

    @property
    def character(self) -> str:
        return self.line[self.col : self.col + 1]


@dataclass(frozen=True)
class _Slip:
    """What is the matter and what to do; told where the parser stopped or where it began."""

    message: str
    remedy: str
    code: str = "malformed-yaml"


_INDENT_ALIKE = "Indent keys that belong together alike, with spaces."


def describe(fault: yaml.MarkedYAMLError, text: str, file: str, first_line: int = 1) -> Problem:
    """Return what makes the text unreadable, with its line and column in the file."""
    said = fault.problem or ""
    words = next((tell for begins, tell in _SLIPS if begins in said), _unknown)
    began = any(begins in said for begins in _TOLD_WHERE_IT_BEGAN)
    mark = (fault.context_mark if began else None) or fault.problem_mark or fault.context_mark
    line, col = (mark.line, mark.column) if mark is not None else (0, 0)
    lines = re.split("\r\n|\r|\n", text)
    slip = words(_Spot(lines[line] if line < len(lines) else "", col))
    return error(slip.code, Origin(file, line + first_line, col + 1), slip.message, slip.remedy)


def _stray_colon(spot: _Spot) -> _Slip:
    if re.fullmatch(r"\s*(?:- +)?[\w.-]+", spot.before):
        return _Slip("this line is indented more than the keys above it", _INDENT_ALIKE)
    return _Slip(
        "a text with a colon in it is not in quotes",
        "Put the text in quotes, or write it below its key after `>`.",
    )


def _no_colon(spot: _Spot) -> _Slip:
    joined = re.match(r"[\w.-]+:(?=\S)", spot.line[spot.col :])
    if joined:
        return _Slip(
            f"there is no space after {quoted(joined[0])}", "Write `key: value` with a space."
        )
    return _Slip(
        f"{quoted(spot.line[spot.col :])} has no colon",
        "Write `key: value`; if this line goes on with a text, indent it more than its key.",
    )


def _list_broken(spot: _Spot) -> _Slip:
    if spot.character == "\xa0":
        return _Slip("a non-breaking space stands before the key", "Indent with ordinary spaces.")
    if re.match(r"-[^\s-]", spot.line[spot.col :]):
        return _Slip("there is no space after the dash", "Write `- ` before the first key.")
    if spot.col > 0:
        return _Slip("this line is indented less than the keys above it", _INDENT_ALIKE)
    return _Slip(
        "this line does not go on with the list above it",
        "Begin each entry of a list with `- `; indent the other keys of an entry by two spaces.",
    )


def _keys_broken(spot: _Spot) -> _Slip:
    before = spot.before.rstrip()[-1:]
    if before in {'"', "'"}:
        return _Slip(
            "the quotation ends before this word",
            "Put the whole text in quotes; inside single quotes write an apostrophe twice.",
        )
    if before in {"]", "}"}:
        return _Slip("the bracket was closed before this", "Take away what follows the bracket.")
    if spot.character == "-":
        return _Slip(
            "a list begins here among keys",
            "Indent the list more than the key it belongs to, or give it a key.",
        )
    return _Slip("this line is not indented like the keys above it", _INDENT_ALIKE)


def _bad_start(spot: _Spot) -> _Slip:
    if spot.character == "\t":
        return _tab(spot)
    name = "a backtick" if spot.character == "`" else quoted(spot.character)
    return _Slip(f"a text cannot begin with {name}", "Put the text in quotes.")


def _open_bracket(spot: _Spot) -> _Slip:
    return _Slip(
        f"after this {quoted(spot.character)} a comma is missing, or the bracket is not closed",
        "Set the entries apart by commas and close the bracket; "
        "put an entry that holds `: `, ` #` or a bracket in quotes.",
    )


def _open_quotes(_: _Spot) -> _Slip:
    return _Slip(
        "the quotation that begins here never ends",
        "Close it; inside single quotes write an apostrophe twice.",
    )


def _tab(_: _Spot) -> _Slip:
    return _Slip("a tab stands here; YAML is indented with spaces", "Replace tabs by spaces.")


def _after_the_end(spot: _Spot) -> _Slip:
    if spot.line.startswith("- "):
        return _Slip(
            "this entry stands after the end of the list",
            "Indent all entries of a list alike, and take away a line `...`.",
        )
    return _Slip(
        "something stands here after the end",
        "Indent all lines of a text, and take away a line `...`.",
    )


def _other_version(_: _Spot) -> _Slip:
    return _Slip("the file asks for another version of YAML", "Take away the line `%YAML`.")


def _bad_escape(_: _Spot) -> _Slip:
    return _Slip(
        "a backslash in double quotes is followed by what means nothing there",
        "Use single quotes, or write the backslash twice.",
    )


def _list_in_line(_: _Spot) -> _Slip:
    return _Slip("a list begins in the line of its key", "Put the first `- ` on the next line.")


def _too_deep(_: _Spot) -> _Slip:
    return _Slip(
        "brackets are nested too deep here",
        "Look for a bracket that was not meant.",
        "nested-too-deep",
    )


def _tag(_: _Spot) -> _Slip:
    return _Slip(
        "`!` begins a YAML tag; an edition has none",
        "Put a text that begins with `!` in quotes.",
        "yaml-tag",
    )


def _missing_entry(spot: _Spot) -> _Slip:
    if not spot.line.strip():
        return _Slip("a bracket is not closed above here", "Close the bracket.")
    return _Slip("an entry is missing between two commas", "Write the entry, or drop a comma.")


def _block_head(_: _Spot) -> _Slip:
    return _Slip(
        "a long text begins on the line after its `>` or `|`", "Put the text on the next line."
    )


def _unknown(_: _Spot) -> _Slip:
    return _Slip(
        "this cannot be read as YAML",
        "Look at the indentation, quotes, brackets and colons of this line and the one before.",
    )


_SLIPS: tuple[tuple[str, Callable[[_Spot], _Slip]], ...] = (
    ("mapping values are not allowed", _stray_colon),
    ("could not find expected ':'", _no_colon),
    ("found unexpected end of stream", _open_quotes),
    ("found unexpected document indicator", _open_quotes),
    ("did not find expected ',' or", _open_bracket),
    ("did not find expected '-' indicator", _list_broken),
    ("did not find expected key", _keys_broken),
    ("found character that cannot start", _bad_start),
    ("found a tab character", _tab),
    ("found unknown escape character", _bad_escape),
    ("found invalid Unicode character escape", _bad_escape),
    ("did not find expected hexdecimal number", _bad_escape),
    ("block sequence entries are not allowed", _list_in_line),
    ("did not find expected <document start>", _after_the_end),
    ("did not find expected comment or line break", _block_head),
    ("did not find expected node content", _missing_entry),
    ("found incompatible YAML document", _other_version),
    ("exceeded maximum nesting depth", _too_deep),
    ("found undefined tag handle", _tag),
)
"""What libyaml says (scanner.c, parser.c), and what is likely the matter."""

_TOLD_WHERE_IT_BEGAN = (
    "could not find expected ':'",
    "found unexpected end of stream",
    "found unexpected document indicator",
    "did not find expected ',' or",
)
"""Faults that the parser notices long after the slip, but whose beginning it remembers."""
