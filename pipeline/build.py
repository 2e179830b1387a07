"""The flow, from a folder to the files a person reads, on one screen.

    1 READ     edition.yaml, records, texts; base text, witnesses, music of the records
    2 COMPUTE  each record's place and what the versions have differently there
    3 CHECK    rules over all of it -> problems, all at once
    4 LAYER    one MEI that holds everything, every marking tagged
    5 ENGRAVE  music examples and the legend's samples; the lines of the part
    6 TYPESET  commentary, part and tables; everything is written only when all of it is done

Nothing here prints or exits; problems travel beside the result.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.checks.material import Material
from pipeline.problems import (
    Origin,
    Outcome,
    Problem,
    as_json,
    error,
    has_errors,
    in_reading_order,
    warning,
)
from pipeline.writing import write_all

if TYPE_CHECKING:
    from pipeline.edition.choices import OwnCopy
    from pipeline.edition.model import Edition
    from pipeline.typeset.part_wishes import PartWishes

Step = Callable[[str], None]


@dataclass(frozen=True)
class Order:
    """What is to be built: product names, language of the commentary, whether it is a proof.

    `copy` is the file of a player's own copy that the part is made for, `part` how it is wanted; as
    the edition has it, on A4, where nothing is said.
    """

    products: frozenset[str]
    language: str | None = None
    proof: bool = False
    copy: Path | None = None
    part: PartWishes | None = None


def examine(
    folder: Path, step: Step = lambda _: None, own: OwnCopy | None = None
) -> Outcome[Material]:
    """Read, compute and check the edition in that folder (steps 1 to 3).

    With a player's own copy the material holds the player's records too, and what was chosen.
    """
    from pipeline.checks.run import check, check_choices
    from pipeline.collation.collate import collate_all
    from pipeline.collation.decisions import decide
    from pipeline.collation.laying import lay_all_beside
    from pipeline.edition.choices import joined
    from pipeline.edition.read import read_edition
    from pipeline.score.read import read_encodings, read_music, read_score
    from pipeline.strings.instruments import INSTRUMENT_PROBLEMS

    step("1 reading the edition")
    edition = read_edition(folder)
    if edition.value is not None and own is not None:
        with_own = joined(edition.value, own)
        refused = check_choices(edition.value, own)
        value = None if has_errors(refused) else with_own.value
        edition = Outcome(value, (*edition.problems, *with_own.problems, *refused))
    if edition.value is None:
        return Outcome(None, in_reading_order(edition.problems))
    step("1 reading the music")
    score = read_score(edition.value)
    encodings = read_encodings(edition.value)
    music = read_music(edition.value)
    problems = [*edition.problems, *score.problems, *encodings.problems, *music.problems]
    if score.value is None:
        return Outcome(None, in_reading_order(problems))
    step("2 comparing the versions")
    besides = lay_all_beside(score.value, encodings.value or {})
    decided = decide(edition.value, score.value, besides, music.value or {})
    material = Material(
        edition=edition.value,
        score=score.value,
        encodings=encodings.value or {},
        besides=besides,
        collations=collate_all(score.value, besides),
        music=music.value or {},
        decisions=decided.value or (),
        own=own,
    )
    step("3 checking")
    problems += INSTRUMENT_PROBLEMS
    problems += [*decided.problems, *check(material), *_unworded_languages(material.edition)]
    return Outcome(material, in_reading_order(problems))


def problems_of(folder: Path, copy: Path | None = None) -> tuple[Problem, ...]:
    """Return every problem of an edition, and of a player's own copy beside it."""
    own = _read_copy(copy)
    return in_reading_order([*own.problems, *examine(folder, own=own.value).problems])


def _unworded_languages(edition: Edition) -> list[Problem]:
    """Warn of languages of the edition that no commentary can be set in."""
    from pipeline.typeset.wording import languages

    known = languages()
    return [
        warning(
            "no-wording",
            edition.head_origins.at("languages", index),
            f"there is no wording for the language `{language}`, so no commentary in it",
            f"There is wording for {', '.join(known)}; add a file to pipeline/typeset/wording.",
        )
        for index, language in enumerate(edition.head.languages)
        if language not in known
    ]


def build_edition(
    folder: Path, out: Path, order: Order, step: Step = lambda _: None
) -> Outcome[tuple[Path, ...]]:
    """Build what is ordered and write it into `out`; return the paths written.

    While there is an error nothing is written and `out` stays as it was: every file is made in a
    folder beside it and moved into place when all are there.
    """
    own = _read_copy(order.copy)
    if order.copy is not None and own.value is None:
        return Outcome(None, own.problems)
    examined = examine(folder, step, _with_wishes(own.value, order))
    if examined.value is None or has_errors(examined.problems):
        return Outcome(None, examined.problems)
    made = _products(examined.value, _with_player(order, own.value), step)
    problems = in_reading_order([*examined.problems, *made.problems])
    if made.value is None or has_errors(problems):
        return Outcome(None, problems)
    files = dict(made.value)
    if "problems" in order.products:
        files["problems.json"] = as_json(problems).encode()
    step("writing")
    written = write_all(out, files)
    return Outcome(written.value, in_reading_order([*problems, *written.problems]))


