"""The layered file loses nothing: laws over generated scores, copies and records of all kinds."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from hypothesis import HealthCheck, given, note, settings
from hypothesis import strategies as st
from lxml import etree

from pipeline.collation.differences import differences
from pipeline.edition.layer import Layer
from pipeline.edition.records import Reading, Status
from pipeline.layers.extract import (
    canonical_music,
    extract_layers,
    extract_text,
)
from pipeline.layers.profile import profile_faults
from pipeline.layers.witness import extract_witness
from pipeline.layers.write import write_layers
from pipeline.problems import Origin
from pipeline.score.read import read_passage
from tests.layers import generated
from tests.layers.drawing import draw
from tests.layers.small_edition import (
    Small,
    official_schema,
    place,
    read_small,
    reading,
    small,
)

LAWS = settings(deadline=None, max_examples=20, suppress_health_check=list(HealthCheck))
LAYERS = st.sets(st.sampled_from(list(Layer)))


@st.composite
def editions(draw: st.DrawFn, folder: Path, own_mark_up: bool, all_told: bool = False) -> Small:
    """Return an edition with two witnesses that differ from the text in places.

    `all_told` adds a record that tells everything that they have otherwise.
    """
    bars = draw(generated.bars)
    base = draw(generated.written(bars, own_mark_up))
    witnesses = {
        siglum: draw(generated.written(draw(generated.copies(bars)), False)) for siglum in "VW"
    }
    music = {f"f{n}": draw(generated.written(bars[:n], False)) for n in (1, 2)}
    bare = small(folder, base, [], witnesses, music)
    counts = {
        bar.index + 1: sum(e.number is not None for e in events)
        for bar in bare.score.movements[0].passage.bars
        for events in [bare.score.movements[0].passage.events_in.get((1, bar.index), ())]
    }
    files = [f"music/{name}.mei" for name in music]
    rows = draw(generated.records(len(bars), counts, files))
    if all_told:
        rows.append(reading("all", place(1, to={"bar": len(bars)}), "V", "W"))
    return small(folder, base, rows, witnesses, music, strict=False)


@LAWS
@given(data=st.data(), own_mark_up=st.booleans())
def test_the_text_comes_out_as_it_went_in(data: st.DataObject, own_mark_up: bool) -> None:
    with tempfile.TemporaryDirectory() as name:
        edition = data.draw(editions(Path(name), own_mark_up))
        note(edition.layered.decode())

        again = write_layers(edition.edition, edition.score, edition.decisions, edition.collations)
        assert again == edition.layered
        faults = profile_faults(edition.layered)
        assert faults == (), faults
        schema = official_schema()
        if schema is not None:
            assert schema.validate(etree.fromstring(edition.layered)), str(schema.error_log)

        text = extract_text(edition.layered)[1]
        assert canonical_music(text) == canonical_music(edition.base())
        (Path(name) / "score" / "1.mei").write_bytes(text)
        assert read_small(Path(name), strict=False).layered == edition.layered


@LAWS
@given(data=st.data(), first=LAYERS, second=LAYERS)
def test_taking_layers_out_composes(
    data: st.DataObject, first: set[Layer], second: set[Layer]
) -> None:
    with tempfile.TemporaryDirectory() as name:
        edition = data.draw(editions(Path(name), own_mark_up=True))
        once = extract_layers(edition.layered, first)
        note(once.decode())

        assert extract_layers(once, second) == extract_layers(edition.layered, first & second)
        assert extract_layers(edition.layered, set(Layer)) == edition.layered
        assert profile_faults(once) == ()
        schema = official_schema()
        if schema is not None:
            assert schema.validate(etree.fromstring(once)), str(schema.error_log)
        assert canonical_music(extract_text(once)[1]) == canonical_music(edition.base())


@LAWS
@given(data=st.data())
def test_a_witness_comes_out_as_its_encoding_where_all_of_it_is_told(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        edition = data.draw(editions(folder, own_mark_up=False, all_told=True))
        note(edition.layered.decode())
        for siglum in "VW":
            (folder / "out.mei").write_bytes(extract_witness(edition.layered, siglum)[1])
            taken = read_passage(folder, "out.mei", Origin("out.mei")).value
            assert taken is not None
            for decision in edition.decisions:
                record = decision.filed.record
                if not isinstance(record, Reading) or record.status is not Status.ACCEPTED:
                    continue
                for comparison in decision.comparisons:
                    if siglum not in comparison.version.witnesses:
                        continue
                    encoding = edition.encodings[siglum, 1]
                    version = replace(comparison.version, passage=encoding)
                    inside = tuple(
                        e
                        for e in taken.events
                        if decision.span.start <= e.start < decision.span.end
                    )
                    span = replace(decision.span, events=inside)
                    left = differences(taken, span, version)
                    assert left == (), left


@settings(LAWS, max_examples=15)
@given(data=st.data())
def test_everything_is_drawn_and_nothing_is_said(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as name:
        edition = data.draw(editions(Path(name), own_mark_up=False))
        note(edition.layered.decode())
        before, after = draw(edition.base()), draw(edition.layered)
        assert after.said == before.said, after.said
        assert set(after.lost) <= set(before.lost)
