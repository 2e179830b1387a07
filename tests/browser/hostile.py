"""The example edition with HTML and script wherever an edition can say something."""

from __future__ import annotations

import shutil
from pathlib import Path

EXAMPLE = Path(__file__).resolve().parents[2] / "example_edition"
HOSTILE = "</script><script>window.harmed=1</script><img src=x onerror=window.harmed=1>"


def hostile_edition(into: Path) -> Path:
    """Copy the example edition and put hostile text into it."""
    shutil.copytree(EXAMPLE, into, ignore=shutil.ignore_patterns("build", "pages"))
    head = into / "edition.yaml"
    told = head.read_text("utf-8")
    told = told.replace("en: Fantasia and Rondo", f"en: 'Fantasia {HOSTILE}'")
    told = told.replace("name: Henrike Solvanter", f"name: 'Henrike {HOSTILE}'")
    head.write_text(told, "utf-8")
    records = into / "records" / "movement-1-performance.yaml"
    told = records.read_text("utf-8")
    told = told.replace("en: on the G string", f'en: "on the G {HOSTILE}"', 1)
    told = told.replace("en: Ossia (composer)", f"en: 'Ossia {HOSTILE}'", 1)
    told = told.replace("The composer’s string and his slide", f"{HOSTILE} his slide", 1)
    told = told.replace("Six digits are the composer’s", f"{HOSTILE} Six digits", 1)
    records.write_text(told, "utf-8")
    escaped = HOSTILE.replace("<", "&lt;").replace(">", "&gt;")
    for encoded in into.glob("*/**/movement-1.mei"):
        told = encoded.read_text("utf-8").replace("morendo", f"morendo {escaped}", 1)
        encoded.write_text(told, "utf-8")
    return into