def _read_copy(copy: Path | None) -> Outcome[OwnCopy]:
    from pipeline.edition.choices import read_choices

    return read_choices(copy) if copy is not None else Outcome(None)


def _with_wishes(own: OwnCopy | None, order: Order) -> OwnCopy | None:
    """Return the player's copy with what the command itself chooses, which comes first."""
    from dataclasses import replace

    from pipeline.edition.choices import OwnCopy

    if order.part is None or not order.part.taken:
        return own
    chosen = order.part.taken
    before = own or OwnCopy()
    kept = (one for one in before.taken if one.of not in {taken.of for taken in chosen})
    return replace(before, taken=(*kept, *chosen))


def _with_player(order: Order, own: OwnCopy | None) -> Order:
    """Return the order with the player's own layer, which a player's copy is made for."""
    from dataclasses import replace

    from pipeline.edition.layer import Layer

    if order.part is None or own is None:
        return order
    return replace(order, part=replace(order.part, layers=order.part.layers | {Layer.PLAYER}))


def _products(material: Material, order: Order, step: Step) -> Outcome[Mapping[str, bytes]]:
    """Make the files in memory, by name (steps 4 to 6)."""
    from pipeline.typeset.wording import find_wording

    files: dict[str, bytes] = {}
    problems: list[Problem] = []
    edition, score, decisions = material.edition, material.score, material.decisions
    language = order.language or edition.head.main_language
    wording = find_wording(language, edition.head_origins.at("languages"))
    if wording.value is None:
        return Outcome(None, wording.problems)
    if order.products & {"edition", "part", "reading-copy", "musicxml"}:
        from pipeline.layers.profile import profile_faults
        from pipeline.layers.write import write_layers

        step("4 writing the layers")
        mei = write_layers(edition, score, decisions, material.collations)
        problems += [_own_fault(fault) for fault in profile_faults(mei)]
        if "edition" in order.products:
            files["edition.mei"] = mei
    if "part" in order.products:
        from pipeline.build_part import part_of
        from pipeline.typeset.part_wishes import PartWishes

        part = part_of(material, mei, order.part or PartWishes(), language, step)
        problems += part.problems
        if part.value is not None:
            files["part.pdf"] = part.value
    if "musicxml" in order.products:
        from pipeline.build_musicxml import MUSICXML_FILE, musicxml_of
        from pipeline.typeset.part_wishes import PartWishes

        file = musicxml_of(material, mei, order.part or PartWishes(), language, step)
        problems += file.problems
        if file.value is not None:
            files[MUSICXML_FILE] = file.value
    if "reading-copy" in order.products:
        from pipeline.build_reading_copy import reading_copy_of

        page = reading_copy_of(material, mei, language, step)
        problems += page.problems
        if page.value is not None:
            files["reading-copy.html"] = page.value
    if "decisions" in order.products:
        from pipeline.typeset.tables import decisions_csv, decisions_json

        files["decisions.json"] = decisions_json(edition, score, decisions, language).encode()
        files["decisions.csv"] = decisions_csv(edition, score, decisions, language).encode()
    if "commentary" in order.products:
        pdf = _commentary(material, language, order.proof, step)
        problems += pdf.problems
        if pdf.value is not None:
            files["commentary.pdf"] = pdf.value
    return Outcome(files, tuple(problems))


def _commentary(material: Material, language: str, proof: bool, step: Step) -> Outcome[bytes]:
    from pipeline.engrave.examples import engrave_examples
    from pipeline.engrave.house_style import read_house_style
    from pipeline.engrave.legend import samples
    from pipeline.strings.instruments import INSTRUMENTS
    from pipeline.typeset.commentary import EXAMPLE_WIDTH_MM, commentary_html, commentary_pdf
    from pipeline.typeset.example_labels import example_labels, legend_words
    from pipeline.typeset.faces import MUSIC_TEXT_FAMILIES

    edition, score, decisions = material.edition, material.score, material.decisions
    style = read_house_style()
    step("5 engraving the examples")
    examples = engrave_examples(
        decisions,
        score,
        edition.head.agents,
        example_labels(edition, language),
        style,
        EXAMPLE_WIDTH_MM,
        MUSIC_TEXT_FAMILIES,
        INSTRUMENTS.get(edition.head.edited_staff.instrument),
    )
    legend = samples(style, legend_words(language), MUSIC_TEXT_FAMILIES)
    step("6 typesetting the commentary")
    html = commentary_html(
        edition,
        score,
        decisions,
        examples.value or {},
        legend,
        language,
        proof,
        material.encodings,
        material.collations,
    )
    pdf = commentary_pdf(html)
    return Outcome(pdf.value, (*examples.problems, *pdf.problems))


def _own_fault(fault: str) -> Problem:
    """Word a breach of the profile: the program's own mistake, never the editor's."""
    return error(
        "profile-broken",
        Origin("edition.mei"),
        f"the layered file would break the project's own profile: {fault}",
        "This is a fault of the program; please report it with the record it names.",
    )
