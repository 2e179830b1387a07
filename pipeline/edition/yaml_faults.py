"""What a YAML parser complains of, told to somebody who writes notes about music."""

from __future__ import annotations

import yaml

from pipeline.problems import Origin, Problem, error


class RefusedError(Exception):
    """Reading a YAML text has to stop here; carries the problem."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(problem.message)
        self.problem = problem


# What libyaml says, what is the matter, what to do; the first line that fits counts.
_FAULTS = (
    (
        "mapping values are not allowed",
        "a colon stands here where no key can be",
        "Put a text that holds a colon in quotes, or write it below its key after `>`; "
        "otherwise see that the line is indented like its neighbours.",
    ),
    (
        "could not find expected ':'",
        "a key without its colon",
        "Write `key: value`; the lines of a long text are indented more than its key.",
    ),
    (
        "unexpected end of stream",
        "a quotation mark is opened here and never closed",
        "Close the quotation; inside single quotes an apostrophe is written twice.",
    ),
    (
        "unexpected document indicator",
        "a quotation mark is opened here and never closed",
        "Close the quotation.",
    ),
    (
        "did not find expected ',' or",
        "a bracket is opened here and not closed, or a comma is missing in it",
        "Close the bracket; entries are set apart by commas.",
    ),
    (
        "did not find expected '-' indicator",
        "this line does not continue the list it stands in",
        "Begin each entry with `- `, and indent all entries of a list alike.",
    ),
    (
        "did not find expected key",
        "this line does not fit what stands before it",
        "Indent keys that belong together alike; "
        "close quotes at the end; put a text that begins with a quotation mark wholly in quotes.",
    ),
    (
        "unknown escape character",
        "a backslash in double quotes is followed by a letter that means nothing there",
        "Use single quotes, or write the backslash twice.",
    ),
    (
        "block sequence entries are not allowed",
        "a list begins here where none can be",
        "Put the first `- ` on a line of its own.",
    ),
    (
        "found undefined tag handle",
        "`!` begins a YAML tag; an edition has none",
        "Put a text that begins with `!` in quotes.",
    ),
)


def describe(fault: yaml.MarkedYAMLError, text: str, file: str, line_offset: int) -> Problem:
    """Return what makes the text unreadable, with its line and column in the file."""
    said = fault.problem or ""
    unclosed = said.startswith(("found unexpected end of stream", "did not find expected ',' or"))
    mark = (fault.context_mark if unclosed else None) or fault.problem_mark or fault.context_mark
    line, col = (mark.line, mark.column) if mark is not None else (0, 0)
    origin = Origin(file, line + 1 + line_offset, col + 1)
    if said.startswith("found character that cannot start any token"):
        return _bad_first_character(origin, text, line, col)
    for begins, message, remedy in _FAULTS:
        if begins in said:
            return error("malformed-yaml", origin, message, remedy)
    return error(
        "malformed-yaml",
        origin,
        "this cannot be read as YAML",
        "Look at the indentation, quotes, brackets and colons of this line and the one before.",
    )


def _bad_first_character(origin: Origin, text: str, line: int, col: int) -> Problem:
    lines = text.splitlines()
    character = lines[line][col : col + 1] if line < len(lines) else ""
    if character == "\t":
        return error(
            "malformed-yaml",
            origin,
            "a tab stands here; YAML is indented with spaces",
            "Replace tabs by spaces.",
        )
    return error(
        "malformed-yaml",
        origin,
        f"a text cannot begin with `{character}`",
        "Put the text in quotes.",
    )
