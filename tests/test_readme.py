"""What the README says is true: its commands, its files, its pictures, its words."""

import re
import shlex
import tomllib
from pathlib import Path

import pytest
from typer.main import get_command

from conftest import ROOT, WEDNESDAY
from pictures import FOLDER, pictures
from plainleaf.desk import PAPERS, Desk
from plainleaf.faces.cli import app
from plainleaf.office.practice import Practice
from plainleaf.office.visits import Visit

README = (ROOT / "README.md").read_text("utf-8")
GUIDE = (ROOT / "DEVELOPERS.md").read_text("utf-8")
COMMANDS = get_command(app).commands  # type: ignore[attr-defined]


def blocks(language: str) -> list[str]:
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def test_the_two_commands_stand_alone() -> None:
    first, second, *_ = blocks("sh")
    assert first.strip() == (
        "python3 -m venv .venv && .venv/bin/pip install -e '.[cjk]' && .venv/bin/plainleaf demo"
    )
    assert second.strip() == "bash tests/all"
    assert "tests/all" in (ROOT / ".ci" / "run").read_text("utf-8")


def test_every_command_is_in_the_readme_with_options_that_exist() -> None:
    shown = set()
    for line in blocks("sh")[2].splitlines():
        words = shlex.split(line, comments=True)
        assert words[0] == "plainleaf"
        command = COMMANDS[words[1]]
        shown.add(words[1])
        if words[1] == "figures" and len(words) > 2 and not words[2].startswith("-"):
            command = command.commands[words[2]]
        known = {option for one in command.params for option in one.opts}
        assert {word for word in words if word.startswith("--")} <= known, line
    assert shown == set(COMMANDS)


def test_every_paper_and_path_that_is_named_exists() -> None:
    for name in PAPERS:
        assert f"`{name}`" in README
    for text in (README, GUIDE):
        for path in re.findall(r"(?:templates|locales|tests)/[\w./-]+", text):
            if "NAME" not in path and "LANG" not in path and "*" not in path:
                assert (ROOT / path.rstrip(".")).exists(), path


def test_the_visit_in_the_readme_makes_a_letter(practice: Practice) -> None:
    visit = Visit.model_validate(tomllib.loads(blocks("toml")[0]))
    Desk(practice, WEDNESDAY).page("dark-area", visit)


@pytest.mark.parametrize("name", sorted(pictures()))
def test_the_pictures_are_what_the_program_makes_today(name: str) -> None:
    assert f"tests/pictures/{name}" in README
    assert (FOLDER / name).read_bytes() == pictures()[name], "run: python tests/pictures.py"


def test_no_address_of_a_machine_or_a_registry_stands_in_the_project() -> None:
    mine = Path(__file__)
    for file in (*ROOT.glob("*.*"), *(ROOT / "src").rglob("*.py"), *(ROOT / "tests").rglob("*.py")):
        if file.is_file() and file != mine:
            assert not re.search(r"/work/|/root/|index-url", file.read_text("utf-8")), file
