"""`python -m pipeline.checks`: write the table of rules into DEVELOPERS.md of this checkout."""

from __future__ import annotations

from pathlib import Path

from pipeline.checks.guide import with_rules

GUIDE = Path(__file__).parents[2] / "DEVELOPERS.md"

if __name__ == "__main__":
    GUIDE.write_text(with_rules(GUIDE.read_text(encoding="utf-8")), encoding="utf-8")
