"""A collation as one HTML page for the desk: every departure in reading order, with its music.

In come the edition, the collations and what was computed about them; out goes a document that
needs nothing else: no network, no other file, and no script to be read. The script only filters.
"""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from pipeline.collation.agreement import agreement
from pipeline.collation.beside import Beside
from pipeline.collation.collated import BarChange, BarDifference, Collation, Departure, SetAside
from pipeline.collation.model import DifferenceKind
from pipeline.edition.head import Role
from pipeline.edition.model import Edition
from pipeline.engrave.collation_examples import (
    CollatedPlace,
    CollationExamples,
    CollationLabels,
    by_place,
)
from pipeline.engrave.fonts import music_font_face
from pipeline.engrave.svg_for_print import Svg
from pipeline.score.model import Movement, Score
from pipeline.typeset.agreement import AgreementView, agreement_view
from pipeline.typeset.collation_colours import colours_css
from pipeline.typeset.collation_figures import CollationFigures, kind_of
from pipeline.typeset.collation_views import (
    CollatedMovementView,
    CollationView,
    FilterView,
    PlaceView,
    RowView,
)
from pipeline.typeset.collation_words import CollationWords
from pipeline.typeset.environment import TEMPLATES, environment
from pipeline.typeset.prose import Prose
from pipeline.typeset.remarks import roman
from pipeline.typeset.signs_face import FAMILY, signs_face
from pipeline.typeset.statements import capitalised
from pipeline.typeset.wording import Wording, wording_of

EXAMPLE_WIDTH_MM = 150.0
"""The longest line of music; most pictures show one bar and are far narrower."""

_REM_PER_MM = 0.36
"""Music grows with the type, half as large again as on paper at 16 px: a screen is farther away."""
_SIZE = re.compile(r' width="[\d.]+mm" height="[\d.]+mm"')
_STATES = ("open", "proposed", "answered")


def collation_labels(language: str) -> CollationLabels:
    """Return the wording of the examples."""
    wording = wording_of(language)

    def described(bar: str, sigla: Sequence[str]) -> str:
        witnesses = wording.listed(sigla)
        return wording.say("collation.described", bar=bar, witnesses=witnesses).striptags()

    return CollationLabels(wording.say("example.text").striptags(), described)


def collation_html(
    edition: Edition,
    score: Score,
    collations: Mapping[tuple[str, int], Collation],
    departures: Sequence[Departure],
    set_aside: Mapping[tuple[str, int], Mapping[SetAside, int]],
    examples: CollationExamples,
    language: str,
) -> str:
    """Return the page. `departures` come in reading order, `examples` by their places.

    Raises KeyError for a language without wording (see `find_wording`).
    """
    sigla = [one for one in edition.head.witnesses if any(one == s for s, _ in collations)]
    wording = wording_of(language)
    page = _Page(edition, score, collations, examples, tuple(sigla), wording)
    view = page.view(departures, set_aside)
    script = (TEMPLATES / "collation.js").read_text("utf-8")
    return (
        environment()
        .get_template("collation.html.jinja")
        .render(
            view=view,
            faces_css=Markup(_faces_css()),
            colours_css=Markup(colours_css()),
            script=Markup(script),
            script_hash=base64.b64encode(hashlib.sha256(script.encode()).digest()).decode(),
        )
    )


