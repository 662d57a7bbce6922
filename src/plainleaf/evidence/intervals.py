"""How sure a share of people is: the Wilson score interval, and its whole people of a number."""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from math import sqrt
from statistics import NormalDist


@dataclass(frozen=True)
class Interval:
    """The two ends of an interval for a share of people, both from 0 to 1.

    Raises ValueError for ends that are upside down or outside 0 to 1.
    """

    low: float
    high: float

    def __post_init__(self) -> None:
        if not 0 <= self.low <= self.high <= 1:
            raise ValueError(f"{self.low} to {self.high} is no interval of shares")

    def out_of(self, n: int) -> tuple[int, int]:
        """The interval in whole people out of ``n``.

        The low end is rounded down and the high end up, so that the printed range never claims
        more certainty than the interval itself. Raises ValueError if ``n`` is not positive.
        """
        if n <= 0:
            raise ValueError(f"nobody can be counted out of {n}")
        low, high = (Decimal(repr(float(end))) * n for end in (self.low, self.high))
        return (
            int(low.to_integral_value(rounding=ROUND_FLOOR)),
            int(high.to_integral_value(rounding=ROUND_CEILING)),
        )


def standard_score(level: float) -> float:
    """How many standard errors reach to each end of an interval of this level: 1.96 for 0.95.

    Raises ValueError unless the level lies between 0 and 1.
    """
    if not 0 < level < 1:
        raise ValueError(f"{level} is no level of confidence between 0 and 1")
    return NormalDist().inv_cdf((1 + level) / 2)


def wilson(count: int, of: int, level: float = 0.95) -> Interval:
    """The score interval for ``count`` people out of ``of``, without continuity correction.

    Wilson 1927 (J Am Stat Assoc 22:209-212); method 3 of Newcombe 1998 (Stat Med 17:857-872),
    who finds it fit for small numbers and for none or all, where the textbook interval fails.
    Raises ValueError for counts that cannot be.
    """
    if not 0 <= count <= of or of == 0:
        raise ValueError(f"{count} of {of} people is no possible count")
    z, share = standard_score(level), count / of
    centre = share + z**2 / (2 * of)
    half = z * sqrt(share * (1 - share) / of + z**2 / (4 * of**2))
    scale = 1 + z**2 / of
    # At none and at all one end is the share itself; the arithmetic may miss it by a last digit.
    low = 0.0 if count == 0 else (centre - half) / scale
    high = 1.0 if count == of else (centre + half) / scale
    return Interval(low, high)
