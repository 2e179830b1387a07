"""CHECK: every rule over the material, all problems at once."""

from __future__ import annotations

from pipeline.checks.material import Material
from pipeline.checks.rules import RULES
from pipeline.edition.choices import OwnCopy
from pipeline.edition.model import Edition
from pipeline.problems import Problem, in_reading_order
from pipeline.score.model import Score


def check(material: Material) -> tuple[Problem, ...]:
    """Return what all rules find, in reading order. Linear in the number of records.

    Where a record could not be read, rules that need every record are passed over: they would
    tell the editor of a gap that the mended record fills.
    """
    rules = (r for r in RULES if material.edition.complete or not r.needs_every_record)
    return in_reading_order(problem for rule in rules for problem in rule.problems(material))


def check_choices(edition: Edition, own: OwnCopy) -> tuple[Problem, ...]:
    """Return what is wrong with what was chosen of an edition, before anything is computed."""
    unread = Material(edition, Score(()), {}, {}, {}, {}, (), own)
    rules = (rule for rule in RULES if rule.code.startswith("choice-"))
    return in_reading_order(
        problem
        for rule in rules
        if edition.complete or not rule.needs_every_record
        for problem in rule.problems(unread)
    )
