"""A day at once: who gets what, and one print file in order."""

import math
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import page as page_validation
import pypdfium2
import pytest
from docx import Document

from conftest import WEDNESDAY
from plainleaf import paths
from plainleaf.desk import Desk, days, write
from plainleaf.desk.days import DayResult, NobodyProblem, day
from plainleaf.office.people import read_list
from plainleaf.office.plans import LAST_LETTER
from plainleaf.office.practice import Practice
from plainleaf.office.sets import paper_set
from plainleaf.office.visits import Visit
from plainleaf.papers.catalogue import PAPERS

DEMO = paths.templates() / "demo" / "day.csv"
NEW = {"home-care", "referral", "referral-copy", "decline-referral"}
REFERRED = ("referral-copy", "specialist-visit", "referral")
SEEN = {"place": "cheek", "done": ["left alone"]}
SMOOTHED = {"place": "cheek", "done": ["smoothed edge"]}
BOOKED = {"day": "2026-11-25", "recheck": "2026-12-09T10:30"}
GONE = {"found": "gone", "day": "2026-12-09"}
DARK = {**SEEN, "light": "dark"}
AWAY = {"coming_back": "cannot come"}
EXPLAINED = {**SEEN, "plan": "re-check", "likely_cause": "denture"}
UNEXPLAINED = {**SEEN, "plan": "re-check", "likely_cause": "none found"}
STILL = {"found": "still there", "day": "2026-12-09"}
SMALL = "name,language,visit day\nAda,en,2026-11-25\nBeto,es,2026-11-25\nCaz,en,2026-11-25\n"

# ---- who gets what ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("recorded", "papers"),
    [
        ({}, ("introduction", "consent")),
        ({"decision": "wants time"}, ("introduction", "consent")),
        ({"decision": "declined"}, ("decline",)),
        ({"decision": "declined", "finding": SEEN, **BOOKED}, ("decline", "reminder-card")),
        (
            {"decision": "declined", "finding": {**SEEN, "plan": "refer now"}},
            ("decline", *REFERRED),
        ),
        ({"decision": "agreed"}, ("nothing-seen",)),
        ({"decision": "agreed", "finding": {**SEEN, "light": "not dark"}}, ("nothing-seen",)),
        ({"finding": {**SEEN, "light": "not dark"}, **BOOKED}, ("nothing-seen", "reminder-card")),
        ({"finding": SEEN, **BOOKED}, ("dark-area",)),
        ({"decision": "agreed", "nothing_dark": True}, ("nothing-seen",)),
        # Nobody is told that an area was dark when the clinician was not sure, or did not look.
        ({"finding": {**SEEN, "light": "unsure", "plan": "re-check"}, **BOOKED}, ("home-care",)),
        ({"finding": {**SEEN, "light": "unsure"}, **AWAY}, REFERRED),
        ({"finding": SEEN, "decision": "wants time"}, ("introduction", "consent")),
        (
            {"finding": SEEN, "decision": "wants time", **BOOKED},
            ("introduction", "consent", "reminder-card"),
        ),
        ({"finding": SMOOTHED, **BOOKED}, ("dark-area", "home-care")),
        ({"finding": SEEN}, ("dark-area",)),
        ({"finding": {**SEEN, "plan": "refer now"}, **BOOKED}, REFERRED),
        ({"finding": {**SEEN, "plan": "refer now", "light": "not dark"}}, REFERRED),
        (
            {"finding": {**SEEN, "plan": "refer now"}, "coming_back": "does not want to"},
            (*REFERRED, "decline-referral"),
        ),
        # Who cannot come back is offered the letter at once, and the card of no second look.
        ({"finding": DARK, **AWAY}, ("dark-area", *REFERRED)),
        ({"finding": {**SMOOTHED, "light": "dark"}, **AWAY}, ("dark-area", *REFERRED)),
        ({"finding": DARK, **AWAY, **BOOKED}, ("dark-area", *REFERRED)),
        ({"finding": {**SEEN, "light": "not dark"}, **AWAY}, ("nothing-seen",)),
        ({"finding": {**SEEN, "light": "not dark", "plan": "re-check"}, **AWAY}, REFERRED),
        ({"decision": "declined", "finding": SEEN, **AWAY}, ("decline", *REFERRED)),
        ({"finding": SEEN, **BOOKED, "recheck_outcome": GONE}, ("recheck-outcome",)),
        # The clinician's plan for an area that was explained; without a cause it is referred.
        ({"finding": EXPLAINED, "recheck_outcome": STILL}, ("recheck-outcome",)),
        ({"finding": UNEXPLAINED, "recheck_outcome": STILL}, ("recheck-outcome", *REFERRED)),
        (
            {"finding": UNEXPLAINED, "recheck_outcome": {**STILL, "plan": "re-check"}},
            ("recheck-outcome",),
        ),
        (
            {"finding": SEEN, "recheck_outcome": {**GONE, "found": "smaller", "plan": "refer now"}},
            ("recheck-outcome", *REFERRED),
        ),
        ({"finding": SEEN, "recheck_outcome": STILL}, ("recheck-outcome", *REFERRED)),
        ({"finding": SEEN, "recheck_outcome": GONE, "missed_rechecks": 2}, ("recheck-outcome",)),
        ({"finding": SEEN, **BOOKED, "missed_rechecks": 1}, ("missed-visit",)),
        ({"finding": SEEN, "missed_rechecks": LAST_LETTER}, ("missed-visit", *REFERRED)),
    ],
)
def test_a_set_follows_from_what_was_recorded(
    recorded: dict[str, Any], papers: tuple[str, ...]
) -> None:
    visit = Visit.model_validate({"person": {"name": "Ada"}, **recorded})
    assert paper_set(visit) == papers
    assert set(papers) <= set(PAPERS) | NEW


