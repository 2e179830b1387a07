"""Stopped harmonics: a stopped note below, a diamond head above."""

from __future__ import annotations

from dataclasses import replace

from pipeline.strings.frames import Hand
from pipeline.strings.left_hand import LeftHand, left_hand
from tests.collation.letters import music
from tests.strings.hands import VIOLIN, fingers


def harmonics(*pairs: tuple[str, str], written: str, hand: Hand = VIOLIN) -> LeftHand:
    """Return what the hand does in stopped harmonics given as (stopped, touched)."""
    events = [
        replace(chord, heads=(chord.heads[0], replace(chord.heads[1], shape="diamond")))
        for chord in music(" ".join(f"4:{low}+{high}" for low, high in pairs)).events
    ]
    return left_hand(events, fingers(written), (), hand)
