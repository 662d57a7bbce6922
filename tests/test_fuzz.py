"""Ten thousand rows and files as hostile as they come: no traceback, and nobody is lost.

What must be found in each list and bundle is known from how it was built (``hostile``), not from
our readers. A seed makes the same files on every machine.
"""

import json
import re
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from random import Random
from typing import Any

import pypdfium2
import pytest

from hostile import Case, accidents, bundle, day_list
from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.desk.acts import read_people
from plainleaf.desk.days import DayResult, day
from plainleaf.errors import Problem
from plainleaf.office.fhir import read_bundle
from plainleaf.office.people import Row, read_list
from plainleaf.office.practice import Practice, read_practice
from plainleaf.office.visits import Visit, read_visit
from test_visits import FULL, in_toml

SEED = 20261125
AT_LEAST = 10_000
LISTS, ROWS = 100, 55
BUNDLES, ENTRIES = 80, 30
DAMAGED = 500


@dataclass
class Tally:
    """What went through the readers, and how much of it came out as what."""

    seen: Counter[str] = field(default_factory=Counter)
    lists: list[tuple[Path, Case, list[Row]]] = field(default_factory=list)
    bundles: list[tuple[Path, Case, list[Row]]] = field(default_factory=list)
    damaged: Counter[str] = field(default_factory=Counter)


@pytest.fixture(scope="module")
def tally(tmp_path_factory: pytest.TempPathFactory, practice: Practice) -> Tally:
    """Everything read once; a traceback ends it here."""
    folder = tmp_path_factory.mktemp("fuzz")
    rng, found = Random(SEED), Tally()
    for number in range(LISTS):
        case = day_list(rng, ROWS)
        file = folder / f"{number}.csv"
        file.write_bytes(case.content)
        found.lists.append((file, case, read_list(file)))
        found.seen["rows"] += len(case.people)
    for number in range(BUNDLES):
        case = bundle(rng, ENTRIES)
        file = folder / f"{number}.json"
        file.write_bytes(case.content)
        found.bundles.append((file, case, read_bundle(file, practice.zone)))
        found.seen["entries"] += ENTRIES
    for name, (read, wholes) in _readers(rng, practice).items():
        for content in accidents(rng, wholes, DAMAGED):
            (folder / name).write_bytes(content)
            found.damaged[f"{name} {_outcome(folder / name, read)}"] += 1
            found.seen["damaged files"] += 1
    return found


def _readers(
    rng: Random, practice: Practice
) -> dict[str, tuple[Callable[[Path], Any], list[bytes]]]:
    demo, start = (paths.templates() / name / "practice.toml" for name in ("demo", "start"))
    visit = json.dumps(FULL, indent=1)
    return {
        "practice.toml": (read_practice, [demo.read_bytes(), start.read_bytes()]),
        "visit.toml": (read_visit, [in_toml(FULL).encode()]),
        "visit.json": (read_visit, [visit.encode(), json.dumps(FULL).encode()]),
        "damaged.json": (
            lambda file: read_bundle(file, practice.zone),
            [bundle(rng, 6).content for _ in range(9)],
        ),
        "damaged.csv": (read_list, [day_list(rng, 6).content for _ in range(9)]),
    }


def _outcome(file: Path, read: Callable[[Path], Any]) -> str:
    """What came of a damaged file; whatever is found must be sound or a known problem."""
    try:
        made = read(file)
    except Problem as problem:
        assert _can_be_told(problem)
        return "refused"
    if isinstance(made, list):
        for row in made:
            _one_or_the_other(row)
        if file.suffix == ".json":
            assert _patients(file) <= {row.line for row in made}
    elif isinstance(made, Visit):
        _on_one_clock(made)
    return "read"


def _patients(file: Path) -> set[int]:
    """The indexes of the patients in a bundle, as Python's own reader sees them."""
    entries = json.loads(file.read_text("utf-8-sig"))["entry"]
    kinds = [(one.get("resource") or {}) if isinstance(one, dict) else {} for one in entries]
    return {
        index
        for index, one in enumerate(kinds)
        if isinstance(one, dict) and one.get("resourceType") == "Patient"
    }


def _can_be_told(problem: Problem) -> bool:
    """Three sentences that any screen can show."""
    str(problem).encode("utf-8")
    return all((problem.found, problem.why, problem.do))


def _one_or_the_other(row: Row) -> None:
    row.name.encode("utf-8")
    assert (row.visit is None) == (row.problem is not None)
    assert row.name
    if row.problem:
        assert _can_be_told(row.problem)
    if row.visit:
        _on_one_clock(row.visit)


def _on_one_clock(visit: Visit) -> None:
    for moment in (visit.recheck, visit.next_visit):
        assert moment is None or (isinstance(moment, datetime) and moment.tzinfo is None)


