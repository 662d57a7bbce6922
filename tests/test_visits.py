"""What may be recorded about a person and a visit, and how it is read."""

import json
import re
from datetime import date, datetime
from pathlib import Path
from typing import Any, get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from plainleaf import paths
from plainleaf.errors import FactsProblem
from plainleaf.office import teeth, visits
from plainleaf.office.advice import Advice, advise
from plainleaf.office.people import read_list
from plainleaf.office.practice import Look
from plainleaf.office.visits import Visit, read_visit, visit_schema

FULL: dict[str, Any] = {
    "day": "2026-11-25",
    "recheck": "2026-12-09T10:30:00",
    "next_visit": "2026-12-09T10:30:00",
    "decision": "agreed",
    "coming_back": "will come",
    "missed_rechecks": 1,
    "normal": ["cheek", "hard palate"],
    "explained_by": {"name": "Ada Quist", "role": "hygienist"},
    "person": {
        "name": "Maren Whitlock",
        "called": "Maren",
        "born": "1961-04-17",
        "record": "J-1001",
        "language": "es",
        "large_print": True,
        "address": ["12 Larch Row", "Example City, EX 00000"],
        "phone": "+1 303 555 0199",
        "email": "maren@example.org",
        "channels": ["letter", "text message"],
        "guardian": {"name": "Ilse Whitlock", "relationship": "parent"},
        "interpreter": {
            "language": "es",
            "name_or_id": "no. 4711",
            "mode": "by phone",
            "adult": True,
        },
    },
    "finding": {
        "place": "side of tongue",
        "side": "left",
        "done": ["smoothed edge", "took photograph"],
        "nearest_tooth": 36,
        "size": {"length": 7, "width": 4.5},
        "colour": "white",
        "surface": "rough",
        "edge": "sharp",
        "feel": "firm",
        "since": {"weeks": 3},
        "symptoms": ["burning", "bleeding"],
        "ordinary_look": "seen",
        "light": "dark",
        "pressure": "partly",
        "likely_cause": "rubbing or biting",
        "photographs": ["ordinary", "filtered"],
        "plan": "re-check",
    },
    "recheck_outcome": {"found": "smaller", "day": "2026-12-09"},
}
LOOK = Look(minutes=5, retention_years=7)
DAY = date(2026, 11, 25)
CLOSED = {
    "side": teeth.Side,
    "colour": visits.Colour,
    "surface": visits.Surface,
    "edge": visits.Edge,
    "feel": visits.Feel,
    "ordinary_look": visits.OrdinaryLook,
    "light": visits.Light,
    "pressure": visits.Pressure,
    "likely_cause": visits.Cause,
    "plan": visits.Plan,
}


def in_toml(facts: dict[str, Any], table: str = "") -> str:
    """The same facts in TOML; JSON's strings, numbers, lists and booleans are TOML's as well."""
    inner = {name: value for name, value in facts.items() if isinstance(value, dict)}
    text = "".join(
        f"{name} = {json.dumps(value)}\n" for name, value in facts.items() if name not in inner
    )
    for name, value in inner.items():
        text += f"[{table}{name}]\n{in_toml(value, f'{table}{name}.')}"
    return text


def changed(path: str, value: Any) -> dict[str, Any]:
    """FULL with one value changed, such as ``finding.size.length``."""
    facts: dict[str, Any] = json.loads(json.dumps(FULL))
    *tables, last = path.split(".")
    inner = facts
    for table in tables:
        inner = inner[table]
    inner[last] = value
    return facts


def written(folder: Path, name: str, text: str) -> Path:
    file = folder / name
    file.write_text(text, "utf-8", errors="surrogatepass")
    return file


def listed(folder: Path, heads: str, *rows: str) -> list[Any]:
    return read_list(written(folder, "day.csv", "\n".join((heads, *rows)) + "\n"))


