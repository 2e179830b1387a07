"""The reading copy: the part and the decision behind each mark, in one HTML file for the screen.

In come the edition, its decisions, the engraved part with all alternatives, the examples in each
language; out goes a document that needs nothing else: no network, no other file. Without its script
it shows the music and every remark; the script leads from the one to the other and keeps what a
player chooses and writes.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain

from lxml import etree
from markupsafe import Markup

from pipeline.collation.model import Decision
from pipeline.edition.head import Role
from pipeline.edition.layer import Layer
from pipeline.edition.model import Edition
from pipeline.edition.records import Bowing, FingeringRecord
from pipeline.engrave.examples import Example, bars_shown
from pipeline.engrave.house_style import HouseStyle, TextLook
from pipeline.engrave.part_model import EngravedPart
from pipeline.engrave.svg_for_print import Svg
from pipeline.score.model import Score
from pipeline.typeset.alternatives import Alternatives
from pipeline.typeset.environment import TEMPLATES, environment
from pipeline.typeset.prose import Prose
from pipeline.typeset.reading_copy_colours import colours_css
from pipeline.typeset.reading_copy_data import FILE_NAME, ReadingCopyData, in_printed_order
from pipeline.typeset.reading_copy_faces import faces_css
from pipeline.typeset.reading_copy_music import ReadingLine, ReadingLines, reading_lines
from pipeline.typeset.reading_copy_views import (
    InEach,
    LanguageView,
    LayerChoice,
    MusicOfMovement,
    ReadingCopyView,
    ReadingRemark,
    RemarksOfMovement,
)
from pipeline.typeset.remarks import Remarks, in_force, roman, unnumbered
from pipeline.typeset.statements import Statements
from pipeline.typeset.views import RemarkView
from pipeline.typeset.wording import Wording, languages, wording_of

LINE_WIDTH_MM, STAFF_HEIGHT_MM = 110.0, 5.5
"""One line fits a telephone: twenty staff heights. On a larger screen it grows with its column."""
EXAMPLE_WIDTH_MM = 100.0
"""The longest line of an example beside the music."""

_REM_PER_MM = 0.32
_SIZE = re.compile(r' width="[\d.]+mm" height="[\d.]+mm"')
_SCRIPTS = ("reading_copy.js", "reading_copy_own.js")


def languages_of(edition: Edition, first: str) -> tuple[str, ...]:
    """Return the languages of the page: those of the edition that there is wording for."""
    known = [one for one in edition.head.languages if one in languages()]
    return tuple(dict.fromkeys((first, *known)))


def with_every_alternative(decisions: Sequence[Decision]) -> tuple[Decision, ...]:
    """Return the decisions as if all their alternatives were printed: the page hides and shows."""
    return tuple(map(_with_every_alternative, decisions))


def _with_every_alternative(decision: Decision) -> Decision:
    record = decision.filed.record
    if not isinstance(record, FingeringRecord | Bowing):
        return decision
    names = tuple(one.name for one in in_printed_order(record))
    printed = record.model_copy(update={"printed": names})
    return replace(decision, filed=replace(decision.filed, record=printed))


def reading_copy_html(
    edition: Edition,
    score: Score,
    decisions: Sequence[Decision],
    layered: bytes,
    parts: tuple[EngravedPart, EngravedPart],
    examples: Mapping[str, Mapping[str, Example]],
    style: HouseStyle,
) -> str:
    """Return the page. `examples` are by language, in the order in which they are offered.

    `parts` are the part as the edition prints it and that with all alternatives, which was engraved
    from the MEI `layered`. Raises KeyError for a language without wording.
    """
    page = _Page(edition, score, decisions, layered, parts, examples, style)
    view, data = page.view_and_data()
    script = '(function () {\n"use strict";\n' + "\n".join(map(_read, _SCRIPTS)) + "}());\n"
    return (
        environment()
        .get_template("reading_copy.html.jinja")
        .render(
            view=view,
            data=data,
            faces_css=Markup(faces_css(_engraved(view))),
            colours_css=Markup(colours_css()),
            script=Markup(script),
            script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
        )
    )


def _engraved(view: ReadingCopyView) -> Iterator[str]:
    """Yield the markup of all that is engraved on the page."""
    for movement in view.movements:
        yield from chain.from_iterable(movement.lines)
    for language in view.languages:
        for remark in chain.from_iterable(one.remarks for one in language.movements):
            yield from remark.pictures
        for label in view.layers:
            yield label.name[language.code]


def _read(script: str) -> str:
    return (TEMPLATES / script).read_text("utf-8")


@dataclass(frozen=True)
class _Page:
    """Words the page of one edition."""

    edition: Edition
    score: Score
    decisions: Sequence[Decision]
    layered: bytes
    parts: tuple[EngravedPart, EngravedPart]
    examples: Mapping[str, Mapping[str, Example]]
    style: HouseStyle

    def view_and_data(self) -> tuple[ReadingCopyView, Markup]:
        """Return what the template prints, and what the script is given."""
        head = self.edition.head
        said = {code: self._statements(code) for code in self.examples}
        data = ReadingCopyData(
            self.edition,
            self.score,
            self.decisions,
            self.layered,
            [one.wording for one in said.values()],
            {code: Alternatives(one) for code, one in said.items()},
        )
        lines = reading_lines(*self.parts, data.choosable, data.notes)
        spoken = tuple(self._language(one) for one in said.values())

        def each(text: Callable[[Statements], Markup]) -> InEach:
            return {code: text(one) for code, one in said.items()}

        def prose(text: Mapping[str, str]) -> InEach:
            return each(lambda one: one.prose.inline(text))

        view = ReadingCopyView(
            languages=spoken,
            composer=each(self._composers),
            title=prose(head.title),
            subtitle=prose(head.subtitle),
            rights=prose(head.rights),
            layers=tuple(
                LayerChoice(
                    value=layer.value,
                    name=each(lambda one, layer=layer: one.wording.say(_name_of(layer))),  # type: ignore[misc]
                    sample=_sample(self.style.look(layer).fingering),
                )
                for layer in Layer
            ),
            movements=self._music(lines, said),
            glyphs=_markup(lines.glyphs),
            file_name=FILE_NAME,
        )
        return view, data.as_json(lines, {one.code: one.document_title for one in spoken})

    def _statements(self, code: str) -> Statements:
        head = self.edition.head
        return Statements(head, wording_of(code), Prose(code, head.main_language))

    def _composers(self, said: Statements) -> Markup:
        agents = self.edition.head.agents.values()
        return said.wording.listed(
            said.prose.inline(agent.name) for agent in agents if agent.role is Role.COMPOSER
        )

    def _music(
        self, lines: ReadingLines, said: Mapping[str, Statements]
    ) -> tuple[MusicOfMovement, ...]:
        return tuple(
            MusicOfMovement(
                n=movement.n,
                numeral=roman(movement.n),
                title={code: self._title(movement.n, one) for code, one in said.items()},
                lines=tuple(_forms(line, said) for line in drawn),
            )
            for movement, drawn in zip(self.parts[0].movements, lines.movements, strict=True)
        )

    def _title(self, n: int, said: Statements) -> Markup:
        titles = {movement.n: movement.title for movement in self.edition.head.movements}
        return unnumbered(said.prose.inline(titles.get(n, {})))

    def _language(self, said: Statements) -> LanguageView:
        code, wording = said.wording.code, said.wording
        remarks = Remarks(self.edition.head, self.score, said, self.examples[code])
        decided = {one.id: one for one in in_force(self.decisions)}
        title = said.prose.plain(self.edition.head.title)
        return LanguageView(
            code=code,
            name=wording.plain("language"),
            document_title=str(wording.say("reading_copy.document", title=title).striptags()),
            say=self._fixed_words(said),
            movements=tuple(
                RemarksOfMovement(
                    movement.numeral,
                    movement.title,
                    tuple(
                        self._remark(one, decided[str(one.filed)], remarks)
                        for one in movement.remarks
                    ),
                )
                for movement in remarks.movements(self.decisions)
            ),
        )

    def _fixed_words(self, said: Statements) -> Mapping[str, Markup]:
        """Return the texts that have nothing to fill in, by their key below `reading_copy`."""
        start, wording = "reading_copy.", said.wording
        fixed = {
            key.removeprefix(start): wording.say(key)
            for key, text in wording.texts.items()
            if key.startswith(start) and isinstance(text, str) and "{" not in text
        }
        return fixed | {key: wording.say(f"remark.{key}") for key in ("for", "against")}

    def _remark(self, view: RemarkView, decision: Decision, remarks: Remarks) -> ReadingRemark:
        said, record = remarks.statements, decision.filed.record
        say = said.wording.say
        passage, span = remarks.passage(decision), decision.span
        bars = tuple(passage.bars[index].n for index in bars_shown(span))
        agent = self.edition.head.agents.get(record.by)
        name = said.agent(record.by)
        role = say(f"people.roles.{agent.role.value}") if agent else Markup("")
        example = self.examples[said.wording.code].get(record.id)
        return ReadingRemark(
            view=view,
            record=record.id,
            number=view.number.strip(),
            where=say("place.bar", bar=str(view.key)),
            bars=bars,
            layer=decision.layer.value,
            layer_name=say(_name_of(decision.layer)),
            who=say("reading_copy.who", name=name, role=role) if role else name,
            bar_anchor=f"bar-{span.movement}-{bars[0]}" if bars else "",
            to_music=say("reading_copy.to_music", bar=bars[0]) if bars else Markup(""),
            pictures=tuple(map(_inline, example.systems)) if example else (),
            filed=say("reading_copy.filed", id=record.id, date=said.wording.day(record.date)),
        )


def _name_of(layer: Layer) -> str:
    return f"reading.layers.{layer.value}"


def _sample(look: TextLook) -> Markup:
    """Return a digit as the layer sets it, so that the list of layers is a legend as well."""
    digit = Markup.escape(look.bracketed("3"))
    if look.weight == "bold":
        digit = Markup("<b>{}</b>").format(digit)
    return Markup("<i>{}</i>").format(digit) if look.slant == "italic" else digit


def _forms(line: ReadingLine, said: Mapping[str, Statements]) -> tuple[Markup, ...]:
    """Return a line in its one or two forms, each named by its bars in every language."""
    forms = [line.printed] if line.every is None else [line.printed, line.every]
    names = {code: _bars_named(line, one.wording) for code, one in said.items()}
    for index, root in enumerate(forms):
        root.set("role", "img")
        root.set("aria-label", next(iter(names.values())))
        for code, name in names.items():
            root.set(f"data-{code}", name)
        if index:
            root.set("class", "off")
    return tuple(map(_markup, forms))


def _bars_named(line: ReadingLine, wording: Wording) -> str:
    if line.first_bar == line.last_bar:
        said = wording.say("reading_copy.line_of_one", bar=line.first_bar)
    else:
        said = wording.say("reading_copy.line", first=line.first_bar, last=line.last_bar)
    return str(said.striptags())


def _markup(element: etree._Element) -> Markup:
    return Markup(etree.tostring(element, encoding="unicode", with_tail=False))


def _inline(svg: Svg) -> Markup:
    """Return a picture as an element that takes the page's faces, its size in the page's type."""
    width, height = (mm * _REM_PER_MM for mm in (svg.width_mm, svg.height_mm))
    sized = f' width="{width:.2f}rem" height="{height:.2f}rem"'
    return Markup(_SIZE.sub(sized, svg.markup, count=1))
