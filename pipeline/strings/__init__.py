"""COMPUTE: does it sound, can it be reached (instrument geometry, harmonics, left hand, bow)."""
