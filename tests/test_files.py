"""Files are put in their places all of them or none, and no wider open than they were."""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path

import pytest

from plainleaf.desk import Desk
from plainleaf.desk.days import day
from plainleaf.desk.files import put, put_all
from plainleaf.errors import OutputProblem


@contextmanager
def mask(bits: int) -> Iterator[None]:
    before = os.umask(bits)
    try:
        yield
    finally:
        os.umask(before)


def mode(file: Path) -> int:
    return file.stat().st_mode & 0o777


@pytest.mark.parametrize(("bits", "expected"), [(0o077, 0o600), (0o022, 0o644), (0o027, 0o640)])
def test_a_new_file_has_the_mode_that_the_user_asks_for(
    tmp_path: Path, bits: int, expected: int
) -> None:
    with mask(bits):
        assert mode(put(tmp_path / "letter.txt", b"words")) == expected


@pytest.mark.parametrize("before", [0o600, 0o640, 0o666])
def test_a_file_that_is_replaced_keeps_its_mode(tmp_path: Path, before: int) -> None:
    file = tmp_path / "letter.txt"
    file.write_bytes(b"old")
    file.chmod(before)
    with mask(0o022):
        put(file, b"new")
    assert (mode(file), file.read_bytes()) == (before, b"new")


def test_one_name_that_is_refused_leaves_all_as_they_were(tmp_path: Path) -> None:
    (tmp_path / "a.txt").write_bytes(b"old")
    (tmp_path / "c.txt").mkdir()
    names = ("a.txt", "b.txt", "c.txt", "d.txt")
    with pytest.raises(OutputProblem, match="c.txt cannot be written") as raised:
        put_all((tmp_path / name, b"new") for name in names)
    assert "--out" not in str(raised.value)
    assert sorted(file.name for file in tmp_path.iterdir()) == ["a.txt", "c.txt"]
    assert (tmp_path / "a.txt").read_bytes() == b"old"


def test_a_fault_while_the_files_are_made_leaves_nothing(tmp_path: Path) -> None:
    def files() -> Iterator[tuple[Path, bytes]]:
        yield tmp_path / "a.txt", b"new"
        raise KeyError

    with pytest.raises(KeyError):
        put_all(files())
    assert not list(tmp_path.iterdir())


def test_files_are_put_where_no_second_names_are_to_be_had(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> None:
        raise OSError(1, "not permitted")

    monkeypatch.setattr(Path, "hardlink_to", refused)
    (tmp_path / "a.txt").write_bytes(b"old")
    (tmp_path / "b.txt").mkdir()
    put_all([(tmp_path / "a.txt", b"new")])
    with pytest.raises(OutputProblem):
        put_all([(tmp_path / "a.txt", b"newer"), (tmp_path / "b.txt", b"")])
    assert (tmp_path / "a.txt").read_bytes() == b"new"
    assert sorted(file.name for file in tmp_path.iterdir()) == ["a.txt", "b.txt"]


def listed(folder: Path, people: int) -> Path:
    rows = "".join(f"P{number} Roe,en,2026-11-25\n" for number in range(people))
    (folder / "list.csv").write_text(f"name,language,visit day\n{rows}", "utf-8")
    return folder / "list.csv"


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


def test_a_day_with_one_name_taken_writes_nothing(desk: Desk, tmp_path: Path) -> None:
    (tmp_path / "out" / "0002-before-visit.txt").mkdir(parents=True)
    with pytest.raises(OutputProblem, match="0002-before-visit.txt"):
        day(desk, listed(tmp_path, 2), ["before-visit"], tmp_path / "out", "txt", each=True)
    assert names(tmp_path / "out") == ["0002-before-visit.txt"]


def test_a_shorter_day_is_not_mixed_with_a_longer_one(desk: Desk, tmp_path: Path) -> None:
    out = tmp_path / "out"
    day(desk, listed(tmp_path, 3), ["before-visit"], out, "txt", each=True)
    with pytest.raises(OutputProblem, match="out still holds 0003-before-visit.txt of an earlier"):
        day(desk, listed(tmp_path, 2), ["before-visit"], out, "txt", each=True)
    day(desk, listed(tmp_path, 3), ["before-visit"], out, "txt", each=True)
    assert names(out) == [*(f"000{number}-before-visit.txt" for number in (1, 2, 3)), "desk.txt"]


@pytest.mark.parametrize("old", ["day-2-of-3.txt", "day-cards.txt", "day-wallet-cards-1-of-2.txt"])
def test_parts_of_an_earlier_day_do_not_lie_beside_a_new_one(
    desk: Desk, tmp_path: Path, old: str
) -> None:
    people = listed(tmp_path, 1)
    (tmp_path / old).write_bytes(b"old")
    with pytest.raises(OutputProblem, match=f"still holds {old}"):
        day(desk, people, ["before-visit"], tmp_path / "day.txt")
    assert names(tmp_path) == [old, "list.csv"]
    day(Desk(desk.practice, date(2026, 11, 26)), people, ["before-visit"], tmp_path / "other.txt")
