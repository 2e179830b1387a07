"""CHECK: every rule over the material, all problems at once."""

from __future__ import annotations

from pipeline.checks.material import Material
from pipeline.checks.rules import RULES
from pipeline.problems import Problem, in_reading_order


def check(material: Material) -> tuple[Problem, ...]:
    """Return what all rules find, in reading order. Linear in the number of records.

    Where a record could not be read, rules that need every record are passed over: they would
    tell the editor of a gap that the mended record fills.
    """
    rules = (r for r in RULES if material.edition.complete or not r.needs_every_record)
    return in_reading_order(problem for rule in rules for problem in rule.problems(material))
