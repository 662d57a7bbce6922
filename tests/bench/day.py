"""One print file for a day of a thousand people: its time, and the most memory it takes.

Run it by hand: ``python tests/bench/day.py``. Each size runs in a process of its own. The goals:
at most 400 MB for a thousand, and no more for each further person than before.
"""

import csv
import resource
import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from side_by_side import desk, people, settle

PAPER = "dark-area"
SIZES = (250, 500, 1000)
MOST_MB = 400
SLACK = 1.25
"""What the memory for each further person may grow by, since memory is taken in large pieces."""


def list_of(count: int, file: Path) -> None:
    """A day's list of invented people, as the front desk saves it."""
    with file.open("w", encoding="utf-8", newline="") as stream:
        rows = csv.writer(stream)
        rows.writerow(
            ("name", "language", "record", "visit day", "dark area", "side", "done", "recheck")
        )
        for visit in people(count, PAPER):
            person, found = visit.person, visit.finding
            assert found is not None
            assert visit.recheck is not None
            done = " + ".join(found.done)
            facts = (visit.day, found.place, found.side, done, visit.recheck.isoformat())
            rows.writerow((person.name, person.language, person.record, *facts))


def one_day(file: Path) -> None:
    """Make the day's file; print its seconds, the peak memory in MB and the people printed."""
    begun = perf_counter()
    made = desk().day(file, PAPER, file.with_suffix(".pdf"))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{perf_counter() - begun:.2f} {peak:.0f} {len(made.printed)}")


def measured(count: int, folder: Path) -> tuple[float, float]:
    """Seconds and megabytes of a day with so many people."""
    file = folder / f"{count}.csv"
    list_of(count, file)
    child = [sys.executable, __file__, str(file)]
    told = subprocess.run(child, check=True, capture_output=True, text=True).stdout.split()
    assert int(told[2]) == count
    return float(told[0]), float(told[1])


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        found = {count: measured(count, Path(folder)) for count in SIZES}
    print("people   seconds   ms a person   peak MB")
    for count, (seconds, peak) in found.items():
        print(f"{count:6} {seconds:9.1f} {seconds / count * 1000:13.1f} {peak:9.0f}")
    small, middle, large = (found[count][1] for count in SIZES)
    steps = (middle - small) / (SIZES[1] - SIZES[0]), (large - middle) / (SIZES[2] - SIZES[1])
    print(f"MB for each further person: {steps[0]:.2f}, then {steps[1]:.2f}")
    settle(
        {
            f"at most {MOST_MB} MB for {SIZES[2]} people": large <= MOST_MB,
            "no more memory for each further person": steps[1] <= SLACK * steps[0],
        }
    )


if __name__ == "__main__":
    one_day(Path(sys.argv[1])) if len(sys.argv) > 1 else main()
