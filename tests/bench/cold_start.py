"""The whole cold command for one PDF, beside what it cannot do without, all in one run.

Run it by hand: ``python tests/bench/cold_start.py``. Its goal is 0.6 seconds on two cores.
"""

import subprocess
import sys
import tempfile
from pathlib import Path
from statistics import median
from time import perf_counter

from plainleaf import paths

ROUNDS = 9
GOAL = 0.6
PRACTICE = str(paths.templates() / "demo" / "practice.toml")


def seconds(program: str, *words: str) -> float:
    begun = perf_counter()
    subprocess.run([sys.executable, "-c", program, *words], check=True, capture_output=True)
    return perf_counter() - begun


def main() -> None:
    make = "from plainleaf.faces.cli import main; main()"
    libraries = "import typst, jinja2, babel, pydantic, typer, phonenumbers, qrcode"
    with tempfile.TemporaryDirectory() as folder:
        cases = {"bare Python": ("pass",), "the libraries, imported": (libraries,)}
        for language in ("en", "es", "ar"):
            words = ("introduction", "--practice", PRACTICE, "--language", language)
            out = str(Path(folder) / f"{language}.pdf")
            cases[f"one introduction, {language}"] = (make, "make", *words, "--out", out)
        times: dict[str, list[float]] = {name: [] for name in cases}
        for _ in range(ROUNDS):
            for name, case in cases.items():
                times[name].append(seconds(*case))
    base = median(times["the libraries, imported"])
    for name, found in times.items():
        print(f"{name:32} {median(found):.2f} s   {median(found) / base:.2f} x the imports")
    slowest = max(median(found) for found in times.values())
    if slowest > GOAL:
        sys.exit(f"The slowest took {slowest:.2f} s; the goal is {GOAL} s.")


if __name__ == "__main__":
    main()
