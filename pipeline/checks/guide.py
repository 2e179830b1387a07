"""The table of rules for the contributor's guide: from the rules' own words, into the guide."""

from __future__ import annotations

from pipeline.checks.rules import RULES

BEGIN = "<!-- checks: written by `make guide` -->\n"
END = "<!-- end of checks -->\n"


def rules_as_markdown() -> str:
    """Return the table: code, severity, what the rule finds, why that matters."""
    lines = ["| Code | | Finds | Why it matters |", "| --- | --- | --- | --- |"]
    lines += [
        f"| `{rule.code}` | {rule.severity} | {rule.finds} | {rule.matters} |" for rule in RULES
    ]
    return "\n".join(lines) + "\n"


def with_rules(guide: str) -> str:
    """Return the guide with the table between its two marks.

    Raises ValueError where a mark is missing.
    """
    before, after = guide.index(BEGIN) + len(BEGIN), guide.index(END)
    return f"{guide[:before]}\n{rules_as_markdown()}\n{guide[after:]}"
