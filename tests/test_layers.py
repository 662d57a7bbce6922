"""The house keeps its shape: who may look at whom, no import knots, short files and functions."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from statistics import median

import pytest

from conftest import ROOT

SOURCE = ROOT / "src" / "plainleaf"
ROOMS = (
    "errors",
    "paths",
    "characters",
    "evidence",
    "language",
    "office",
    "papers",
    "writers",
    "desk",
    "faces",
)
MODULES = sorted(SOURCE.rglob("*.py"))


def name_of(file: Path) -> str:
    parts = file.relative_to(SOURCE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room_of(module: str) -> str:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else ""


def imported(tree: ast.AST) -> Iterator[str]:
    """All modules of ours that a file imports, inside functions and by name as well."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (one.name for one in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            assert node.level == 0, "relative imports hide the room"
            yield node.module
            yield from (f"{node.module}.{one.name}" for one in node.names)
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") == "import_module":
            text = node.args[0]
            if isinstance(text, ast.JoinedStr):
                text = text.values[0]
            assert isinstance(text, ast.Constant)
            yield str(text.value).rstrip(".")


def imported_from_anywhere(file: Path) -> set[str]:
    return set(imported(ast.parse(file.read_text("utf-8"))))


def ours(file: Path) -> set[str]:
    return {one for one in imported_from_anywhere(file) if one.split(".")[0] == "plainleaf"}


@pytest.mark.parametrize("file", MODULES, ids=name_of)
def test_a_room_imports_only_from_rooms_above_its_line(file: Path) -> None:
    room = room_of(name_of(file))
    if not room:
        return
    above = ROOMS[: ROOMS.index(room) + 1]
    for module in ours(file):
        assert room_of(module) in (*above, ""), f"{file.name} imports {module}"


def told_of_rooms() -> dict[str, str]:
    """What DEVELOPERS.md says of each room of the house."""
    house = (ROOT / "DEVELOPERS.md").read_text("utf-8").split("\nsrc/plainleaf/\n")[1]
    parts = re.split(r"^  (?=\w)", house.split("\ntemplates/\n")[0], flags=re.MULTILINE)
    return {re.split(r"\W", part)[0]: part for part in parts if part}


@pytest.mark.parametrize("file", MODULES, ids=name_of)
def test_every_module_stands_in_the_plan_of_the_house(file: Path) -> None:
    room, _, module = name_of(file).removeprefix("plainleaf.").partition(".")
    if room != "plainleaf":
        assert re.search(rf"\b{module or room}\b", told_of_rooms()[room]), (
            f"DEVELOPERS.md: {module}"
        )


@pytest.mark.parametrize("file", sorted((SOURCE / "writers").glob("*.py")), ids=name_of)
def test_writers_know_blocks_and_nothing_else(file: Path) -> None:
    allowed = (
        "plainleaf.errors",
        "plainleaf.paths",
        "plainleaf.papers.blocks",
        "plainleaf.writers",
    )
    for module in ours(file) - {"plainleaf", "plainleaf.papers"}:
        assert module.startswith(allowed), f"{file.name} imports {module}"


@pytest.mark.parametrize("file", sorted((SOURCE / "faces").glob("*.py")), ids=name_of)
def test_faces_know_only_the_desk(file: Path) -> None:
    allowed = ("plainleaf.errors", "plainleaf.desk", "plainleaf.faces")
    for module in ours(file) - {"plainleaf"}:
        assert module.startswith(allowed), f"{file.name} imports {module}"


def test_evidence_knows_no_language_and_only_the_desk_asks_the_clock() -> None:
    for file in MODULES:
        text = file.read_text("utf-8")
        if "desk" not in file.parts:
            assert ".today()" not in text and ".now(" not in text, file.name


def test_there_is_no_import_cycle() -> None:
    names = {name_of(file) for file in MODULES}
    edges = {name_of(file): ours(file) & names - {name_of(file)} for file in MODULES}
    seen: dict[str, bool] = {}

    def visit(module: str, path: tuple[str, ...]) -> None:
        assert module not in path, f"cycle: {' -> '.join((*path, module))}"
        if module not in seen:
            for other in edges[module]:
                visit(other, (*path, module))
            seen[module] = True

    for module in names:
        visit(module, ())


def test_files_and_functions_stay_short() -> None:
    lengths = []
    for file in MODULES:
        text = file.read_text("utf-8")
        assert len(text.splitlines()) <= 500, file.name
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                length = (node.end_lineno or 0) - node.lineno + 1
                assert length <= 60, f"{file.name}: {node.name} has {length} lines"
                lengths.append(length)
    assert median(lengths) <= 8


def test_the_top_level_is_what_the_guide_says() -> None:
    allowed = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
    allowed |= {"src", "templates", "locales", "tests"}
    made = {"plainleaf-demo", "dist", "build"}
    found = {one.name for one in ROOT.iterdir() if not one.name.startswith(".")} - made
    assert found == allowed


def test_no_room_is_empty() -> None:
    for folder in (one for one in SOURCE.rglob("*") if one.is_dir() and one.name != "__pycache__"):
        assert any(one.is_file() and one.name != "__init__.py" for one in folder.iterdir()), folder
