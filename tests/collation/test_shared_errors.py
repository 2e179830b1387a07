"""Traditions copied with errors, and the tree that their errors suggest.

The rules are those of P. Maas, "Textkritik" (1927, from memory). The outside check is a second
algorithm for the same question: D. Gusfield, "Efficient algorithms for inferring evolutionary
trees" (Networks 21, 1991, from memory), which finds the one tree that fits when no error
contradicts another.
"""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.collation.agreement import KINDS, Agreement, agreement
from pipeline.collation.collate import collate
from pipeline.collation.collated import BarChange
from pipeline.collation.error_patterns import FULL, LITTLE, WEIGHTS
from pipeline.collation.laying import lay_beside
from pipeline.collation.model import DifferenceKind
from pipeline.collation.shared_errors import Branch, SuggestedStemma, suggested_stemma
from tests.collation.letters import music
from tests.collation.traditions import (
    Clades,
    agreeing,
    at_random,
    clades,
    clades_of,
    copied,
    drawn,
    errors,
)


def suggested(found: Agreement, **dates: str) -> SuggestedStemma:
    stemma = suggested_stemma(found, dates)
    assert stemma is not None
    return stemma


def lines(stemma: SuggestedStemma) -> list[str]:
    """Return the tree as lines: what hangs, on what, shared of those above, own."""
    return [
        f"{b.name} < {b.model or '-'} {b.shared:g}/{b.of:g} +{b.own:g}{' ?' if b.weak else ''}"
        for b in stemma.branches
    ]


class TestTheRules:
    def test_who_has_all_errors_of_another_and_some_of_his_own_descends_from_him(self) -> None:
        found = agreeing({"F": errors("a9"), "J": errors("a9", "j7")})
        assert lines(suggested(found)) == ["F < - 0/0 +9", "J < F 9/9 +7"]

    def test_who_share_errors_and_have_each_their_own_descend_from_a_lost_model(self) -> None:
        found = agreeing({"D": errors("a8", "d6"), "E": errors("a8", "e9")})
        assert lines(suggested(found)) == [
            "α < - 0/0 +8",
            "D < α 8/8 +6",
            "E < α 8/8 +9",
        ]

    def test_who_share_none_stand_apart(self) -> None:
        stemma = suggested(agreeing({"A": errors("a9"), "B": errors("b9")}))
        assert lines(stemma) == ["A < - 0/0 +9", "B < - 0/0 +9"]
        assert not stemma.decided

    def test_a_lost_model_within_a_lost_model(self) -> None:
        found = agreeing(
            {
                "B": errors("a8", "b9"),
                "C": errors("a8", "x7", "c9"),
                "D": errors("a8", "x7", "d9"),
            }
        )
        assert lines(suggested(found)) == [
            "α < - 0/0 +8",
            "B < α 8/8 +9",
            "β < α 8/8 +7",
            "C < β 15/15 +9",
            "D < β 15/15 +9",
        ]

    def test_a_lost_copy_of_a_witness_that_is_there(self) -> None:
        found = agreeing(
            {
                "A": errors("a9"),
                "C": errors("a9", "x7", "c8"),
                "D": errors("a9", "x7", "d8"),
            }
        )
        assert lines(suggested(found)) == [
            "A < - 0/0 +9",
            "α < A 9/9 +7",
            "C < α 7/7 +8",
            "D < α 7/7 +8",
        ]

    def test_a_siglum_is_never_given_to_a_lost_model(self) -> None:
        found = agreeing({"α": errors("a8", "d6"), "E": errors("a8", "e9")})
        assert [b.name for b in suggested(found).branches] == ["β", "α", "E"]


