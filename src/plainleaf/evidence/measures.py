"""What a figure can measure: a closed set, each with its unit and the limits a value must keep.

The unit hangs on the measure and is never typed beside a number, so that a rate cannot be
printed as a percentage.
"""

from dataclasses import dataclass


@dataclass(frozen=True)
class Measure:
    """One kind of figure: ``unit`` in words, and the lowest and highest value that make sense."""

    name: str
    unit: str
    lowest: float
    highest: float
    whole: bool = False
    groups: frozenset[str] | None = None


_EVERYONE = 9e9
_STAGES = frozenset({"all", "localized", "regional", "distant", "unknown"})

MEASURES = {
    measure.name: measure
    for measure in (
        Measure("new-cases", "people", 0, _EVERYONE, whole=True),
        Measure("deaths", "people", 0, _EVERYONE, whole=True),
        Measure("people-looked-at", "people", 1, _EVERYONE, whole=True),
        Measure("people-dark", "people", 0, _EVERYONE, whole=True),
        Measure("people-dark-disease", "people", 0, _EVERYONE, whole=True),
        Measure("people-missed", "people", 0, _EVERYONE, whole=True),
        Measure("people-with-spot", "people", 0, _EVERYONE, whole=True),
        Measure("incidence-rate", "per 100,000 people a year, age-adjusted", 0, 1000),
        Measure("death-rate", "per 100,000 people a year, age-adjusted", 0, 1000),
        Measure("lifetime-risk", "percent", 0, 100),
        Measure("survival-5-year", "percent", 0, 100, groups=_STAGES),
        Measure("stage-share", "percent", 0, 100, groups=_STAGES),
        Measure("spot-prevalence", "percent", 0, 100),
        Measure("median-age", "years", 0, 120),
        Measure("sensitivity", "percent", 0, 100),
        Measure("specificity", "percent", 0, 100),
    )
}

SITES = {
    "oral-pharynx": "C00-C14",
    "oral-cavity": "C00-C06",
    "cervix": "C53",
    "mouth-lining": "",
}
"""Places in the body with their ICD-10 range; ``mouth-lining`` is no disease and has none."""

FAMILIES = {"mouth": ("oral-pharynx", "oral-cavity"), "cervix": ("cervix",)}
"""Sites that answer the same question of a reader, the wider grouping first."""

SETTINGS = frozenset(
    {"national-statistics", "general-practice", "primary-care", "specialist-clinics", "survey"}
)
WORLD = "world"
EVERYWHERE = "study"
"""The place of a figure that belongs to a study and not to a country."""
