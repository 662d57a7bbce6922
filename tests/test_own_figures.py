"""A practice's own rows and the schema of the table."""

import csv
import json
import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from plainleaf import paths
from plainleaf.errors import EvidenceProblem
from plainleaf.evidence import tables as tables_module
from plainleaf.evidence.measures import MEASURES, SETTINGS, SITES
from plainleaf.evidence.own import (
    COLUMNS,
    SOURCE_COLUMNS,
    OwnRows,
    append_rows,
    merged,
    read_rows,
)
from plainleaf.evidence.tables import Figure, Tables

SCHEMA = json.loads((paths.evidence() / "figures.schema.json").read_text("utf-8"))
ROW = {
    "id": "pl-mouth-new-2023",
    "measure": "new-cases",
    "group": "all",
    "site": "oral-pharynx",
    "icd10": "C00-C14",
    "sex": "both",
    "age": "all",
    "place": "PL",
    "period": "2023",
    "value": "4000",
    "low": "",
    "high": "",
    "setting": "registry",
    "source": "pl-registry-2023",
    "locator": "Table 1",
    "how_read": "read",
    "quoted_in": "",
    "date_read": "2026-11-25",
    "note": "Made up, for this test",
}
SOURCE = {
    "source_publisher": "A registry",
    "source_title": "A yearly report",
    "source_edition": "2023",
    "source_published": "2025-12",
    "source_address": "https://registry.example/report",
    "source_licence": "facts",
    "source_review_by": "2027-12-31",
}
FULL = ROW | SOURCE
DEATHS = ROW | {"id": "pl-mouth-deaths-2023", "measure": "deaths", "value": "2000"}


def saved(
    file: Path,
    rows: Iterable[dict[str, str]],
    heads: Iterable[str] = (*COLUMNS, *SOURCE_COLUMNS),
    delimiter: str = ",",
    encoding: str = "utf-8",
) -> Path:
    with file.open("w", encoding=encoding, newline="") as stream:
        writer = csv.DictWriter(stream, list(heads), "", delimiter=delimiter)
        writer.writeheader()
        writer.writerows(rows)
    return file


def read(file: Path, evidence: Tables) -> OwnRows:
    return read_rows(file, evidence.sources)


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return tmp_path / "mine.csv"


@pytest.fixture
def store(tmp_path: Path) -> Path:
    (tmp_path / "practice").mkdir()
    return tmp_path / "practice" / "own_figures.csv"


def test_a_good_row_is_a_figure_with_its_new_source(file: Path, evidence: Tables) -> None:
    rows = read(saved(file, [FULL, DEATHS]), evidence)
    assert rows.problems == ()
    assert [figure.value for figure in rows.figures] == [4000, 2000]
    assert rows.sources["pl-registry-2023"].review_by == date(2027, 12, 31)
    assert rows.sources["pl-registry-2023"].published == "2025-12"


def test_a_known_source_needs_no_columns_of_its_own(file: Path, evidence: Tables) -> None:
    rows = read(saved(file, [ROW | {"source": "acs-2006"}], heads=COLUMNS), evidence)
    assert (len(rows.figures), rows.sources, rows.problems) == (1, {}, ())


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig"])
def test_delimiter_byte_order_mark_and_order_of_columns_do_not_matter(
    file: Path, evidence: Tables, delimiter: str, encoding: str
) -> None:
    named = {f"  {name.replace('_', ' ').title()} ": cell for name, cell in FULL.items()}
    saved(file, [named], reversed(list(named)), delimiter, encoding)
    rows = read(file, evidence)
    assert rows.problems == ()
    assert rows.figures == read(saved(file, [FULL]), evidence).figures


