"""CHECK: every rule over the material, all problems at once."""

from __future__ import annotations

from pipeline.checks.material import Material
from pipeline.checks.rules import RULES
from pipeline.problems import Problem, in_reading_order


def check(material: Material) -> tuple[Problem, ...]:
    """Return what all rules find, in reading order. Linear in the number of records."""
    return in_reading_order(problem for rule in RULES for problem in rule.problems(material))
