"""A paper's code: where it stands, and the same bytes when a paper is made again."""

import csv
import json
import subprocess
import sys
import zipfile
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from xml.etree import ElementTree

import pypdfium2
import pytest

from conftest import LANGUAGES, PAPERS, WEDNESDAY, printed_elsewhere, suited
from plainleaf import paths
from plainleaf.desk import FORMATS, Desk, write
from plainleaf.desk.again import Asked, again
from plainleaf.desk.evidence import cite
from plainleaf.desk.reminders import remind
from plainleaf.errors import ChangedProblem, ExitCode
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Isolate, plain
from plainleaf.papers.checks import trace
from plainleaf.papers.code import GROUPS, read, stamp
from test_code import SHAPE

DEMO = paths.templates() / "demo"
VISIT = """
day = 2026-11-25
recheck = 2026-12-09T10:30:00
person = { name = "Maren Whitlock", language = "es" }
finding = { place = "side of tongue", side = "left", done = ["smoothed edge"], light = "dark" }
"""


@pytest.fixture
def office(tmp_path: Path) -> Path:
    (tmp_path / "practice.toml").write_bytes((DEMO / "practice.toml").read_bytes())
    (tmp_path / "visit.toml").write_text(VISIT, "utf-8")
    return tmp_path


def run(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    program = "from plainleaf.faces.cli import main; main()"
    command = [sys.executable, "-W", "error", "-c", program, *words]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def lines(sheet: pypdfium2.PdfPage) -> str:
    """The letters of a printed page as the eye meets them: down the page, from left to right.

    Read in any other way, a line with Arabic in it comes in the order of the reading program.
    """
    text = sheet.get_textpage()
    rows: dict[int, list[tuple[float, str]]] = {}
    for index in range(text.count_chars()):
        left, bottom, _, _ = text.get_charbox(index, loose=True)
        rows.setdefault(round(bottom), []).append((left, text.get_text_range(index, 1)))
    found = ("".join(char for _, char in sorted(row)) for _, row in sorted(rows.items()))
    return "\n".join(found)


def code_in(text: str) -> str:
    match = SHAPE.search(text)
    assert match
    return match[0]


# ---- where it stands -------------------------------------------------------------------------


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", PAPERS)
def test_the_code_is_printed_on_sheets_and_forms_and_carried_by_all_files(
    name: str, tag: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    page = desk.page(name, suited(visits[tag], name), tag)
    printed = page.shape in ("sheet", "form")
    assert (Isolate(page.code, "ltr", "", "paper") in page.foot) == printed
    document = pypdfium2.PdfDocument(write([page], "pdf"))
    assert document.get_metadata_dict()["Keywords"] == ("" if printed else page.code)
    for sheet in document:
        assert (page.code in lines(sheet)) == printed
    with zipfile.ZipFile(BytesIO(write([page], "docx"))) as archive:
        core = ElementTree.fromstring(archive.read("docProps/core.xml"))
        body = archive.read("word/document.xml").decode()
    assert core.findtext("{*}keywords") == page.code
    assert page.code not in body
    screen = write([page], "html").decode()
    assert screen.count(f'<meta name="plainleaf-code" content="{page.code}">') == 1
    assert screen.count(page.code) == 1 + printed
    assert (page.code in write([page], "txt").decode()) == printed


def test_pages_of_one_file_carry_each_their_own_code(desk: Desk, visits: dict[str, Visit]) -> None:
    pages = [desk.page("before-visit", visits[tag], tag) for tag in LANGUAGES]
    document = pypdfium2.PdfDocument(write(pages, "pdf"))
    texts = [text for one in document if (text := lines(one))]
    assert [code_in(text) for text in texts] == [page.code for page in pages]
    cards = [desk.page("reminder-card", visits[tag], tag) for tag in LANGUAGES]
    told = pypdfium2.PdfDocument(write(cards, "pdf")).get_metadata_dict()["Keywords"]
    assert told == ", ".join(page.code for page in cards)
    many = [replace(pages[0], code=stamp(number, 0, 0)) for number in range(30)]
    with zipfile.ZipFile(BytesIO(write(many, "docx"))) as archive:
        core = ElementTree.fromstring(archive.read("docProps/core.xml"))
    assert (core.findtext("{*}keywords") or "").split() == [page.code for page in many]


def test_texts_have_a_column_for_the_code_and_do_not_say_it(desk: Desk, tmp_path: Path) -> None:
    remind(desk, DEMO / "day.csv", tmp_path)
    with (tmp_path / "texts.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    for row in rows:
        assert read(row["code"]) == row["code"]
        assert not SHAPE.search(row["text"])


def test_the_trace_of_numbers_names_a_code_without_a_numeral(desk: Desk) -> None:
    page = replace(
        desk.page("before-visit"), foot=(Isolate("BYPG-JYDW-DXCM-V", "ltr", "", "paper"),)
    )
    assert ("BYPG-JYDW-DXCM-V", "paper", "BYPG-JYDW-DXCM-V") in trace(page)


def test_the_trace_of_numbers_names_the_code_for_what_it_is(desk: Desk) -> None:
    (found,) = [one for one in cite(desk, "introduction") if one.origin == "paper"]
    assert SHAPE.fullmatch(found.printed)
    assert found.exact == "its code: wording, figures, facts, check"


# ---- made again ------------------------------------------------------------------------------

ELSEWHERE = """
import hashlib, sys
from datetime import date
from pathlib import Path
from plainleaf.desk import Desk, FORMATS, read_practice, read_visit, write
folder = Path(sys.argv[1])
desk = Desk(read_practice(folder / "practice.toml"), date(2026, 11, 25))
page = desk.page("dark-area", read_visit(folder / "visit.toml"))
for name in FORMATS:
    print(page.code, hashlib.sha256(write([page], name)).hexdigest())
"""


def test_the_same_facts_have_the_same_code_and_bytes_in_other_processes(office: Path) -> None:
    assert len(printed_elsewhere(ELSEWHERE, str(office))) == 1


@pytest.mark.parametrize("file_format", FORMATS)
@pytest.mark.parametrize("name", ["introduction", "reminder-card"])
def test_a_paper_is_made_again_to_the_byte(
    name: str, file_format: str, desk: Desk, tmp_path: Path
) -> None:
    codes: list[str] = []
    first = desk.hand_out(name, tmp_path / f"first.{file_format}", told=codes.append)
    late = Desk(desk.practice, WEDNESDAY)
    made = again(late, codes[0].lower(), Asked(name), tmp_path / f"second.{file_format}")
    assert made.changed == ()
    assert made.code == made.before == codes[0]
    assert made.file.read_bytes() == first.read_bytes()


def test_what_changed_is_told_and_nothing_is_written(office: Path) -> None:
    words = ("dark-area", "--visit", "visit.toml", "--date", "2026-11-25")
    done = run("make", *words, "--out", "letter.pdf", folder=office)
    code = code_in(done.stdout)
    assert done.stdout.startswith(f"Wrote letter.pdf. Its code: {code}\n")
    redo = ("again", code, "--paper", *words)
    same = run(*redo, "--out", "copy.pdf", folder=office)
    assert same.stdout == f"Wrote copy.pdf, the same as before: {code}\n"
    assert (office / "copy.pdf").read_bytes() == (office / "letter.pdf").read_bytes()
    before = set(office.iterdir())
    for wrong, told in (
        (("--date", "2026-11-26"), "the facts"),
        (("--large-print",), "the facts"),
        (("--language", "en"), "the wording"),
    ):
        failed = run(*redo, *wrong, "--out", "other.pdf", folder=office)
        assert failed.returncode == ExitCode.CHANGED
        assert failed.stdout == ""
        assert told in failed.stderr
        assert len(failed.stderr.splitlines()) == 3
        assert "Traceback" not in failed.stderr
        assert set(office.iterdir()) == before
    forced = run(*redo, "--date", "2026-11-26", "--anyway", "--out", "now.pdf", folder=office)
    assert forced.returncode == 0
    assert f"Changed since {code}: facts." in forced.stdout
    assert (office / "now.pdf").exists()


def test_a_mistyped_code_stops_before_anything_is_made(office: Path) -> None:
    before = set(office.iterdir())
    typed = ("again", "7K2M-9QXT-0B4C-V", "--paper", "introduction", "--out", "x.pdf")
    done = run(*typed, folder=office)
    assert done.returncode == ExitCode.PAPER
    assert "is not the code of a paper" in done.stderr
    assert set(office.iterdir()) == before


def test_the_groups_are_told_in_their_order(desk: Desk, tmp_path: Path) -> None:
    code = stamp(1, 2, 3)
    with pytest.raises(ChangedProblem) as caught:
        again(desk, code, Asked("introduction"), tmp_path / "x.html")
    places = [caught.value.found.index(f"the {name}") for name in GROUPS]
    assert places == sorted(places)
    assert list(tmp_path.iterdir()) == []


def test_the_steps_in_the_log_name_the_code(desk: Desk, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level("DEBUG", "plainleaf"):
        code = desk.page("introduction").code
    assert f"4 check the page: its code is {code}" in caplog.text


def test_a_card_shows_nothing_of_its_code(desk: Desk, visits: dict[str, Visit]) -> None:
    page = desk.page("reminder-card", visits["en"])
    assert page.code not in plain(page.foot)
    assert page.code not in json.dumps([plain(line) for line in page.letterhead])
