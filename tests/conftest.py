"""Laws are not timed: a busy machine may be slow. Speed is what the bench is for."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
