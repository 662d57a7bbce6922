"""Natural frequencies: shares of people as whole people out of one number, which always add up.

A light's accuracy is told as one group of people with both branches (with the disease and
without it), never as rates that the reader would have to combine (Gigerenzer and Hoffrage 1995).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from fractions import Fraction
from itertools import product
from math import ceil, floor

from plainleaf.errors import EvidenceProblem
from plainleaf.evidence.measures import SETTINGS

Cells = tuple[int, int, int, int]
"""Whole people: found, missed, false alarms, cleared; always in this order."""

_SPECIALIST = "specialist-clinics"


def exact(value: Fraction | float) -> Fraction:
    """The number as it is written, without the noise of binary digits: 0.1 is one tenth.

    Raises ValueError for what is not a finite number.
    """
    return value if isinstance(value, Fraction) else Fraction(repr(float(value)))


def half_up(value: Fraction) -> int:
    """The nearest whole number, and the higher one for a half: 38,902.5 becomes 38,903."""
    return floor(value + Fraction(1, 2))


def largest_remainder(parts: Sequence[Fraction | float], total: int) -> tuple[int, ...]:
    """Whole people in proportion to ``parts``, which always add up to ``total``.

    Hamilton's method: every part gets its whole share, and those with the largest remainders one
    more until all are given out; the earlier part wins a tie. The parts may be in any unit.
    Raises ValueError for a negative part or total, and when all parts are zero or there are none.
    """
    weights = [exact(part) for part in parts]
    if total < 0 or any(weight < 0 for weight in weights) or not sum(weights):
        raise ValueError(f"{total} people cannot be shared out in the parts {list(parts)}")
    shares = [weight * total / sum(weights) for weight in weights]
    whole = [floor(share) for share in shares]
    # sorted() is stable, so the earlier of two equal remainders stays in front.
    by_remainder = sorted(range(len(shares)), key=lambda i: whole[i] - shares[i])
    for index in by_remainder[: total - sum(whole)]:
        whole[index] += 1
    return tuple(whole)


def complement(count: int, total: int) -> int:
    """The other people: 92 for 8 of 100. Raises ValueError for a count that cannot be."""
    if not 0 <= count <= total:
        raise ValueError(f"{count} of {total} people is no possible count")
    return total - count


def adds_up(
    total: Fraction | float, parts: Sequence[Fraction | float], tolerance: Fraction | float = 0
) -> bool:
    """Whether published parts give the published total, within the rounding of their source.

    ``tolerance`` is in the unit of the parts; half the step to which a source rounds, once for
    each part and once for the total, is what rounding alone can explain.
    """
    return abs(sum(map(exact, parts)) - exact(total)) <= exact(tolerance)


def rounded_down(value: float, digits: int = 2) -> float:
    """So many leading digits, never overstated, for "more than": 12,770 becomes 12,000.

    Raises ValueError for a negative value or less than one digit.
    """
    return _leading(value, digits, ROUND_FLOOR)


def rounded_up(value: float, digits: int = 2) -> float:
    """So many leading digits, never understated, for "fewer than": 4,320 becomes 4,400.

    Raises ValueError for a negative value or less than one digit.
    """
    return _leading(value, digits, ROUND_CEILING)


def _leading(value: float, digits: int, rounding: str) -> float:
    if value < 0 or digits < 1:
        raise ValueError(f"{value} cannot be cut to {digits} leading digits")
    number = Decimal(repr(value))
    step = Decimal(1).scaleb(number.adjusted() + 1 - digits)
    return float((number / step).to_integral_value(rounding=rounding) * step)


@dataclass(frozen=True)
class Estimate:
    """A share of people from 0 to 1, with both ends of its published interval or neither.

    Raises ValueError for a value outside its interval or outside 0 to 1.
    """

    value: Fraction | float
    low: Fraction | float | None = None
    high: Fraction | float | None = None

    def __post_init__(self) -> None:
        if (self.low is None) != (self.high is None):
            raise ValueError("one end of the interval is missing")
        low, high = (self.value if end is None else end for end in (self.low, self.high))
        if not 0 <= low <= self.value <= high <= 1:
            raise ValueError(f"{self.value} ({low} to {high}) is no share of people")

    @classmethod
    def percent(
        cls, value: float, low: float | None = None, high: float | None = None
    ) -> "Estimate":
        """The same from percentages, divided exactly so that a half stays a half."""
        ends = (None if end is None else exact(end) / 100 for end in (low, high))
        return cls(exact(value) / 100, *ends)

    @property
    def ends(self) -> tuple[Fraction, ...]:
        """The two ends of the interval, or the value alone when there is none."""
        if self.low is None or self.high is None:
            return (exact(self.value),)
        return exact(self.low), exact(self.high)


@dataclass(frozen=True)
class PeopleTree:
    """One group of people after a test, all in whole people; the four cells add up to ``total``.

    ``found`` (true positive) and ``missed`` (false negative) have the disease; ``false_alarms``
    (false positive) and ``cleared`` (true negative) do not. ``low`` and ``high`` are the ends for
    the four cells in that order, or None; ends of different cells need not add up. ``caveat`` is
    the setting that must be printed beside the numbers, or empty.
    Raises ValueError for cells that are negative, do not add up or lie outside their ends.
    """

    total: int
    found: int
    missed: int
    false_alarms: int
    cleared: int
    low: Cells | None = None
    high: Cells | None = None
    caveat: str = ""

    def __post_init__(self) -> None:
        if min(self.cells) < 0 or sum(self.cells) != self.total:
            raise ValueError(f"{self.cells} do not make {self.total} people")
        if (self.low is None) != (self.high is None):
            raise ValueError("one end of the interval is missing")
        ends = zip(self.low or self.cells, self.cells, self.high or self.cells, strict=True)
        if not all(low <= cell <= high for low, cell, high in ends):
            raise ValueError(f"{self.cells} are not inside {self.low} to {self.high}")

    @property
    def cells(self) -> Cells:
        """Found, missed, false alarms, cleared."""
        return self.found, self.missed, self.false_alarms, self.cleared

    @property
    def flagged(self) -> int:
        """All people in whom the test showed something, real or not."""
        return self.found + self.false_alarms

    @property
    def not_flagged(self) -> int:
        """All people in whom the test showed nothing."""
        return self.missed + self.cleared

    @property
    def diseased(self) -> int:
        """All people who have the disease."""
        return self.found + self.missed

    @property
    def not_diseased(self) -> int:
        """All people who do not have the disease."""
        return self.false_alarms + self.cleared


def people_tree(
    prevalence: Estimate,
    sensitivity: Estimate,
    specificity: Estimate,
    total: int = 1000,
    setting: str = "general-practice",
    reader_setting: str = "general-practice",
    accept_caveat: bool = False,
) -> PeopleTree:
    """Bayes' rule on ``total`` people, rounded as published tables are so that branches add up.

    The people with the disease are rounded first, then those found and those cleared, halves up;
    the missed and the false alarms are what is left of each branch (ADA 2017, Tables 1 and 5).
    Every cell is within one person of its exact share.

    The ends are there when sensitivity and specificity both have an interval. The tree is worked
    out at every combination of the ends, and the smallest and the largest cell are taken, rounded
    outwards. Each cell rises or falls steadily with each input, so nothing in between lies
    outside. This is conservative: it lets all inputs be at their ends at once. A prevalence
    without an interval is taken as given ("if 1 in 100 has it").

    ``setting`` is where the accuracy was measured. Accuracy from specialist clinics does not hold
    for other readers: EvidenceProblem, unless ``accept_caveat``, and then ``caveat`` names the
    setting. Raises ValueError for an unknown setting or a total that is not positive.
    """
    caveat = _caveat(setting, reader_setting, accept_caveat)
    if total <= 0:
        raise ValueError(f"{total} people make no tree")
    low, high = _ends(prevalence, sensitivity, specificity, total)
    diseased = half_up(exact(prevalence.value) * total)
    found = half_up(exact(sensitivity.value) * diseased)
    cleared = half_up(exact(specificity.value) * (total - diseased))
    false_alarms = total - diseased - cleared
    return PeopleTree(
        total, found, diseased - found, false_alarms, cleared, low=low, high=high, caveat=caveat
    )


def _caveat(setting: str, reader_setting: str, accept_caveat: bool) -> str:
    """The setting that must be printed, or nothing when the study fits the reader."""
    for name in (setting, reader_setting):
        if name not in SETTINGS:
            # A misspelt setting would slip past the refusal below.
            raise ValueError(f"'{name}' is no setting")
    if setting != _SPECIALIST or reader_setting == _SPECIALIST:
        return ""
    if accept_caveat:
        return setting
    raise EvidenceProblem(
        f"The accuracy comes from {setting}, and the reader is seen in {reader_setting}.",
        "People sent to a specialist are ill more often and more plainly, so the numbers would"
        " promise too much.",
        "Use a study from general practice, or accept the caveat and print it beside the numbers.",
    )


def _ends(
    prevalence: Estimate, sensitivity: Estimate, specificity: Estimate, total: int
) -> tuple[Cells, Cells] | tuple[None, None]:
    if sensitivity.low is None or specificity.low is None:
        # An end worked out from a value without an interval would look surer than it is.
        return None, None
    corners = [
        _shares(*inputs) for inputs in product(prevalence.ends, sensitivity.ends, specificity.ends)
    ]
    cells = list(zip(*corners, strict=True))
    low = tuple(floor(min(shares) * total) for shares in cells)
    high = tuple(ceil(max(shares) * total) for shares in cells)
    return _four(low), _four(high)


def _shares(ill: Fraction, sensitivity: Fraction, specificity: Fraction) -> tuple[Fraction, ...]:
    well = 1 - ill
    return (
        ill * sensitivity,
        ill * (1 - sensitivity),
        well * (1 - specificity),
        well * specificity,
    )


def _four(cells: tuple[int, ...]) -> Cells:
    found, missed, false_alarms, cleared = cells
    return found, missed, false_alarms, cleared


def tree_from_counts(
    looked_at: int, dark: int, dark_disease: int, missed: int, *, total: int = 100
) -> PeopleTree:
    """The tree of a study that gives counts of people, brought to ``total`` people.

    ``dark`` of those looked at had a dark area, ``dark_disease`` of these had the disease, and
    ``missed`` had it without a dark area. Rounded by largest remainder over the four cells.
    Raises ValueError for negative counts and for cells that exceed their whole.
    """
    counts = (dark_disease, missed, dark - dark_disease, looked_at - dark - missed)
    if min(counts) < 0:
        raise ValueError(
            f"{looked_at} looked at, {dark} dark, {dark_disease} of them real and {missed} missed"
            " are no possible counts"
        )
    return PeopleTree(total, *_four(largest_remainder(counts, total)))
