"""The command line: the main job, and every known problem as sentences with an exit code."""

import subprocess
import sys
from pathlib import Path

import pypdfium2
import pytest

from plainleaf import paths
from plainleaf.errors import ExitCode
from plainleaf.faces import cli

DEMO = paths.templates() / "demo"
VISIT = """
day = 2026-11-25
recheck = 2026-12-09T10:30:00

[person]
name = "Maren Whitlock"
language = "es"

[finding]
place = "side of tongue"
side = "left"
done = ["smoothed edge"]
"""


def run(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    program = "from plainleaf.faces.cli import main; main()"
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", program, *words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def office(tmp_path: Path) -> Path:
    for name in ("practice.toml", "day.csv"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    (tmp_path / "visit.toml").write_text(VISIT, "utf-8")
    return tmp_path


def files(folder: Path) -> set[str]:
    return {str(one.relative_to(folder)) for one in folder.rglob("*") if one.is_file()}


def test_the_demo_makes_every_paper_in_three_languages_and_four_formats(tmp_path: Path) -> None:
    done = run("demo", "--to", "papers", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    made = files(tmp_path / "papers")
    for language in ("en", "es", "ar"):
        for paper in ("introduction", "consent", "dark-area", "reminder-card"):
            for kind in ("pdf", "docx", "html", "txt"):
                assert f"{language}/{paper}.{kind}" in made
    assert {"practice.toml", "day.csv", "day-introduction.pdf", "day-reminder-card.pdf"} <= made
    assert len(made) == 48 + 4
    assert "50 files" in done.stdout
    assert "drafts" in done.stdout


def test_init_writes_settings_once(tmp_path: Path) -> None:
    assert run("init", folder=tmp_path).returncode == 0
    text = (tmp_path / "practice.toml").read_text("utf-8")
    assert text.count("#") > 20
    (tmp_path / "practice.toml").write_text("mine", "utf-8")
    again = run("init", folder=tmp_path)
    assert again.returncode == ExitCode.OUTPUT
    assert (tmp_path / "practice.toml").read_text("utf-8") == "mine"


def test_make_writes_one_paper_in_the_persons_own_language(office: Path) -> None:
    done = run("make", "dark-area", "--visit", "visit.toml", "--out", "letter.html", folder=office)
    assert done.returncode == 0, done.stderr
    assert '<html lang="es"' in (office / "letter.html").read_text("utf-8")
    forced = run(
        "make",
        "dark-area",
        "--visit",
        "visit.toml",
        "--language",
        "ar",
        "--format",
        "txt",
        "--out",
        "letter",
        "--date",
        "2026-11-25",
        folder=office,
    )
    assert forced.returncode == 0, forced.stderr
    assert "Maren Whitlock" in (office / "letter").read_text("utf-8")


def test_day_prints_everybody_in_order_and_says_who_is_left_out(office: Path) -> None:
    done = run("day", "day.csv", "--paper", "introduction", folder=office)
    assert done.returncode == 0, done.stderr
    assert "6 people" in done.stdout
    assert len(pypdfium2.PdfDocument(str(office / "introduction.pdf"))) >= 12
    letters = run("day", "day.csv", "--paper", "dark-area", "--out", "l.pdf", folder=office)
    assert "3 people" in letters.stdout
    assert "Left out: 3." in letters.stdout
    assert "line 5, Theo Brandvold: The paper 'dark-area' lacks the dark area" in letters.stdout


def test_papers_and_figures_are_listed(office: Path) -> None:
    assert "reminder-card" in run("papers", folder=office).stdout.replace("\n", "")
    signed = run("papers", "--language", "es", folder=office)
    assert signed.stdout.count("draft") == 4
    listed = run("figures", folder=office)
    assert listed.returncode == 0, listed.stderr
    assert "never" in listed.stdout


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("make", "brochure", "--out", "x.pdf"), ExitCode.PAPER, "no paper called 'brochure'"),
        (("make", "introduction", "--out", "x.odt"), ExitCode.OUTPUT, "'odt' is no format"),
        (("make", "introduction", "--language", "fr", "--out", "x.pdf"), ExitCode.LANGUAGE, "'fr'"),
        (("make", "dark-area", "--out", "x.pdf"), ExitCode.FACTS, "lacks the person"),
        (("make", "dark-area", "--visit", "no.toml", "--out", "x.pdf"), ExitCode.FACTS, "no.toml"),
        (
            ("make", "introduction", "--practice", "no.toml", "--out", "x.pdf"),
            ExitCode.SETTINGS,
            "no.toml",
        ),
        (("day", "no.csv", "--paper", "introduction", "--out", "x.pdf"), ExitCode.FACTS, "no.csv"),
        (
            ("make", "introduction", "--out", "visit.toml/x.pdf"),
            ExitCode.OUTPUT,
            "cannot be written",
        ),
    ],
)
def test_a_known_problem_is_three_sentences_an_exit_code_and_no_file(
    office: Path, words: tuple[str, ...], code: ExitCode, says: str
) -> None:
    before = files(office)
    done = run(*words, folder=office)
    assert done.returncode == code
    assert says in done.stderr
    assert len(done.stderr.strip().splitlines()) == 3
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    assert files(office) == before, "nothing half-written stays behind"


def test_nothing_is_left_when_a_person_cannot_be_printed(office: Path) -> None:
    (office / "day.csv").write_text("name,language\nAna \U00013080,en\n", "utf-8")
    before = files(office)
    done = run("day", "day.csv", "--paper", "reminder-card", "--out", "c.pdf", folder=office)
    assert done.returncode == ExitCode.LANGUAGE
    assert "none of the fonts" in done.stderr
    assert files(office) == before


def test_the_steps_are_logged_with_their_numbers(office: Path) -> None:
    done = run("--verbose", "make", "introduction", "--out", "x.txt", folder=office)
    steps = [line.split()[0] for line in done.stderr.splitlines() if line[:1].isdigit()]
    assert steps == ["1", "2", "3", "4", "5", "7"]


def test_the_entry_point_exists() -> None:
    assert callable(cli.main)
