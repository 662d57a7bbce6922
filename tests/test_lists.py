"""Lists that were saved badly: each fault that a fuzz once found, in its smallest form."""

from pathlib import Path

import pytest

from plainleaf.office.people import Row, read_list


def listed(folder: Path, text: str) -> list[Row]:
    file = folder / "day.csv"
    file.write_bytes(text.encode())
    return read_list(file)


@pytest.mark.parametrize("mark", "\u2028\u2029\u0085\u000b\u000c\u001c\u001d\u001e")
def test_only_a_line_end_cuts_a_line(tmp_path: Path, mark: str) -> None:
    # RFC 4180, section 2: records are divided by line breaks, and these marks are none.
    rows = listed(tmp_path, f"name,record\nAna{mark}Roe,J-1\r\nBo,J-2\n")
    assert [(row.line, row.name) for row in rows] == [(2, f"Ana{mark}Roe"), (3, "Bo")]
    assert rows[0].visit is not None
    assert (rows[0].visit.person.name, rows[0].visit.person.record) == ("Ana Roe", "J-1")


@pytest.mark.parametrize("mark", ",;\t")
@pytest.mark.parametrize("heading", ["next\nof kin", "a, b; c, d; e\t\t\t", '""'])
def test_the_mark_between_cells_is_told_from_those_inside(
    tmp_path: Path, mark: str, heading: str
) -> None:
    (row,) = listed(tmp_path, mark.join((f'"{heading}"', "name", "x\n")) + f"1{mark}Ana{mark}2\n")
    assert (row.name, row.problem) == ("Ana", None)


def test_a_line_without_a_name_is_told_whatever_it_holds(tmp_path: Path) -> None:
    rows = listed(tmp_path, "notes,name\ncall her,\n , \n\nseen,Bo\n")
    assert [(row.line, row.name, row.visit is None) for row in rows] == [
        (2, "(no name)", True),
        (5, "Bo", False),
    ]


def test_a_comma_in_a_name_does_not_move_the_cells_behind_it(tmp_path: Path) -> None:
    bad, good, padded = listed(tmp_path, 'name,record\nRoe, Ana,J-1\n"Lind, Bo",J-2\nCy,J-3,, \n')
    assert bad.problem is not None
    assert bad.where == "line 2"
    assert "There are more cells than headings, at the end 'J-1'" in str(bad.problem)
    assert good.visit is not None and good.visit.person.record == "J-2"
    assert padded.visit is not None and padded.visit.person.record == "J-3"