def test_toml_and_json_give_the_same_visit(tmp_path: Path) -> None:
    from_json = read_visit(written(tmp_path, "visit.JSON", json.dumps(FULL)))
    from_toml = read_visit(written(tmp_path, "visit.toml", "\ufeff" + in_toml(FULL)))
    assert from_json == from_toml
    assert from_json.finding is not None
    assert from_json.finding.since is not None
    assert from_json.finding.since.in_days == 21
    assert from_json.recheck_outcome == visits.RecheckOutcome(
        found="smaller", day=date(2026, 12, 9)
    )
    assert Visit.model_validate(from_json.model_dump(mode="json")) == from_json


def test_an_old_visit_is_still_valid_and_nothing_is_made_up(tmp_path: Path) -> None:
    old = '[person]\nname = "Ana"\n[finding]\nplace = "cheek"\ndone = ["left alone"]\n'
    visit = read_visit(written(tmp_path, "visit.toml", old))
    assert visit.finding is not None
    assert visit.finding.model_dump(exclude_defaults=True) == {
        "place": "cheek",
        "done": ("left alone",),
    }
    assert visit.person.model_dump(exclude_defaults=True) == {"name": "Ana"}
    assert visit.finding.symptoms is None


def test_a_json_file_may_name_its_schema(tmp_path: Path) -> None:
    text = json.dumps({"$schema": "visit.schema.json", **FULL})
    assert read_visit(written(tmp_path, "visit.json", text)).person.name == "Maren Whitlock"


MISTAKES = [
    ("person.interpreter.adult", False, "nobody under 18 may interpret"),
    ("person.interpreter.age", 15, "is nothing that we know here"),
    ("person.interpreter.mode", "by child", "'in the room', 'by phone' or 'by video'"),
    ("person.guardian.name", " ", "which is empty"),
    ("person.guardian.relationship", "wizard", "'parent'"),
    ("person.email", "maren at example", "not an email address"),
    ("person.record", "J\u0007", "cannot be printed"),
    ("person.channels", ["owl"], "'letter'"),
    ("person.born", "1961", "not written as year-month-day"),
    ("person.born", 0, "not written as year-month-day"),
    ("recheck", "20261209", "not written as year-month-day"),
    ("decision", "perhaps", "'agreed', 'declined' or 'wants time'"),
    ("coming_back", "maybe", "'will come'"),
    ("missed_rechecks", True, "which should be a whole number"),
    ("normal", ["elbow"], "'upper lip'"),
    ("recheck_outcome.found", "worse", "'gone', 'smaller' or 'still there'"),
    ("finding.done", [], "has nothing in it"),
    ("finding.nearest_tooth", 49, "49 is no tooth"),
    ("finding.nearest_tooth", 9, "greater than or equal to 11"),
    ("finding.nearest_tooth", True, "greater than or equal to 11"),
    ("finding.size.length", 0, "greater than 0"),
    ("finding.size.length", True, "which should be a number"),
    ("finding.size.length", "small", "which should be a number"),
    ("finding.size.width", 1e9, "less than or equal to 150"),
    ("finding.since", {}, "either days or weeks"),
    ("finding.since", {"days": 3, "weeks": 2}, "either days or weeks"),
    ("finding.symptoms", ["itch"], "'pain'"),
    *((f"finding.{name}", "pretty", f"'{get_args(kind)[0]}'") for name, kind in CLOSED.items()),
]


@pytest.mark.parametrize(("path", "value", "says"), MISTAKES)
def test_a_mistake_has_its_path_in_json_and_its_line_in_toml(
    tmp_path: Path, path: str, value: Any, says: str
) -> None:
    facts = changed(path, value)
    with pytest.raises(FactsProblem) as caught:
        read_visit(written(tmp_path, "visit.json", json.dumps(facts)))
    assert caught.value.found.startswith(f"visit.json: '{path}")
    assert says in caught.value.found
    text = in_toml(facts)
    with pytest.raises(FactsProblem) as caught:
        read_visit(written(tmp_path, "visit.toml", text))
    last = path.split(".")[-1]
    spots = [n for n, line in enumerate(text.splitlines(), 1) if last in line.split(" = ")[0]]
    assert any(f"visit.toml line {n}: '{path}" in caught.value.found for n in spots)
    assert says in caught.value.found