def test_there_are_ten_thousand_and_they_are_mixed(tally: Tally) -> None:
    assert sum(tally.seen.values()) >= AT_LEAST, tally.seen
    assert set(tally.seen) == {"rows", "entries", "damaged files"}
    for pairs in (tally.lists, tally.bundles):
        rows = [row for _, _, found in pairs for row in found]
        sound = sum(1 for row in rows if row.visit) / len(rows)
        assert 0.3 < sound < 0.9, "a fuzz in which all is alike proves nothing"
    kinds = {key.split()[0] for key in tally.damaged}
    assert len(kinds) == 5
    for kind in kinds:
        assert tally.damaged[f"{kind} read"] > 10, tally.damaged
        assert tally.damaged[f"{kind} refused"] > 10, tally.damaged


def test_every_row_of_a_list_is_there_once_in_order_under_its_name(tally: Tally) -> None:
    for file, case, rows in tally.lists:
        assert [(row.line, row.name) for row in rows] == case.people, file.name


def test_every_entry_of_a_bundle_that_must_be_told_is_told_once(tally: Tally) -> None:
    for file, case, rows in tally.bundles:
        lines = Counter(row.line for row in rows)
        assert set(lines.values()) <= {1}, file.name
        assert {line for line, _ in case.people} <= set(lines), file.name


@pytest.mark.parametrize("kind", ["lists", "bundles"])
def test_what_is_surely_sound_or_wrong_is_found_so(tally: Tally, kind: str) -> None:
    told = Counter[str]()
    for _, case, rows in getattr(tally, kind):
        for row in rows:
            _one_or_the_other(row)
            if row.line in case.sound:
                assert row.visit, row.problem
                told["sound"] += 1
            if row.line in case.wrong:
                assert row.problem, row.visit
                told["wrong"] += 1
    assert min(told["sound"], told["wrong"]) > 300, told


def _once(listed: list[Row]) -> Iterator[Row]:
    """The rows without those that only book somebody again, who gets one set."""
    seen: set[str] = set()
    for row in listed:
        if row.visit is None or row.whose not in seen:
            yield row
        if row.visit and row.whose:
            seen.add(row.whose)


def _whole(done: DayResult, listed: list[Row]) -> None:
    """Everybody on the list is printed or left out, once; nobody else is."""
    rows = list(_once(listed))
    assert Counter([*done.printed, *(one.name for one in done.left_out)]) == Counter(
        row.name for row in rows
    )
    sound = {row.line for row in rows if row.visit}
    left = [one.line for one in done.left_out]
    assert left == sorted(left)
    assert {row.line for row in rows} - sound <= set(left)
    for one in done.left_out:
        assert _can_be_told(one.problem)
    assert len(done.printed) == len(rows) - len(left)


def test_everybody_is_printed_or_left_out(tally: Tally, desk: Desk, tmp_path: Path) -> None:
    sound = printed = 0
    for number, (file, _, _) in enumerate([*tally.lists[:40], *tally.bundles[:20]]):
        # As the day reads them: the practice's country tells what 12/9/2026 means.
        rows = read_people(file, desk.practice)
        paper = ("before-visit", "reminder-card")[number % 2]
        if not any(row.visit and (row.visit.comes_next or number % 2 == 0) for row in rows):
            continue
        done = day(desk, file, [paper], tmp_path / "day.txt")
        _whole(done, rows)
        text = done.files[0].read_text("utf-8")
        assert len(re.findall("^={76}$", text, re.MULTILINE)) == len(done.printed) - 1
        sound += sum(1 for row in rows if row.visit)
        printed += len(done.printed)
    assert sound >= 1_000
    assert printed >= 500


@pytest.mark.parametrize("paper", ["before-visit", "reminder-card"])
def test_the_print_file_has_everybody_who_is_not_left_out(
    tally: Tally, desk: Desk, tmp_path: Path, paper: str
) -> None:
    card = paper == "reminder-card"
    booked = [
        (file, rows)
        for file, _, rows in [*tally.lists, *tally.bundles]
        if sum(1 for row in rows if row.visit and row.visit.comes_next) > 5
    ]
    for file, _ in (booked[0], booked[-1]):
        done = day(desk, file, [paper], tmp_path / "day.pdf")
        _whole(done, read_people(file, desk.practice))
        sheets = len(pypdfium2.PdfDocument(str(done.files[0])))
        people = len(done.printed)
        assert sheets >= (-(-people // 4) if card else people + 1)


def test_the_same_seed_makes_the_same_files() -> None:
    one, two = (Random(SEED), Random(SEED))
    assert [day_list(one, 9), bundle(one, 9)] == [day_list(two, 9), bundle(two, 9)]
