"""Lists that were saved badly: each fault that a fuzz once found, in its smallest form."""

from pathlib import Path

import pytest

from plainleaf.errors import FactsProblem
from plainleaf.office.people import Row, read_list
from plainleaf.office.practice import Practice


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


SPANISH = "name;language\nJosé Ñandú;es\n"


@pytest.mark.parametrize(
    "content",
    [
        f"sep=;\n{SPANISH}".encode(),
        f"SEP=;\r\n\r\n{SPANISH}".encode("utf-8-sig"),
        f"\n;;\n \n{SPANISH}".encode(),
        SPANISH.replace(";", "\t").encode("utf-16"),
        SPANISH.encode("utf-16-le"),
        SPANISH.encode("cp1252"),
    ],
    ids=["sep", "sep and blank", "blank first", "UTF-16", "UTF-16 unmarked", "Windows-1252"],
)
def test_lists_open_as_spreadsheets_save_them(
    tmp_path: Path, practice: Practice, content: bytes
) -> None:
    file = tmp_path / "day.csv"
    file.write_bytes(content)
    (row,) = read_list(file, practice)
    assert row.visit is not None
    assert (row.name, row.visit.person.language) == ("José Ñandú", "es")


def test_letters_that_were_read_by_a_rule_are_shown(tmp_path: Path, practice: Practice) -> None:
    file = tmp_path / "day.csv"
    file.write_bytes(SPANISH.encode("cp1252"))
    (note,) = read_list(file, practice).notes
    assert "Windows-1252" in note
    assert "'José', 'Ñandú'" in note
    # Where people write other letters, nobody guesses.
    polish = practice.model_copy(update={"country": "PL"})
    with pytest.raises(FactsProblem, match="not in UTF-8"):
        read_list(file, polish)


@pytest.mark.parametrize(
    ("content", "says"),
    [(b"PK\x03\x04rest", "it is a workbook"), (None, "there is no such file in ")],
)
def test_a_file_that_is_no_list_is_told(tmp_path: Path, content: bytes | None, says: str) -> None:
    file = tmp_path / "day.csv"
    if content:
        file.write_bytes(content)
    with pytest.raises(FactsProblem, match=says):
        read_list(file)


def test_a_day_in_numbers_is_read_as_the_country_writes_it_and_told(
    tmp_path: Path, practice: Practice
) -> None:
    file = tmp_path / "day.csv"
    file.write_text("name,recheck\nAna,12/9/2026 10:30\nBo,12/10/2026 2:30 PM\n", "utf-8")
    rows = read_list(file, practice)
    shown = [row.visit.recheck.isoformat() for row in rows if row.visit and row.visit.recheck]
    assert shown == ["2026-12-09T10:30:00", "2026-12-10T14:30:00"]
    assert "'12/9/2026' were read as month/day/year" in rows.notes[0]
    assert "December 9, 2026" in rows.notes[0]
    german = practice.model_copy(update={"country": "DE"})
    (row, _) = read_list(file, german)
    assert row.visit and row.visit.recheck and row.visit.recheck.month == 9


@pytest.mark.parametrize("country", ["US", "CA", ""])
def test_a_day_that_can_be_read_in_two_ways_is_asked_about(
    tmp_path: Path, practice: Practice, country: str
) -> None:
    # A day on the list that can only have the day first makes all others doubtful, also in the
    # United States; Canada's languages disagree; without a country nobody can tell.
    file = tmp_path / "day.csv"
    file.write_text("name,recheck\nAna,12/9/2026 10:30\nBo,25/12/2026 10:30\n", "utf-8")
    ana, bo = read_list(file, practice.model_copy(update={"country": country}) if country else None)
    assert ana.problem is not None
    assert ana.problem.found == (
        "'recheck' says '12/9/2026 10:30', which can be 2026-12-09 or 2026-09-12."
    )
    assert "2026-12-09 10:30" in ana.problem.do
    assert bo.visit is not None


@pytest.mark.parametrize("spoilt", ['Bo,"en,J-2', '"Bo,en,J-2', 'Bo,en,"J-2', '"Bo" x,en,J-2'])
def test_a_stray_quotation_mark_costs_its_own_row(tmp_path: Path, spoilt: str) -> None:
    ana, bo, *others = listed(
        tmp_path, f"name,language,record\nAna,es,J-1\n{spoilt}\nCy,en,J-3\nDi,en,J-4\n"
    )
    assert ana.visit is not None
    assert bo.problem is not None
    assert (bo.line, bo.name.startswith("Bo")) == (3, True)
    assert [(row.line, row.name, row.problem) for row in others] == [
        (4, "Cy", None),
        (5, "Di", None),
    ]
