"""A day of a thousand invented people: seconds and the most memory, each case in its own process.

Run it by hand: ``python tests/bench/long_day.py [PEOPLE]``. Its goal is 400 MB in each process.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from time import perf_counter

from plainleaf import paths

GOAL = 400
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


def measured(folder: Path, words: tuple[str, ...]) -> tuple[float, int, int]:
    ending = words[-1] if "--format" in words else "pdf"
    target = folder / "out" if "--each" in words else folder / "out" / f"day.{ending}"
    begun = perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, "day", "day.csv", "--practice", PRACTICE,
         "--out", str(target), *words],
        cwd=folder, check=True, capture_output=True, text=True,
    )  # fmt: skip
    own, workers = map(int, done.stdout.rpartition("PEAK ")[2].split())
    return perf_counter() - begun, own, workers


def main() -> None:
    people = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    most = 0
    for name, words in CASES.items():
        with tempfile.TemporaryDirectory() as folder:
            (Path(folder) / "day.csv").write_text(many(people), "utf-8")
            seconds, own, workers = measured(Path(folder), words)
        print(f"{name:40} {seconds:6.1f} s   {own} MB, in a worker {workers} MB", flush=True)
        most = max(most, own, workers)
    if most > GOAL:
        sys.exit(f"The largest process took {most} MB; the goal is {GOAL} MB.")


if __name__ == "__main__":
    main()
