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
_STAGES = frozenset({"all", "localized", "regional", "distant", "regional-or-distant", "unknown"})
_CHECKED = 100_000

MEASURES = {
    measure.name: measure
    for measure in (
        Measure("new-cases", "people", 0, _EVERYONE, whole=True),
        Measure("deaths", "people", 0, _EVERYONE, whole=True),
        Measure("people-living", "people", 0, _EVERYONE, whole=True),
        Measure("people-looked-at", "people", 1, _EVERYONE, whole=True),
        Measure("people-dark", "people", 0, _EVERYONE, whole=True),
        Measure("people-dark-disease", "people", 0, _EVERYONE, whole=True),
        Measure("people-missed", "people", 0, _EVERYONE, whole=True),
        Measure("people-with-spot", "people", 0, _EVERYONE, whole=True),
        Measure("people-positive", "people", 0, _EVERYONE, whole=True),
        Measure("people-seen-after", "people", 0, _EVERYONE, whole=True),
        Measure("people-studied", "people", 1, _EVERYONE, whole=True),
        Measure("spots-studied", "changed areas", 1, _EVERYONE, whole=True),
        Measure("spots-low-risk", "changed areas", 0, _EVERYONE, whole=True),
        Measure("spots-medium-risk", "changed areas", 0, _EVERYONE, whole=True),
        Measure("spots-high-risk", "changed areas", 0, _EVERYONE, whole=True),
        Measure("spots-dark", "changed areas", 0, _EVERYONE, whole=True),
        Measure("spots-unsure", "changed areas", 0, _EVERYONE, whole=True),
        Measure("studies", "studies", 0, 10_000, whole=True),
        Measure("cell-found", "of 100,000 people checked", 0, _CHECKED, whole=True),
        Measure("cell-missed", "of 100,000 people checked", 0, _CHECKED, whole=True),
        Measure("cell-false-alarm", "of 100,000 people checked", 0, _CHECKED, whole=True),
        Measure("cell-cleared", "of 100,000 people checked", 0, _CHECKED, whole=True),
        Measure("incidence-rate", "per 100,000 people a year, age-adjusted", 0, 1000),
        Measure("death-rate", "per 100,000 people a year, age-adjusted", 0, 1000),
        Measure("crude-rate", "per 100,000 people a year, not age-adjusted", 0, 1000),
        Measure("cohort-death-rate", "per 100,000 people followed for a year", 0, 1000),
        Measure("yearly-change-new", "percent a year", -100, 100),
        Measure("yearly-change-deaths", "percent a year", -100, 100),
        Measure("lifetime-risk", "percent", 0, 100),
        Measure("cumulative-risk", "percent", 0, 100),
        Measure("survival-5-year", "percent", 0, 100, groups=_STAGES),
        Measure("stage-share", "percent", 0, 100, groups=_STAGES),
        Measure("case-share", "percent of the new cases", 0, 100),
        Measure("all-cancer-share", "percent of all new cancers", 0, 100),
        Measure("hpv-share", "percent", 0, 100),
        Measure("attributable-share", "percent", 0, 100),
        Measure("no-habit-share", "percent", 0, 100),
        Measure("spot-prevalence", "percent", 0, 100),
        Measure("disorder-prevalence", "percent", 0, 100),
        Measure("transformation", "percent", 0, 100),
        Measure("yearly-transformation", "percent a year", 0, 100),
        Measure("median-age", "years", 0, 120),
        Measure("mean-age", "years", 0, 120),
        Measure("sensitivity", "percent", 0, 100),
        Measure("specificity", "percent", 0, 100),
        Measure("positive-predictive-value", "percent", 0, 100),
        Measure("negative-predictive-value", "percent", 0, 100),
        Measure("likelihood-ratio-positive", "times", 0, 10_000),
        Measure("likelihood-ratio-negative", "times", 0, 10_000),
        Measure("diagnostic-odds-ratio", "times", 0, 10_000),
        Measure("relative-risk", "times", 0, 100),
        Measure("rate-ratio", "times", 0, 100),
        Measure("odds-ratio", "times", 0, 100),
        Measure("hazard-ratio", "times", 0, 100),
        Measure("death-reduction", "percent", -100, 100),
        Measure("recheck-after", "weeks", 0, 52),
    )
}

SITES = {
    "oral-pharynx": "C00-C14",
    "oral-cavity": "C00-C06",
    "oral-cavity-no-lip": "C02-C06",
    "oral-oropharynx": "C00-C06,C09-C10",
    "mouth-oropharynx": "C00-C10",
    "mouth-oropharynx-other": "C00-C10,C14",
    "mouth-throat-larynx": "C00-C06,C09-C10,C12-C13,C32",
    "mouth-unstated": "",
    "lip": "C00",
    "base-of-tongue": "C01",
    "tongue": "C02",
    "whole-tongue": "C01-C02",
    "floor-of-mouth": "C04",
    "salivary-glands": "C07-C08",
    "tonsil": "C09",
    "oropharynx": "C09-C10",
    "oropharynx-tongue-base": "C01,C09-C10",
    "nasopharynx": "C11",
    "hypopharynx": "C12-C13",
    "head-neck": "C00-C14,C30-C32",
    "head-neck-unstated": "",
    "cervix": "C53",
    "mouth-lining": "",
    "leukoplakia": "",
    "potentially-malignant": "",
}
"""Places in the body with their ICD-10 range, one entry for each way of grouping.

Two groupings never compare, so each has its own name. ``…-unstated`` holds what a source calls
mouth or head and neck cancer without saying which range it means. ``mouth-lining``,
``leukoplakia`` and ``potentially-malignant`` are no cancers and have no range here.
"""

FAMILIES = {"mouth": ("oral-pharynx", "oral-cavity"), "cervix": ("cervix",)}
"""Sites that answer the same question of a reader, the wider grouping first."""

SETTINGS = frozenset(
    {
        "cohort",
        "general-practice",
        "guideline",
        "national-statistics",
        "primary-care",
        "registry",
        "review",
        "screening-programme",
        "specialist-clinics",
        "survey",
        "trial",
    }
)
WORLD = "world"
EVERYWHERE = "study"
"""The place of a figure that belongs to a study and not to a country."""
