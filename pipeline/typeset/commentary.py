"""The commentary: edition, score, decisions and engraved pictures in, HTML and then PDF out.

Everything is worded before a template sees it; the HTML refers to nothing but the faces.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence

from markupsafe import Markup

from pipeline.collation.agreement import agreement
from pipeline.collation.collated import Collation
from pipeline.collation.model import Decision, Encodings
from pipeline.collation.shared_errors import suggested_stemma
from pipeline.edition.head import Role
from pipeline.edition.layer import Layer
from pipeline.edition.model import Edition
from pipeline.engrave.examples import Example
from pipeline.engrave.legend import Sample
from pipeline.engrave.svg_for_print import Svg
from pipeline.problems import Origin, Outcome
from pipeline.score.model import Pitch, Score
from pipeline.typeset.agreement import agreement_view
from pipeline.typeset.environment import environment
from pipeline.typeset.faces import faces
from pipeline.typeset.pdf import html_to_pdf
from pipeline.typeset.pictures import picture
from pipeline.typeset.pitches import pitch_name
from pipeline.typeset.prose import Prose, markdown
from pipeline.typeset.relations import relations_view
from pipeline.typeset.remarks import Remarks
from pipeline.typeset.signs import in_signs_face
from pipeline.typeset.sources import people_views, source_views
from pipeline.typeset.statements import Statements
from pipeline.typeset.views import (
    Chapter,
    CommentaryView,
    LayerView,
    MovementView,
    SampleView,
    TitlePage,
)
from pipeline.typeset.wording import Wording, wording_of

EXAMPLE_WIDTH_MM = 133.0
"""The width of the text column, which music examples fill."""

Samples = Mapping[Sample, Svg]

_SAMPLES_OF_LAYER: Mapping[Layer, tuple[Sample, ...]] = {
    Layer.TEXT: (Sample.TEXT_FINGERING,),
    Layer.COMPOSER: (Sample.COMPOSER_FINGERING,),
    Layer.WITNESS: (Sample.WITNESS_FINGERING, Sample.VARIANT),
    Layer.EDITOR: (
        Sample.EDITOR_FINGERING,
        Sample.DIVIDED_SLUR,
        Sample.JOINED_STROKES,
        Sample.OSSIA,
    ),
    Layer.TRADITION: (Sample.TRADITION_FINGERING, Sample.TRADITION),
}


def commentary_html(
    edition: Edition,
    score: Score,
    decisions: Sequence[Decision],
    examples: Mapping[str, Example],
    samples: Samples,
    language: str,
    proof: bool = False,
    encodings: Encodings | None = None,
    collations: Mapping[tuple[str, int], Collation] | None = None,
) -> str:
    """Return the commentary as one HTML document, style included.

    `proof` adds what is still open; `encodings` lets the list of sources say what of each was
    compared, `collations` how the sources agree. Raises KeyError for a language without wording
    (see `find_wording`).
    """
    view = commentary_view(
        edition, score, decisions, examples, samples, language, proof, encodings, collations
    )
    template = environment().get_template("commentary.html.jinja")
    return template.render(view=view, faces_css=Markup(faces().css))


def commentary_pdf(html: str) -> Outcome[bytes]:
    """Return the PDF/UA-1 of the commentary; problems are what the typesetter complains of."""
    found = faces()
    identifier = hashlib.sha256(html.encode()).digest()[:16]
    made = html_to_pdf(html, found, Origin("edition.yaml"), identifier)
    return Outcome(made.value, (*found.problems, *made.problems))


def commentary_view(
    edition: Edition,
    score: Score,
    decisions: Sequence[Decision],
    examples: Mapping[str, Example],
    samples: Samples,
    language: str,
    proof: bool,
    encodings: Encodings | None = None,
    collations: Mapping[tuple[str, int], Collation] | None = None,
) -> CommentaryView:
    """Return everything the template prints, worded."""
    head = edition.head
    wording, prose = wording_of(language), Prose(language, head.main_language)
    statements = Statements(head, wording, prose)
    remarks = Remarks(head, score, statements, examples)
    say = wording.say
    title_page = _title_page(edition, statements, proof)
    plain_title = f"{title_page.composer.striptags()}: {title_page.title.striptags()}"
    headings = {key: say(f"document.{key}") for key in _CHAPTERS}
    preface, method = _text(edition, "preface", prose), _text(edition, "method", prose)
    movements = remarks.movements(decisions)
    agreed = agreement(collations or {})
    besides = {key: collation.beside for key, collation in (collations or {}).items()}
    dates = {siglum: witness.date for siglum, witness in head.witnesses.items()}
    not_encoded = [siglum for siglum in head.witnesses if siglum not in agreed.witnesses]
    left_out = {
        "preface": not preface,
        "method": not method,
        "open": not proof,
    }
    return CommentaryView(
        language=language,
        document_title=f"{plain_title}. {say('document.subtitle').striptags()}",
        author=title_page.editors.striptags(),
        description=prose.plain(head.scoring),
        modified=max((d.filed.record.date.isoformat() for d in decisions), default=""),
        running_title=Markup(", ").join((title_page.composer, title_page.title)),
        title_page=title_page,
        headings=headings,
        chapters=tuple(
            Chapter(key, title, _parts(movements) if key == "remarks" else ())
            for key, title in headings.items()
            if key != "contents" and not left_out.get(key, False)
        ),
        preface=preface,
        reading_lead=say("reading.lead"),
        reading_key=(
            Markup("{} {}").format(
                say("reading.key"), say("reading.pitches", names=_sample_pitches(wording))
            ),
            say("reading.signs"),
        ),
        caution=say("reading.caution"),
        layers=tuple(_layer(layer, samples, wording) for layer in _SAMPLES_OF_LAYER),
        sources=source_views(head, score, encodings or {}, statements, besides),
        agreement=agreement_view(agreed, wording, not_encoded),
        stemma=relations_view(head.witnesses, suggested_stemma(agreed, dates), wording),
        people_heading=say("document.people"),
        people=people_views(head, statements),
        method=method,
        movements=movements,
        index_lead=say("index.lead"),
        index=remarks.index(decisions),
        open_lead=say("open.lead"),
        open_points=remarks.open_points(decisions) if proof else None,
        nothing_open=say("open.nothing"),
        words={"for": say("remark.for"), "against": say("remark.against")},
    )


_CHAPTERS = ("contents", "preface", "reading", "sources", "method", "remarks", "index", "open")


def _parts(movements: Sequence[MovementView]) -> tuple[Chapter, ...]:
    return tuple(
        Chapter(m.anchor, Markup("{}\u2002{}").format(m.numeral, m.title)) for m in movements
    )


def _title_page(edition: Edition, statements: Statements, proof: bool) -> TitlePage:
    head, prose, say = edition.head, statements.prose, statements.wording.say
    names = {
        role: statements.wording.listed(
            prose.inline(agent.name) for agent in head.agents.values() if agent.role is role
        )
        for role in (Role.COMPOSER, Role.EDITOR)
    }
    editors = names[Role.EDITOR]
    return TitlePage(
        composer=names[Role.COMPOSER],
        title=prose.inline(head.title),
        subtitle=prose.inline(head.subtitle),
        scoring=prose.inline(head.scoring),
        genre=say("document.subtitle"),
        editors=say("document.edited_by", names=editors) if editors else Markup(""),
        date=Markup.escape(head.date),
        rights=prose.inline(head.rights),
        proof=say("document.proof") if proof else Markup(""),
    )


def _text(edition: Edition, name: str, prose: Prose) -> Markup:
    texts = {text.language: text.markdown for text in edition.texts if text.name == name}
    written = texts.get(prose.language) or texts.get(prose.main) or ""
    return markdown(written) if written else Markup("")


def _layer(layer: Layer, samples: Samples, wording: Wording) -> LayerView:
    views = []
    for sample in _SAMPLES_OF_LAYER[layer]:
        if sample in samples:
            caption = wording.say(f"reading.samples.{sample.name}")
            views.append(SampleView(picture(samples[sample], caption.striptags()), caption))
    return LayerView(
        name=wording.say(f"reading.layers.{layer.value}"),
        about=wording.say(f"reading.about.{layer.value}"),
        samples=tuple(views),
    )


def _sample_pitches(wording: Wording) -> Markup:
    named = [pitch_name(Pitch("C", 0, octave), wording) for octave in range(1, 8)]
    return in_signs_face(Markup.escape(", ".join(named)))