class TestCaution:
    def test_two_errors_in_common_are_too_few(self) -> None:
        stemma = suggested(agreeing({"A": errors("a2", "b9"), "E": errors("a2", "e9")}))
        assert not stemma.decided

    def test_dots_and_fingerings_left_out_alike_are_too_little(self) -> None:
        alike = {"A": errors("a20"), "E": errors("a20", "e9")}
        assert not suggested(agreeing(alike, DifferenceKind.ARTICULATION)).decided
        assert suggested(agreeing(alike, DifferenceKind.PITCH)).decided

    def test_three_errors_among_hundreds_are_chance(self) -> None:
        stemma = suggested(agreeing({"A": errors("a4", "b200"), "E": errors("a4", "e300")}))
        assert not stemma.decided

    def test_a_line_that_few_errors_bear_is_weak(self) -> None:
        found = agreeing({"A": errors("a4"), "E": errors("a4", "e9")})
        assert lines(suggested(found))[1] == "E < A 4/4 +9 ?"

    def test_a_copy_may_mend_some_errors(self) -> None:
        """Two of twenty mended: still a copy. Five of twenty: it may be, or both have a model."""
        found = agreeing({"A": errors("a20"), "E": errors("a18", "e9")})
        assert lines(suggested(found))[1] == "E < A 18/20 +9"
        found = agreeing({"A": errors("a20"), "E": errors("a15", "e9")})
        assert suggested(found).perhaps == (("α", "A"),)
        assert lines(suggested(found)) == ["α < - 0/0 +15", "A < α 15/15 +5 ?", "E < α 15/15 +9 ?"]

    def test_the_same_errors_do_not_tell_who_copied(self) -> None:
        stemma = suggested(agreeing({"A": errors("a20", "b1"), "E": errors("a20", "e2")}))
        assert stemma.alike == (("A", "E"),)
        assert all(b.weak for b in stemma.branches if b.model)

    def test_on_a_faultless_witness_nothing_is_seen_to_hang(self) -> None:
        stemma = suggested(agreeing({"A": set(), "E": errors("e9"), "S": errors("e9", "s9")}))
        assert stemma.nearly_faultless == ("A",)
        assert stemma.branch("E").model == ""

    def test_dates_that_contradict_are_told_and_not_used(self) -> None:
        found = agreeing({"F": errors("a9"), "J": errors("a9", "j7")})
        against = suggested(found, F="1889-01", J="1888-11-02")
        assert against.branch("J").model == "F"
        assert against.against_dates == (("F", "J"),)
        assert suggested(found, F="1888", J="1888-11").against_dates == ()
        assert suggested(found, F="ca. 1890", J="").against_dates == ()

    def test_bars_that_a_fragment_lacks_do_not_speak(self) -> None:
        """F holds half of the work: E has all errors of F there, and F has none of the rest."""
        all_of_e = errors("a9", "b9")
        gaps = {"F": frozenset(errors("b9", "e9"))}
        found = agreeing({"F": errors("a9"), "E": all_of_e | errors("e9")}, gaps=gaps)
        assert suggested(found).alike == (("F", "E"),)

    def test_one_witness_suggests_nothing(self) -> None:
        assert suggested_stemma(agreeing({"A": errors("a9")})) is None


def test_every_kind_that_sounds_weighs_in_full() -> None:
    sounding = {
        *(DifferenceKind.PITCH, DifferenceKind.ACCIDENTAL, DifferenceKind.RHYTHM),
        *(DifferenceKind.NOTES_ADDED, DifferenceKind.NOTES_MISSING, DifferenceKind.TIE),
        *BarChange,
    }
    assert all(WEIGHTS[kind] == FULL for kind in sounding)
    assert all(LITTLE <= WEIGHTS.get(kind, LITTLE) <= FULL for kind in KINDS)


TRADITION = "A(B x(C D) E(F(G))) y(H z(J K))"


def test_a_whole_tradition_comes_back() -> None:
    found = suggested(agreeing(copied(drawn(TRADITION), 20)))
    assert clades_of(found) == clades(drawn(TRADITION))
    assert not found.mixed
    assert not found.alike


SEEDS = st.integers(0, 10**6)