BAD = [
    ({"value": "many"}, "value 'many' is not a plain number"),
    ({"value": "4,5"}, "value '4,5' is not a plain number"),
    ({"measure": "share"}, "'share' is no measure"),
    ({"icd10": "C53"}, "does not belong to oral-pharynx"),
    ({"place": "Utopia"}, "'Utopia' is no place"),
    ({"low": "1"}, "one end of the interval is missing"),
    ({"date_read": "yesterday"}, "'yesterday' is not a day"),
    ({"id": ""}, "'' is no id"),
    ({"id": "My Row"}, "'My Row' is no id"),
    ({"group": ""}, "'group' is empty"),
    ({"age": " "}, "'age' is empty"),
    ({"source": ""}, "'source' is empty"),
    ({"source": "Mine"}, "'Mine' is no source"),
    ({"note": "a\x07b"}, "'note' holds a character that cannot be printed"),
    ({"how_read": "quoted", "quoted_in": "nobody"}, "'nobody' that quotes it is not known"),
    ({"source_title": ""}, "'source_title' is empty for the new source"),
    ({"source_published": "soon"}, "'published' is not a year or a day"),
    ({"source_review_by": "31.12.2027"}, "'31.12.2027' is not a day"),
    ({"source_review_by": "2027-02-30"}, "'2027-02-30' is not a day"),
    ({"source_address": "javascript:x"}, "'source_address' is no address"),
    ({"source": "acs-2006"}, "the source 'acs-2006' is already known with other particulars"),
]


@pytest.mark.parametrize(("cells", "says"), BAD)
def test_a_bad_row_is_told_with_line_and_id(
    file: Path, evidence: Tables, cells: dict[str, str], says: str
) -> None:
    rows = read(saved(file, [FULL | cells]), evidence)
    assert rows.figures == () and rows.sources == {}
    (problem,) = rows.problems
    assert says in problem.problem.found
    assert problem.problem.found.startswith("mine.csv line 2 (")
    assert (problem.line, problem.id) == (2, cells.get("id", ROW["id"]))


def test_every_bad_line_is_told_and_the_good_ones_are_kept(file: Path, evidence: Tables) -> None:
    bad = [
        FULL | {"id": f"bad-{n}", "period": f"{1950 + n}"} | cells
        for n, (cells, _) in enumerate(BAD)
    ]
    rows = read(saved(file, [FULL, *bad, DEATHS]), evidence)
    assert [figure.id for figure in rows.figures] == [ROW["id"], DEATHS["id"]]
    assert [problem.line for problem in rows.problems] == list(range(3, 3 + len(BAD)))
    for problem, (_, says) in zip(rows.problems, BAD, strict=True):
        assert says in problem.problem.found


def test_a_source_that_nobody_describes_is_not_known(file: Path, evidence: Tables) -> None:
    (problem,) = read(saved(file, [ROW]), evidence).problems
    assert "the source 'pl-registry-2023' is not known" in problem.problem.found


def test_two_lines_must_describe_a_source_alike(file: Path, evidence: Tables) -> None:
    other = DEATHS | SOURCE | {"source_edition": "2024"}
    rows = read(saved(file, [FULL, other]), evidence)
    assert [figure.id for figure in rows.figures] == [ROW["id"]]
    assert "other particulars" in rows.problems[0].problem.found


def test_a_second_id_and_a_second_value_are_problems(file: Path, evidence: Tables) -> None:
    same_id = DEATHS | {"id": ROW["id"]}
    same_value = FULL | {"id": "another-name", "value": "3"}
    rows = read(saved(file, [FULL, same_id, same_value]), evidence)
    assert [figure.value for figure in rows.figures] == [4000]
    assert [problem.line for problem in rows.problems] == [3, 4]
    assert "the id stands already on line 2" in rows.problems[0].problem.found
    assert "a value of the same stands already on line 2" in rows.problems[1].problem.found


def test_who_quotes_must_be_known_by_a_good_row(file: Path, evidence: Tables) -> None:
    quoted = DEATHS | {"how_read": "quoted", "quoted_in": "pl-page", "source": "acs-2006"}
    page = FULL | {"id": "pl-page-row", "period": "2020", "source": "pl-page"}
    assert read(saved(file, [quoted, page]), evidence).problems == ()
    rows = read(saved(file, [quoted, page | {"value": "x"}]), evidence)
    assert rows.figures == ()
    assert [problem.line for problem in rows.problems] == [2, 3]


