"""The stemma that shared errors suggest: its drawing, and where the editor's own agrees with it.

In come the suggestion and the relations that the edition gives; out goes a drawing with figures on
its lines, and sentences. The figures suggest, the editor decides, and the words say so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.collation.shared_errors import Branch, SuggestedStemma
from pipeline.engrave.svg_for_print import Svg
from pipeline.typeset.stemma import LABEL_AT, Line, Models, Place, draw, label_mm
from pipeline.typeset.wording import Wording

_LEAST_COLUMN_MM = 20.0
_BETWEEN_LABELS_MM = 1.0
_FEW = 3.0
"""Of fewer errors than these nothing is said for or against the editor's view."""

_ORIGINAL = "[original]"
"""The key of what everything goes back to; no siglum has brackets."""


@dataclass(frozen=True)
class SuggestedView:
    """The suggestion in words; `drawing` is None where no two sources share enough errors."""

    drawing: Svg | None
    sentences: tuple[Markup, ...]
    caution: Markup


def suggested_view(
    suggested: SuggestedStemma, models: Models, wording: Wording, height_mm: float = 0.0
) -> SuggestedView:
    """Return the drawing, at least so high, and what is to be said of it.

    `models` are those that the edition names for each of its sources, encoded or not.
    """
    words = _Words(suggested, models, wording)
    return SuggestedView(
        drawing=_drawing(suggested, words, height_mm) if suggested.decided else None,
        sentences=tuple(words.all()),
        caution=wording.say("agreement.caution"),
    )


def nearest_encoded(siglum: str, models: Models, encoded: Sequence[str]) -> tuple[str, ...]:
    """Return the nearest sources above one that are encoded, past those that are not."""
    found: dict[str, None] = {}
    seen = {siglum}
    waiting = list(models.get(siglum, ()))
    while waiting:
        model = waiting.pop(0)
        if model in seen:
            continue
        seen.add(model)
        if model in encoded:
            found[model] = None
        else:
            waiting += models.get(model, ())
    return tuple(found)


def _drawing(suggested: SuggestedStemma, words: _Words, height_mm: float) -> Svg:
    original = words.wording.say("agreement.original").striptags()
    places = {_ORIGINAL: Place(f"[{original}]", bold=False, small=True)}
    places |= {b.name: Place(b.name, bold=not b.lost) for b in suggested.branches}
    models = {b.name: (b.model or _ORIGINAL,) for b in suggested.branches}
    lines = {(b.model or _ORIGINAL, b.name): Line(_figures(b), b.weak) for b in suggested.branches}
    told = [f"{b.name}: {b.model or original}, {_figures(b)}" for b in suggested.branches]
    described = f"{words.wording.say('agreement.suggested').striptags()} {'; '.join(told)}"
    widest = max(label_mm(line.label) for line in lines.values())
    column = max(_LEAST_COLUMN_MM, (widest + _BETWEEN_LABELS_MM) / LABEL_AT)
    return draw(places, {_ORIGINAL: (), **models}, lines, described, column, height_mm)


def _figures(branch: Branch) -> str:
    own = f"+\u2009{whole(branch.own)}"
    return f"{whole(branch.shared)}\u2009{own}" if branch.model else own


def whole(weight: float) -> int:
    """Return weighed errors as a whole number, a half rounded up."""
    return int(weight + 0.5)


@dataclass(frozen=True)
class _Words:
    """Says what the figures suggest of each source, beside what the edition says of it."""

    suggested: SuggestedStemma
    models: Models
    wording: Wording

    def all(self) -> Iterator[Markup]:
        """Yield the sentences from top to bottom of the tree, then the exceptions."""
        say = self.wording.say
        if not self.suggested.decided:
            yield say("agreement.undecided")
        for branch in self.suggested.branches:
            if branch.lost:
                yield self._lost(branch)
            elif branch.model in self._encoded:
                yield self._copy(branch)
            yield from self._otherwise(branch)
        yield from self._exceptions()

    @property
    def _encoded(self) -> Mapping[str, Branch]:
        return {b.name: b for b in self.suggested.branches if not b.lost}

    def _copy(self, branch: Branch) -> Markup:
        """Say that a source hangs on another, and what the edition says of it."""
        named = nearest_encoded(branch.name, self.models, tuple(self._encoded))
        key = "as_editor" if branch.model in named else "editor_else" if named else "editor_none"
        return self.wording.say(
            f"agreement.copy.{key}",
            copy=_set(branch.name),
            model=_set(branch.model),
            shared=whole(branch.shared),
            of=whole(branch.of),
            own=whole(branch.own),
            named=self._listed(named),
        )

    def _lost(self, branch: Branch) -> Markup:
        below = [b for b in self.suggested.branches if b.model == branch.name]
        key = "copied" if branch.model in self._encoded else "alone"
        return self.wording.say(
            f"agreement.lost.{key}",
            lost=branch.name,
            model=_set(branch.model),
            names=self.wording.listed(b.name if b.lost else _set(b.name) for b in below),
            shared=whole(branch.own),
            own=self.wording.listed(str(whole(b.own)) for b in below),
        )

    def _otherwise(self, branch: Branch) -> Iterator[Markup]:
        """Say where the edition names a model and the figures do not hang the source on it."""
        encoded = self._encoded
        if branch.lost or branch.model in encoded:
            return
        above = set(self._above(branch))
        for model in nearest_encoded(branch.name, self.models, tuple(encoded)):
            if model in above:
                continue
            kept = self.suggested.kept[model, branch.name]
            few = kept.kept + kept.lacking < _FEW
            key = "mended" if branch.model and kept.kept >= _FEW else "few" if few else "against"
            yield self.wording.say(
                f"agreement.editor.{key}",
                copy=_set(branch.name),
                model=_set(model),
                shared=whole(kept.kept),
                lacking=whole(kept.lacking),
            )

    def _above(self, branch: Branch) -> Iterator[str]:
        """Yield what stands above a branch, the nearest first."""
        while branch.model:
            branch = self.suggested.branch(branch.model)
            yield branch.name

    def _exceptions(self) -> Iterator[Markup]:
        say, suggested = self.wording.say, self.suggested
        for one in suggested.mixed:
            yield say(
                "agreement.mixed",
                witness=_set(one.witness),
                first=_set(one.first),
                second=_set(one.second),
                with_first=whole(one.with_first),
                with_second=whole(one.with_second),
            )
        for lost, witness in suggested.perhaps:
            if not any(witness in pair for pair in suggested.alike):
                mended = whole(suggested.branch(witness).own)
                yield say("agreement.perhaps", n=mended, lost=lost, witness=_set(witness))
        for first, second in suggested.alike:
            yield say("agreement.alike", first=_set(first), second=_set(second))
        for model, copy in suggested.against_dates:
            yield say("agreement.against_dates", copy=_set(copy), model=_set(model))
        if suggested.nearly_faultless:
            names = self._listed(suggested.nearly_faultless)
            yield say("agreement.faultless", n=len(suggested.nearly_faultless), names=names)
        if any(branch.weak for branch in suggested.branches):
            yield say("agreement.weak")

    def _listed(self, names: Sequence[str]) -> Markup:
        return self.wording.listed(_set(name) for name in names)


def _set(name: str) -> Markup:
    return Markup('<b class="siglum">{}</b>').format(name)
