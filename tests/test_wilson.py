"""Wilson score intervals, against published worked examples and two libraries.

Each example names its source. "Read" means that inputs and answer were read there; "computed"
that the inputs were read and the answer was worked out with another library.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest
from statsmodels.stats.proportion import proportion_confint

from plainleaf.evidence.intervals import Interval, wilson


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