def test_a_stray_quotation_mark_spoils_only_its_own_line(file: Path, evidence: Tables) -> None:
    lines = saved(file, [FULL, DEATHS]).read_text("utf-8").splitlines()
    file.write_text("\r\n".join([lines[0], '"pl-x,new-cases', *lines[1:], "a,b", ""]), "utf-8")
    rows = read(file, evidence)
    assert len(rows.figures) == 2
    assert [problem.line for problem in rows.problems] == [2, 5]
    assert "cannot be split into cells" in rows.problems[0].problem.found
    assert "too many or too few cells" in rows.problems[1].problem.found


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "it is empty"),
        (b"\xff\xfe\x00", "it cannot be read as a table (UnicodeDecodeError)"),
        (b"id,value\n", "it has no column measure, group"),
        (",".join([*COLUMNS, "colour"]).encode(), "'colour' is no known column"),
        (",".join([*COLUMNS, "ID"]).encode(), "there are two columns 'id'"),
        (b'"id,value\n', "line 1: the line cannot be split into cells"),
    ],
)
def test_a_file_that_is_no_such_table_is_a_known_problem(
    file: Path, evidence: Tables, content: bytes, says: str
) -> None:
    file.write_bytes(content)
    with pytest.raises(EvidenceProblem, match=re.escape(says)):
        read(file, evidence)
    with pytest.raises(EvidenceProblem, match="FileNotFoundError"):
        read(file.with_name("none.csv"), evidence)


def test_rows_are_stored_by_id_and_read_back_the_same(
    file: Path, store: Path, evidence: Tables
) -> None:
    exact = FULL | {"id": "a-risk", "measure": "lifetime-risk", "value": "0.0000123"}
    rows = read(saved(file, [FULL, DEATHS, exact]), evidence)
    assert append_rows(store, rows, taken=()) == 3
    back = read(store, evidence)
    assert back.problems == ()
    assert back.figures == tuple(sorted(rows.figures, key=lambda figure: figure.id))
    assert back.sources == rows.sources
    assert [one.name for one in store.parent.iterdir()] == [store.name]


def test_a_row_of_the_same_id_is_replaced_and_not_counted_as_new(
    file: Path, store: Path, evidence: Tables
) -> None:
    append_rows(store, read(saved(file, [FULL, DEATHS]), evidence), taken=())
    later = SOURCE | {"source_review_by": "2029-12-31"}
    changed = read(saved(file, [ROW | later | {"value": "4100"}]), evidence)
    assert append_rows(store, changed, taken=()) == 0
    back = read(store, evidence)
    assert back.problems == ()
    assert {figure.id: figure.value for figure in back.figures} == {
        ROW["id"]: 4100,
        DEATHS["id"]: 2000,
    }
    assert back.sources["pl-registry-2023"].review_by == date(2029, 12, 31)


def test_nothing_good_writes_nothing(file: Path, store: Path, evidence: Tables) -> None:
    rows = read(saved(file, [ROW]), evidence)
    assert append_rows(store, rows, taken=()) == 0
    assert not store.exists()


@pytest.mark.parametrize(
    ("second", "says"),
    [
        ([FULL | {"id": "taken-one", "period": "2020"}], "'taken-one': the id belongs to a row"),
        ([FULL | {"id": "x", "value": "1"}], "'x' has a value of the same already"),
        (
            [FULL | {"id": "x", "period": "2020", "source_title": "Another"}],
            "is already known with other particulars",
        ),
        (
            [FULL | {"id": "pl-page-row", "period": "2019", "source": "pl-other"}],
            "no row would have the source 'pl-page' that quotes it",
        ),
    ],
)
def test_rows_that_contradict_the_stored_ones_leave_the_file_as_it_was(
    file: Path, store: Path, evidence: Tables, second: list[dict[str, str]], says: str
) -> None:
    quoted = DEATHS | {"how_read": "quoted", "quoted_in": "pl-page"}
    page = FULL | {"id": "pl-page-row", "period": "2019", "source": "pl-page"}
    append_rows(store, read(saved(file, [FULL, quoted, page]), evidence), taken=())
    before = store.read_bytes()
    rows = read(saved(file, second), evidence)
    assert rows.problems == ()
    with pytest.raises(EvidenceProblem, match=re.escape(says)):
        append_rows(store, rows, taken={"taken-one"})
    assert store.read_bytes() == before


