"""Works that music21's corpus carries: real scores that nobody wrote for this project.

Source: the corpus inside the music21 package (M. S. Cuthbert and others), read as files.
"""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

SMALL = (
    "bach/bwv1.6.mxl",
    "haydn/opus1no1/movement2.mxl",
    "joplin/maple_leaf_rag.mxl",
)
"""A few short works of different kinds, for the tests."""


def corpus_file(name: str) -> Path:
    """Return the file of a work. music21 itself is not imported: that alone takes half a second."""
    found = find_spec("music21")
    assert found is not None, "music21 is not installed"
    assert found.origin is not None
    return Path(found.origin).parent / "corpus" / name
