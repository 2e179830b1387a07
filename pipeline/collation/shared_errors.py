"""A suggested stemma: who may have been copied from whom, by the errors that witnesses share.

In come the units of variation; out goes a tree of witnesses and of models that are lost, with the
figures behind every line. An error is a departure from the text, weighed by its kind.

The method is that of shared errors, common practice in textual criticism (P. Maas, "Textkritik",
1927, from memory): a witness that has all errors of another and some of its own descends from it;
witnesses that share errors, each with errors of its own, descend from a lost common model. Figures
suggest, an editor decides: a copyist may mend what he finds, and use two models. The same units
give the same tree. Linear in the units times the square of the witnesses, and in the different
patterns of error times their cube.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations, count, permutations, takewhile

from pipeline.collation.agreement import Agreement
from pipeline.collation.error_patterns import FEW, FULL, ErrorPatterns, error_patterns
from pipeline.collation.lost_models import MENDED, Node, lost_models, union
from pipeline.collation.mixed_models import Mixture, mixtures

_GREEK = "αβγδεζηθικλμνξοπρστυφχψω"
_DATE = re.compile(r"(\d{4})(?:-(\d{2}))?(?:-(\d{2}))?")


@dataclass(frozen=True)
class Branch:
    """A witness or a lost model, and the line by which it hangs.

    `model` is the witness or lost model above, empty where it hangs on the original itself.
    `shared` errors it has in common with what stands above, of the `of` errors that stand there;
    `own` errors come with it. All are weighed, and count only what both hold. `weak` says that few
    errors bear the line, or that others speak against it.
    """

    name: str
    lost: bool
    model: str
    shared: float
    of: float
    own: float
    weak: bool = False


@dataclass(frozen=True)
class Kept:
    """What one witness has of the errors of another, weighed: those it has and those it lacks."""

    kept: float
    lacking: float


@dataclass(frozen=True)
class SuggestedStemma:
    """What the errors suggest.

    `branches` stand from top to bottom, a model before its copies. `kept` is by two witnesses, in
    either order: what the second has of the errors of the first. `mixed` have errors of two
    models; `perhaps` names lost models with a witness that may itself be what seems lost; of
    `alike` no errors tell which of the two was copied from which; on `nearly_faultless` nothing can
    be seen to hang, for lack of errors; `against_dates` are lines (model, copy) whose copy bears
    the earlier date.
    """

    branches: tuple[Branch, ...]
    kept: Mapping[tuple[str, str], Kept]
    mixed: tuple[Mixture, ...] = ()
    perhaps: tuple[tuple[str, str], ...] = ()
    alike: tuple[tuple[str, str], ...] = ()
    nearly_faultless: tuple[str, ...] = ()
    against_dates: tuple[tuple[str, str], ...] = ()

    @property
    def decided(self) -> bool:
        """Whether any two witnesses share enough errors to be related at all."""
        return any(branch.model for branch in self.branches)

    def branch(self, name: str) -> Branch:
        """Return the branch of a witness or lost model. Raises StopIteration if it is not there."""
        return next(branch for branch in self.branches if branch.name == name)


@dataclass(frozen=True)
class _Descents:
    """The witness each witness was copied from, by number, and the pairs that may go either way."""

    model: Mapping[int, int]
    alike: tuple[tuple[int, int], ...]


def suggested_stemma(
    agreement: Agreement, dates: Mapping[str, str] | None = None
) -> SuggestedStemma | None:
    """Return what the errors suggest, None for fewer than two witnesses.

    `dates` are those of the witnesses as the edition gives them; a line that goes against them is
    told, and stands.
    """
    patterns = error_patterns(agreement)
    sigla = patterns.witnesses
    if len(sigla) < 2:
        return None
    descents = _descents(patterns)
    top = [number for number in range(len(sigla)) if number not in descents.model]
    roots = _hung(None, top, descents.model, patterns)
    mixed = mixtures(roots, patterns)
    figured = tuple(_branches(roots, patterns))
    perhaps = _perhaps(figured)
    copies = {one.witness for one in mixed}
    copies |= {sigla[number] for pair in descents.alike for number in pair}
    models = {lost for lost, _ in perhaps}
    branches = tuple(
        replace(branch, weak=_bears_little(branch) or _in_doubt(branch, copies, models))
        for branch in figured
    )
    return SuggestedStemma(
        branches=branches,
        kept={
            (sigla[one], sigla[other]): Kept(
                patterns.shared(1 << one, 1 << other) / FULL,
                _only(1 << one, 1 << other, patterns) / FULL,
            )
            for one, other in permutations(range(len(sigla)), 2)
        },
        mixed=mixed,
        perhaps=perhaps,
        alike=tuple((sigla[one], sigla[other]) for one, other in descents.alike),
        nearly_faultless=tuple(
            siglum for n, siglum in enumerate(sigla) if patterns.total(1 << n) < FEW
        ),
        against_dates=tuple(
            (branch.model, branch.name)
            for branch in branches
            if _earlier(dates or {}, branch.name, branch.model)
        ),
    )


def _descents(patterns: ErrorPatterns) -> _Descents:
    """Find for each witness the nearest one of whose errors it has nearly all."""
    numbers = range(len(patterns.witnesses))
    models: dict[int, list[int]] = {number: [] for number in numbers}
    alike: list[tuple[int, int]] = []
    for one, other in combinations(numbers, 2):
        first, second = 1 << one, 1 << other
        shared = patterns.shared(first, second)
        if not patterns.enough(shared, first, second):
            continue
        only_first = _only(first, second, patterns)
        only_second = _only(second, first, patterns)
        all_of_first = only_first <= MENDED * (shared + only_first)
        all_of_second = only_second <= MENDED * (shared + only_second)
        if all_of_first and all_of_second and abs(only_first - only_second) < FEW:
            alike.append((one, other))
        elif all_of_first and only_first < only_second:
            models[other].append(one)
        elif all_of_second and only_second < only_first:
            models[one].append(other)
    return _Descents(_nearest(models, patterns), tuple(alike))


def _only(one: int, other: int, patterns: ErrorPatterns) -> int:
    """Return what the errors of one witness weigh that another lacks (both bits)."""
    return patterns.weight(lambda has, lacks: has & one and lacks & other)


def _nearest(models: Mapping[int, Sequence[int]], patterns: ErrorPatterns) -> dict[int, int]:
    """Choose among the models of each witness one on which none of the others hangs below it."""

    def likeness(copy: int, model: int) -> float:
        both = 1 << copy | 1 << model
        common = patterns.weight(lambda has, lacks: (has | lacks) & both == both)
        return patterns.shared(1 << copy, 1 << model) / common

    sigla = patterns.witnesses

    chosen: dict[int, int] = {}
    for copy, candidates in models.items():
        lowest = [c for c in candidates if not any(c in models[other] for other in candidates)]
        by_siglum = sorted(lowest, key=lambda number: sigla[number])
        for model in sorted(by_siglum, key=partial(likeness, copy), reverse=True):
            if copy not in _line_up(model, chosen):
                chosen[copy] = model
                break
    return chosen


def _line_up(witness: int, model: Mapping[int, int]) -> list[int]:
    line = [witness]
    while line[-1] in model:
        line.append(model[line[-1]])
    return line


def _hung(
    model: int | None,
    members: Sequence[int],
    model_of: Mapping[int, int],
    patterns: ErrorPatterns,
) -> tuple[Node, ...]:
    """Return the nodes directly below a model: witnesses with what hangs on them, lost models."""
    nodes = []
    for number in members:
        copies = [copy for copy, above in model_of.items() if above == number]
        nodes.append(Node(number, _hung(number, copies, model_of, patterns) if copies else ()))
    return lost_models(nodes, model, patterns)


def _branches(roots: Sequence[Node], patterns: ErrorPatterns) -> Iterator[Branch]:
    """Yield every node with its figures, top to bottom; lost models are given letters in order."""
    letters = iter(letter for letter in _letters() if letter not in patterns.witnesses)

    def below(
        nodes: Sequence[Node], model: str, above: Node | None, witness: int
    ) -> Iterator[Branch]:
        for node in nodes:
            lost = node.witness is None
            name = next(letters) if node.witness is None else patterns.witnesses[node.witness]
            beside = union(nodes) & ~node.bits
            shared, of, own = (
                weight / FULL for weight in _figures(node, above, witness, beside, patterns)
            )
            yield Branch(name, lost, model, shared, of, own)
            nearest = witness if node.witness is None else 1 << node.witness
            yield from below(node.below, name, node, nearest)

    yield from below(roots, "", None, 0)


def _perhaps(branches: Sequence[Branch]) -> tuple[tuple[str, str], ...]:
    """Return each lost model with a witness that may itself be it, having little of its own."""
    lost = {branch.name for branch in branches if branch.lost}
    return tuple(
        (branch.model, branch.name)
        for branch in branches
        if branch.model in lost
        and not branch.lost
        and branch.own <= 2 * MENDED * (branch.shared + branch.own)
    )


def _bears_little(branch: Branch) -> bool:
    """Return whether few errors bear a line."""
    if not branch.model and not branch.lost:
        return False
    return (branch.own if branch.lost else branch.shared) < 2 * FEW / FULL


def _in_doubt(branch: Branch, copies: set[str], models: set[str]) -> bool:
    return bool(branch.model) and (branch.name in copies or branch.model in models)


def _figures(
    node: Node, above: Node | None, witness: int, beside: int, patterns: ErrorPatterns
) -> tuple[int, int, int]:
    """Return the errors a node shares with what stands above, those that stand there, and its own.

    `witness` is the nearest witness above as a bit, 0 below the original; `beside` are those that
    hang beside the node. Errors of the witness above are not counted again below a lost model.
    """
    if above is not None and above.witness is not None:
        shared = patterns.weight(lambda h, _: h & witness and h & node.bits)
        of = shared + patterns.weight(
            lambda h, m: h & witness and not h & node.bits and m & node.bits
        )
        own = patterns.weight(lambda h, m: node.has(h) and m & witness and not h & beside)
        return shared, of, own

    def new(lacking: int) -> bool:
        return not witness or bool(lacking & witness)

    if above is None:
        rest = beside if node.witness is None else 0
        return 0, 0, patterns.weight(lambda h, _: node.has(h) and not h & rest)
    shared = patterns.weight(lambda h, m: node.has(h) and h & beside and new(m))
    of = patterns.weight(lambda h, m: above.has(h) and (h | m) & node.bits and new(m))
    own = patterns.weight(lambda h, m: node.has(h) and not h & beside and m & beside and new(m))
    return shared, of, own


def _letters() -> Iterator[str]:
    for round_ in count():
        yield from (letter + "′" * round_ for letter in _GREEK)


def _earlier(dates: Mapping[str, str], copy: str, model: str) -> bool:
    """Return whether a copy's date is earlier than its model's, as exactly as both are known."""
    found = [_DATE.search(dates.get(name, "")) for name in (copy, model)]
    if found[0] is None or found[1] is None:
        return False
    parts = zip(found[0].groups(), found[1].groups(), strict=True)
    known = list(takewhile(lambda pair: None not in pair, parts))
    return [int(one or 0) for one, _ in known] < [int(other or 0) for _, other in known]