def test_a_store_that_was_spoilt_by_hand_is_not_written_over(
    file: Path, store: Path, evidence: Tables
) -> None:
    append_rows(store, read(saved(file, [FULL]), evidence), taken=())
    whole = store.read_text("utf-8")
    rows = read(saved(file, [DEATHS | SOURCE]), evidence)
    for spoilt in (whole + '"x,y\n', whole + "a,b\n", whole + whole.splitlines()[1], "", "id\n"):
        store.write_text(spoilt, "utf-8")
        with pytest.raises(EvidenceProblem, match="own_figures.csv"):
            append_rows(store, rows, taken=())
        assert store.read_text("utf-8") == spoilt


def test_a_full_disk_leaves_the_old_file_and_no_other(
    file: Path, store: Path, evidence: Tables, monkeypatch: pytest.MonkeyPatch
) -> None:
    append_rows(store, read(saved(file, [FULL]), evidence), taken=())
    before = store.read_bytes()

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("plainleaf.evidence.own.fsync", full)
    with pytest.raises(EvidenceProblem, match="No space left on device"):
        append_rows(store, read(saved(file, [DEATHS | SOURCE]), evidence), taken=())
    assert store.read_bytes() == before
    assert [one.name for one in store.parent.iterdir()] == [store.name]


def test_a_place_that_is_not_there_is_a_known_problem(
    file: Path, tmp_path: Path, evidence: Tables
) -> None:
    rows = read(saved(file, [FULL]), evidence)
    with pytest.raises(EvidenceProblem, match="it cannot be written"):
        append_rows(tmp_path / "nowhere" / "own_figures.csv", rows, taken=())
    with pytest.raises(EvidenceProblem, match="it cannot be read as a table"):
        append_rows(tmp_path, rows, taken=())


def test_own_figures_are_looked_up_like_the_others(file: Path, evidence: Tables) -> None:
    rows = read(saved(file, [FULL, DEATHS]), evidence)
    both = merged(evidence, rows)
    assert len(both.figures) == len(evidence.figures) + 2
    found = both.newest(("new-cases", "deaths"), "mouth", "PL")
    assert [(figure.place, figure.value) for figure in found] == [("PL", 4000), ("PL", 2000)]
    assert both.sources["pl-registry-2023"].publisher == "A registry"


def test_own_figures_never_stand_in_for_the_packages(file: Path, evidence: Tables) -> None:
    theirs = evidence.figures[0]
    rows = read(saved(file, [FULL]), evidence)
    (own,) = rows.figures
    with pytest.raises(EvidenceProblem, match="the id belongs to a row of the package"):
        merged(evidence, replace(rows, figures=(replace(own, id=theirs.id),)))
    with pytest.raises(EvidenceProblem, match=f"'{theirs.id}' has a value of the same"):
        merged(evidence, replace(rows, figures=(replace(theirs, id="mine"),)))
    source = replace(rows.sources["pl-registry-2023"], id="acs-2006")
    with pytest.raises(EvidenceProblem, match="'acs-2006' is already known"):
        merged(evidence, replace(rows, sources={"acs-2006": source}))