# ---- the print file --------------------------------------------------------------------------


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, practice: Practice) -> DayResult:
    return day(Desk(practice, WEDNESDAY), DEMO, (), tmp_path_factory.mktemp("day") / "day.pdf")


def texts(file: Path) -> list[str]:
    document = pypdfium2.PdfDocument(str(file))
    return [one.get_textpage().get_text_bounded() for one in document]


def test_a_whole_day_is_one_file_of_everybodys_set_in_order(made: DayResult) -> None:
    rows = read_list(DEMO)
    assert made.printed == tuple(row.name for row in rows)
    assert made.left_out == made.gaps == ()
    (file,) = made.files
    report = page_validation.validate_pdf(
        str(file), profile="ua1", limits=page_validation.SafetyLimits.unlimited()
    )
    assert report.is_compliant
    seen = texts(file)
    latin = ["Maren", "Lucía", "Theo", "Ignacio", "Hanne"]
    where = [next(n for n, text in enumerate(seen) if n > 1 and name in text) for name in latin]
    assert where == sorted(where)


def test_no_sheet_is_shared_and_the_desk_knows_how_many_each_gets(
    made: DayResult, practice: Practice
) -> None:
    desk = Desk(practice, WEDNESDAY)
    expected = []
    sides = 2  # the desk's list and its blank back
    first_sides = []
    for row in read_list(DEMO):
        assert row.visit
        sheets = 0
        for one in paper_set(row.visit):
            if one in PAPERS:
                first_sides.append(sides)
                alone = pypdfium2.PdfDocument(write([desk.page(one, row.visit)], "pdf"))
                sheets += math.ceil(len(alone) / 2)
                sides += 2 * math.ceil(len(alone) / 2)
        expected.append(sheets)
    seen = texts(made.files[0])
    # The names of papers may take two lines, so the number of sheets stands on the last of them.
    row = re.compile(r"^\d .+ (?:English|Spanish|Arabic) [^0-9]+?(\d+)\s*$", re.MULTILINE)
    assert [int(one) for one in row.findall(seen[0])] == expected
    assert seen[1] == "", "the back of the list is blank"
    for side in first_sides:
        assert practice.name in seen[side], "each paper begins on the front of a sheet"
    assert len(seen) in (sides, sides - 1)


