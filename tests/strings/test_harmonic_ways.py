"""Laws of the ways to sound a pitch, and how they are told."""

from __future__ import annotations

from itertools import groupby
from math import log2

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.score.model import Pitch
from pipeline.score.pitch_names import from_scientific, scientific
from pipeline.strings.geometry import distance_mm, semitones_at
from pipeline.strings.harmonic_tables import no_way
from pipeline.strings.harmonic_ways import Ease, Way, ways
from pipeline.strings.instruments import INSTRUMENTS, Instrument

VIOLIN = INSTRUMENTS["violin"]

KEYS = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")

instruments = st.sampled_from(sorted(INSTRUMENTS)).map(INSTRUMENTS.__getitem__)


def by_midi(midi: int) -> Pitch:
    found = from_scientific(f"{KEYS[midi % 12]}{midi // 12 - 1}")
    assert found is not None
    return found


def sounded_hz(way: Way, instrument: Instrument) -> float:
    """What physics says: the string's length to its finger, shared by the partial."""
    free_mm = instrument.vibrating_length_mm - way.stopped_mm
    open_hz = 440 * 2 ** ((way.string.midi - 69) / 12)
    return open_hz * instrument.vibrating_length_mm / free_mm * way.partial


@given(instruments, st.integers(28, 110))
def test_each_way_sounds_the_pitch(instrument: Instrument, midi: int) -> None:
    for way in ways(by_midi(midi), instrument):
        cents = 1200 * log2(sounded_hz(way, instrument) / (440 * 2 ** ((midi - 69) / 12)))
        assert cents == pytest.approx(way.deviation_cents, abs=1e-6)
        assert abs(cents) < 50


@given(instruments, st.integers(28, 110))
def test_the_touching_finger_stands_on_a_node_of_what_sounds(
    instrument: Instrument, midi: int
) -> None:
    """From the node to the bridge a whole number of the sounding string's halves is left."""
    for way in ways(by_midi(midi), instrument):
        free_mm = instrument.vibrating_length_mm - way.stopped_mm
        left_mm = instrument.vibrating_length_mm - way.touched_mm
        halves = way.partial * left_mm / free_mm
        assert halves == pytest.approx(round(halves))


@given(instruments, st.integers(28, 110))
def test_the_touched_note_is_written_where_the_finger_stands(
    instrument: Instrument, midi: int
) -> None:
    for way in ways(by_midi(midi), instrument):
        written = way.touched.midi - way.string.midi + way.touch_cents / 100
        assert semitones_at(instrument, way.touched_mm) == pytest.approx(written)
        assert abs(way.touched.alter) <= 1
        if way.stopped is not None:
            stop = way.stopped.midi - way.string.midi
            assert way.stopped_mm == pytest.approx(distance_mm(instrument, stop))


@given(st.integers(55, 100))
def test_a_fifth_higher_everything_lies_one_string_higher(midi: int) -> None:
    """Violin strings are fifths apart: the ways on G, D, A are those on D, A, E a fifth higher."""
    lower = _on(ways(by_midi(midi), VIOLIN), {"G", "D", "A"}, 7)
    higher = _on(ways(by_midi(midi + 7), VIOLIN), {"D", "A", "E"}, 0)
    assert lower == higher


def _on(found: tuple[Way, ...], strings: set[str], up: int) -> set[tuple[object, ...]]:
    return {
        (w.string.midi + up, w.stopped and w.stopped.midi + up, w.touched.midi + up, w.node, w.ease)
        for w in found
        if w.string.step in strings
    }


@given(instruments, st.integers(40, 100))
def test_on_one_string_all_nearest_nodes_of_a_pitch_span_alike(
    instrument: Instrument, midi: int
) -> None:
    """The nodes of a pitch lie evenly, half its wave apart (arithmetic).

    So a touched fifth over the stopped note chosen for it is no wider than the touched fourth that
    sounds the same on that string; wider is a fifth over the same stopped note, or a higher string.
    """
    stopped = [w for w in ways(by_midi(midi), instrument) if w.stopped and w.node.k == 1]
    stopped.sort(key=lambda w: w.string.midi)
    for _, group in groupby(stopped, key=lambda w: w.string):
        spans = [w.span_mm for w in group]
        assert max(spans) <= min(spans) * 1.01  # a major third is 14 cents from tempered


@given(st.integers(1, 15))
def test_over_one_stopped_note_a_touched_fifth_is_wider_than_a_fourth(stop: int) -> None:
    low = by_midi(55 + stop)
    (fourth,) = _over(low, 24, "fourth")
    (fifth,) = _over(low, 19, "fifth")
    assert fifth.span_mm == pytest.approx(fourth.span_mm * 4 / 3)


def _over(stopped: Pitch, above: int, interval: str) -> list[Way]:
    return [
        w
        for w in ways(by_midi(stopped.midi + above), VIOLIN)
        if w.interval == interval and w.string.step == "G" and w.stopped is not None
    ]


def test_ways_that_can_be_played_come_first_and_natural_ones_before_stopped() -> None:
    found = ways(by_midi(81), VIOLIN)
    order = [(list(Ease).index(w.ease), not w.in_tune, not w.natural) for w in found]
    assert order == sorted(order)
    assert str(found[0].node) == "1/2"


def test_spelled_as_a_player_reads_it() -> None:
    cases = {
        "F6": "F4 B♭4", "C#6": "C♯4 F♯4", "Bb5": "B♭3 E♭4", "G#6": "G♯4 C♯5", "Cb7": "C♭5 F♭5",
    }  # fmt: skip
    for sounds, written in cases.items():
        pitch = from_scientific(sounds)
        assert pitch is not None
        spelled = {
            f"{scientific(w.stopped)} {scientific(w.touched)}"
            for w in ways(pitch, VIOLIN)
            if w.stopped is not None and w.interval == "fourth"
        }
        assert spelled == {written}


def test_no_double_sharp_over_a_sharp() -> None:
    """A touched major third over D♯ is written E♭ and G, not D♯ and F𝄪."""
    pitch = from_scientific("Fx6") or from_scientific("F𝄪6")
    assert pitch is not None
    thirds = {
        f"{scientific(w.stopped)} {scientific(w.touched)}"
        for w in ways(pitch, VIOLIN)
        if w.stopped is not None and w.interval == "major third"
    }
    assert thirds == {"E♭4 G4"}


@pytest.mark.parametrize("name", ["G3", "C#2", "F#4"])
def test_below_the_octave_of_the_lowest_string_nothing_sounds(name: str) -> None:
    pitch = from_scientific(name)
    assert pitch is not None
    assert ways(pitch, VIOLIN) == ()
    assert no_way(pitch, VIOLIN.strings).endswith(
        "the lowest is G4, the octave of the open G string"
    )


def test_the_octave_of_the_lowest_string_does_sound() -> None:
    assert ways(by_midi(67), VIOLIN) != ()
