"""Intervals, people out of a number and standardised rates, against published worked examples.

Each example names its source. "Read" means that inputs and answer were read there; "computed"
that the inputs were read and the answer was worked out with another library.
"""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import binomtest, chi2, gamma
from statsmodels.stats.proportion import proportion_confint

from plainleaf.errors import EvidenceProblem, FactsProblem
from plainleaf.evidence.arithmetic import round_half_up
from plainleaf.evidence.intervals import Interval, standard_score, wilson
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
from plainleaf.evidence.rates import (
    AgeBand,
    chi_square,
    fold,
    read_registry,
    standard,
    standardised,
)

# --- Wilson score interval ---


@pytest.mark.parametrize(
    ("count", "of", "low", "high"),
    [
        # Pairs of Newcombe 1998 (Stat Med 17:857-872), read; his method 3 from memory, computed.
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0000, 0.1611),
        (1, 29, 0.0061, 0.1718),
        (29, 29, 0.8830, 1.0000),
        # Counts of McNamara 2012, an oral study in IJERPH 2021;18:11775, Kruse 2010 and
        # Shulman 2004, read; answers computed.
        (1, 42, 0.0042, 0.1232),
        (6, 94, 0.0296, 0.1323),
        (67, 278, 0.1945, 0.2946),
        (4801, 17235, 0.2719, 0.2853),
    ],
)
def test_wilson_as_published_and_as_two_libraries_have_it(
    count: int, of: int, low: float, high: float
) -> None:
    ours = wilson(count, of)
    assert (ours.low, ours.high) == pytest.approx((low, high), abs=5e-5)
    theirs = proportion_confint(count, of, method="wilson")
    assert (ours.low, ours.high) == pytest.approx(theirs, abs=1e-12)
    scipys = binomtest(count, of).proportion_ci(method="wilson")
    assert (ours.low, ours.high) == pytest.approx((scipys.low, scipys.high), abs=1e-12)


@pytest.mark.parametrize("level", [0.8, 0.9, 0.99, 0.998])
def test_wilson_at_other_levels(level: float) -> None:
    ours = wilson(15, 148, level)
    theirs = proportion_confint(15, 148, alpha=1 - level, method="wilson")
    assert (ours.low, ours.high) == pytest.approx(theirs, abs=1e-12)


@pytest.mark.parametrize(("count", "of"), [(-1, 20), (21, 20), (0, 0), (0, -5)])
def test_an_impossible_count_has_no_interval(count: int, of: int) -> None:
    with pytest.raises(ValueError, match="no possible count"):
        wilson(count, of)


@pytest.mark.parametrize("level", [0, 1, -0.5, 95])
def test_an_impossible_level_is_refused(level: float) -> None:
    with pytest.raises(ValueError, match="no level"):
        wilson(1, 2, level)


def test_whole_people_never_claim_more_than_the_interval() -> None:
    assert wilson(1, 42).out_of(100) == (0, 13)
    assert wilson(0, 20).out_of(1000) == (0, 162)
    # 0.07 * 100 is 7.000000000000001 in binary: the written number counts, not its noise.
    assert Interval(0.07, 0.29).out_of(100) == (7, 29)
    assert Interval(0, 1).out_of(7) == (0, 7)
    for ends in ((0.3, 0.2), (-0.1, 0.2), (0.5, 1.1)):
        with pytest.raises(ValueError, match="no interval"):
            Interval(*ends)
    with pytest.raises(ValueError, match="out of 0"):
        Interval(0.1, 0.2).out_of(0)


COUNTS = st.integers(1, 100_000).flatmap(lambda of: st.tuples(st.integers(0, of), st.just(of)))


@given(COUNTS)
def test_wilson_holds_the_share_and_stays_between_none_and_all(pair: tuple[int, int]) -> None:
    count, of = pair
    ours = wilson(count, of)
    assert 0 <= ours.low <= count / of <= ours.high <= 1


@given(COUNTS, st.integers(2, 50))
def test_wilson_narrows_with_more_people(pair: tuple[int, int], times: int) -> None:
    few, many = wilson(*pair), wilson(pair[0] * times, pair[1] * times)
    assert many.high - many.low < few.high - few.low


@given(COUNTS)
def test_wilson_of_the_other_people_is_its_mirror(pair: tuple[int, int]) -> None:
    count, of = pair
    ours, others = wilson(count, of), wilson(of - count, of)
    assert (1 - others.high, 1 - others.low) == pytest.approx((ours.low, ours.high), abs=1e-12)