def test_papers_can_be_named_and_cards_go_beside(tmp_path: Path, desk: Desk) -> None:
    papers = ("introduction", "reminder-card", "dark-area")
    result = day(desk, DEMO, papers, tmp_path / "b.pdf")
    assert [file.name for file in result.files] == ["b.pdf", "b-cards.pdf"]
    assert len(result.printed) == 7
    assert result.left_out == ()
    # One has come today already: no letter may ask for that day again.
    over, gap = result.gaps
    assert (over.line, over.name, over.paper) == (5, "Theo Brandvold", "dark-area")
    assert (gap.line, gap.name, gap.paper) == (8, "Hanne Okoro", "dark-area")
    first, *rest = (" ".join(text.split()) for text in texts(tmp_path / "b.pdf"))
    assert "A paper is missing" in first
    # A line may end at the hyphen of the paper's own name.
    assert re.search("Follow-up letter: The paper 'dark.{1,3}area' lacks an area that", first)
    assert "Hanne" not in "".join(rest), "an introduction names nobody, and the letter is missing"
    cards = texts(tmp_path / "b-cards.pdf")
    assert "Hanne" in "".join(cards)


def test_a_day_asks_about_what_disagrees_and_prints_it_all_the_same(
    tmp_path: Path, desk: Desk
) -> None:
    heads = "name,language,visit day,dark area,done,plan,likely cause,recheck"
    row = "en,2026-11-25,cheek,left alone,re-check,{},2026-12-09T10:30"
    people = [f"Ana,{row}".format("none found"), f"Bo,{row}".format("denture")]
    people.append(f"Cy,{row}".format("none found"))
    file = tmp_path / "asked.csv"
    file.write_text("\n".join((heads, *people)), "utf-8")
    result = day(desk, file, (), tmp_path / "asked.txt")
    assert result.printed == ("Ana", "Bo", "Cy")
    (asked,) = result.remarks
    assert asked.startswith("Please look again: No ordinary cause was found")
    assert asked.endswith(" (Ana, Cy)")


@pytest.mark.parametrize("file_format", ["docx", "html", "txt"])
def test_a_set_comes_in_every_format(tmp_path: Path, desk: Desk, file_format: str) -> None:
    people = tmp_path / "small.csv"
    people.write_text(SMALL, "utf-8")
    (file,) = day(desk, people, (), tmp_path / f"day.{file_format}").files
    if file_format == "docx":
        shown = "\n".join(one.text for one in Document(str(file)).paragraphs)
    else:
        shown = file.read_text("utf-8")
    tags = ("en", "es", "en")
    titles = [
        desk.page(one, None, tag).title for tag in tags for one in ("introduction", "consent")
    ]
    places = []
    for title in titles:
        places.append(shown.index(title, places[-1] + 1 if places else 0))
    assert places == sorted(places)