@settings(deadline=None)
@given(SEEDS, st.integers(2, 12), st.sampled_from([0.0, 0.3, 0.5]), st.integers(6, 30))
def test_any_tradition_comes_back_when_nobody_mends(
    seed: int, size: int, lost: float, count: int
) -> None:
    """Every copy adds so many errors, and some copies are lost."""
    tradition = at_random(random.Random(seed), size, lost)
    made = copied(tradition, count)
    found = suggested_stemma(agreeing(made))
    if found is None:
        assert len(made) < 2
        return
    assert clades_of(found) == clades(tradition)
    assert not found.mixed


@pytest.mark.parametrize(("mended", "trees", "firm"), [(0.05, 0.85, 0.015), (0.1, 0.4, 0.07)])
def test_most_traditions_come_back_when_copyists_mend_what_they_find(
    mended: float, trees: float, firm: float
) -> None:
    """200 traditions of eight copies, a third of them lost, 25 errors a copy.

    Where a tree does not come back whole, few of the lines that are not weak are wrong.
    """
    right = wrong_and_firm = all_lines = 0
    for seed in range(200):
        tradition = at_random(random.Random(seed), 8, 1 / 3)
        found = suggested_stemma(agreeing(copied(tradition, 25, mended=mended, seed=seed)))
        if found is None:
            right += 1
            continue
        truth = clades(tradition)
        right += clades_of(found) == truth
        hanging = [branch for branch in found.branches if branch.model and not branch.weak]
        all_lines += len(hanging)
        wrong_and_firm += sum(not _in_truth(branch, found, truth) for branch in hanging)
    assert right >= trees * 200
    assert wrong_and_firm <= firm * all_lines


def _in_truth(branch: Branch, found: SuggestedStemma, truth: Clades) -> bool:
    """Return whether a witness hangs, in truth, on the witness named, or on a lost model."""
    if branch.lost:
        return any(row in truth for row in clades_of(found) if not row[0])
    (own,) = (members for name, members in truth if name == branch.name)
    above = [row for row in truth if row[1] > own or (not row[0] and row[1] == own)]
    nearest, _ = min(above, key=lambda row: len(row[1]), default=("the original", own))
    return nearest == ("" if found.branch(branch.model).lost else branch.model)


class TestMixedModels:
    def test_half_from_one_and_half_from_the_other(self) -> None:
        """D follows H in the first half and E in the second."""
        made = {
            "H": errors("h20"),
            "E": errors("e20"),
            "D": errors("h10", "d9") | (errors("e20") - errors("e10")),
        }
        (mixture,) = suggested(agreeing(made)).mixed
        assert (mixture.witness, {mixture.first, mixture.second}) == ("D", {"H", "E"})
        assert (mixture.with_first, mixture.with_second) == (10, 10)

    def test_a_copy_compared_with_another_source(self) -> None:
        made = {"A": errors("a20"), "B": errors("b20"), "C": errors("a20", "b6", "c9")}
        stemma = suggested(agreeing(made))
        (mixture,) = stemma.mixed
        assert (mixture.witness, mixture.first, mixture.second) == ("C", "A", "B")
        assert stemma.branch("C").weak

    def test_copies_of_a_mixed_witness_are_not_named_again(self) -> None:
        mixed = errors("a20", "b10", "c9")
        made = {"A": errors("a20"), "B": errors("b20"), "C": mixed, "D": mixed | errors("d9")}
        assert [one.witness for one in suggested(agreeing(made)).mixed] == ["C"]

    @pytest.mark.parametrize("share", [0.4, 0.5, 0.6])
    def test_mixed_witnesses_of_any_tradition_are_told_or_their_lines_are_weak(
        self, share: float
    ) -> None:
        """A copy of two unrelated witnesses, so much of the one: never firm without a word."""
        for seed in range(100):
            luck = random.Random(seed)
            made = dict(copied(drawn("A(B(C)) x(D E(F))"), 20, seed=seed))
            one, other = luck.choice("ABC"), luck.choice("DEF")
            from_one = {error for error in sorted(made[one]) if luck.random() < share}
            from_other = {error for error in sorted(made[other]) if luck.random() < 1 - share}
            made["M"] = frozenset(from_one | from_other | errors("m9"))
            stemma = suggested(agreeing(made))
            assert "M" in {mixture.witness for mixture in stemma.mixed}
            assert stemma.branch("M").weak or not stemma.branch("M").model