@dataclass(frozen=True)
class _Page:
    """Words the page of one edition in one language."""

    edition: Edition
    score: Score
    collations: Mapping[tuple[str, int], Collation]
    examples: CollationExamples
    sigla: tuple[str, ...]
    wording: Wording

    @property
    def prose(self) -> Prose:
        """The editor's words in the language of the page."""
        return Prose(self.wording.code, self.edition.head.main_language)

    def view(
        self,
        departures: Sequence[Departure],
        set_aside: Mapping[tuple[str, int], Mapping[SetAside, int]],
    ) -> CollationView:
        """Return everything the template prints."""
        head, say = self.edition.head, self.wording.say
        figures = CollationFigures(self.score, self.sigla, self.wording)
        composers = [
            self.prose.inline(agent.name)
            for agent in head.agents.values()
            if agent.role is Role.COMPOSER
        ]
        title = self.prose.inline(head.title)
        return CollationView(
            language=self.wording.code,
            document_title=say("collation.document", title=title.striptags()).striptags(),
            title=title,
            subtitle=self.prose.inline(head.subtitle),
            composer=self.wording.listed(composers),
            contents=say("document.contents").striptags(),
            say=self._fixed_words(),
            overview=figures.overview(self.collations, departures),
            kinds=figures.kinds(departures),
            set_aside=figures.set_aside(set_aside),
            agreement=self._agreement(),
            filter=self._filter(departures),
            movements=tuple(
                self._movement(movement, [d for d in departures if d.movement == movement.n])
                for movement in self.score.movements
            ),
            count=len(departures),
        )

    def _agreement(self) -> AgreementView | None:
        """Return how the witnesses agree with each other, None for fewer than two."""
        witnesses = self.edition.head.witnesses
        not_encoded = [siglum for siglum, one in witnesses.items() if not one.encodings]
        return agreement_view(agreement(self.collations), self.wording, not_encoded)

    def _fixed_words(self) -> Mapping[str, Markup]:
        """Return the texts of the page that have nothing to fill in, by key below `collation`."""
        start = "collation."
        return {
            key.removeprefix(start): self.wording.say(key)
            for key, text in self.wording.texts.items()
            if key.startswith(start) and isinstance(text, str) and "{" not in text
        } | {"shown": Markup.escape(self.wording.plain("collation.filter.shown"))}

    def _filter(self, departures: Sequence[Departure]) -> FilterView:
        say = self.wording.say
        kinds, states = {kind_of(one) for one in departures}, {_state(one) for one in departures}
        return FilterView(
            witnesses=tuple((str(n), siglum) for n, siglum in enumerate(self.sigla)),
            kinds=tuple(
                (kind.value, say(f"collation.kinds.{kind.value}"))
                for kind in (*BarChange, *DifferenceKind)
                if kind.value in kinds
            ),
            states=tuple((one, say(f"collation.{one}")) for one in _STATES if one in states),
        )

    def _movement(
        self, movement: Movement, departures: Sequence[Departure]
    ) -> CollatedMovementView:
        words = CollationWords(movement.passage, movement.n, self.wording)
        titles = {one.n: one.title for one in self.edition.head.movements}
        title = self.prose.inline(titles.get(movement.n, {}))
        number = roman(movement.n)
        return CollatedMovementView(
            anchor=f"movement-{movement.n}",
            title=Markup("{}\u2002{}").format(number, title) if title else Markup(number),
            caption=self.wording.say("collation.captions.departures", None, number=str(movement.n)),
            places=tuple(
                self._place(place, held, words) for place, held in by_place(departures).items()
            ),
        )

    def _place(
        self, place: CollatedPlace, departures: Sequence[Departure], words: CollationWords
    ) -> PlaceView:
        name = words.bar_names((place.bar,))
        staff = words.staff(place.staff) if place.staff else Markup("")
        key = "music_of" if staff else "music"
        whole = departures[0].differences[0]
        if isinstance(whole, BarDifference):
            name = words.bar_names(whole.text) if whole.text else words.bars(whole).reading
        anchor = f"b{place.movement}-{place.bar}-{place.staff}{'-added' if place.added else ''}"
        return PlaceView(
            anchor=anchor,
            name=capitalised(Markup("{}, {}").format(name, staff) if staff else name),
            rows=tuple(self._row(one, words) for one in departures),
            music=tuple(_inline(svg) for svg in self.examples.get(place, ())),
            music_name=self.wording.say(f"collation.{key}", None, bar=name, staff=staff),
        )

    def _row(self, departure: Departure, words: CollationWords) -> RowView:
        difference, kind, state = departure.differences[0], kind_of(departure), _state(departure)
        if isinstance(difference, BarDifference):
            readings, place = words.bars(difference), Markup("")
        else:
            beside = self._beside(departure)
            readings, place = words.readings(difference, beside), words.place(difference)
        indexes = (str(self.sigla.index(s)) for s in departure.witnesses if s in self.sigla)
        return RowView(
            place=place,
            kind=kind,
            kind_name=self.wording.say(f"collation.kinds.{kind}"),
            text=readings.text,
            witnesses=Markup(", ").join(
                Markup('<b class="siglum">{}</b>').format(one) for one in departure.witnesses
            ),
            witnesses_by_index=" ".join(indexes),
            reading=readings.reading,
            state=state,
            state_word=self.wording.say(f"collation.{state}"),
            records=departure.answers or departure.proposed,
        )

    def _beside(self, departure: Departure) -> Beside:
        return self.collations[departure.witnesses[0], departure.movement].beside


def _state(departure: Departure) -> str:
    if departure.answers:
        return "answered"
    return "proposed" if departure.proposed else "open"


def _inline(svg: Svg) -> Markup:
    """Return a picture as an element that takes the page's faces, its size in the page's type."""
    width, height = (mm * _REM_PER_MM for mm in (svg.width_mm, svg.height_mm))
    sized = f' width="{width:.2f}rem" height="{height:.2f}rem"'
    return Markup(_SIZE.sub(sized, svg.markup, count=1))


def _faces_css() -> str:
    """Return the music face and the face of signs, inside the page itself."""
    signs = base64.b64encode(signs_face()).decode()
    return (
        f"{music_font_face()}\n@font-face {{ font-family: '{FAMILY}'; "
        f"src: url(data:font/ttf;base64,{signs}) format('truetype'); }}"
    )