@given(COUNTS, st.sampled_from([100, 1000]))
def test_whole_people_cover_the_interval(pair: tuple[int, int], n: int) -> None:
    ours = wilson(*pair)
    low, high = ours.out_of(n)
    assert 0 <= low <= ours.low * n + 1e-9
    assert ours.high * n - 1e-9 <= high <= n


# --- People out of one number ---

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


# --- Direct age standardisation ---

# Down's syndrome by mother's age (under 20, 20-24 ... 40 and over) and birth order, Michigan:
# Fleiss 1981, page 249, as given with the ageadjust.direct example of the R package epitools,
# which recreates Table 1 of Fay and Feuer 1997 (data read).
BIRTHS = {
    "1": (230_061, 329_449, 114_920, 39_487, 14_208, 3_052),
    "2": (72_202, 326_701, 208_667, 83_228, 28_466, 5_375),
    "3": (15_050, 175_702, 207_081, 117_300, 45_026, 8_660),
    "4": (2_293, 68_800, 132_424, 98_301, 46_075, 9_834),
    "5+": (327, 30_666, 123_419, 149_919, 104_088, 34_392),
}
CASES = {
    "1": (107, 141, 60, 40, 39, 25),
    "2": (25, 150, 110, 84, 82, 39),
    "3": (3, 71, 114, 103, 108, 75),
    "4": (1, 26, 64, 89, 137, 96),
    "5+": (0, 8, 63, 112, 262, 295),
}
ALL_BIRTHS = (319_933, 931_318, 786_511, 488_235, 237_863, 61_313)
FLEISS = {
    # crude, adjusted, gamma limits of Fay and Feuer; 5+ read (another R package prints 75.52901,
    # 67.70212 and 188.30017), the others computed from their formula.
    "1": (56.3, 92.3, 80.4, 105.8),
    "2": (67.6, 91.2, 82.4, 100.9),
    "3": (83.3, 85.1, 77.2, 94.2),
    "4": (115.5, 92.7, 80.0, 114.7),
    "5+": (167.1, 75.5, 67.7, 188.3),
}


def fay_feuer(
    cases: Sequence[int], people: Sequence[int], weights: Sequence[float]
) -> tuple[float, float]:
    """The gamma limits of Fay and Feuer 1997 per 100,000, from their formula with scipy."""
    shares = [weight / sum(weights) / n for weight, n in zip(weights, people, strict=True)]
    rate = sum(share * n for share, n in zip(shares, cases, strict=True))
    variance = sum(share**2 * n for share, n in zip(shares, cases, strict=True))
    top = rate + max(shares)
    wider = variance + max(shares) ** 2
    low = gamma.ppf(0.025, rate**2 / variance, scale=variance / rate)
    high = gamma.ppf(0.975, top**2 / wider, scale=wider / top)
    return float(low * 1e5), float(high * 1e5)


@pytest.mark.parametrize("order", FLEISS)
def test_the_example_of_fleiss(order: str) -> None:
    crude, adjusted, low, high = FLEISS[order]
    rate = standardised(CASES[order], BIRTHS[order], ALL_BIRTHS)
    assert tuple(map(sum, zip(*BIRTHS.values(), strict=True))) == ALL_BIRTHS
    assert round_half_up(rate.crude, 1) == crude
    assert round_half_up(rate.value, 1) == adjusted
    theirs = fay_feuer(CASES[order], BIRTHS[order], ALL_BIRTHS)
    assert theirs == pytest.approx((low, high), abs=0.051)
    assert (rate.low, rate.high) == pytest.approx(theirs, rel=0.01)


@pytest.mark.parametrize("degrees", [10, 21.5, 200, 90_000])
@pytest.mark.parametrize("probability", [0.025, 0.5, 0.975])
def test_chi_square_quantiles_are_close_to_the_exact_ones(
    degrees: float, probability: float
) -> None:
    exact = chi2.ppf(probability, degrees)
    assert chi_square(probability, degrees) == pytest.approx(exact, rel=0.015, abs=0.02)


def test_the_standard_score_of_ninety_five_percent() -> None:
    assert standard_score(0.95) == pytest.approx(1.959964, abs=1e-6)


@pytest.mark.parametrize(
    ("cases", "people", "crude"),
    [
        # U.S. Cancer Statistics 2019, oral cavity and pharynx: counts read, rate computed.
        (47_783, 328_329_953, 14.55),
        # CDC WONDER 1999, all sites: counts and crude rate read.
        (1_330_622, 272_809_488, 487.7),
    ],
)
def test_published_crude_rates(cases: int, people: int, crude: float) -> None:
    rate = standardised([cases], [people], [1])
    digits = len(str(crude).partition(".")[2])
    assert round_half_up(rate.crude, digits) == crude
    assert rate.value == pytest.approx(rate.crude)


