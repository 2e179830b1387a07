"""Bowed string instruments as data: their strings, their measures, the hand and the bow.

In comes instruments.yaml, out go frozen instruments by name; data that do not fit are problems.
Tunings are the usual ones (ISO 16 octave numbers, C4 = middle C): violin g d′ a′ e″, viola and
cello an octave apart from c g d′ a′, double bass E A d g as it sounds; any orchestration handbook.
That the thumb plays on cello and double bass alone is common practice, no source.
"""

from __future__ import annotations

import importlib.resources
from collections.abc import Mapping
from dataclasses import replace
from typing import Annotated

from pydantic import BeforeValidator, Field, model_validator

from pipeline.edition.fit import fit
from pipeline.edition.plain_values import plain
from pipeline.edition.quoting import listed, quoted
from pipeline.edition.strict import Strict, Text, UnfitError, YesNo
from pipeline.edition.suggestions import closest
from pipeline.edition.yaml_positions import Keyed, read_yaml
from pipeline.problems import Origin, Outcome, Problem, error, in_reading_order
from pipeline.score.model import Pitch
from pipeline.score.pitch_names import from_scientific

ROMAN = ("I", "II", "III", "IV", "V", "VI")
"""Names of strings by number; I is the highest."""

FINGERS = ("T", "1", "2", "3", "4")
"""The fingers from the nut towards the bridge; T is the thumb."""

INSTRUMENT_FILE = "instruments.yaml"


def _open_string(written: object) -> Pitch:
    pitch = written if isinstance(written, Pitch) else from_scientific(str(written))
    if pitch is None:
        raise UnfitError(f"`{written}` is no pitch", "Write letter and octave, such as A4 or Bb3.")
    return pitch


def _pair(written: object) -> tuple[str, str]:
    lower, _, higher = str(written).partition("-")
    if lower in FINGERS and higher in FINGERS and FINGERS.index(lower) < FINGERS.index(higher):
        return lower, higher
    raise UnfitError(
        f"`{written}` are no two fingers", "Write the lower finger first, such as 1-4 or T-3."
    )


Millimetres = Annotated[float, Field(gt=0, allow_inf_nan=False)]


class Stretch(Strict):
    """How far two fingers reach along a string.

    Every adult hand reaches `ordinary_mm`; beyond `limit_mm` no hand does. Hands differ.
    """

    fingers: Annotated[tuple[str, str], BeforeValidator(_pair)]
    ordinary_mm: Millimetres
    limit_mm: Millimetres
    source: Text

    @model_validator(mode="after")
    def _in_order(self) -> Stretch:
        if self.limit_mm < self.ordinary_mm:
            raise UnfitError(
                "the limit is less than what is ordinary",
                "Exchange the two numbers.",
                ("limit_mm",),
            )
        return self


class Bow(Strict):
    """The hair that is used (mm) and the slowest and fastest it is drawn (mm a second)."""

    usable_hair_mm: Millimetres
    slowest_mm_per_s: Millimetres
    fastest_mm_per_s: Millimetres
    source: Text


class Instrument(Strict):
    """An instrument by the open pitches of its strings, from the highest to the lowest.

    `fingerboard_semitones` is the highest stop above an open string; lengths are in millimetres.
    """

    name: str
    strings: Annotated[
        tuple[Annotated[Pitch, BeforeValidator(_open_string)], ...], Field(min_length=1)
    ]
    thumb: YesNo
    vibrating_length_mm: Millimetres
    length_source: Text
    fingerboard_semitones: Annotated[int, Field(gt=0, le=48)]
    fingerboard_source: Text
    reach: Annotated[tuple[Stretch, ...], Field(min_length=1)]
    bow: Bow

    @model_validator(mode="after")
    def _high_strings_first(self) -> Instrument:
        for index in range(1, len(self.strings)):
            if self.strings[index].midi >= self.strings[index - 1].midi:
                raise UnfitError(
                    f"string {ROMAN[index]} is not lower than string {ROMAN[index - 1]}",
                    "Write the strings from the highest to the lowest.",
                    ("strings", index),
                )
        if len(self.strings) > len(ROMAN):
            raise UnfitError(
                f"there are {len(self.strings)} strings", f"At most {len(ROMAN)} have names."
            )
        return self

    def __hash__(self) -> int:
        """Be a quick key of caches; equal instruments have one name."""
        return hash(self.name)

    @property
    def string_names(self) -> tuple[str, ...]:
        """The letters of the strings, from the lowest to the highest."""
        return tuple(pitch.step for pitch in reversed(self.strings))

    @property
    def fingers(self) -> tuple[str, ...]:
        """The fingers that stop a string, from the nut towards the bridge."""
        return FINGERS if self.thumb else FINGERS[1:]

    def string(self, written: str) -> Pitch | None:
        """Return the open pitch of the string that is named by letter or Roman number."""
        if written in ROMAN[: len(self.strings)]:
            return self.strings[ROMAN.index(written)]
        return next((pitch for pitch in self.strings if pitch.step == written.upper()), None)

    def stretch(self, lower: str, higher: str) -> Stretch | None:
        """Return how far those two fingers reach, or None where nothing is known of them."""
        return next((one for one in self.reach if one.fingers == (lower, higher)), None)


def read_instruments(text: str, file: str) -> Outcome[Mapping[str, Instrument]]:
    """Return the instruments of a YAML text by name; those that do not fit are told, not kept."""
    root = read_yaml(text, file)
    if not isinstance(root.value, Keyed):
        nothing = error(
            "wrong-value", Origin(file), "no instrument stands here", "Write its name and strings."
        )
        return Outcome({}, root.problems or (nothing,))
    found: dict[str, Instrument] = {}
    problems = list(plain(root.value, file).problems())
    for key, node in root.value.entries:
        written = plain(node, file)
        name = str(key.text)
        if name in found:
            continue  # told as a key that stands twice
        if isinstance(written.value, dict):
            fitted = fit(Instrument, replace(written, value={**written.value, "name": name}))
            problems += fitted.problems
            if fitted.value is not None:
                found[name] = fitted.value
        elif written.value is not None:
            at = Origin(file, key.line, key.col)
            problems.append(
                error("wrong-value", at, f"{quoted(name)} has no keys", "Write its strings below.")
            )
    return Outcome(found, in_reading_order(problems))


def find_instrument(
    name: str, origin: Origin, known: Mapping[str, Instrument] | None = None
) -> Outcome[Instrument]:
    """Return the instrument of that name, or the problem that its strings are not known."""
    known = INSTRUMENTS if known is None else known
    if name in known:
        return Outcome(known[name])
    near = closest(name, known)
    return Outcome(
        None,
        (
            error(
                "unknown-instrument",
                origin,
                f"the strings of {quoted(name)} are not known",
                f"Did you mean `{near}`?"
                if near
                else f"Instruments are {listed([*known], 'and')}.",
            ),
        ),
    )


def _carried() -> Outcome[Mapping[str, Instrument]]:
    file = importlib.resources.files("pipeline.strings") / INSTRUMENT_FILE
    return read_instruments(file.read_text("utf-8"), f"pipeline/strings/{INSTRUMENT_FILE}")


_READ = _carried()

INSTRUMENTS: Mapping[str, Instrument] = _READ.value or {}
"""The instruments that the edited staff may be for, by name."""

INSTRUMENT_PROBLEMS: tuple[Problem, ...] = _READ.problems
"""What is wrong with instruments.yaml; none as it is delivered."""
