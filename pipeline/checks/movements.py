"""Rules about the movements and the staff that the edition is about."""

from __future__ import annotations

from collections.abc import Iterator

from pipeline.checks.material import Material
from pipeline.checks.rule import Fault
from pipeline.checks.wording import number, suggestion
from pipeline.strings.instruments import INSTRUMENTS


def duplicate_bar_number(material: Material) -> Iterator[Fault]:
    """A bar number that two bars of a movement have.

    A remark on that bar would speak of two places.
    """
    for index, movement in enumerate(material.edition.head.movements):
        passage = material.texts.get(movement.n)
        if passage is None:
            continue
        for bar in passage.bars:
            first = passage.bars[passage.bar_index[bar.n]]
            if bar.n and first is not bar:
                yield Fault(
                    material.edition.head_origins.at("movements", index, "base"),
                    f"two bars are numbered {bar.n}: the {_ordinal(first.index + 1)} and the "
                    f"{_ordinal(bar.index + 1)} bar of `{passage.file}`",
                    f'Number the second one apart in that file, such as n="{bar.n}a".',
                    f"movement {movement.n}, bar {bar.n}",
                )


def bar_without_number(material: Material) -> Iterator[Fault]:
    """Bars that have no number.

    No record can name their place, and no remark can send the reader there.
    """
    for index, movement in enumerate(material.edition.head.movements):
        passage = material.texts.get(movement.n)
        bars = [bar for bar in passage.bars if not bar.n] if passage else []
        if passage is not None and bars:
            which = f"the {_ordinal(bars[0].index + 1)} bar"
            if len(bars) > 1:
                which = f"{len(bars)} bars, the first of them {which},"
            yield Fault(
                material.edition.head_origins.at("movements", index, "base"),
                f"{which} of `{passage.file}` {'have' if len(bars) > 1 else 'has'} no number",
                "Number the bars in that file with `n`.",
                f"movement {movement.n}",
            )


def bar_too_long(material: Material) -> Iterator[Fault]:
    """A bar of the base text that holds more than its meter.

    Beats after it are counted wrong, and a reader trusts the beat that a remark names.
    """
    for index, movement in enumerate(material.edition.head.movements):
        passage = material.texts.get(movement.n)
        for bar in passage.bars if passage else ():
            if bar.filled > bar.length:
                yield Fault(
                    material.edition.head_origins.at("movements", index, "base"),
                    f"bar {bar.n} holds {number(bar.filled)} quarter notes; its meter is for "
                    f"{number(bar.length)}",
                    f"Mend the note values of that bar in `{passage.file if passage else ''}`.",
                    f"movement {movement.n}, bar {bar.n}",
                )


def movement_given_twice(material: Material) -> Iterator[Fault]:
    """Two movements with the same number.

    A remark on that movement would speak of two pieces.
    """
    seen: set[int] = set()
    for index, movement in enumerate(material.edition.head.movements):
        if movement.n in seen:
            yield Fault(
                material.edition.head_origins.at("movements", index, "n"),
                f"a movement {movement.n} was given before",
                "Give each movement a number of its own.",
            )
        seen.add(movement.n)


def unknown_instrument(material: Material) -> Iterator[Fault]:
    """An edited staff for an instrument whose strings are not known.

    No fingering could be checked, and no harmonic be computed.
    """
    instrument = material.edition.head.edited_staff.instrument
    if instrument not in INSTRUMENTS:
        yield Fault(
            material.edition.head_origins.at("edited_staff", "instrument"),
            f"the strings of `{instrument}` are not known",
            suggestion(instrument, INSTRUMENTS, "Instruments are"),
        )


def edited_staff_missing(material: Material) -> Iterator[Fault]:
    """A movement whose base text does not have the edited staff.

    The part would come out without that movement.
    """
    edited = material.edition.head.edited_staff.n
    for movement in material.score.movements:
        numbers = [staff.n for staff in movement.passage.staves]
        if edited not in numbers:
            yield Fault(
                material.edition.head_origins.at("edited_staff", "n"),
                f"movement {movement.n} has no staff {edited}; "
                f"its staves are {', '.join(str(n) for n in numbers)}",
                "Write the number of the staff that the edition is about.",
                f"movement {movement.n}",
            )


def _ordinal(number: int) -> str:
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if number % 100 in {11, 12, 13} else ending}"
