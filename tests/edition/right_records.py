"""One record of each kind with every field, as an editor would write it, and a right edition.yaml.

The work and its sources are invented. Tests change one line of these and look at what is told.
"""

from __future__ import annotations

from pathlib import Path

HEAD = """\
title: {en: Sonata in G, de: Sonate in G}
subtitle: for Violin and Piano
scoring: {en: violin and piano, de: Violine und Klavier}
languages: [en, de]
edited_staff: {n: 1, instrument: violin}
agents:
  composer: {name: A Composer, role: composer, years: 1851–1919}
  editor: {name: An Editor, role: editor}
  scribe: {name: A Copyist, role: scribe, about: {en: from the theatre, de: vom Theater}}
  old-school: {name: a playing tradition, role: tradition}
witnesses:
  A:
    kind: autograph
    title: Autograph score
    date: 1886
    description: {en: Ink on paper., de: Tinte auf Papier.}
    holding: a town archive, Ms. 12
    by: composer
    principal: yes
    encodings: {1: witnesses/A.mei}
  E1: {kind: printed part, title: First printed part, copied_from: A, principal: no}
movements:
  - {n: 1, title: Allegro, base: score/movement-1.mei, tempo: {beat: 4., per_minute: 72}}
rights: Free to copy.
date: 2025
"""

RECORDS = {
    "reading": """\
- id: b14-slur
  kind: reading
  place: {movement: 1, staff: violin, bar: 14a, beat: 2 1/3, to: {bar: 15, beat: 1}}
  by: editor
  date: 2025-03-02
  status: superseded
  superseded_by: b14-slur-2
  certainty: medium
  evidence:
    witnesses: [A]
    literature: [{cite: a treatise on bowing, at: 12}]
    letters: [{sender: composer, recipient: the engraver, date: 1887, says: Mind my slurs.}]
  lemma: A
  readings:
    - {witnesses: [E1], hand: scribe, music: {file: music/b14-E1.mei}}
    - witnesses: C
      says: {en: no slur, de: kein Bogen}
  reason: {en: "The slur of A: clear.", de: Der Bogen in A ist klar.}
""",
    "emendation": """\
- id: b20-sharp
  kind: emendation
  place: {movement: 1, bar: 20, note: 3}
  by: editor
  date: 2025-03-02
  readings: [{witnesses: [A, E1]}]
  reason: The sharp is missing in all sources.
""",
    "fingering": """\
- id: b31-octaves
  kind: fingering
  place: {movement: 1, bar: 31, note: 1, to: {note: 4}}
  by: editor
  date: 2025-03-02
  purpose: [technical, timbre]
  composer_fingering: left out
  alternatives:
    - name: alternating
      fingers: ["[1, 4]", [1 on D, 3], none, touch 3 on A]
      speaks_for: fewer shifts
      speaks_against: a wider hand
    - {name: plain, by: old-school, fingers: "[1, 4], open, thumb, 1 touch 4 on II"}
  printed: [plain, alternating]
  reason: Both are in use.
""",
    "bowing": """\
- id: b40-slur
  kind: bowing
  place: {movement: 1, bar: 40}
  by: editor
  date: 2025-03-02
  alternatives:
    - name: in two
      by: old-school
      circumstance: in a large hall
      divide_after: 4
      join: no
      signs: {1: down, 5: up}
      speaks_for: more sound
      speaks_against: less line
  printed: in two
  reason: The slur is long.
""",
    "ossia": """\
- id: b50-harmonics
  kind: ossia
  place: {movement: 1, bar: 50}
  by: editor
  date: 2025-03-02
  music: {derive: stopped harmonics}
  label: easier
  sounds: same
  reason: It sounds as written.
""",
    "tradition": """\
- id: b60-trill
  kind: tradition
  place: {movement: 1, bar: 60}
  by: old-school
  date: 2025-03-02
  music: {file: music/b60.mei}
  label: ossia
  origin: a school of playing
  first_evidence: {date: 1921, says: a recording}
  played_by: [old-school]
  note: not by the composer
  reason: It is heard often.
""",
    "remark": """\
- id: b70-page
  kind: remark
  place: {movement: 1, bar: 70}
  by: editor
  date: 2025-03-02
  status: proposed
  reason: A page turn in A.
""",
}


def edition_folder(folder: Path, records: dict[str, str | bytes], head: str = HEAD) -> Path:
    """Write an edition folder with these files of records."""
    (folder / "records").mkdir(parents=True)
    (folder / "edition.yaml").write_text(head, encoding="utf-8")
    for name, content in records.items():
        data = content.encode() if isinstance(content, str) else content
        (folder / "records" / name).write_bytes(data)
    return folder


def with_line(text: str, line: str, instead: str) -> str:
    """Return the text with one line of it, the first that begins so, replaced."""
    lines = text.splitlines()
    index = next(n for n, one in enumerate(lines) if one.strip().startswith(line))
    indent = lines[index][: len(lines[index]) - len(lines[index].lstrip(" "))]
    lines[index : index + 1] = [indent + one for one in instead.split("\n") if instead]
    return "\n".join(lines) + "\n"
