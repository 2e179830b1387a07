"""One remark of each kind, in each language, as it is printed."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from pipeline.engrave.examples import Example
from pipeline.typeset.commentary import commentary_view
from pipeline.typeset.views import RemarkView
from tests.typeset.small_commentary import EXAMPLES, RECORDS, small_material


def printed(
    language: str, records: str = RECORDS, examples: Mapping[str, Example] = EXAMPLES
) -> dict[str, str]:
    """Return the text of each remark by the record's id, its parts set apart by lines."""
    material = small_material(records)
    view = commentary_view(
        material.edition, material.score, material.decisions, examples, {}, language, False
    )
    return {r.filed.striptags(): _text(r) for m in view.movements for r in m.remarks}


def _text(remark: RemarkView) -> str:
    lines = [
        f"{remark.number.strip()} | {remark.key} | {remark.kind}: "
        + " ".join(s.striptags() for s in remark.statements)
    ]
    for one in remark.alternatives:
        parts = [one.name, one.by, one.printed, one.circumstance, *one.figures, *one.detail]
        parts += [one.speaks_for, one.speaks_against]
        lines.append("  " + " | ".join(part.striptags() for part in parts))
    lines.append((remark.run_in + remark.reason).striptags())
    if remark.evidence:
        lines.append(remark.evidence.striptags())
    return "\n".join(lines).replace("\u00a0", " ").replace("\u2002", " ")


ENGLISH = {
    "r-pitch": """\
2 | 1, note 2 | Reading: E, S: b′ instead of d″. Text as in A. Certainty: medium.
A slip: <b>b</b> cannot stand here.
Evidence: L; A. Author, Sonatas, p. 12; A. Morell to T. Lind, 3 May 1887: print d.""",
    "r-slur": """\
3 | 2 | Reading: S: slur lacking. L (Tora Lind): illegible. Text as in A, E.
Left out.""",
    "e-note": """\
5 | 2, note 3 | Emendation: A, E: b♭″. Text by the editor.
All are wrong.""",
    "f-run": """\
1 | 1 | Fingering: Purpose: technique and timbre. The composer’s fingering is changed.
  high | by Tora Lind | printed in the part |  | It sings. | 
  low |  | here only |  |  | It does not.
For the sound.""",
    "b-run": """\
4 | 2 | Bowing: 
  two bows |  | printed in the part | in a large hall | 2 strokes | ends with an up bow | \
divide the slur after note 2 | \
down bow on note 1 | up bow on note 3 |  | 
  one bow |  | here only |  | 1 stroke | take in one bow |  | 
The hall decides.""",
    "o-high": """\
6 | 3 | Ossia: “easier”. By Tora Lind. Sounds otherwise than the text.
For small hands.""",
    "t-end": """\
8 | 4 | Tradition: Played, but not the composer’s. Known as “the Veldt ending”. \
Origin: a concert. First evidence (1893): a slip. Played by Tora Lind and the Veldt school. \
Printed note: “not the composer's”.
Widespread.""",
    "m-tempo": """\
7 | 4, beats 2½–3 | Remark: 
Not too slow.""",
}

GERMAN = {
    "r-pitch": """\
2 | 1, Note 2 | Lesart: E, S: h¹ statt d². Text nach A. Sicherheit: mittel.
Ein Versehen: <b>h</b> kann hier nicht stehen.
Belege: L; A. Author, Sonatas, p. 12; A. Morell an T. Lind, 3 May 1887: d drucken.""",
    "r-slur": """\
3 | 2 | Lesart: S: Bogen fehlt. L (Tora Lind): unleserlich. Text nach A, E.
Ausgelassen.""",
    "e-note": """\
5 | 2, Note 3 | Emendation: A, E: b². Text editorisch.
Alle irren.""",
    "f-run": """\
1 | 1 | Fingersatz: Zweck: Spieltechnik und Klangfarbe. \
Der Fingersatz des Komponisten ist geändert.
  high | verantwortlich: Tora Lind | in der Stimme gedruckt |  | Es singt. | 
  low |  | nur hier |  |  | Es singt nicht.
Für den Klang.""",
    "b-run": """\
4 | 2 | Strich: 
  two bows |  | in der Stimme gedruckt | im großen Saal | 2 Striche | endet im Aufstrich | \
Bogen nach Note 2 teilen | \
Abstrich auf Note 1 | Aufstrich auf Note 3 |  | 
  one bow |  | nur hier |  | 1 Strich | auf einen Strich |  | 
Der Saal entscheidet.""",
    "o-high": """\
6 | 3 | Ossia: „leichter“. Verantwortlich: Tora Lind. Klingt anders als der Text.
Für kleine Hände.""",
    "t-end": """\
8 | 4 | Tradition: Wird gespielt, stammt nicht vom Komponisten. \
Bekannt als „der Veldt-Schluss“. Herkunft: ein Konzert. Erster Beleg (1893): ein Zettel. \
So spielen: Tora Lind und die Veldt-Schule. Gedruckter Hinweis: „nicht vom Komponisten“.
Verbreitet.""",
    "m-tempo": """\
7 | 4, Zz. 2½–3 | Hinweis: 
Nicht zu langsam.""",
}


@pytest.mark.parametrize(("language", "expected"), [("en", ENGLISH), ("de", GERMAN)])
def test_a_remark_of_each_kind(language: str, expected: dict[str, str]) -> None:
    assert printed(language) == expected


def test_witnesses_with_one_reading_share_a_statement_and_others_have_their_own() -> None:
    records = """\
- id: r
  kind: reading
  place: {movement: 1, bar: 1}
  by: editor
  date: 2026-03-01
  lemma: A
  readings: [{witnesses: E}, {witnesses: S}, {witnesses: L, says: {en: torn}}]
  reason: {en: x}
"""
    assert printed("en", records)["r"].splitlines()[0] == (
        "1 | 1 | Reading: E, S: b′ instead of d″ (note 2). L: torn. Text as in A."
    )


def test_a_reading_that_agrees_says_so() -> None:
    records = """\
- id: r
  kind: reading
  place: {movement: 1, bar: 3}
  by: editor
  date: 2026-03-01
  lemma: A
  readings: [{witnesses: E}]
  reason: {en: x}
"""
    assert "E: as the text." in printed("en", records)["r"]


def test_prose_that_is_not_translated_is_given_in_the_main_language() -> None:
    records = """\
- id: m
  kind: remark
  place: {movement: 1, bar: 1}
  by: editor
  date: 2026-03-01
  reason: {en: Only English.}
"""
    assert printed("de", records)["m"].endswith("Only English.")


@pytest.mark.parametrize(
    ("language", "high", "low"),
    [
        ("en", "1 on A 2 – thumb", "1 2 0/3 3° on D"),
        ("de", "1 auf A 2 – Daumen", "1 2 0/3 3° auf D"),
    ],
)
def test_a_fingering_without_a_picture_gives_its_digits_in_words(
    language: str, high: str, low: str
) -> None:
    _, first, second, _ = printed(language, examples={})["f-run"].splitlines()
    assert high in first
    assert low in second


def test_prose_follows_the_kind_where_nothing_else_is_stated() -> None:
    material = small_material()
    view = commentary_view(
        material.edition, material.score, material.decisions, EXAMPLES, {}, "en", False
    )
    (remark,) = [r for m in view.movements for r in m.remarks if r.filed == "m-tempo"]
    assert (remark.run_in, remark.reason) == ("Not too slow.", "")