CELLS = st.one_of(
    st.sampled_from(["", "all", "both", "2023", "C00-C14", "-1", "1e5", "٣", "9" * 400, '"', '"a']),
    st.text(st.characters(codec="utf-8"), max_size=8),
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    st.lists(
        st.one_of(
            st.dictionaries(st.sampled_from([*COLUMNS, *SOURCE_COLUMNS]), CELLS, max_size=3),
            st.text(st.characters(codec="utf-8", exclude_characters="\r\n"), max_size=40),
        ),
        max_size=6,
    ),
    st.sampled_from([",", ";", "\t"]),
)
def test_no_line_is_ever_lost(
    tmp_path: Path,
    evidence: Tables,
    lines: list[dict[str, str] | str],
    delimiter: str,
) -> None:
    written = [delimiter.join([*COLUMNS, *SOURCE_COLUMNS])]
    for number, line in enumerate(lines):
        cells = FULL | {"id": f"row-{number}", "period": f"{2000 + number}"}
        if isinstance(line, dict):
            cells |= {name: re.sub(r"[\r\n]", "", cell) for name, cell in line.items()}
            line = delimiter.join('"' + cell.replace('"', '""') + '"' for cell in cells.values())
        written.append(line)
    file = tmp_path / "fuzz.csv"
    file.write_bytes("\n".join(written).encode())
    rows = read_rows(file, evidence.sources)
    # A line with a letter or a digit in it says something.
    say = {n for n, line in enumerate(written, 1) if n > 1 and any(map(str.isalnum, line))}
    told = [problem.line for problem in rows.problems]
    assert len(told) == len(set(told)), "one problem a line"
    assert len(rows.figures) + len(told) >= len(say)
    assert len(rows.figures) + len(told) <= len(lines)
    store = tmp_path / "own_figures.csv"
    store.unlink(missing_ok=True)
    assert append_rows(store, rows, taken=()) == len(rows.figures)
    if rows.figures:
        back = read_rows(store, evidence.sources)
        assert back.problems == ()
        assert set(back.figures) == set(rows.figures)
        assert back.sources == rows.sources


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_a_known_problem(
    tmp_path: Path, evidence: Tables, content: bytes
) -> None:
    file = tmp_path / "fuzz.csv"
    file.write_bytes(content)
    with pytest.raises(EvidenceProblem):
        read_rows(file, evidence.sources)


def test_the_schema_names_the_readers_columns() -> None:
    assert [field["name"] for field in SCHEMA["fields"]] == [*COLUMNS, *SOURCE_COLUMNS]
    heads = (paths.evidence() / "figures.csv").read_text("utf-8").partition("\n")[0]
    assert heads.strip().split(",") == list(COLUMNS)
    assert (SCHEMA["primaryKey"], SCHEMA["missingValues"]) == (["id"], [""])


@pytest.mark.parametrize(
    ("column", "allowed"),
    [
        ("measure", set(MEASURES)),
        ("site", set(SITES)),
        ("icd10", set(SITES.values()) - {""}),
        ("setting", set(SETTINGS)),
        ("sex", set(tables_module._SEXES)),
        ("how_read", set(tables_module._HOW_READ)),
    ],
)
def test_the_schemas_closed_sets_are_the_readers(column: str, allowed: set[str]) -> None:
    enum = _constraints(column)["enum"]
    assert set(enum) == allowed, "bring figures.schema.json up to date with measures.py"
    assert len(enum) == len(set(enum))


def test_the_schemas_patterns_and_keys_fit_the_tables_as_they_stand(evidence: Tables) -> None:
    patterns = {name: _constraints(name).get("pattern") for name in COLUMNS}
    for figure in evidence.figures:
        for name, pattern in patterns.items():
            cell = str(getattr(figure, name))
            assert not pattern or not cell or re.fullmatch(pattern, cell), (figure.id, name)
        _required(figure)
    (key,) = SCHEMA["uniqueKeys"]
    figure = evidence.figures[0]
    assert tuple(getattr(figure, name) for name in key) == figure.stratum
    for source in evidence.sources.values():
        for field in ("address", "published"):
            pattern = _constraints(f"source_{field}")["pattern"]
            assert re.fullmatch(pattern, getattr(source, field)), source.id


def _constraints(column: str) -> dict[str, Any]:
    (field,) = (field for field in SCHEMA["fields"] if field["name"] == column)
    return dict(field.get("constraints", {}))


def _required(figure: Figure) -> None:
    for name in COLUMNS:
        if _constraints(name).get("required"):
            assert getattr(figure, name) not in ("", None), (figure.id, name)
