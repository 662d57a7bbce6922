"""A day of a thousand invented people: seconds and the most memory, each case in its own process.

Run it by hand: ``python tests/bench/long_day.py [PEOPLE]``. Its goals: 400 MB in each process, and
no more for a person of the second half of the day than for one of the first.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from side_by_side import settle

from plainleaf import paths

MOST_MB = 400
SLACK_MB = 40
"""Memory is taken in large pieces, and a part of a day is now fuller and now emptier."""

PRACTICE = str(paths.templates() / "demo" / "practice.toml")
CASES = {
    "introduction, one process": ("--paper", "introduction"),
    "introduction, two workers": ("--paper", "introduction", "--workers", "2"),
    "introduction, each, one process": ("--paper", "introduction", "--each"),
    "introduction, each, two workers": ("--paper", "introduction", "--each", "--workers", "2"),
    "introduction and consent, one process": ("--paper", "introduction", "--paper", "consent"),
    "introduction, docx": ("--paper", "introduction", "--format", "docx"),
    "introduction, html": ("--paper", "introduction", "--format", "html"),
}
FLAT = ("introduction, one process", "introduction, each, one process")
"""The cases that are made once more with half of the people."""

PROGRAM = """
import resource, sys
from plainleaf.faces.cli import app
try:
    app()
finally:
    most = [resource.getrusage(who).ru_maxrss // 1024
            for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    print("PEAK", *most)
"""


def many(people: int) -> str:
    tags = ("en", "es", "ar")
    lines = (f"Person {one:04},{tags[one % 3]},2026-11-25" for one in range(people))
    return "\n".join(("name,language,visit day", *lines)) + "\n"


def measured(people: int, words: tuple[str, ...]) -> tuple[float, int, int]:
    """Seconds, and the most megabytes of the process and of its workers."""
    ending = words[-1] if "--format" in words else "pdf"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "day.csv").write_text(many(people), "utf-8")
        target = folder / "out" if "--each" in words else folder / "out" / f"day.{ending}"
        begun = perf_counter()
        done = subprocess.run(
            [sys.executable, "-c", PROGRAM, "day", "day.csv", "--practice", PRACTICE,
             "--out", str(target), *words],
            cwd=folder, check=True, capture_output=True, text=True,
        )  # fmt: skip
    own, workers = map(int, done.stdout.rpartition("PEAK ")[2].split())
    return perf_counter() - begun, own, workers


def told(name: str, people: int, words: tuple[str, ...]) -> int:
    """Measure a case and print it; the most megabytes of any of its processes."""
    seconds, own, workers = measured(people, words)
    print(f"{name:40} {people:5} {seconds:6.1f} s {own:5} MB, in a worker {workers} MB", flush=True)
    return max(own, workers)


def main() -> None:
    people = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    half = {name: told(name, people // 2, CASES[name]) for name in FLAT}
    whole = {name: told(name, people, words) for name, words in CASES.items()}
    flat = all(whole[name] <= half[name] + SLACK_MB for name in FLAT)
    settle({f"at most {MOST_MB} MB": max(whole.values()) <= MOST_MB, "flat": flat})


if __name__ == "__main__":
    main()