def test_a_long_day_comes_in_parts_that_cut_between_people(
    tmp_path: Path, desk: Desk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(days, "WHOLE_SIDES", 6)
    monkeypatch.setattr(days, "PART_SIDES", 12)
    people = tmp_path / "small.csv"
    people.write_text(SMALL, "utf-8")
    result = day(desk, people, (), tmp_path / "d.pdf")
    assert [file.name for file in result.files] == ["d-1-of-2.pdf", "d-2-of-2.pdf"]
    assert result.printed == ("Ada", "Beto", "Caz")
    covers = [texts(file)[0] for file in result.files]
    assert "1 Ada" in covers[0]
    assert "2 Beto" in covers[0]
    assert "Caz" not in covers[0]
    assert "3 Caz" in covers[1], "the number is the place on the whole list"


def test_a_name_that_no_font_has_stops_nobody_else(tmp_path: Path, desk: Desk) -> None:
    people = tmp_path / "small.csv"
    rows = SMALL + "Ana \U00013080,en,2026-11-25\nDee,xx,2026-11-25\n"
    rows = rows.replace("day\n", "day,nothing dark\n").replace("11-25\n", "11-25,yes\n")
    people.write_text(rows, "utf-8")
    result = day(desk, people, ("nothing-seen",), tmp_path / "d.pdf")
    assert result.printed == ("Ada", "Beto", "Caz")
    assert [one.line for one in result.left_out] == [5, 6]
    assert result.gaps == ()
    # The letter is needed, and the name cannot even stand on the desk's list.
    result = day(desk, people, ("dark-area", "introduction"), tmp_path / "e.pdf")
    assert result.printed == ("Ada", "Beto", "Caz", "Ana \U00013080")
    assert [one.line for one in result.left_out] == [6], "one reason for both papers, told once"
    assert [one.line for one in result.gaps] == [2, 3, 4, 5]
    assert "U00013080" in texts(tmp_path / "e.pdf")[0]


def test_when_nobody_can_be_printed_nothing_is_written(tmp_path: Path, desk: Desk) -> None:
    people = tmp_path / "small.csv"
    people.write_text(SMALL, "utf-8")
    with pytest.raises(NobodyProblem, match=r"Nobody on small\.csv") as caught:
        day(desk, people, ("dark-area",), tmp_path / "out" / "d.pdf")
    assert [one.where for one in caught.value.result.left_out] == ["line 2", "line 3", "line 4"]
    assert [one.name for one in tmp_path.iterdir()] == ["small.csv"]


def test_each_paper_can_be_a_file_that_names_nobody(tmp_path: Path, desk: Desk) -> None:
    result = day(desk, DEMO, (), tmp_path, each=True)
    names = [file.name for file in result.files]
    assert names[:3] == ["0001-dark-area.pdf", "0001-home-care.pdf", "0002-dark-area.pdf"]
    assert names[-2:] == ["0007-introduction.pdf", "0007-consent.pdf"]
    assert all(re.fullmatch(r"\d{4}-[a-z-]+\.pdf", name) for name in names)
    assert all(len(pypdfium2.PdfDocument(str(file))) for file in result.files)


MEMORY = """
import resource, sys
from datetime import date
from pathlib import Path
from plainleaf.desk import Desk, days, read_practice
days.WHOLE_SIDES = days.PART_SIDES = 16
desk = Desk(read_practice(Path(sys.argv[1])), date(2026, 11, 25))
made = days.day(desk, Path(sys.argv[2]), ["before-visit"], Path(sys.argv[3]))
assert len(made.files) > 2
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)
"""


def test_memory_does_not_grow_with_the_list(tmp_path: Path) -> None:
    """Forty people more, at about 2 MB of typeset pages each, would show."""
    peaks = []
    for people in (24, 80):
        file = tmp_path / f"{people}.csv"
        file.write_text("name,language\n" + "Ada,en\n" * people, "utf-8")
        words = (DEMO.with_name("practice.toml"), file, tmp_path / f"{people}.pdf")
        done = subprocess.run(
            [sys.executable, "-c", MEMORY, *map(str, words)],
            capture_output=True,
            text=True,
            check=True,
        )
        peaks.append(int(done.stdout))
    assert peaks[1] - peaks[0] < 25, peaks


def test_whose_language_nobody_told_is_named(tmp_path: Path, desk: Desk) -> None:
    file = tmp_path / "list.csv"
    file.write_text("name,language\nAna,Spanish\nBo,\nChi,zh-TW\n", "utf-8")
    result = day(desk, file, ["before-visit"], tmp_path / "d.txt")
    assert result.printed == ("Ana", "Bo")
    assert result.remarks == ("No language was told, so it is in 'en'. (Bo)",)
    assert [one.name for one in result.left_out] == ["Chi"]
    assert "There is no translation into 'zh-TW'" in result.left_out[0].problem.found
