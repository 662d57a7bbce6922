"""Direct age standardisation: what a rate would be if everybody lived in one standard population.

One disease in one year has as many age-adjusted rates as there are standards, so a rate is never
printed without the name of its standard. The standards are in ``standards.csv``, in the unit of
their publisher: ``us-2000`` (thousands of people; National Center for Health Statistics),
``who-2000-2025`` (percent; Ahmad et al. 2001, adds up to 100.03), ``segi`` (percent; Segi 1960
as changed by Doll 1966), ``european-1976`` (percent) and ``european-2013`` (per 1,000; Eurostat).
"""

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from pathlib import Path
from statistics import NormalDist
from typing import NamedTuple

from plainleaf import paths
from plainleaf.errors import EvidenceProblem, FactsProblem
from plainleaf.evidence.cells import delimiter_of, read_lines, split

_FEWEST = 10
_COLUMNS = ("age_from", "cases", "people")
_SUPPRESSED = ("", "~")
_WHY = "A rate that rests on a misread table would mislead."


class AgeBand(NamedTuple):
    """One line of a registry: everybody from this age to the next band's, in one year.

    ``cases`` is None where the registry does not tell a small number. The last band has no end.
    """

    age_from: int
    cases: int | None
    people: int


@dataclass(frozen=True)
class Rate:
    """A rate per ``per`` people a year: ``value`` is standardised, ``crude`` is not.

    ``low`` and ``high`` are the interval of the standardised value.
    """

    crude: float
    value: float
    low: float
    high: float
    per: int


def standardised(
    cases: Sequence[int | None],
    people: Sequence[int],
    weights: Sequence[float],
    per: int = 100_000,
    level: float = 0.95,
) -> Rate:
    """The directly standardised rate of age groups, all three sequences in the same order.

    The interval is that of Fay and Feuer 1997 (Stat Med 16:791-801), which cancer registries use:
    the rate is taken as gamma distributed, and the high end allows for one more case in the group
    that carries most weight, so that a group without cases does not count as certain. Below ten
    cases no rate is given. The weights may be in any unit.
    Raises EvidenceProblem for suppressed or too few cases, which are missing and not zero, and
    ValueError for groups that do not match, are negative or have nobody in them.
    """
    counts = _known(cases)
    _matching(counts, people, weights)
    count = sum(counts)
    if count < _FEWEST:
        raise EvidenceProblem(
            f"There are {count} cases in all age groups together.",
            f"A standardised rate from fewer than {_FEWEST} cases says next to nothing.",
            "Put several years together, or give the number of cases instead.",
        )
    shares = [weight / sum(weights) / n for weight, n in zip(weights, people, strict=True)]
    value = sum(share * n for share, n in zip(shares, counts, strict=True))
    variance = sum(share**2 * n for share, n in zip(shares, counts, strict=True))
    low = _gamma_end(value, variance, (1 - level) / 2)
    high = _gamma_end(value + max(shares), variance + max(shares) ** 2, (1 + level) / 2)
    return Rate(count / sum(people) * per, value * per, low * per, high * per, per)


def _gamma_end(mean: float, variance: float, probability: float) -> float:
    """A quantile of the gamma distribution with this mean and variance."""
    return variance / (2 * mean) * chi_square(probability, 2 * mean**2 / variance)


def chi_square(probability: float, degrees: float) -> float:
    """A quantile of the chi-square distribution, by the cube-root form of Wilson and Hilferty 1931.

    Within two parts in a hundred from ten degrees up; ten cases of equal weight bring twenty.
    """
    spread = 2 / (9 * degrees)
    z = NormalDist().inv_cdf(probability)
    return float(degrees * max(0.0, 1 - spread + z * sqrt(spread)) ** 3)


def _known(cases: Sequence[int | None]) -> list[int]:
    missing = [index for index, count in enumerate(cases) if count is None]
    if missing:
        raise EvidenceProblem(
            f"The cases of age group {missing[0]} (the first is 0) are suppressed.",
            "A number that is not told is not zero, and the rate would come out too low.",
            "Put neighbouring age groups or several years together until all are told.",
        )
    return [count for count in cases if count is not None]


def _matching(counts: Sequence[int], people: Sequence[int], weights: Sequence[float]) -> None:
    if not len(counts) == len(people) == len(weights):
        raise ValueError(
            f"{len(counts)} groups of cases, {len(people)} of people and {len(weights)} of weights"
        )
    if min(counts, default=0) < 0 or min(people, default=0) <= 0 or min(weights) < 0:
        raise ValueError("an age group is negative or has nobody in it")
    if not sum(weights):
        raise ValueError("the standard population has nobody in it")


def standard(name: str) -> dict[int, float]:
    """A standard population: the share of each age group, by its first age; adds up to 1.

    Raises EvidenceProblem if standards.csv has no such population.
    """
    known = _standards(paths.evidence() / "standards.csv")
    if name not in known:
        raise EvidenceProblem(
            f"There is no standard population '{name}' in standards.csv.",
            "An age-adjusted rate means nothing without its standard.",
            f"Use one of {', '.join(sorted(known))}.",
        )
    total = sum(known[name].values())
    return {age: weight / total for age, weight in known[name].items()}


