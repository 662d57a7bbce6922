"""People out of a number, and parts that add up, against published worked examples.

Each example names its source. "Read" means that inputs and answer were read there; "computed"
that the inputs were read and the answer was worked out with another library.
"""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import binomtest

from plainleaf.errors import EvidenceProblem
from plainleaf.evidence.arithmetic import round_half_up
from plainleaf.evidence.intervals import wilson
from plainleaf.evidence.people import (
    Estimate,
    PeopleTree,
    adds_up,
    complement,
    half_up,
    largest_remainder,
    people_tree,
    rounded_down,
    rounded_up,
    tree_from_counts,
)

PUBLISHED_TREES = [
    # American Dental Association 2017 (PMC7366378), Tables 1 and 5, all four cells read.
    ((0.25, 50, 39), 100_000, (125, 125, 60_847, 38_903)),
    ((2, 50, 39), 100_000, (1_000, 1_000, 59_780, 38_220)),
    ((0.25, 92, 94), 100_000, (230, 20, 5_985, 93_765)),
    ((2, 92, 94), 100_000, (1_840, 160, 5_880, 92_120)),
    # Gigerenzer's breast screening example (1 %, 90 %, 9 % false alarms), read as quoted.
    ((1, 90, 91), 1_000, (9, 1, 89, 901)),
    # Eddy's problem as told by Yudkowsky (1 %, 80 %, 9.6 %): inputs read, cells computed.
    ((1, 80, 90.4), 1_000, (8, 2, 95, 895)),
    # Gigerenzer, Calculated Risks (0.8 %, 90 %, 7 %): inputs read. He prints 7 of "some 70"
    # false alarms; the exact 69.4 is 69 people.
    ((0.8, 90, 93), 1_000, (7, 1, 69, 923)),
]


@pytest.mark.parametrize(("inputs", "total", "cells"), PUBLISHED_TREES)
def test_published_tables_come_out_cell_for_cell(
    inputs: tuple[float, float, float], total: int, cells: tuple[int, ...]
) -> None:
    assert people_tree(*map(Estimate.percent, inputs), total).cells == cells
    shares = [Estimate(float(f"{value / 100:.6g}")) for value in inputs]
    assert people_tree(*shares, total).cells == cells


def test_nine_of_ninety_eight_and_not_ten() -> None:
    # Two pages (2009, 2020; read) that retell Gigerenzer: 9 of 98 flagged have it; 10 have it.
    tree = people_tree(Estimate(0.01), Estimate(0.9), Estimate(0.91))
    assert (tree.found, tree.flagged, tree.not_flagged) == (9, 98, 902)
    assert (tree.diseased, tree.not_diseased) == (10, 990)


def test_the_general_practice_study() -> None:
    # McNamara 2012: 130 people, 42 dark, 1 of them real, 1 missed (counts quoted).
    tree = tree_from_counts(130, 42, 1, 1)
    assert tree.cells == (1, 1, 31, 67)
    assert tree_from_counts(130, 42, 1, 1, total=130).cells == (1, 1, 41, 87)
    assert (tree.low, tree.high, tree.caveat) == (None, None, "")


@pytest.mark.parametrize(
    "counts",
    [(130, 42, 43, 1), (130, 131, 1, 0), (130, 42, 1, 89), (130, 42, -1, 1), (130, 42, 1, -1)],
)
def test_counts_that_exceed_their_whole_are_refused(counts: tuple[int, int, int, int]) -> None:
    with pytest.raises(ValueError, match="no possible counts"):
        tree_from_counts(*counts)


def test_nobody_looked_at_makes_no_tree() -> None:
    with pytest.raises(ValueError, match="cannot be shared out"):
        tree_from_counts(0, 0, 0, 0)
    with pytest.raises(ValueError, match="no tree"):
        people_tree(Estimate(0.1), Estimate(0.1), Estimate(0.1), total=0)