def test_not_a_number_is_no_length(tmp_path: Path) -> None:
    for text in ("nan", "inf"):
        whole = in_toml(FULL).replace("length = 7", f"length = {text}")
        with pytest.raises(FactsProblem, match=r"finding\.size\.length"):
            read_visit(written(tmp_path, "visit.toml", whole))


@pytest.mark.parametrize(
    "text",
    ['{"person": {"name": "A"}, "person": {"name": "B"}}', '{"a": NaN}', "[" * 100_000, "", "{"],
)
def test_a_json_file_that_could_lose_something_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(FactsProblem, match=r"visit\.json cannot be read"):
        read_visit(written(tmp_path, "visit.json", text))


def test_a_file_that_is_not_there_or_not_text_is_a_known_problem(tmp_path: Path) -> None:
    with pytest.raises(FactsProblem, match=r"There is no visit\.json in "):
        read_visit(tmp_path / "visit.json")
    with pytest.raises(FactsProblem, match="is a folder"):
        read_visit(tmp_path)
    (tmp_path / "visit.json").write_bytes(b"\xff\xfe{")
    with pytest.raises(FactsProblem, match="cannot be read: its letters are not in UTF-8"):
        read_visit(tmp_path / "visit.json")


OFFSETS = ("Z", "z", "-07:00", "+0530", "\u221207:00", "+00:00")


@pytest.mark.parametrize("name", ["recheck", "next_visit"])
def test_a_moment_is_on_the_clock_of_the_practice(tmp_path: Path, name: str) -> None:
    for text in ("2026-12-09T10:30:00", "2026-12-09 10:30", " 2026-12-09T10:30 "):
        visit = read_visit(written(tmp_path, "visit.json", json.dumps(changed(name, text))))
        assert getattr(visit, name) == datetime(2026, 12, 9, 10, 30)
    for offset in OFFSETS:
        moment = f"2026-12-09T10:30:00{offset}"
        with pytest.raises(FactsProblem, match=f"'{name}' says .*, which has an offset from UTC"):
            read_visit(written(tmp_path, "visit.json", json.dumps(changed(name, moment))))
        (row,) = listed(tmp_path, f"name,{name}", f"Ana,{moment}")
        assert row.problem is not None
        assert f"'{name}' says '{moment}', which has an offset" in row.problem.found


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("recheck = 2026-12-09T10:30:00-07:00", "line 1: 'recheck' says .*, which has an offset"),
        ("recheck = 2026-12-09T10:30:00Z", "line 1: 'recheck' says .*, which has an offset"),
        ("day = 2026-12-09T00:00:00Z", "line 1: 'day' says .*, which has an offset"),
        ('day = "2026-12-09T00:00:00+01:00"', "line 1: 'day' says .*, which has an offset"),
        ("recheck = 2026-12-09", "line 1: 'recheck' says .*, which has no time of day"),
        ('next_visit = "2026-12-09 "', "line 1: 'next_visit' says .*, which has no time of day"),
    ],
)
def test_an_offset_or_a_day_alone_is_no_time_in_toml(tmp_path: Path, text: str, says: str) -> None:
    file = written(tmp_path, "visit.toml", f'{text}\n[person]\nname = "Ana"\n')
    with pytest.raises(FactsProblem) as caught:
        read_visit(file)
    assert re.search(says, caught.value.found)


def test_the_schema_and_the_reader_agree_on_what_a_moment_is() -> None:
    for name in ("recheck", "next_visit"):
        told = visit_schema()["properties"][name]["anyOf"][0]
        assert "format" not in told  # JSON Schema's date-time is RFC 3339's, with an offset.
        for text in ("2026-12-09T10:30:00", "2026-12-09 10:30", "2026-12-09T10:30:00.52"):
            assert re.search(told["pattern"], text)
            assert Visit.model_validate({"person": {"name": "Ana"}, name: text})
        for text in ("2026-12-09", *(f"2026-12-09T10:30:00{offset}" for offset in OFFSETS)):
            assert not re.search(told["pattern"], text)


