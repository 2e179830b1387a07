"""An edition folder around a real work in which changes are planted, without a single record.

T is the text itself, encoded; W has the planted changes; V has W's, lacks every slur, and has some
notes a third higher: what both have alike, and what one has otherwise throughout. The same seed
makes the same folder.
"""

from __future__ import annotations

import random
from pathlib import Path

from lxml import etree

from tests import corpus
from tests.planting.ground import MEI, Element
from tests.planting.planting import planted_near

HEAD = """\
title: {en: An edition made for a test, de: Eine Ausgabe für einen Test}
scoring: {en: as the score says, de: wie die Partitur sagt}
languages: [en, de]
agents:
  composer: {name: Somebody, role: composer}
  editor: {name: An Editor, role: editor}
witnesses:
  T: {kind: autograph, title: {en: The text, de: Der Text}, principal: true, encodings: {1: T.mei}}
  V: {kind: copy, title: {en: A copy, de: Abschrift}, copied_from: W, encodings: {1: V.mei}}
  W: {kind: copy, title: {en: A copy, de: Abschrift}, copied_from: T, encodings: {1: W.mei}}
  L: {kind: copy, title: {en: Lost, de: Verloren}, copied_from: T}
movements:
  - {n: 1, title: {en: First, de: Erster}, base: T.mei}
"""
_STEPS = "cdefgab"


def write_planted_edition(folder: Path, work: str, together: int, seed: int = 1) -> None:
    """Write the folder; `together` is how many changes stand in every fourth bar."""
    (folder / "records").mkdir(parents=True)
    (folder / "edition.yaml").write_text(HEAD, encoding="utf-8")
    ground = planted_near(corpus.work(work), random.Random(seed), together).ground
    _write(folder / "T.mei", ground.text.root)
    _write(folder / "W.mei", ground.witness.root)
    for slur in list(ground.witness.root.iter(f"{MEI}slur")):
        parent = slur.getparent()
        assert parent is not None
        parent.remove(slur)
    for number, note in enumerate(ground.witness.root.iter(f"{MEI}note")):
        if number % 17 == seed % 17:
            note.set("pname", _STEPS[(_STEPS.index(note.get("pname", "c")) + 2) % 7])
    _write(folder / "V.mei", ground.witness.root)


def _write(file: Path, root: Element) -> None:
    etree.ElementTree(root).write(str(file), encoding="UTF-8", xml_declaration=True)