def test_ends_are_taken_at_every_combination_and_rounded_outwards() -> None:
    # Sensitivity and specificity of ADA 2017, Table 1, with their intervals; computed by hand:
    # 20 of 1,000 have it; 20 x 0.21 = 4.2; 20 x 0.79 = 15.8; 980 x 0.53 = 519.4 and so on.
    tree = people_tree(Estimate(0.02), Estimate(0.5, 0.21, 0.79), Estimate(0.39, 0.31, 0.47))
    assert (tree.low, tree.high) == ((4, 4, 519, 303), (16, 16, 677, 461))


def test_no_ends_where_a_study_gives_none() -> None:
    tree = people_tree(Estimate(0.02, 0.01, 0.03), Estimate(0.5, 0.21, 0.79), Estimate(0.39))
    assert (tree.low, tree.high) == (None, None)


def specialist(**more: str | bool) -> PeopleTree:
    # Moffa 2021: 81.3 % (74.3 to 87.5) and 52.1 % (36.9 to 67.1), specialist clinics, read.
    accuracy = Estimate.percent(81.3, 74.3, 87.5), Estimate.percent(52.1, 36.9, 67.1)
    given_more: dict = {"setting": "specialist-clinics", **more}
    return people_tree(Estimate(0.02), *accuracy, **given_more)


def test_accuracy_from_specialists_is_refused_for_other_readers() -> None:
    with pytest.raises(EvidenceProblem) as caught:
        specialist()
    assert "specialist-clinics" in caught.value.found
    assert "general-practice" in caught.value.found
    assert caught.value.why and caught.value.do
    with pytest.raises(EvidenceProblem):
        specialist(reader_setting="primary-care")
    assert specialist(accept_caveat=True).caveat == "specialist-clinics"
    assert specialist(reader_setting="specialist-clinics").caveat == ""


def test_same_prevalence_as_the_table_of_checks() -> None:
    # At 2 %: light 3.4 % (Moffa) and ADA 1.6 % of those flagged have it; read and computed.
    pooled = specialist(accept_caveat=True)
    assert 100 * pooled.found / pooled.flagged == pytest.approx(3.4, abs=0.2)
    ada = people_tree(Estimate(0.02), Estimate(0.5), Estimate(0.39), 100_000)
    assert 100 * ada.found / ada.flagged == pytest.approx(1.6, abs=0.05)


@pytest.mark.parametrize("setting", ["general-practice", "primary-care"])
@pytest.mark.parametrize("reader", ["general-practice", "specialist-clinics"])
def test_a_study_from_everyday_practice_fits_both(setting: str, reader: str) -> None:
    tree = people_tree(
        Estimate(0.02), Estimate(0.5), Estimate(0.39), setting=setting, reader_setting=reader
    )
    assert tree.caveat == ""


def test_a_misspelt_setting_cannot_slip_past_the_refusal() -> None:
    with pytest.raises(ValueError, match="no setting"):
        specialist(setting="specialist-clinic")
    with pytest.raises(ValueError, match="no setting"):
        specialist(reader_setting="my practice")


@pytest.mark.parametrize(
    "ends", [(0.5, 0.6, 0.7), (0.5, 0.4, None), (1.2, None, None), (-0.1, None, None), (50, 21, 79)]
)
def test_an_estimate_that_cannot_be_is_refused(ends: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="no share of people|is missing"):
        Estimate(*ends)


def test_percentages_are_divided_exactly() -> None:
    # 0.7 / 100 is 0.006999999999999999 in binary, and half of 1,000 times it would fall short.
    assert Estimate.percent(0.7).value == Fraction(7, 1000)
    assert Estimate.percent(50, 21, 79) == Estimate(
        Fraction(1, 2), Fraction(21, 100), Fraction(79, 100)
    )


@pytest.mark.parametrize(
    "more",
    [
        {"cleared": 66},
        {"found": -1, "missed": 3},
        {"low": (0, 0, 0, 0)},
        {"low": (0, 0, 32, 0), "high": (9, 9, 99, 99)},
    ],
)
def test_a_tree_that_does_not_add_up_cannot_be_made(more: dict) -> None:
    cells = {"total": 100, "found": 1, "missed": 1, "false_alarms": 31, "cleared": 67}
    with pytest.raises(ValueError, match=r"do not make|is missing|are not inside"):
        PeopleTree(**cells | more)