def test_most_mixtures_within_a_family_are_told() -> None:
    """A copy of two copies of one model, half of what each has besides the other."""
    told = 0
    for seed in range(100):
        luck = random.Random(seed)
        made = dict(copied(drawn("y(A(B) C(D) E)"), 20))
        one, other = luck.choice(["AC", "BD", "AE"])
        only = sorted(made[one] ^ made[other])
        half = {error for error in only if luck.random() < 0.5}
        made["M"] = (made[one] & made[other]) | half | errors("m15")
        told += "M" in {mixture.witness for mixture in suggested(agreeing(made)).mixed}
    assert told >= 80


def gusfield(made: dict[str, frozenset[str]]) -> frozenset[frozenset[str]]:
    """Return the groups of the perfect tree: columns sorted as binary numbers, then laid as paths.

    Raises AssertionError where errors contradict one another.
    """
    columns = {
        frozenset(siglum for siglum, own in made.items() if error in own)
        for error in set().union(*made.values())
    }
    ordered = sorted(
        columns, key=lambda column: [siglum in column for siglum in sorted(made)], reverse=True
    )
    before: dict[frozenset[str], frozenset[str] | None] = {}
    for siglum in made:
        path = [column for column in ordered if siglum in column]
        for above, column in zip([None, *path[:-1]], path, strict=True):
            assert before.setdefault(column, above) == above, "errors contradict one another"
    return frozenset(columns)


@settings(deadline=None)
@given(SEEDS, st.integers(3, 10))
def test_the_tree_is_that_of_another_algorithm(seed: int, size: int) -> None:
    made = dict(copied(at_random(random.Random(seed), size, 0.4), 15))
    found = suggested_stemma(agreeing(made))
    if found is not None:
        assert {members for _, members in clades_of(found)} == gusfield(made)


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.permutations(list("ABCDEFGHJK")))
def test_the_order_of_the_witnesses_does_not_matter(seed: int, order: list[str]) -> None:
    made = copied(drawn(TRADITION), 12, mended=0.05, seed=seed)
    names = [siglum for siglum in order if siglum in made]
    one = suggested(agreeing(made))
    other = suggested(agreeing({siglum: made[siglum] for siglum in names}))
    assert clades_of(one) == clades_of(other)
    assert {m.witness for m in one.mixed} == {m.witness for m in other.mixed}


def test_from_the_notes_to_the_tree() -> None:
    """Forty bars, written out with wrong notes: A has six, E has them and seven more, S has those.

    D has A's and its own. Nothing is planted in the units; the collation finds it all.
    """
    luck = random.Random(4)
    scale = ["C5", "D5", "E5", "F5", "G5", "A5"]
    text = [[luck.choice(scale) for _ in range(4)] for _ in range(40)]
    bars = luck.sample(range(40), 30)

    def wrong(notes: list[list[str]], at: list[int]) -> list[list[str]]:
        copy = [list(bar) for bar in notes]
        for bar in at:
            copy[bar][bar % 4] = {"C5": "E5", "D5": "F5"}.get(copy[bar][bar % 4], "C5")
        return copy

    def written(notes: list[list[str]]) -> str:
        return " | ".join(" ".join(f"4:{one}" for one in bar) for bar in notes)

    a = wrong(text, bars[:6])
    e = wrong(a, bars[6:13])
    made = {"S": wrong(e, bars[13:20]), "D": wrong(a, bars[20:30]), "E": e, "A": a}
    base = music(written(text))
    found = agreement(
        {
            (siglum, 1): collate(base, lay_beside(base, music(written(notes))), siglum, 1)
            for siglum, notes in made.items()
        }
    )
    assert lines(suggested(found)) == [
        "A < - 0/0 +6",
        "E < A 6/6 +7",
        "S < E 13/13 +7",
        "D < A 6/6 +10",
    ]