@pytest.mark.parametrize(
    ("cases", "says"),
    [([5, None, 3], "age group 1 "), ([None, None, 3], "age group 0 "), ([5, 1, 3], "9 cases")],
)
def test_suppressed_and_too_few_cases_give_no_rate(cases: list[int | None], says: str) -> None:
    with pytest.raises(EvidenceProblem) as caught:
        standardised(cases, [1000, 1000, 1000], [1, 1, 1])
    assert says in caught.value.found


@pytest.mark.parametrize(
    ("cases", "people", "weights"),
    [
        ([10, 10], [100], [1, 1]),
        ([10, 10], [100, 100], [1]),
        ([20, -1], [100, 100], [1, 1]),
        ([10, 10], [100, 0], [1, 1]),
        ([10, 10], [100, 100], [2, -1]),
        ([10, 10], [100, 100], [0, 0]),
        ([], [], []),
    ],
)
def test_groups_that_do_not_match_are_refused(
    cases: list[int], people: list[int], weights: list[float]
) -> None:
    with pytest.raises(ValueError):
        standardised(cases, people, weights)


@pytest.mark.parametrize(
    ("name", "groups", "first", "total"),
    [
        # Totals of the published tables: US 2000 (NCHS Statistical Notes 20, thousands), WHO
        # 2000-2025 (adds up to 100.03), Segi, European 1976 and 2013; all read in open data.
        ("us-2000", 19, 3_795, 274_634),
        ("who-2000-2025", 18, 8.86, 100.03),
        ("segi", 18, 12, 100),
        ("european-1976", 18, 8, 100),
        ("european-2013", 21, 10, 1_000),
    ],
)
def test_standard_populations(name: str, groups: int, first: float, total: float) -> None:
    shares = standard(name)
    assert len(shares) == groups
    assert list(shares) == sorted(shares) and next(iter(shares)) == 0
    assert sum(shares.values()) == pytest.approx(1)
    assert shares[0] == pytest.approx(first / total)


def test_the_us_standard_per_million_as_published() -> None:
    # Per million, ages 1-4, 50-54 and 85+, read: 55,317, 62,716 (55-59 is 48,454) and 15,508.
    shares = standard("us-2000")
    assert [round(1e6 * shares[age]) for age in (1, 50, 55, 85)] == [55_317, 62_716, 48_454, 15_508]


def test_a_standard_that_nobody_has() -> None:
    with pytest.raises(EvidenceProblem, match="no standard population 'us-1940'"):
        standard("us-1940")


REGISTRY = """age_from,cases,people
0,10,1000
1,20,4000
5,~,5000
10,,5000
15,40,5000
"""


def registry(tmp_path: Path, text: str) -> Path:
    file = tmp_path / "registry.csv"
    file.write_text(text, "utf-8")
    return file


def test_a_registry_is_read_and_what_it_hides_is_missing(tmp_path: Path) -> None:
    bands = read_registry(registry(tmp_path, "\ufeff" + REGISTRY))
    assert bands[:3] == [(0, 10, 1000), (1, 20, 4000), (5, None, 5000)]
    assert [band.cases for band in bands] == [10, 20, None, None, 40]


@pytest.mark.parametrize("mark", [";", "\t", "; "])
def test_a_registry_may_be_saved_with_semicolons_or_tabs(tmp_path: Path, mark: str) -> None:
    with_commas = read_registry(registry(tmp_path, REGISTRY))
    assert read_registry(registry(tmp_path, REGISTRY.replace(",", mark))) == with_commas


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("age_from,", "age_from,people,", "registry.csv line 1: the column 'people' is there tw"),
        ("1,20,", '1,"20,', "registry.csv line 3: the line cannot be split into cells"),
        ("people\n", "persons\n", "registry.csv line 1: the column 'people' is missing"),
        ("1,20,", '1,"1,200",', "registry.csv line 3: cases '1,200' is not a whole number"),
        ("1,20,", "1,-20,", "registry.csv line 3: cases '-20' is not"),
        ("1,20,4000", "1,20,", "registry.csv line 3: people '' is not"),
        ("1,20,4000", "1,20,0", "registry.csv line 3: there is nobody"),
        ("1,20,4000", "1,20", "registry.csv line 3: the row has too many or too few cells"),
        ("1,20,4000", "1,20,4,000", "registry.csv line 3: the row has too many or too few cells"),
        ("5,~", "1-4,~", "registry.csv line 4: age_from '1-4' is not"),
        ("10,,", "5,,", "registry.csv line 5: age 5 does not follow 5"),
    ],
)
def test_a_bad_line_is_named(tmp_path: Path, old: str, new: str, says: str) -> None:
    with pytest.raises(FactsProblem) as caught:
        read_registry(registry(tmp_path, REGISTRY.replace(old, new)))
    assert caught.value.found.startswith(says)