@pytest.mark.parametrize(
    ("percent", "people"),
    # 12.5 % and 13.5 %: babel 2.18 and Python's round() give 12 and 14 (halves to even).
    [(12.5, 13), (13.5, 14), (0.5, 1), (99.5, 100)],
)
def test_half_a_person_is_rounded_up(percent: float, people: int) -> None:
    assert people_tree(*map(Estimate.percent, (percent, 100, 100)), 100).diseased == people
    assert half_up(Fraction(percent)) == people == round_half_up(percent)


@pytest.mark.parametrize(("percent", "people"), [(12.5, (13, 87)), (13.5, (14, 86))])
def test_a_tie_of_halves_goes_to_the_earlier_part(percent: float, people: tuple[int, int]) -> None:
    assert largest_remainder([percent, 100 - percent], 100) == people
    assert largest_remainder([100 - percent, percent], 100) == (people[1] + 1, people[0] - 1)


HOUSE_OF_1792 = {
    # Hamilton's bill of 1792: census of 1790, 120 seats. Populations and the seats of his method
    # read in two textbook examples (For All Practical Purposes, chapter 14, example 6).
    "Virginia": (630_560, 21),
    "Massachusetts": (475_327, 16),
    "Pennsylvania": (432_879, 14),
    "North Carolina": (353_523, 12),
    "New York": (331_589, 11),
    "Maryland": (278_514, 9),
    "Connecticut": (236_841, 8),
    "South Carolina": (206_236, 7),
    "New Jersey": (179_570, 6),
    "New Hampshire": (141_822, 5),
    "Vermont": (85_533, 3),
    "Georgia": (70_835, 2),
    "Kentucky": (68_705, 2),
    "Rhode Island": (68_446, 2),
    "Delaware": (55_540, 2),
}


def test_largest_remainder_shares_out_the_house_of_1792() -> None:
    people, seats = zip(*HOUSE_OF_1792.values(), strict=True)
    assert sum(people) == 3_615_920
    assert largest_remainder(people, 120) == seats


@pytest.mark.parametrize(
    ("parts", "total", "shared"),
    [
        # Votes and seats of a much used example of the method, from memory.
        ([47_000, 16_000, 15_900, 12_000, 6_000, 3_100], 10, (5, 2, 1, 1, 1, 0)),
        ([1, 1, 1], 100, (34, 33, 33)),
        ([Fraction(1, 3), Fraction(2, 3)], 100, (33, 67)),
        ([0.1, 0.2, 0.7], 10, (1, 2, 7)),
        ([0, 5], 3, (0, 3)),
        ([2, 3], 0, (0, 0)),
    ],
)
def test_largest_remainder(
    parts: list[Fraction | float], total: int, shared: tuple[int, ...]
) -> None:
    assert largest_remainder(parts, total) == shared


@pytest.mark.parametrize(
    ("parts", "total"), [([], 10), ([0, 0], 10), ([1, -1], 10), ([1, 2], -1), ([float("nan")], 1)]
)
def test_parts_that_cannot_be_shared_out_are_refused(parts: list[float], total: int) -> None:
    with pytest.raises(ValueError):
        largest_remainder(parts, total)


def test_the_other_people() -> None:
    assert complement(8, 100) == 92
    for count in (-1, 101):
        with pytest.raises(ValueError, match="no possible count"):
            complement(count, 100)