def _standards(path: Path) -> dict[str, dict[int, float]]:
    known: dict[str, dict[int, float]] = {}
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            known.setdefault(row["standard"], {})[int(row["age_from"])] = float(row["weight"])
    return known


def fold(
    bands: Sequence[AgeBand], weights: Mapping[int, float]
) -> tuple[list[AgeBand], list[float]]:
    """A registry and a standard in the age groups that both have, ready for ``standardised``.

    Where the registry's bands are wider, the standard's weights are summed from one band's first
    age to the next. Where a standard's group is wider (infants apart from 1 to 4 years), the
    registry's bands are summed, and one that is suppressed suppresses the sum.
    Raises EvidenceProblem when a band's first age falls inside a group that cannot be made whole,
    or when the registry does not begin with the standard's first age.
    """
    ages = sorted(weights)
    starts = [band.age_from for band in bands]
    if starts[:1] != ages[:1]:
        raise _crossing(starts[0] if starts else ages[0])
    for age in set(starts) - set(ages):
        around = [_last_up_to(age, ages), *[after for after in ages if after > age][:1]]
        if not set(around) <= set(starts):
            raise _crossing(age)
    common = [age for age in ages if age in starts]
    inside = [
        [band for band in bands if _last_up_to(band.age_from, common) == age] for age in common
    ]
    folded = [_merged(age, group) for age, group in zip(common, inside, strict=True)]
    sums = [sum(weights[one] for one in ages if _last_up_to(one, common) == age) for age in common]
    return folded, sums


def _last_up_to(age: int, ages: Sequence[int]) -> int:
    return max(one for one in ages if one <= age)


def _merged(age: int, bands: Sequence[AgeBand]) -> AgeBand:
    told = [band.cases for band in bands if band.cases is not None]
    cases = sum(told) if len(told) == len(bands) else None
    return AgeBand(age, cases, sum(band.people for band in bands))


def _crossing(age: int) -> EvidenceProblem:
    return EvidenceProblem(
        f"The registry's age groups and the standard's do not meet at age {age}.",
        "Weights cannot be given to a part of an age group.",
        "Use a table whose age groups begin where the standard's do, from birth on.",
    )


def read_registry(path: Path) -> list[AgeBand]:
    """Cases and people by age from a CSV file with the columns age_from, cases and people.

    The cells are parted by commas, semicolons or tabs. Ages rise from line to line; ``~`` or an
    empty cell means cases that are not told.
    Raises FactsProblem naming file and line.
    """
    bands: list[AgeBand] = []
    for where, row in _rows(path):
        band = _band(where, row)
        if bands and band.age_from <= bands[-1].age_from:
            raise _wrong(where, f"age {band.age_from} does not follow {bands[-1].age_from}")
        bands.append(band)
    if not bands:
        raise _wrong(path.name, "there is no age group in it")
    return bands


def _rows(path: Path) -> Iterator[tuple[str, dict[str, str]]]:
    """Each line that is not empty, with the words that name its place."""
    (number, headings), *lines = read_lines(path, _misread)
    delimiter = delimiter_of(headings)
    where = f"{path.name} line {number}"
    heads = [cell.strip() for cell in split(where, headings, delimiter, _misread)]
    missing = [name for name in _COLUMNS if name not in heads]
    if missing:
        raise _wrong(where, f"the column '{missing[0]}' is missing")
    twice = [name for name in _COLUMNS if heads.count(name) > 1]
    if twice:
        raise _wrong(where, f"the column '{twice[0]}' is there twice")
    for number, line in lines:
        where = f"{path.name} line {number}"
        cells = split(where, line, delimiter, _misread)
        if len(cells) != len(heads):
            raise _wrong(where, "the row has too many or too few cells")
        yield where, dict(zip(heads, cells, strict=True))


def _band(where: str, row: dict[str, str]) -> AgeBand:
    hidden = row["cases"].strip() in _SUPPRESSED
    cases = None if hidden else _whole(where, "cases", row["cases"])
    people = _whole(where, "people", row["people"])
    if people == 0:
        raise _wrong(where, "there is nobody in this age group")
    return AgeBand(_whole(where, "age_from", row["age_from"]), cases, people)


def _whole(where: str, name: str, text: str) -> int:
    if not re.fullmatch(r"[0-9]+", text.strip()):
        raise _wrong(where, f"{name} '{text}' is not a whole number in plain digits")
    return int(text)


def _wrong(where: str, what: str) -> FactsProblem:
    return FactsProblem(
        f"{where}: {what}.",
        _WHY,
        "Correct the file: columns age_from, cases and people, one age group a line.",
    )


def _misread(where: str, what: str, do: str) -> FactsProblem:
    return FactsProblem(f"{where}: {what}.", _WHY, do)
