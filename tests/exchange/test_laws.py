"""Laws of the MusicXML part over generated scores with records of all kinds."""

from __future__ import annotations

import tempfile
from fractions import Fraction
from pathlib import Path

from hypothesis import HealthCheck, given, note, settings
from hypothesis import strategies as st

from pipeline.edition.layer import Layer
from pipeline.exchange.numbering import Extent, Numbers
from pipeline.exchange.source import music_of
from pipeline.score.mei_names import XML_ID, tag
from tests.collation.letters import told
from tests.exchange.exchanged import ALL, compared, exchanged, tree, untold
from tests.exchange.musicxml_schema import assert_valid_musicxml
from tests.layers.test_laws import LAYERS, editions

LAWS = settings(deadline=None, max_examples=25, suppress_health_check=list(HealthCheck))


@LAWS
@given(data=st.data(), layers=LAYERS, own_mark_up=st.booleans())
def test_every_event_and_sign_is_in_the_file_or_told(
    data: st.DataObject, layers: set[Layer], own_mark_up: bool
) -> None:
    with tempfile.TemporaryDirectory() as name:
        layered = data.draw(editions(Path(name), own_mark_up)).layered
    part = exchanged(layered, layers | {Layer.TEXT})
    note(part.musicxml.decode())
    assert_valid_musicxml(part.musicxml)
    whole = exchanged(layered)
    assert untold(layered, whole) == set()
    assert part.held <= whole.held | whole.lost
    (movement,) = music_of(layered, layers | {Layer.TEXT}, 1)
    heads = [head.xml_id for event in movement.main.events for head in event.heads]
    assert {one.get("id") for one in tree(part).iter("note")} >= set(heads)


@LAWS
@given(data=st.data())
def test_every_mark_of_a_record_has_its_id_in_the_file(data: st.DataObject) -> None:
    """Dashed slurs, digits, bow signs and words of records stand under the id they have in MEI."""
    with tempfile.TemporaryDirectory() as name:
        layered = data.draw(editions(Path(name), own_mark_up=False)).layered
    part = exchanged(layered)
    (movement,) = music_of(layered, ALL, 1)
    marks = {
        one.get(XML_ID, "")
        for one in movement.main.root.iter(tag("fing"), tag("artic"), tag("slur"), tag("dir"))
        if one.get(XML_ID, "").startswith("mark-")
    }
    written = {
        one.get("id", "").partition(".")[2]
        for one in tree(part).iter("technical", "articulations", "slur", "direction")
    }
    assert marks - part.lost <= written


@LAWS
@given(data=st.data())
def test_the_text_comes_back_as_it_is(data: st.DataObject) -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        layered = data.draw(editions(folder, own_mark_up=False)).layered
        note(exchanged(layered, {Layer.TEXT}).musicxml.decode())
        found = compared(layered, folder, layers={Layer.TEXT})
    assert [told(one) for one in found.differences] == []
    assert found.bars == ()


EXTENTS = st.lists(
    st.tuples(
        st.tuples(st.integers(0, 3), st.integers(0, 4).map(Fraction)),
        st.tuples(st.integers(0, 3), st.integers(0, 4).map(Fraction)),
    ),
    max_size=30,
)


@given(extents=EXTENTS, others=EXTENTS)
def test_what_is_open_at_once_has_numbers_of_its_own(
    extents: list[Extent], others: list[Extent]
) -> None:
    given_before = Numbers()
    above = given_before.give("slur", others)
    numbers = given_before.give("slur", extents)
    for one, first in zip(extents, numbers, strict=True):
        for other, second in zip(extents, numbers, strict=True):
            if one is not other and first is not None and first == second:
                assert max(one) < min(other) or max(other) < min(one)
        for other, second in zip(others, above, strict=True):
            if first is not None and first == second:
                assert max(one)[0] < min(other)[0] or max(other)[0] < min(one)[0]
    assert all(number is None or 1 <= number <= 16 for number in (*numbers, *above))
    assert len(extents) + len(others) > 16 or None not in numbers
    assert given_before.give("hairpin", extents[:1]) == [1][: len(extents)]