@pytest.mark.parametrize(
    ("total", "parts", "tolerance"),
    [
        # Pages whose parts give their total (all read), some by rounding alone.
        (476_125, [377_713, 98_412], 0),  # GLOBOCAN 2020 (named from memory): mouth, oropharynx
        (8_772, [5_877, 2_894], 1),  # Oral Health Foundation 2020
        (12_060, [8_200, 3_860], 0),  # Santé publique France
        (12_940, [9_290, 3_650], 0),  # Robert Koch-Institut
        (14_700, [11_200, 3_500], 0),  # INCA
        (8_100, [5_800, 2_300], 0),  # Canada, new cases
        (2_100, [1_550, 590], 60),  # Canada, deaths: total to hundreds, parts to tens
        (1, [0.1, 0.2, 0.7], 0),
        (Fraction(100 * 357, 2404), [15], 0.5),  # Laronde 2014: 357 of 2,404 is 15 %
    ],
)
def test_pages_that_add_up(total: float, parts: list[float], tolerance: float) -> None:
    assert adds_up(total, parts, tolerance)


@pytest.mark.parametrize(
    ("total", "parts", "tolerance"),
    [
        (53_260, [38_330, 14_880], 15),  # Cancer.Net 01/2020, rounded to tens: 50 are lost
        (8_772, [5_877, 2_894], 0),  # Oral Health Foundation 2020, without its rounding
        (2_100, [1_550, 590], 0),  # Canada, deaths, without its rounding
        (Fraction(100 * 325, 2404), [15], 0.5),  # Laronde 2014 prints 15 %; it is 13.5 %
        (Fraction(100 * 3, 67), [6], 0.5),  # Kruse 2010 prints 6 %; it is 4.5 %
        (1_000, [7, 1, 70, 923], 0),  # Calculated Risks with its "some 70" beside our 923
        (1_000, [10, 1, 89, 901], 0),  # the ten who have it, taken for the nine found
    ],
)
def test_pages_that_do_not_add_up(total: float, parts: list[float], tolerance: float) -> None:
    assert not adds_up(total, parts, tolerance)


def test_a_printed_interval_that_its_counts_do_not_give() -> None:
    # IJERPH 2021;18:11775 prints 82.8 to 97.9 for 56 of 62 (read); exact is 80.1 to 96.4.
    clopper = binomtest(56, 62).proportion_ci(method="exact")
    assert (100 * clopper.low, 100 * clopper.high) == pytest.approx((80.1, 96.4), abs=0.05)
    assert 100 * wilson(56, 62).low == pytest.approx(80.5, abs=0.05)
    assert 100 * wilson(56, 62).high == pytest.approx(95.5, abs=0.05)


@pytest.mark.parametrize(
    ("value", "digits", "down", "up"),
    [
        (12_770, 2, 12_000, 13_000),
        (4_320, 2, 4_300, 4_400),
        (99.1, 2, 99, 100),
        (0.0456, 2, 0.045, 0.046),
        (0.29, 2, 0.29, 0.29),
        (377_713, 1, 300_000, 400_000),
        (12_000, 2, 12_000, 12_000),
        (0, 2, 0, 0),
    ],
)
def test_more_than_and_fewer_than_hold(value: float, digits: int, down: float, up: float) -> None:
    assert (rounded_down(value, digits), rounded_up(value, digits)) == (down, up)


@pytest.mark.parametrize(("value", "digits"), [(-1, 2), (1, 0)])
def test_what_cannot_be_cut_is_refused(value: float, digits: int) -> None:
    for cut in (rounded_down, rounded_up):
        with pytest.raises(ValueError, match="leading digits"):
            cut(value, digits)


@given(st.floats(0, 1e12, allow_subnormal=False), st.integers(1, 6))
def test_cut_numbers_enclose_the_value(value: float, digits: int) -> None:
    assert rounded_down(value, digits) <= value <= rounded_up(value, digits)


PARTS = st.lists(st.fractions(0, 1000, max_denominator=997), min_size=1, max_size=12)


@given(PARTS, st.integers(0, 100_000))
def test_parts_always_add_up_and_stay_within_one_person(parts: list[Fraction], total: int) -> None:
    assume(any(parts))
    shared = largest_remainder(parts, total)
    assert sum(shared) == total
    for whole, part in zip(shared, parts, strict=True):
        assert abs(whole - part * total / sum(parts)) < 1


