"""The mouth as a map: places of the lining, sides, and teeth by number. Pure lookups.

Teeth are numbered as in ISO 3950 (FDI); Universal numbers are for practices that use those. Both
schemes are from memory.
"""

from types import MappingProxyType
from typing import Literal

Side = Literal["left", "right", "middle"]
Place = Literal[
    "upper lip",
    "lower lip",
    "inside upper lip",
    "inside lower lip",
    "corner of mouth",
    "cheek",
    "upper groove",
    "lower groove",
    "upper gum",
    "lower gum",
    "behind last molar",
    "hard palate",
    "soft palate",
    "uvula",
    "top of tongue",
    "side of tongue",
    "under tongue",
    "back of tongue",
    "floor of mouth",
    "tonsil",
    "throat",
]
"""Places of the lining of the mouth in plain words (common clinical list, from memory)."""


def _round(quadrants: tuple[int, int, int, int], teeth: int) -> tuple[int, ...]:
    """FDI numbers in the order in which Universal counts: upper right to left, lower left to right.

    In FDI each quadrant counts from the middle of the mouth to its end.
    """
    upper_right, upper_left, lower_left, lower_right = quadrants
    outwards = range(1, teeth + 1)
    inwards = outwards[::-1]
    return (
        *(10 * upper_right + tooth for tooth in inwards),
        *(10 * upper_left + tooth for tooth in outwards),
        *(10 * lower_left + tooth for tooth in inwards),
        *(10 * lower_right + tooth for tooth in outwards),
    )


_PERMANENT = _round((1, 2, 3, 4), 8)
_DECIDUOUS = _round((5, 6, 7, 8), 5)
_UNIVERSAL = MappingProxyType(
    {tooth: str(number) for number, tooth in enumerate(_PERMANENT, 1)}
    | dict(zip(_DECIDUOUS, "ABCDEFGHIJKLMNOPQRST", strict=True))
)
_FDI = MappingProxyType({universal: tooth for tooth, universal in _UNIVERSAL.items()})

PERMANENT: tuple[int, ...] = _PERMANENT
"""The 32 permanent teeth by FDI number, from the upper right wisdom tooth around to the lower."""

DECIDUOUS: tuple[int, ...] = _DECIDUOUS
"""The 20 deciduous (milk) teeth by FDI number, in the same order."""


def is_tooth(fdi: int) -> bool:
    """Whether there is a tooth with this FDI number."""
    return fdi in _UNIVERSAL


def universal(fdi: int) -> str:
    """The Universal number (``"1"`` to ``"32"``) or letter (``"A"`` to ``"T"``) of an FDI number.

    Raises ValueError when there is no such tooth.
    """
    if fdi not in _UNIVERSAL:
        raise ValueError(f"{fdi} is no tooth in FDI numbers (11 to 48, 51 to 85)")
    return _UNIVERSAL[fdi]


def fdi(universal: str) -> int:
    """The FDI number of a Universal number or letter; small letters are taken as well.

    Raises ValueError when there is no such tooth.
    """
    plain = universal.strip().upper()
    if plain not in _FDI:
        raise ValueError(f"'{universal}' is no tooth in Universal numbers (1 to 32, A to T)")
    return _FDI[plain]


def side_of(fdi: int) -> Side:
    """The patient's own side on which a tooth stands: left or right. A tooth has no middle."""
    return "right" if fdi // 10 in (1, 4, 5, 8) else "left"


def upper(fdi: int) -> bool:
    """Whether a tooth stands in the upper jaw."""
    return fdi // 10 in (1, 2, 5, 6)
