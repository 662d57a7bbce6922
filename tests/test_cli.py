"""The command line: the main job."""

import csv
import json
import subprocess
import sys
from datetime import date
from email import policy
from email.parser import BytesParser
from pathlib import Path

import page as page_validation
import pypdfium2
import pytest
from icalendar import Calendar

from plainleaf import paths
from plainleaf.desk import Desk, read_practice
from plainleaf.desk.reminders import remind
from plainleaf.desk.translations import review_states
from plainleaf.errors import ExitCode
from plainleaf.faces import cli
from plainleaf.language.catalogs import Review
from plainleaf.papers.catalogue import PAPERS
from plainleaf.papers.checks import exposed_words

DEMO = paths.templates() / "demo"
VISIT = """
day = 2026-11-25
recheck = 2026-12-09T10:30:00

[person]
name = "Maren Whitlock"
language = "es"

[finding]
place = "side of tongue"
side = "left"
done = ["smoothed edge"]
light = "dark"
"""


def run(*words: str, folder: Path) -> subprocess.CompletedProcess[str]:
    program = "from plainleaf.faces.cli import main; main()"
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", program, *words],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def office(tmp_path: Path) -> Path:
    for name in ("practice.toml", "day.csv"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    (tmp_path / "visit.toml").write_text(VISIT, "utf-8")
    return tmp_path


def files(folder: Path) -> set[str]:
    return {str(one.relative_to(folder)) for one in folder.rglob("*") if one.is_file()}


def rows(table: str) -> list[list[str]]:
    """The cells of a printed table."""
    lines = (line for line in table.splitlines() if line.startswith("│"))
    return [[cell.strip() for cell in line.strip("│").split("│")] for line in lines]


def test_the_demo_makes_every_paper_in_three_languages_and_four_formats(tmp_path: Path) -> None:
    done = run("demo", "--to", "papers", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    made = files(tmp_path / "papers")
    for language in ("en", "es", "ar"):
        for paper in PAPERS:
            for kind in ("pdf", "docx", "html", "txt"):
                assert f"{language}/{paper}.{kind}" in made
    assert {"practice.toml", "day.csv", "day-introduction.pdf", "day-reminder-card.pdf"} <= made
    assert "letters.csv" in made
    assert len(made) == len(PAPERS) * 3 * 4 + 5
    assert f"{len(made) - 3} files" in done.stdout
    assert "drafts" in done.stdout


def test_init_writes_settings_once(tmp_path: Path) -> None:
    assert run("init", folder=tmp_path).returncode == 0
    text = (tmp_path / "practice.toml").read_text("utf-8")
    assert text.count("#") > 20
    (tmp_path / "practice.toml").write_text("mine", "utf-8")
    again = run("init", folder=tmp_path)
    assert again.returncode == ExitCode.OUTPUT
    assert (tmp_path / "practice.toml").read_text("utf-8") == "mine"


def test_make_writes_one_paper_in_the_persons_own_language(office: Path) -> None:
    done = run("make", "dark-area", "--visit", "visit.toml", "--out", "letter.html", folder=office)
    assert done.returncode == 0, done.stderr
    assert '<html lang="es"' in (office / "letter.html").read_text("utf-8")
    forced = run(
        "make",
        "dark-area",
        "--visit",
        "visit.toml",
        "--language",
        "ar",
        "--format",
        "txt",
        "--out",
        "letter",
        "--date",
        "2026-11-25",
        folder=office,
    )
    assert forced.returncode == 0, forced.stderr
    assert "Maren Whitlock" in (office / "letter").read_text("utf-8")


def test_contradictions_are_told_and_the_clinicians_choice_is_printed(office: Path) -> None:
    text = VISIT.replace("2026-12-09T10:30", "2027-03-09T10:30")
    text += 'plan = "re-check"\nlikely_cause = "none found"\n'
    (office / "visit.toml").write_text(text, "utf-8")
    words = ("--visit", "visit.toml", "--out", "l.txt", "--date", "2026-11-25")
    done = run("make", "dark-area", *words, folder=office)
    assert done.returncode == 0, "advice never stops a paper"
    assert done.stderr.count("Please look again: ") == 2, done.stderr
    assert "9 de marzo de 2027" in (office / "l.txt").read_text("utf-8")
    (office / "visit.toml").write_text(VISIT, "utf-8")
    assert run("make", "dark-area", *words, folder=office).stderr == ""


def test_day_prints_everybody_in_order_and_says_who_is_left_out(office: Path) -> None:
    done = run("day", "day.csv", "--paper", "introduction", folder=office)
    assert done.returncode == 0, done.stderr
    assert "7 people" in done.stdout
    assert len(pypdfium2.PdfDocument(str(office / "introduction.pdf"))) >= 12
    letters = run("day", "day.csv", "--paper", "dark-area", "--out", "l.pdf", folder=office)
    assert "5 people" in letters.stdout
    assert "Left out: 2." in letters.stdout
    assert "line 5, Theo Brandvold: The paper asks the person to come on 2026" in letters.stdout
    assert (
        "line 8, Hanne Okoro: The paper 'dark-area' lacks an area that looked dark"
        in letters.stdout
    )


RED = """
size = {length = 7}
colour = "red"
plan = "re-check"
"""


def test_what_the_record_says_is_told_when_the_paper_cannot_be_made_too(office: Path) -> None:
    text = VISIT.replace("recheck = 2026-12-09T10:30:00", "") + RED
    text = text.replace('light = "dark"', 'light = "not dark"')
    (office / "visit.toml").write_text(text, "utf-8")
    words = ("--visit", "visit.toml", "--out", "l.txt", "--date", "2026-11-25")
    done = run("make", "dark-area", *words, folder=office)
    assert done.returncode == ExitCode.FACTS
    assert "lacks an area that looked dark" in done.stderr
    assert "Please look again: The record names a red patch." in done.stderr


def test_a_day_tells_the_clinician_what_the_records_say(office: Path) -> None:
    (office / "list.csv").write_text(
        "name,visit day,dark area,done,colour,plan,recheck,Room\n"
        "Ana Roe,2026-11-25,cheek,left alone,red,re-check,2026-12-09 10:30,1\n"
        "Bo Lind,,,,,,,\n",
        "utf-8",
    )
    told = "Please look again: The record names a red patch. Refer now"
    done = run("day", "list.csv", "--date", "2026-11-25", folder=office)
    assert done.returncode == 0, done.stderr
    assert f"line 2, Ana Roe: {told}" in done.stdout
    assert "Not read on the list: 'Room'." in done.stdout
    cover = pypdfium2.PdfDocument(str(office / "day.pdf"))[0].get_textpage().get_text_bounded()
    shown = " ".join(cover.split())
    assert told in shown
    assert "Not read on the list: 'Room'." in shown
    # When nobody can be given anything, all of it is told beside the reasons.
    done = run("day", "list.csv", "--paper", "recheck-outcome", folder=office)
    assert done.returncode == ExitCode.FACTS
    assert done.stdout == ""
    for says in (told, "Not read on the list: 'Room'.", "line 2, Ana Roe: ", "line 3, Bo Lind: "):
        assert says in done.stderr


@pytest.mark.parametrize("words", [("--format", "html"), ("--each",)], ids=["html", "each"])
def test_other_files_of_a_day_have_the_desks_list_beside_them(
    office: Path, words: tuple[str, ...]
) -> None:
    done = run(
        "day", "day.csv", "--paper", "dark-area", *words, "--date", "2026-11-25", folder=office
    )
    assert done.returncode == ExitCode.LEFT_OUT
    name = "dark-area/desk.txt" if words == ("--each",) else "dark-area-desk.txt"
    assert f"Who gets what stands in {name}, for the desk alone." in done.stdout
    text = (office / name).read_text("utf-8")
    assert "2. Lucía Ferrán Oyarzo (Spanish): Follow-up letter\n" in text
    assert "line 8, Hanne Okoro: The paper 'dark-area' lacks" in text
    assert "line 7, يوسف الحدّاد: For your judgement: At the second look" in text


@pytest.mark.parametrize(
    "words",
    [
        ("day", "list.txt", "--paper", "introduction", "--out", "list.txt"),
        ("day", "folder/../list.txt", "--paper", "introduction", "--out", "link.txt"),
        ("make", "dark-area", "--visit", "visit.txt", "--out", "visit.txt"),
        ("make", "introduction", "--practice", "settings.txt", "--out", "settings.txt"),
        ("remind", "out/texts.csv", "--to", "out"),
        ("demo", "--to", "."),
    ],
    ids=["list", "link", "visit", "settings", "texts", "demo"],
)
def test_nothing_that_we_read_is_written_over(office: Path, words: tuple[str, ...]) -> None:
    for name in ("folder", "out"):
        (office / name).mkdir()
    for name in ("list.txt", "out/texts.csv"):
        (office / name).write_bytes((office / "day.csv").read_bytes())
    (office / "link.txt").symlink_to("list.txt")
    (office / "visit.txt").write_text(VISIT, "utf-8")
    with (office / "practice.toml").open("a", encoding="utf-8") as file:
        file.write("# our own\n")
    (office / "settings.txt").write_bytes((office / "practice.toml").read_bytes())
    before = {file: file.read_bytes() for file in office.rglob("*") if file.is_file()}
    done = run(*words, folder=office)
    assert done.returncode == ExitCode.OUTPUT, done.stderr
    assert "would be lost" in done.stderr
    assert {file: file.read_bytes() for file in office.rglob("*") if file.is_file()} == before


@pytest.mark.parametrize(
    ("out", "file_format", "says"),
    [
        ("x.pdf", "docx", "x.pdf ends in '.pdf', and the format asked for is 'docx'."),
        ("x.csv", "pdf", "x.csv ends in '.csv', and the format asked for is 'pdf'."),
        ("x.doc", "docx", "x.doc ends in '.doc'"),
        ("x.htm", "html", ""),
        ("x.2026", "txt", ""),
    ],
)
def test_an_ending_that_says_otherwise_is_told(
    office: Path, out: str, file_format: str, says: str
) -> None:
    words = ("introduction", "--out", out, "--format", file_format)
    done = run("make", *words, folder=office)
    assert done.returncode == (ExitCode.OUTPUT if says else 0), done.stderr
    assert says in done.stderr
    assert (office / out).exists() == (not says)


def test_reminders_are_made_on_the_ways_that_people_chose(office: Path) -> None:
    done = run("remind", "day.csv", "--to", "out", "--date", "2026-11-25", folder=office)
    assert done.returncode == 0, done.stderr
    assert "2 by email, 4 by letter, 3 by text message" in done.stdout
    assert "no record is kept yet" in done.stdout
    assert "Texts: 1 in ar, 2 parts each; 2 in es, 1 part each." in done.stdout
    assert "Texts in ar, es are drafts" in done.stdout
    assert files(office / "out") == {
        "appointment-0002.ics", "appointment-0004.ics", "cards.pdf",
        "mail-0002.eml", "mail-0004.eml", "texts.csv",
    }  # fmt: skip
    with (office / "out" / "texts.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    spanish = [row for row in rows if row["language"] == "es"]
    assert [(row["encoding"], row["parts"]) for row in spanish] == [("GSM-7", "1")] * 2
    assert {row["translation"] for row in rows} == {"draft"}
    mail = BytesParser(policy=policy.default).parsebytes(
        (office / "out" / "mail-0002.eml").read_bytes()
    )
    assert mail["Subject"] == "Your next visit"
    parts = [part.get_content_type() for part in mail.walk()]
    assert parts[-3:] == ["text/plain", "text/html", "text/calendar"]
    entry = Calendar.from_ical((office / "out" / "appointment-0002.ics").read_bytes())
    event = next(iter(entry.walk("VEVENT")))
    assert event["SUMMARY"] == "Juniper Lane Dental: appointment"
    assert event["DTSTART"].dt.isoformat() == "2026-12-09T10:30:00-07:00"
    health = exposed_words(paths.locales(), "en")
    for surface in (mail.as_string(), str(event["SUMMARY"]), str(event["DESCRIPTION"])):
        assert not [word for word in health if word in surface.casefold()]


def test_a_signed_text_is_told_from_a_draft(tmp_path: Path) -> None:
    (digest,) = (one.digest for one in review_states("es") if one.paper == "reminder-text")
    desk = Desk(read_practice(DEMO / "practice.toml"), date(2026, 11, 25))
    desk.signatures = (Review("es", "reminder-text", "Ana Roe", "invented", "2026-11-25", digest),)
    made = remind(desk, DEMO / "day.csv", tmp_path)
    with (tmp_path / "texts.csv").open(encoding="utf-8-sig", newline="") as file:
        states = {row["language"]: row["translation"] for row in csv.DictReader(file)}
    assert states == {"ar": "draft", "es": "signed"}
    assert made.drafts == ("ar",)


def test_who_gets_no_reminder_is_named_with_the_reason(office: Path) -> None:
    lines = (office / "day.csv").read_text("utf-8").splitlines()
    lines += [
        "Nobody Reached,,en,,,,,,,,,2026-12-01T09:00,,,,,text message",
        "No Visit,,en",
        "Badly Noted,,en,,,,,,,,,2026-12-01T09:00,,,12,,text message + phone call",
    ]
    (office / "day.csv").write_text("\n".join(lines), "utf-8")
    done = run("remind", "day.csv", "--to", "out", "--date", "2026-11-25", folder=office)
    assert done.returncode == ExitCode.LEFT_OUT
    assert "Left out: 3." in done.stdout
    assert "line 9, Nobody Reached: There is no phone number" in done.stdout
    assert done.stdout.count("line 11, Badly Noted: The phone number '12' cannot be") == 1
    assert "line 10, No Visit" in done.stdout
    file = office / "one.csv"
    file.write_text("name,next visit,phone,remind by\nAna,2026-12-01 9:00,12,SMS + post\n", "utf-8")
    done = run("remind", "one.csv", "--to", "one", "--date", "2026-11-25", folder=office)
    assert done.returncode == ExitCode.LEFT_OUT, "a way that was chosen is not served"
    assert "people reminded on another: 1.\n  line 2, Ana: The phone number '12'" in done.stdout
    assert "No language was told, so it is in 'en'. (Ana)" in done.stdout
    bare = (office / "practice.toml").read_text("utf-8").replace("[reminders]", "[other]")
    (office / "practice.toml").write_text(bare.split("[other]")[0], "utf-8")
    before = files(office)
    assert run("remind", "day.csv", "--to", "more", folder=office).returncode == ExitCode.SETTINGS
    assert files(office) == before


def test_a_bundle_is_a_day_too(office: Path) -> None:
    person = {"resourceType": "Patient", "id": "p1", "name": [{"text": "Ana Roe"}]}
    person["communication"] = [{"language": {"coding": [{"code": "es"}]}, "preferred": True}]
    (office / "day.json").write_text(
        json.dumps(
            {"resourceType": "Bundle", "type": "collection", "entry": [{"resource": person}]}
        ),
        "utf-8",
    )
    done = run("day", "day.json", "--paper", "introduction", "--out", "d.html", folder=office)
    assert done.returncode == 0, done.stderr
    assert '<html lang="es"' in (office / "d.html").read_text("utf-8")


def test_the_print_file_begins_with_a_list_for_the_desk(office: Path) -> None:
    run("day", "day.csv", "--paper", "dark-area", "--out", "l.pdf", folder=office)
    document = pypdfium2.PdfDocument(str(office / "l.pdf"))
    first = " ".join(document[0].get_textpage().get_text_bounded().split())
    assert "For the desk: Follow-up letter" in first
    assert "1 Maren Whitlock English Follow-up letter" in first
    assert "2 Lucía Ferrán Oyarzo Spanish Follow-up letter" in first
    assert "Hanne Okoro" in first
    assert "lacks an area that looked dark" in " ".join(first.split())
    assert document[1].get_textpage().get_text_bounded() == "", "the back of the list is blank"
    report = page_validation.validate_pdf(
        str(office / "l.pdf"), profile="ua1", limits=page_validation.SafetyLimits.unlimited()
    )
    assert report.is_compliant


def test_the_steps_are_logged_with_their_numbers(office: Path) -> None:
    done = run("--verbose", "make", "introduction", "--out", "x.txt", folder=office)
    steps = [line.split()[0] for line in done.stderr.splitlines() if line[:1].isdigit()]
    assert steps == ["1", "2", "3", "4", "5", "7"]


def test_the_entry_point_exists() -> None:
    assert callable(cli.main)