@given(PARTS, st.integers(0, 1000))
def test_a_larger_part_never_gets_fewer_people(parts: list[Fraction], total: int) -> None:
    assume(any(parts))
    shared = zip(sorted(parts), largest_remainder(sorted(parts), total), strict=True)
    for (part, people), (next_part, next_people) in pairwise(shared):
        assert people <= next_people or part == next_part


SHARE = st.integers(0, 1000).map(lambda n: Fraction(n, 1000))
WITH_ENDS = st.tuples(SHARE, SHARE, SHARE).map(sorted).map(lambda s: Estimate(s[1], s[0], s[2]))
TOTALS = st.integers(1, 100_000)


@given(SHARE, SHARE, SHARE, TOTALS)
def test_a_tree_is_bayes_to_within_one_person(
    prevalence: Fraction, sensitivity: Fraction, specificity: Fraction, total: int
) -> None:
    tree = people_tree(*map(Estimate, (prevalence, sensitivity, specificity)), total)
    assert sum(tree.cells) == tree.flagged + tree.not_flagged == total
    assert tree.diseased + tree.not_diseased == total
    assert abs(tree.diseased - prevalence * total) <= Fraction(1, 2)
    exact_cells = (
        prevalence * sensitivity,
        prevalence * (1 - sensitivity),
        (1 - prevalence) * (1 - specificity),
        (1 - prevalence) * specificity,
    )
    for cell, share in zip(tree.cells, exact_cells, strict=True):
        assert abs(cell - share * total) <= 1


@given(WITH_ENDS, WITH_ENDS, WITH_ENDS, TOTALS, st.tuples(SHARE, SHARE, SHARE))
def test_no_tree_inside_the_inputs_lies_outside_the_ends(
    prevalence: Estimate,
    sensitivity: Estimate,
    specificity: Estimate,
    total: int,
    steps: tuple[Fraction, ...],
) -> None:
    tree = people_tree(prevalence, sensitivity, specificity, total)
    assert tree.low is not None and tree.high is not None
    inputs = (prevalence, sensitivity, specificity)
    inside = [
        Estimate(one.ends[0] + step * (one.ends[1] - one.ends[0]))
        for one, step in zip(inputs, steps, strict=True)
    ]
    other = people_tree(*inside, total)
    for low, cell, high in zip(tree.low, other.cells, tree.high, strict=True):
        assert low <= cell <= high


@given(SHARE, SHARE, SHARE, SHARE, TOTALS)
def test_a_better_test_finds_more_and_alarms_fewer(
    prevalence: Fraction, one: Fraction, other: Fraction, fixed: Fraction, total: int
) -> None:
    worse, better = sorted((one, other))
    by_sensitivity = [
        people_tree(Estimate(prevalence), Estimate(value), Estimate(fixed), total)
        for value in (worse, better)
    ]
    assert by_sensitivity[0].found <= by_sensitivity[1].found
    assert by_sensitivity[0].missed >= by_sensitivity[1].missed
    by_specificity = [
        people_tree(Estimate(prevalence), Estimate(fixed), Estimate(value), total)
        for value in (worse, better)
    ]
    assert by_specificity[0].cleared <= by_specificity[1].cleared
    assert by_specificity[0].false_alarms >= by_specificity[1].false_alarms
    by_prevalence = [
        people_tree(Estimate(value), Estimate(fixed), Estimate(fixed), total)
        for value in (worse, better)
    ]
    assert by_prevalence[0].diseased <= by_prevalence[1].diseased
    assert by_prevalence[0].found <= by_prevalence[1].found


@given(st.lists(st.integers(0, 5000), min_size=4, max_size=4), st.sampled_from([100, 1000]))
def test_a_study_of_counts_always_adds_up(cells: list[int], total: int) -> None:
    assume(any(cells))
    real, missed, alarms, cleared = cells
    tree = tree_from_counts(sum(cells), real + alarms, real, missed, total=total)
    assert sum(tree.cells) == total
    for whole, part in zip(tree.cells, cells, strict=True):
        assert abs(whole - Fraction(part * total, sum(cells))) < 1
