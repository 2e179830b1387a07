"""Whatever records say, the check tells problems and never breaks."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.checks.rules import RULES
from pipeline.checks.run import check
from tests.checks.asking import WITNESSES, record
from tests.collation.letters import music, slur
from tests.collation.small_edition import small_edition

TEXT = music(
    "4:C5 4:D5 4:E5 4:F5 | 4:G5 4:A5 2:B5 | 2:C6 2:r | 1:G5",
    slur("0:0", "0:3"),
    numbers="1 2 3 4",
)
FRAGMENTS = {"o.mei": music("2:C6 2:D6"), "e.mei": music("g8:C5 1:r | 4:C5+G5<>")}

SIGLA = st.lists(st.sampled_from(["A", "E", "S", "L", "Q"]), min_size=1, max_size=3)
PLACES = st.sampled_from(
    [
        "bar: 1", "bar: 2, to: {bar: 4}", "bar: 3, beat: 3", "bar: 1, note: 2, to: {note: 3}",
        "bar: 9", "bar: 4, staff: 2",
    ]
)  # fmt: skip
AGENTS = st.sampled_from(["editor", "composer", "school", "nobody"])
FINGERS = st.lists(
    st.sampled_from(["1", "9", "none", "open", "thumb", "2 on C", "touch 3 on A", "1 touch 4",
                     "[1, 3 on D]"]),
    min_size=1, max_size=5,
)  # fmt: skip
MUSIC = st.sampled_from(["{file: o.mei}", "{file: e.mei}", "{file: lost.mei}", "{derive: x}"])


def _lines(draw: st.DrawFn, kind: str) -> list[str]:
    if kind == "fingering":
        name = draw(st.sampled_from(["first", "other"]))
        fingers = ", ".join(draw(FINGERS))
        return [f"alternatives: [{{name: first, fingers: [{fingers}]}}]", f"printed: {name}"]
    if kind == "bowing":
        after, join = draw(st.integers(1, 6)), draw(st.sampled_from(["true", "false"]))
        return [f"alternatives: [{{name: a, divide_after: {after}, join: {join}, "
                f"signs: {{{after}: up}}}}]"]  # fmt: skip
    if kind in {"reading", "emendation"}:
        variants = [
            f"{{witnesses: [{', '.join(draw(SIGLA))}]{draw(st.sampled_from(['', ', says: x']))}}}"
            for _ in range(draw(st.integers(1, 2)))
        ]
        lemma = [f"lemma: [{', '.join(draw(SIGLA))}]"] if kind == "reading" else []
        return [*lemma, f"readings: [{', '.join(variants)}]"]
    if kind == "ossia":
        return [f"music: {draw(MUSIC)}", f"sounds: {draw(st.sampled_from(['same', 'different']))}"]
    return [f"music: {draw(MUSIC)}"] if kind == "tradition" else []


@st.composite
def records(draw: st.DrawFn) -> str:
    """Return up to six records, of any kind, that refer to what there is and what there is not."""
    written = ""
    for number in range(draw(st.integers(1, 6))):
        kind = draw(
            st.sampled_from(
                ["reading", "emendation", "fingering", "bowing", "ossia", "tradition", "remark"]
            )
        )
        lines = [f"by: {draw(AGENTS)}", *_lines(draw, kind)]
        if draw(st.booleans()):
            lines += ["status: superseded", f"superseded_by: r{draw(st.integers(0, 7))}"]
        written += record(kind, f"r{number}", draw(PLACES), *lines)
    return written


@settings(max_examples=60, deadline=None)
@given(records())
def test_any_records_are_answered_by_problems_of_known_codes(written: str) -> None:
    material, _ = small_edition(written, WITNESSES, FRAGMENTS, TEXT)
    severities = {rule.code: rule.severity for rule in RULES}
    for problem in check(material):
        assert severities[problem.code] is problem.severity
        assert problem.message
        assert problem.remedy
        assert problem.origin.file in {"records/all.yaml", "edition.yaml"}
    assert check(material) == check(material)
