"""What every test may use: the demo's practice, its people, and the evidence as it stands."""

import subprocess
import sys
from datetime import date, datetime
from pathlib import Path

import pytest

from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.evidence import tables
from plainleaf.office.people import read_list
from plainleaf.office.practice import Post, Practice, read_practice
from plainleaf.office.visits import Visit
from plainleaf.papers.catalogue import PAPERS as CATALOGUE

WEDNESDAY = date(2026, 11, 25)
SIXTEEN = (
    *("en", "es", "fr", "de", "it", "pt-BR", "pl", "ru"),
    *("vi", "zh-Hans", "ko", "ja", "ar", "fil", "ht", "hi"),
)
"""All our languages; ``test_sixteen`` makes every paper in each of them."""

LANGUAGES = ("en", "es", "ar")
"""Those of the demo, for tests of what does not hang on a language: two directions, two scripts."""

PAPERS = tuple(CATALOGUE)
HOSTILE = "A & B <b>#panic()*x*"
ROOT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="session")
def evidence() -> tables.Tables:
    return tables.load()


@pytest.fixture(scope="session")
def practice() -> Practice:
    return read_practice(paths.templates() / "demo" / "practice.toml")


@pytest.fixture(scope="session")
def desk(practice: Practice) -> Desk:
    return Desk(practice, WEDNESDAY)


@pytest.fixture(scope="session")
def visits() -> dict[str, Visit]:
    """One visit with a dark area for each language."""
    rows = read_list(paths.templates() / "demo" / "day.csv")
    found: dict[str, Visit] = {}
    for row in rows:
        assert row.visit is not None, row.problem
        found.setdefault(row.visit.person.language, with_outcome(row.visit, "still there"))
    return found


def with_outcome(visit: Visit, found: str) -> Visit:
    """The visit with what a second look showed, sooner than it was booked for."""
    return Visit.model_validate(
        {**visit.model_dump(), "recheck_outcome": {"found": found, "day": visit.day}}
        if visit.recheck
        else visit.model_dump()
    )


def suited(visit: Visit, name: str) -> Visit:
    """The visit as it must be recorded for a paper that cannot be had beside most others."""
    if name == "nothing-seen":
        nothing = {"finding": None, "nothing_dark": True, "recheck_outcome": None}
        return visit.model_copy(update=nothing)
    if name == "decline":
        area = visit.finding.model_copy(update={"light": None}) if visit.finding else None
        return visit.model_copy(update={"decision": "declined", "finding": area})
    if name == "missed-visit":
        missed = {"missed_rechecks": visit.missed_rechecks or 1, "recheck_outcome": None}
        return visit.model_copy(update={"recheck": datetime(2026, 11, 24, 9, 30), **missed})
    return visit


def at_post(practice: Practice) -> Practice:
    """The practice with a window envelope in which it posts letters."""
    return practice.model_copy(update={"post": Post(envelope="#10")})


def renamed(visit: Visit, name: str) -> Visit:
    person = visit.person.model_copy(update={"name": name, "called": name})
    return visit.model_copy(update={"person": person})


def printed_elsewhere(program: str, *words: str) -> set[str]:
    """What a program prints in processes with other hash seeds and time zones."""
    return {
        subprocess.run(
            [sys.executable, "-c", program, *words],
            env={"PYTHONHASHSEED": seed, "TZ": zone, "PATH": "", "LC_ALL": "C.UTF-8"},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed, zone in (("0", "UTC"), ("7", "Asia/Tokyo"), ("99", "America/Denver"))
    }
