"""Rounding and ratios in plain steps: pure functions, no input or output."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal


def round_half_up(value: float, digits: int = 0) -> float:
    """Round as people are taught to: 12.5 becomes 13, where Python's own ``round`` gives 12."""
    step = Decimal(1).scaleb(-digits)
    return float(Decimal(repr(value)).quantize(step, rounding=ROUND_HALF_UP))


def significant(value: float, digits: int = 2) -> float:
    """Round to so many leading digits, half up: 30,990 becomes 31,000 and 9,710 becomes 9,700."""
    if value == 0:
        return 0.0
    exponent = Decimal(repr(value)).adjusted()
    return round_half_up(value, digits - 1 - exponent)


RatioKind = Literal[
    "less-than-half",
    "about-half",
    "fewer",
    "about-as-many",
    "more",
    "nearly-twice",
    "about-twice",
    "more-than-twice",
    "nearly-times",
    "about-times",
    "more-than-times",
]


@dataclass(frozen=True)
class Ratio:
    """A ratio in words. ``times`` is the whole number that ``…-times`` kinds speak of, else 0."""

    kind: RatioKind
    times: int = 0


_SMALL: tuple[tuple[float, float, RatioKind], ...] = (
    (0.0, 0.45, "less-than-half"),
    (0.45, 0.55, "about-half"),
    (0.9, 1.1, "about-as-many"),
    (0.45, 0.999, "fewer"),
)


def ratio(low: float, high: float | None = None) -> Ratio | None:
    """The words for a ratio that lies between ``low`` and ``high`` (both the same if one is given).

    The words hold for the whole interval; None means that no plain words do.
    Raises ValueError for a negative or an upside-down interval.
    """
    high = low if high is None else high
    if not 0 <= low <= high:
        raise ValueError(f"{low} to {high} is no interval of ratios")
    for bottom, top, kind in _SMALL:
        if bottom <= low and high <= top:
            return Ratio(kind)
    if low <= 1:
        return None
    return _large(low, high)


def _large(low: float, high: float) -> Ratio | None:
    times = int(high) + 1
    if times - 0.2 <= low:
        return Ratio("nearly-twice") if times == 2 else Ratio("nearly-times", times)
    nearest = int(round_half_up((low + high) / 2))
    if nearest >= 2 and low < nearest <= high and nearest - 0.2 <= low and high <= nearest + 0.2:
        return Ratio("about-twice") if nearest == 2 else Ratio("about-times", nearest)
    whole = int(low)
    if whole == 1:
        return Ratio("more")
    return Ratio("more-than-twice") if whole == 2 else Ratio("more-than-times", whole)
