"""The wheel carries templates, locales and fonts, and works from another folder."""

import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

from conftest import PAPERS, ROOT


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", folder, ROOT],
        check=True,
        capture_output=True,
    )
    return next(folder.glob("*.whl"))


def test_the_wheel_holds_all_that_a_paper_needs(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for part in (
        "templates/papers/introduction.xml",
        "templates/print/sheet.typ",
        "templates/print/docx/word/styles.xml",
        "templates/print/docx/_rels/.rels",
        "templates/fonts/NotoSans-core.ttf",
        "templates/fonts/OFL-NotoSans.txt",
        "templates/demo/day.csv",
        "locales/ar/LC_MESSAGES/plainleaf.po",
        "locales/reviews.toml",
        "evidence/data/figures.csv",
    ):
        assert f"plainleaf/{part}" in names, part


def test_the_wheel_runs_in_a_clean_environment_from_another_folder(
    wheel: Path, tmp_path: Path
) -> None:
    home = tmp_path / "env"
    venv.create(home, with_pip=True)
    python = home / "bin" / "python"
    subprocess.run([python, "-m", "pip", "install", "-q", wheel], check=True, capture_output=True)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    done = subprocess.run(
        [home / "bin" / "plainleaf", "demo"], cwd=elsewhere, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    made = [one for one in (elsewhere / "plainleaf-demo").rglob("*") if one.is_file()]
    assert len(made) == len(PAPERS) * 3 * 4 + 5
    found = subprocess.run(
        [python, "-c", "import plainleaf; print(plainleaf.__file__)"],
        cwd=elsewhere,
        capture_output=True,
        text=True,
        check=True,
    )
    assert str(home) in found.stdout
