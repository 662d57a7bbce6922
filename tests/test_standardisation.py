"""Direct age standardisation and registries, against published worked examples.

Each example names its source. "Read" means that inputs and answer were read there; "computed"
that the inputs were read and the answer was worked out with another library.
"""

from collections.abc import Sequence
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.stats import chi2, gamma

from plainleaf.errors import EvidenceProblem, FactsProblem
from plainleaf.evidence.arithmetic import round_half_up
from plainleaf.evidence.intervals import standard_score
from plainleaf.evidence.rates import (
    AgeBand,
    chi_square,
    fold,
    read_registry,
    standard,
    standardised,
)

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
