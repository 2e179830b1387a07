"""Ask one rule, or all of them, about a small edition."""

from __future__ import annotations

from collections.abc import Mapping

from pipeline.checks.rules import RULES
from pipeline.edition.choices import OwnCopy
from pipeline.edition.model import Text
from pipeline.problems import in_reading_order
from pipeline.score.model import Passage
from tests.collation.letters import music
from tests.collation.small_edition import HEAD, TEXT, line, small_edition

A = music("4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5", numbers="1 2 3 4", file="A.mei")
E = music("4:C5 4:B4 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5", numbers="1 2 3 4", file="E.mei")
S = music("4:C5 4:B4 4:E5 4:F5 | 4:G5 4:F5 2:B5", numbers="1 2", file="S.mei")
WITNESSES = {"A": A, "E": E, "S": S}


def record(kind: str, id_: str, place: str, *lines: str) -> str:
    """Return a record whose own lines begin on its seventh line, indented by two."""
    own = "".join(f"  {one}\n" for one in lines)
    by = "" if any(one.startswith("by:") for one in lines) else "  by: editor\n"
    return (
        f"- id: {id_}\n  kind: {kind}\n  place: {{movement: 1, {place}}}\n"
        f"{by}  date: 2026-03-01\n  reason: because\n{own}"
    )


def asked(
    code: str,
    records: str,
    witnesses: Mapping[str, Passage] | None = None,
    fragments: Mapping[str, Passage] | None = None,
    text: Passage = TEXT,
    head: str = HEAD,
    texts: tuple[Text, ...] = (),
    own: OwnCopy | None = None,
) -> list[str]:
    """Return what the rule of that code finds, one line each."""
    material, _ = small_edition(
        records, WITNESSES if witnesses is None else witnesses, fragments, text, head, texts, own
    )
    (rule,) = (rule for rule in RULES if rule.code == code)
    return [line(problem) for problem in in_reading_order(rule.problems(material))]
