"""What text and witness have, as the messages of the rules say it."""

from __future__ import annotations

import pytest

from pipeline.checks.differences_in_words import sides_in_words
from pipeline.collation.differences import differences
from pipeline.score.model import MarkingKind, Passage
from tests.collation.letters import dynamic, encoded, hairpin, music, sign, slur, whole

BAR = "4:C5 4:D5 2:E5"
SAID = [
    (music(BAR), music("4:C5 4:F5 2:E5"), "pitch: the text has d″, E has f″"),
    (music(BAR), music("4.:C5 8:D5 2:E5"),
     "rhythm: the text has c″ as crotchet, d″ as crotchet, E has c″ as dotted crotchet, d″ as "
     "quaver"),
    (music(BAR), music("4:C5 4:r 2:E5"), "notes missing: the text has d″, E has nothing"),
    (music("4:C5'stacc 4:D5 2:E5"), music(BAR),
     "articulation missing: the text has staccato dot, E has nothing"),
    (music("2:C5~ 2:=C5"), music("2:C5 2:C5"), "tie missing: the text has a tie, E has none"),
    (music(BAR, slur("0:0", "0:2")), music(BAR),
     "slur missing: the text has a slur, E has nothing"),
    (music(BAR, slur("0:0", "0:2")), music(BAR, slur("0:0", "0:1")), "slur ends elsewhere in E"),
    (music(BAR, dynamic("0:0", "p")), music(BAR, dynamic("0:0", "f")),
     "dynamic: the text has “p”, E has “f”"),
    (music(BAR), music(BAR, hairpin("0:0", "0:2", "dim")),
     "hairpin added: the text has nothing, E has diminuendo hairpin"),
    (music(BAR, sign(MarkingKind.FERMATA, "0:2")), music(BAR),
     "sign missing: the text has a fermata, E has nothing"),
    (music(BAR, sign(MarkingKind.FINGERING, "0:2", content="3")), music(BAR),
     "fingering missing: the text has fingering 3, E has nothing"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "witness", "words"), SAID)
def test_both_sides_in_words(text: Passage, witness: Passage, words: str) -> None:
    (found,) = differences(text, whole(text), encoded(text, witness))
    assert sides_in_words(found, "E", several=False) == words