def test_the_published_schema_is_that_of_the_model() -> None:
    published = json.loads((paths.templates() / "start" / "visit.schema.json").read_text("utf-8"))
    assert published == visit_schema(), "write visit_schema() into visit.schema.json again"
    interpreter = published["$defs"]["Interpreter"]["properties"]
    assert interpreter["adult"]["const"] is True
    assert published["$defs"]["Finding"]["required"] == ["place", "done"]


JSON = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(st.characters(codec=None), max_size=12),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=8,
)
PATHS = sorted({path for path, _, _ in MISTAKES} | {"person", "finding", "day", "person.name"})


@settings(max_examples=400, deadline=None)
@given(st.sampled_from(PATHS), JSON)
def test_no_json_visit_however_odd_ends_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, path: str, value: Any
) -> None:
    file = tmp_path_factory.mktemp("visit") / "visit.json"
    file.write_text(json.dumps(changed(path, value)), "utf-8")
    try:
        visit = read_visit(file)
    except FactsProblem as problem:
        str(problem).encode("utf-8")
        assert problem.do
    else:
        assert all(isinstance(one, Advice) for one in advise(visit, DAY, LOOK, "dark-area"))


@settings(max_examples=200, deadline=None)
@given(JSON)
def test_no_json_value_however_odd_ends_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, value: Any
) -> None:
    file = tmp_path_factory.mktemp("visit") / "visit.json"
    file.write_text(json.dumps(value), "utf-8")
    with pytest.raises(FactsProblem) as caught:
        read_visit(file)
    str(caught.value).encode("utf-8")


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=80), st.integers(0, 60))
def test_no_toml_visit_however_odd_ends_in_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, text: str, line: int
) -> None:
    lines = in_toml(FULL).splitlines()
    lines[min(line, len(lines) - 1)] = text
    file = tmp_path_factory.mktemp("visit") / "visit.toml"
    file.write_text("\n".join(lines), "utf-8", errors="ignore")
    try:
        read_visit(file)
    except FactsProblem as problem:
        assert problem.found
        assert problem.do


# Teeth and places


def test_fdi_and_universal_are_a_bijection() -> None:
    assert len(teeth.PERMANENT) == 32
    assert len(teeth.DECIDUOUS) == 20
    every = teeth.PERMANENT + teeth.DECIDUOUS
    assert len({teeth.universal(tooth) for tooth in every}) == 52
    assert all(teeth.fdi(teeth.universal(tooth)) == tooth for tooth in every)
    assert [tooth for tooth in range(100) if teeth.is_tooth(tooth)] == sorted(every)


@pytest.mark.parametrize(
    ("fdi", "universal"),
    # ISO 3950 and the Universal system, from memory: the ends of each row, and the middle.
    [(18, "1"), (11, "8"), (21, "9"), (28, "16"), (38, "17"), (31, "24"), (41, "25"), (48, "32")]
    + [(55, "A"), (51, "E"), (61, "F"), (65, "J"), (75, "K"), (71, "O"), (81, "P"), (85, "T")],
)
def test_the_rows_of_teeth_begin_and_end_where_they_should(fdi: int, universal: str) -> None:
    assert teeth.universal(fdi) == universal
    assert teeth.fdi(universal.lower()) == fdi


def test_what_is_no_tooth_is_refused() -> None:
    with pytest.raises(ValueError, match="19 is no tooth"):
        teeth.universal(19)
    for text in ("0", "33", "U", "", "01"):
        with pytest.raises(ValueError, match="is no tooth"):
            teeth.fdi(text)


@pytest.mark.parametrize(
    ("fdi", "row", "side"),
    # ISO 3950: quadrants from the patient's upper right, clockwise as the dentist looks.
    [(16, "upper", "right"), (26, "upper", "left"), (36, "lower", "left"), (46, "lower", "right")]
    + [
        (55, "upper", "right"),
        (61, "upper", "left"),
        (75, "lower", "left"),
        (81, "lower", "right"),
    ],
)
def test_a_tooth_has_a_jaw_and_a_side(fdi: int, row: str, side: str) -> None:
    assert teeth.side_of(fdi) == side
    assert teeth.upper(fdi) == (row == "upper")
