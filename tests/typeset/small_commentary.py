"""A commentary of four bars: every kind of record, two languages, hand-made pictures."""

from __future__ import annotations

from pipeline.checks.material import Material
from pipeline.edition.model import Text
from pipeline.engrave.examples import Example
from pipeline.engrave.svg_for_print import Svg
from pipeline.problems import Origin
from pipeline.typeset.commentary import commentary_html
from tests.collation.letters import music, slur
from tests.collation.small_edition import small_edition

HEAD = """\
title: {en: Sonata, de: Sonate}
scoring: {en: for violin, de: für Violine}
languages: [en, de]
date: "2026"
edited_staff: {n: 1, instrument: violin}
agents:
  composer: {name: Ada Morell, role: composer, years: 1851–1919}
  editor: {name: Ilse Brand, role: editor}
  pupil: {name: Tora Lind, role: performer}
  school: {name: {en: the Veldt school, de: die Veldt-Schule}, role: tradition}
witnesses:
  A: {kind: autograph, title: {en: Autograph score, de: Autographe Partitur}, by: composer,
      principal: true, date: "1886", encodings: {1: A.mei}}
  E: {kind: printed score, title: First print, copied_from: A, encodings: {1: E.mei}}
  S: {kind: printed part, title: Solo part, copied_from: E, encodings: {1: S.mei}}
  L: {kind: copy, title: Lost copy, copied_from: A}
movements:
  - {n: 1, title: Allegro, base: score/movement-1.mei}
"""

RECORDS = """\
- id: r-pitch
  kind: reading
  place: {movement: 1, bar: 1, note: 2}
  by: editor
  date: 2026-03-01
  lemma: A
  readings: [{witnesses: [E, S]}]
  certainty: medium
  evidence:
    witnesses: L
    literature: [{cite: 'A. Author, *Sonatas*', at: p. 12}]
    letters:
      - sender: A. Morell
        recipient: T. Lind
        date: 3 May 1887
        says: {en: print d, de: d drucken}
  reason:
    en: "A slip: <b>b</b> cannot stand *here*."
    de: "Ein Versehen: <b>h</b> kann *hier* nicht stehen."
- id: r-slur
  kind: reading
  place: {movement: 1, bar: 2}
  by: editor
  date: 2026-03-02
  lemma: [A, E]
  readings: [{witnesses: S}, {witnesses: L, says: {en: illegible, de: unleserlich}, hand: pupil}]
  reason: {en: Left out., de: Ausgelassen.}
- id: e-note
  kind: emendation
  place: {movement: 1, bar: 2, note: 3}
  by: editor
  date: 2026-03-03
  readings: [{witnesses: [A, E], says: {en: 'b♭″', de: 'b²'}}]
  reason: {en: All are wrong., de: Alle irren.}
- id: f-run
  kind: fingering
  place: {movement: 1, bar: 1}
  by: editor
  date: 2026-03-04
  purpose: [technical, timbre]
  composer_fingering: changed
  alternatives:
    - name: high
      by: pupil
      fingers: 1 on A, 2, none, thumb
      speaks_for: {en: It sings., de: Es singt.}
    - name: low
      fingers: ["1", "2", [0, 3], touch 3 on D]
      speaks_against: {en: It does not., de: Es singt nicht.}
  reason: {en: For the sound., de: Für den Klang.}
- id: b-run
  kind: bowing
  place: {movement: 1, bar: 2}
  by: editor
  date: 2026-03-05
  alternatives:
    - name: two bows
      circumstance: {en: in a large hall, de: im großen Saal}
      divide_after: 2
      signs: {1: down, 3: up}
    - {name: one bow, join: true}
  reason: {en: The hall decides., de: Der Saal entscheidet.}
- id: o-high
  kind: ossia
  place: {movement: 1, bar: 3}
  by: pupil
  date: 2026-03-06
  music: {file: ossia.mei}
  label: {en: easier, de: leichter}
  reason: {en: For small hands., de: Für kleine Hände.}
- id: t-end
  kind: tradition
  place: {movement: 1, bar: 4}
  by: school
  date: 2026-03-07
  music: {file: end.mei}
  label: {en: the Veldt ending, de: der Veldt-Schluss}
  origin: {en: a concert, de: ein Konzert}
  first_evidence: {date: "1893", says: {en: a slip, de: ein Zettel}}
  played_by: [pupil, school]
  note: {en: not the composer's, de: nicht vom Komponisten}
  reason: {en: Widespread., de: Verbreitet.}
- id: m-tempo
  kind: remark
  place: {movement: 1, bar: 4, beat: 2.5, to: {beat: 3}}
  by: editor
  date: 2026-03-08
  reason: {en: Not too slow., de: Nicht zu langsam.}
- id: p-open
  kind: remark
  place: {movement: 1, bar: 4}
  by: editor
  date: 2026-03-09
  status: proposed
  reason: {en: "=cmd()", de: "+offen"}
"""

NOTES = "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5"
MISREAD = NOTES.replace("D5", "B4")
SLUR = slur("1:0", "1:2")
TEXT = music(NOTES, SLUR)
WITNESSES = {
    "A": music(NOTES, SLUR, file="A.mei"),
    "E": music(MISREAD, SLUR, file="E.mei"),
    "S": music(MISREAD, file="S.mei"),
}
FRAGMENTS = {
    "ossia.mei": music("2:C5 2:r", numbers="3", file="ossia.mei"),
    "end.mei": music("1:G6", numbers="4", file="end.mei"),
}
METHOD = "# Principles\n\nThe autograph <i>rules</i>. ![no](file:///etc/hostname)\n\n- one\n- two\n"
TEXTS = tuple(
    Text("method", language, METHOD, Origin(f"texts/method.{language}.md"))
    for language in ("en", "de")
)


def small_material(records: str = RECORDS) -> Material:
    """Return the edition, the music and the decisions."""
    material, problems = small_edition(
        records, WITNESSES, FRAGMENTS, text=TEXT, head=HEAD, texts=TEXTS
    )
    assert not problems, problems
    return material


def drawing(text: str, width_mm: float = 40.0) -> Svg:
    """Return a staff of five lines as a picture."""
    lines = "".join(f'<path d="M0 {y}H{width_mm}" stroke="#000"/>' for y in range(2, 12, 2))
    markup = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width_mm}mm" height="12mm" '
        f'viewBox="0 0 {width_mm} 12">{lines}</svg>'
    )
    return Svg(markup, width_mm, 12.0, text)


EXAMPLES = {
    "r-pitch": Example((drawing("bar 1, text above E and S"),)),
    "f-run": Example((drawing("bar 1, two fingerings", 100.0),)),
}


def small_html(language: str = "en", proof: bool = False, records: str = RECORDS) -> str:
    """Return the commentary as HTML."""
    material = small_material(records)
    return commentary_html(
        material.edition, material.score, material.decisions, EXAMPLES, {}, language, proof
    )
