"""The practice's own counts: read whole or not at all, and nothing about whose they are."""

import re
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from plainleaf.errors import FactsProblem
from plainleaf.evidence.intervals import wilson
from plainleaf.office.results import LEAST, Results, read_results

HEADS = "seen,recheck,referred,biopsied,outcome"
GOOD = (
    "2026-03-02,gone,no,no,",
    "2026-01-05,smaller,no,no,unknown",
    "2026-02-03,still there,yes,yes,harmless",
    "2026-04-07,still there,yes,yes,cancer",
    "2026-04-08,Still There,Y,1,Early Change",
    "2026-04-09,not back,no,no,",
    "2026-04-10,gone,no,yes,",
)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "results.csv"


def counted(file: Path, *lines: str, heads: str = HEADS) -> Results:
    file.write_text("\n".join((heads, *lines)), "utf-8")
    return read_results(file)


def test_every_row_is_counted_once(file: Path) -> None:
    results = counted(file, *GOOD)
    assert results == Results(
        first_day=date(2026, 1, 5),
        last_day=date(2026, 4, 10),
        dark=7,
        gone=2,
        smaller=1,
        still_there=3,
        not_back=1,
        referred=3,
        biopsied=4,
        harmless=1,
        serious=2,
    )


def test_byte_order_mark_delimiter_headings_and_other_columns_do_not_matter(file: Path) -> None:
    plain = counted(file, *GOOD)
    lines = ["Name;Outcome; First Seen ;RE-CHECK;Referral;Biopsy;Note"]
    for line in GOOD:
        seen, recheck, referred, biopsied, outcome = line.split(",")
        lines.append(f"A. Person;{outcome};{seen};{recheck};{referred};{biopsied};x")
    for delimiter in ";\t":
        file.write_bytes("\r\n".join(lines).replace(";", delimiter).encode("utf-8-sig"))
        assert read_results(file) == plain
    assert "Person" not in repr(plain)


@pytest.mark.parametrize(
    ("line", "column", "says"),
    [
        ("02.03.2026,gone,no,no,", "seen", "'02.03.2026' cannot be used"),
        ("2026-02-30,gone,no,no,", "seen", "'2026-02-30' cannot be used"),
        (",gone,no,no,", "seen", "it is empty"),
        ("2026-03-02,vanished,no,no,", "recheck", "'vanished' cannot be used"),
        ("2026-03-02,,no,no,", "recheck", "it is empty"),
        ("2026-03-02,gone,perhaps,no,", "referred", "'perhaps' cannot be used"),
        ("2026-03-02,gone,no,,", "biopsied", "it is empty"),
        ("2026-03-02,gone,no", "biopsied", "it is empty"),
        ("2026-03-02,gone,no,yes,fine", "outcome", "'fine' cannot be used"),
        ("2026-03-02,gone,no,no,harmless", "outcome", "it says 'harmless', and 'biopsied' says no"),
    ],
)
def test_a_bad_row_is_told_with_line_and_column(
    file: Path, line: str, column: str, says: str
) -> None:
    with pytest.raises(FactsProblem, match=re.escape(says)) as caught:
        counted(file, *GOOD[:2], line, *GOOD[2:])
    assert caught.value.found.startswith(f"results.csv line 4, column '{column}': ")


def test_all_bad_lines_are_named_beside_the_good_ones(file: Path) -> None:
    with pytest.raises(FactsProblem) as caught:
        counted(file, GOOD[0], "x,gone,no,no,", GOOD[1], '"open', ",,,,", "2026-03-02,a,no,no,,z")
    assert caught.value.found == "results.csv line 3, column 'seen': 'x' cannot be used."
    assert caught.value.do.endswith("Correct these lines as well: 5, 7.")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "it is empty"),
        (HEADS.encode(), "it has no row"),
        (b"seen,recheck\n", "it has no column for 'referred'"),
        (f"{HEADS},Seen\n".encode(), "it has two columns for 'seen'"),
        (b"\xff", "it cannot be read as a table (UnicodeDecodeError)"),
        (b'"seen', "line 1: the line cannot be split into cells"),
    ],
)
def test_a_file_that_is_no_such_table_is_a_known_problem(
    file: Path, content: bytes, says: str
) -> None:
    file.write_bytes(content)
    with pytest.raises(FactsProblem, match=re.escape(says)):
        read_results(file)


def test_a_file_that_is_not_there_is_a_known_problem(file: Path) -> None:
    with pytest.raises(FactsProblem, match="FileNotFoundError"):
        read_results(file)


def test_few_dark_areas_are_not_printed(file: Path) -> None:
    assert not counted(file, *[GOOD[0]] * (LEAST - 1)).printable
    assert counted(file, *[GOOD[0]] * LEAST).printable


def test_the_interval_is_of_the_dark_areas_unless_another_number_is_given(file: Path) -> None:
    results = counted(file, *GOOD)
    assert results.interval(2) == wilson(2, 7)
    assert results.interval(results.serious, of=results.biopsied) == wilson(2, 4)
    with pytest.raises(ValueError, match="no possible count"):
        results.interval(8)


ROWS = st.tuples(
    st.dates(date(2020, 1, 1), date(2030, 1, 1)).map(str),
    st.sampled_from(["gone", "smaller", "still there", "not back"]),
    st.sampled_from(["yes", "no"]),
    st.one_of(
        st.tuples(st.just("no"), st.sampled_from(["", "unknown"])),
        st.tuples(
            st.just("yes"),
            st.sampled_from(["", "unknown", "harmless", "early change", "cancer"]),
        ),
    ),
).map(lambda row: ",".join((*row[:3], *row[3])))


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.lists(ROWS, min_size=1, max_size=30))
def test_counts_add_up(tmp_path: Path, lines: list[str]) -> None:
    results = counted(tmp_path / "results.csv", *lines)
    parts = (results.gone, results.smaller, results.still_there, results.not_back)
    assert sum(parts) == results.dark == len(lines)
    assert results.harmless + results.serious <= results.biopsied <= results.dark
    assert results.first_day <= results.last_day


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(
        st.one_of(
            ROWS, st.text(st.characters(codec="utf-8", exclude_characters="\r\n"), max_size=30)
        ),
        max_size=8,
    )
)
def test_no_line_is_ever_lost(tmp_path: Path, lines: list[str]) -> None:
    say = [line for line in lines if any(map(str.isalnum, line))]
    try:
        assert counted(tmp_path / "results.csv", *lines).dark == len(say)
    except FactsProblem as problem:
        assert problem.found.startswith("results.csv")


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_a_known_problem(tmp_path: Path, content: bytes) -> None:
    file = tmp_path / "results.csv"
    file.write_bytes(content)
    with pytest.raises(FactsProblem):
        read_results(file)
