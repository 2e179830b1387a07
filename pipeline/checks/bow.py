"""Rules about the bow: what a bowing asks for can be played, and a bow lasts as long as it must.

What the strokes are is computed with the decisions; an opposite bowing is not judged apart, since
what is amiss with it is amiss with the one it mirrors.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import zip_longest

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import place_in_words
from pipeline.collation.model import BowingPlayed, Decision
from pipeline.edition.model import Step
from pipeline.score.model import MarkingKind
from pipeline.score.resolve import note_name
from pipeline.strings.bowing import Amiss, Trouble

_BESIDE = {
    Amiss.AGAINST_THE_TEXT_BEFORE: "begins with {sign} bow, and so does the stroke before it, by "
    "the sign of the text",
    Amiss.AGAINST_THE_TEXT_AFTER: "ends with {sign} bow, and the stroke after it is {sign} bow, by "
    "the sign of the text",
}


def bow_sign_at_a_plucked_note(material: Material) -> Iterator[Fault]:
    """A bow sign at a note that is plucked, by "pizz." before it or a sign of its own.

    There is no bow to draw.
    """
    for decision, index, _, trouble in _amiss(material, Amiss.PLUCKED):
        yield _fault(
            decision,
            ("alternatives", index, "signs", str(trouble.note)),
            f"the {trouble.sign} bow stands at {_note(decision, trouble.note)}, which is plucked",
            "Remove the sign, or correct the place.",
        )


def bow_changes_within_a_note(material: Material) -> Iterator[Fault]:
    """A change of bow between a grace note and its note, or within what is held.

    Such notes begin in one movement of the bow; the reader looks for another place.
    """
    for decision, index, played, trouble in _amiss(material, Amiss.WITHIN_ONE_SOUND):
        at = played.bowed.alternative.divide_after.index(trouble.note)
        yield _fault(
            decision,
            ("alternatives", index, "divide_after", at),
            f"the bow cannot change between {_note(decision, trouble.note)}, and "
            f"{_note(decision, trouble.other)}: they are taken in one movement of the bow",
            "Let it change before the grace note, or where the held note ends.",
        )


def bow_sign_within_a_stroke(material: Material) -> Iterator[Fault]:
    """A bow sign at a note that no stroke begins with.

    The player cannot tell whether the bow is to change there.
    """
    for decision, index, played, trouble in _amiss(material, Amiss.WITHIN_A_STROKE):
        since = f"note {trouble.other}" if trouble.other else "a note before the place"
        changes = "remove `join`"
        if not played.bowed.alternative.join:
            changes = f"add {trouble.note - 1} to `divide_after`"
        if trouble.note == 1:
            changes = "let the place begin earlier and divide the slur"
        elsewhere = f"move the sign to note {trouble.other}" if trouble.other else "remove the sign"
        yield _fault(
            decision,
            ("alternatives", index, "signs", str(trouble.note)),
            f"the {trouble.sign} bow at {_note(decision, trouble.note)}, stands within a stroke, "
            f"which began with {since}",
            f"If the bow changes there, {changes}; if not, {elsewhere}.",
        )


def bow_signs_against_the_division(material: Material) -> Iterator[Fault]:
    """A slur that is divided, with bow signs that do not go to and fro as the division does.

    Under a slur the bow stays on the string: nobody can play it so.
    """
    for decision, index, _, trouble in _amiss(material, Amiss.AGAINST_THE_DIVISION):
        yield _fault(
            decision,
            ("alternatives", index, "signs", str(trouble.note)),
            _against(decision, trouble, "by the division of the slur"),
            "Correct the sign, or change where the slur is divided.",
        )


def bow_signs_without_a_retake(material: Material) -> Iterator[Fault]:
    """Two bow signs that the strokes between them do not lead to, with no rest on the way.

    The player has to lift the bow where nothing tells it, or plays one of the signs wrong.
    """
    for decision, index, _, trouble in _amiss(material, Amiss.WITHOUT_RETAKE):
        yield _fault(
            decision,
            ("alternatives", index, "signs", str(trouble.note)),
            _against(decision, trouble, "by the strokes between")
            + ", and no rest lets the bow be taken back",
            "Correct one of the signs, divide or join a stroke between them, or leave it if the "
            "bow is to be lifted.",
        )


def bow_signs_beside_the_text(material: Material) -> Iterator[Fault]:
    """A bowing that begins or ends in the direction that the text asks for on the stroke beside it.

    Two strokes the same way follow one another, with no rest to take the bow back.
    """
    for amiss, words in _BESIDE.items():
        for decision, index, played, trouble in _amiss(material, amiss):
            yield _fault(
                decision,
                ("alternatives", index),
                f"`{played.bowed.alternative.name}` {words.format(sign=trouble.sign)}",
                "Divide or join a stroke, or leave it if the bow is to be lifted.",
            )


def stroke_longer_than_the_bow(material: Material) -> Iterator[Fault]:
    """A stroke that lasts longer, at the tempo, than a bow does that is drawn as slowly as can be.

    The player runs out of bow. Hair and speeds are settings of the instrument; a player's may
    differ.
    """
    for decision, index, played in _played(material):
        lasts = played.facts.lasts
        for stroke, seconds in played.facts.too_long:
            first, last = (note_name(note) for note in (stroke.notes[0], stroke.notes[-1]))
            yield _fault(
                decision,
                ("alternatives", index),
                f"`{played.bowed.alternative.name}`: the stroke from {first} to {last} lasts "
                f"{float(seconds):.1f} seconds at the tempo given; drawn most slowly, the bow "
                f"lasts {float(lasts or 0):.1f}",
                "Divide it, or correct the tempo in edition.yaml.",
            )


def tempo_change_at_no_bar(material: Material) -> Iterator[Fault]:
    """A change of tempo in edition.yaml at a bar that the movement does not have.

    The seconds that the commentary gives would be those of another tempo.
    """
    for index, movement in enumerate(material.edition.head.movements):
        text = material.texts.get(movement.n)
        for number, change in enumerate(movement.tempo_changes):
            if text is not None and change.bar not in text.bar_index:
                yield Fault(
                    material.edition.head_origins.at(
                        "movements", index, "tempo_changes", number, "bar"
                    ),
                    f"there is no bar {change.bar} for the change of tempo: it has bars "
                    f"{text.bars[0].n} to {text.bars[-1].n}",
                    "Write the printed number of the bar from which the tempo holds.",
                    f"movement {movement.n}",
                )


def tempo_that_no_figure_tells(material: Material) -> Iterator[Fault]:
    """A bowing after a tempo word that edition.yaml gives no figure for.

    The seconds of its strokes would be reckoned at the tempo before that word.
    """
    for index, movement in enumerate(material.edition.head.movements):
        text = material.texts.get(movement.n)
        if text is None or not (movement.tempo or movement.tempo_changes):
            continue
        told = {text.bar_index[c.bar] for c in movement.tempo_changes if c.bar in text.bar_index}
        words = {
            marking.start.bar: marking.content
            for marking in text.markings
            if marking.kind is MarkingKind.TEMPO and marking.content and marking.start.bar > 0
        }
        changes = sorted(told | set(words))
        for bar, until in zip_longest(changes, changes[1:], fillvalue=len(text.bars)):
            bowing = None if bar in told else _first_bowing(material, movement.n, bar, until)
            if bowing is not None:
                n = text.bars[bar].n
                yield Fault(
                    material.edition.head_origins.at("movements", index, "tempo"),
                    f"the strokes of `{bowing}` are reckoned at an earlier tempo: no figure is "
                    f"given for “{words[bar]}” at bar {n}",
                    f"Add it: `tempo_changes: [{{bar: {n}, beat: 4, per_minute: …}}]`.",
                    f"movement {movement.n}",
                )


def _first_bowing(material: Material, movement: int, bar: int, until: int) -> str | None:
    """Return the first bowing that begins from one bar index on up to another."""
    return next(
        (
            decision.id
            for decision in material.decisions
            if decision.bowings
            and decision.span.movement == movement
            and bar <= decision.span.start.bar < until
        ),
        None,
    )


def _played(material: Material) -> Iterator[tuple[Decision, int, BowingPlayed]]:
    for decision in material.decisions:
        for index, played in enumerate(decision.bowings):
            if not played.bowed.alternative.opposite:
                yield decision, index, played


def _amiss(
    material: Material, amiss: Amiss
) -> Iterator[tuple[Decision, int, BowingPlayed, Trouble]]:
    for decision, index, played in _played(material):
        for trouble in played.bowed.troubles:
            if trouble.amiss is amiss:
                yield decision, index, played, trouble


def _against(decision: Decision, trouble: Trouble, why: str) -> str:
    expected = trouble.sign and trouble.sign.other
    return (
        f"{trouble.sign} bow at {_note(decision, trouble.note)}, does not follow from "
        f"{trouble.other_sign} bow at {_note(decision, trouble.other)}: {why} it is {expected} bow"
    )


def _note(decision: Decision, number: int) -> str:
    return f"note {number}, {note_name(decision.span.notes[number - 1])}"


def _fault(decision: Decision, path: tuple[Step, ...], message: str, remedy: str) -> Fault:
    filed = decision.filed
    return Fault(filed.origins.at(*path), message, remedy, place_in_words(filed.record.place))
