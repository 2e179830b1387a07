"""A collation as one page with the music of every difference."""

from __future__ import annotations

from pipeline.desk.collation import Collated
from pipeline.problems import Outcome


def collation_page(collated: Collated) -> Outcome[str]:
    """Return the page, in the edition's main language, and what could not be drawn."""
    from pipeline.engrave.collation_examples import collation_examples
    from pipeline.engrave.house_style import read_house_style
    from pipeline.typeset.collation_page import EXAMPLE_WIDTH_MM, collation_html, collation_labels
    from pipeline.typeset.faces import MUSIC_TEXT_FAMILIES

    material, language = collated.material, collated.wording.code
    examples = collation_examples(
        material.score,
        collated.collations,
        collated.shown,
        collation_labels(language),
        read_house_style(),
        EXAMPLE_WIDTH_MM,
        MUSIC_TEXT_FAMILIES,
    )
    page = collation_html(
        material.edition,
        material.score,
        collated.collations,
        collated.shown,
        collated.set_aside,
        examples.value or {},
        language,
    )
    return Outcome(page, examples.problems)