def test_a_registry_that_is_empty_or_not_there(tmp_path: Path) -> None:
    with pytest.raises(FactsProblem, match="no age group"):
        read_registry(registry(tmp_path, REGISTRY.partition("\n")[0]))
    with pytest.raises(FactsProblem, match="FileNotFoundError"):
        read_registry(tmp_path / "nowhere.csv")


def test_wider_bands_get_the_sum_of_the_standards_weights() -> None:
    bands = [AgeBand(0, 10, 100), AgeBand(20, 20, 100), AgeBand(65, 30, 100)]
    folded, weights = fold(bands, standard("segi"))
    assert folded == bands
    # Segi: 12 + 10 + 9 + 9 up to 19, 8 + 8 + 6 x 4 + 5 + 4 + 4 to 64, and 3 + 2 + 1 + 1.
    assert [round(100 * weight, 6) for weight in weights] == [40, 53, 7]


def test_infants_are_put_together_where_the_standard_has_them_together() -> None:
    bands = [AgeBand(0, 1, 10), AgeBand(1, 2, 40), AgeBand(5, 30, 900)]
    folded, weights = fold(bands, standard("who-2000-2025"))
    assert folded == [(0, 3, 50), (5, 30, 900)]
    assert weights == pytest.approx([8.86 / 100.03, 91.17 / 100.03])
    hidden, _ = fold([bands[0], AgeBand(1, None, 40), bands[2]], standard("segi"))
    assert hidden[0] == (0, None, 50)
    split, _ = fold(bands, standard("european-2013"))
    assert split == bands


@pytest.mark.parametrize("starts", [(0, 18, 45), (20, 40), (0, 1, 10), (0, 15, 17), ()])
def test_ages_that_do_not_meet_are_refused(starts: tuple[int, ...]) -> None:
    bands = [AgeBand(age, 10, 100) for age in starts]
    with pytest.raises(EvidenceProblem, match="do not meet at age"):
        fold(bands, standard("segi"))


def test_older_bands_than_the_standards_last_are_put_together() -> None:
    bands = [AgeBand(0, 5, 100), AgeBand(85, 6, 10), AgeBand(90, 7, 10)]
    assert fold(bands, standard("segi"))[0] == [(0, 5, 100), (85, 13, 20)]


GROUPS = st.lists(st.tuples(st.integers(1, 10_000), st.integers(1, 1000)), min_size=1, max_size=19)


@given(GROUPS, st.integers(1, 20))
def test_equal_rates_at_every_age_are_the_crude_rate(
    groups: list[tuple[int, int]], cases: int
) -> None:
    counts = [cases * size for size, _ in groups]
    assume(sum(counts) >= 10)
    rate = standardised(counts, [1000 * size for size, _ in groups], [w for _, w in groups])
    assert rate.value == pytest.approx(rate.crude)
    assert rate.crude == pytest.approx(100 * cases)
    assert 0 <= rate.low < rate.crude < rate.high


@given(GROUPS, st.data())
def test_a_standardised_rate_lies_between_the_rates_of_its_ages(
    groups: list[tuple[int, int]], data: st.DataObject
) -> None:
    counts = [data.draw(st.integers(0, 1000 * size)) for size, _ in groups]
    assume(sum(counts) >= 10)
    people = [1000 * size for size, _ in groups]
    rate = standardised(counts, people, [w for _, w in groups])
    by_age = [1e5 * count / n for count, n in zip(counts, people, strict=True)]
    assert min(by_age) - 1e-6 <= rate.value <= max(by_age) + 1e-6
    assert 0 <= rate.low <= rate.value <= rate.high


@given(GROUPS, st.integers(2, 1000))
def test_only_the_proportions_of_the_weights_count(
    groups: list[tuple[int, int]], times: int
) -> None:
    counts, people = [size + 9 for size, _ in groups], [1000 * size for size, _ in groups]
    weights = [w for _, w in groups]
    plain = standardised(counts, people, weights)
    scaled = standardised(counts, people, [times * w for w in weights])
    assert (plain.value, plain.low, plain.high) == pytest.approx(
        (scaled.value, scaled.low, scaled.high)
    )
