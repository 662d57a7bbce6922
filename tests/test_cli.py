"""The command line: the main job, and every known problem as sentences with an exit code."""

import csv
import json
import re
import shutil
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
from plainleaf.papers.catalogue import CALENDAR, PAPERS
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


def test_papers_and_figures_are_listed(office: Path) -> None:
    assert "reminder-card" in run("papers", folder=office).stdout.replace("\n", "")
    matrix = run("papers", "--elements", folder=office).stdout
    for paper in (*PAPERS.values(), CALENDAR):
        assert all(element.name in matrix for element in paper.elements)
        assert all(word in matrix for word in (*paper.moment.split(), *paper.reader.split()))
    assert "exposed" in matrix
    assert "calendar-entry" in matrix
    listed = run("figures", folder=office)
    assert listed.returncode == 0, listed.stderr
    assert "never" in listed.stdout


def rows(table: str) -> list[list[str]]:
    """The cells of a printed table."""
    lines = (line for line in table.splitlines() if line.startswith("│"))
    return [[cell.strip() for cell in line.strip("│").split("│")] for line in lines]


def test_each_text_that_can_be_signed_is_listed_with_its_digest(office: Path) -> None:
    spanish = run("papers", "--language", "Spanish", folder=office)
    assert spanish.returncode == 0, spanish.stderr
    assert "not reviewed yet" not in spanish.stdout
    listed = rows(spanish.stdout)
    assert [one for one, tag, *_ in listed if tag == "es"] == list(PAPERS)
    # Spain words the consent in another way: whoever signs it signs that text.
    here, there = [digest for one, _, _, digest in listed if one == "consent"]
    assert [tag for one, tag, *_ in listed if one == "consent"] == ["es", "es-ES"]
    assert here != there
    assert {state for _, _, state, _ in listed} == {"draft"}
    english = rows(run("papers", "--language", "en", folder=office).stdout)
    assert {state for _, _, state, _ in english} == {"source, not reviewed"}
    haitian = run("papers", "--language", "ht", folder=office).stdout
    assert "(ht/locale.toml) say of themselves: not reviewed yet." in haitian
    unknown = run("papers", "--language", "xx", folder=office)
    assert unknown.returncode == ExitCode.LANGUAGE
    assert "Traceback" not in unknown.stderr


def test_the_offices_own_language_is_listed_and_its_signatures_count(office: Path) -> None:
    shutil.copytree(paths.locales() / "es", office / "locales" / "ca")
    listed = rows(run("papers", "--language", "ca", folder=office).stdout)
    digest = next(told[3] for told in listed if told[0] == "options")
    (office / "locales" / "reviews.toml").write_text(
        '[[review]]\nlanguage = "ca"\npaper = "options"\nreviewer = "Ada Poe"\n'
        f'qualification = "certified"\nday = 2026-01-31\ndigest = "{digest}"\n',
        "utf-8",
    )
    signed = run("papers", "--language", "ca", folder=office).stdout
    assert "Ada Poe" in signed
    assert signed.count("draft") == len(PAPERS) - 1
    matrix = run("papers", "--elements", folder=office).stdout
    assert re.search(r"\bca\b", matrix)
    # From elsewhere with the settings named.
    apart = run("papers", "--language", "ca", "--practice", "practice.toml", folder=office)
    assert "Ada Poe" in apart.stdout


def test_what_the_offer_of_help_leaves_out_is_told_with_the_paper(office: Path) -> None:
    quiet = run("day", "day.csv", "--date", "2026-11-25", "--out", "c.html", folder=office)
    assert (quiet.returncode, quiet.stderr) == (0, "")
    text = (office / "practice.toml").read_text("utf-8")
    text += '\n[language_help]\nconfirmed = 2025-01-31\nlanguages = ["es", "Swahili"]\n'
    (office / "practice.toml").write_text(text, "utf-8")
    for words in (
        ("make", "consent"),
        ("day", "day.csv"),
        ("day", "day.csv", "--paper", "decline"),
    ):
        done = run(*words, "--date", "2026-11-25", "--out", "c.html", folder=office)
        assert done.returncode == 0, done.stderr
        assert done.stderr.count("leaves out 'sw'") == 1
        assert done.stderr.count("confirmed on 2025-01-31") == 1


def test_every_number_on_a_paper_can_be_traced(office: Path) -> None:
    done = run("cite", "introduction", "--date", "2026-11-25", folder=office)
    assert done.returncode == 0, done.stderr
    row = next(line for line in done.stdout.splitlines() if "60,000" in line)
    assert "60,480 (us-mouth-new-2026)" in row
    assert "quoted" in row
    spanish = run("cite", "dark-area", "--language", "es", folder=office)
    assert "gp-light-looked-at" in spanish.stdout


def test_sources_past_their_day_are_named_with_their_papers(office: Path) -> None:
    now = run("figures", "check", "--date", "2026-11-25", folder=office)
    assert now.stdout == "0 sources are out of date.\n"
    later = run("figures", "check", "--date", "2027-02-01", folder=office)
    assert later.returncode == 0, "a warning must never block"
    first = later.stdout.splitlines()[0]
    assert "2017: to be looked at by 2026-12-31; stands on consent, introduction, options" in first
    assert "plainleaf figures add" in later.stdout
    years_later = run("cite", "reminder-mail", "--date", "2031-02-01", folder=office)
    assert years_later.returncode == 0, years_later.stderr


OWN = """id,measure,group,site,icd10,sex,age,place,period,value,low,high,setting,source,locator,\
how_read,quoted_in,date_read,note,source_publisher,source_title,source_edition,source_published,\
source_address,source_licence,source_review_by
xx-mouth-new-2025,new-cases,all,oral-pharynx,C00-C14,both,all,NZ,2025,640,,,national-statistics,\
nz-reg-2025,Table 3,read,,2026-11-20,,Invented Registry,Counts of the year,2025,2026,\
https://www.example.org/registry,facts,2027-06-30
xx-mouth-deaths-2025,deaths,all,oral-pharynx,C00-C14,both,all,NZ,2025,210,,,national-statistics,\
nz-reg-2025,Table 3,read,,2026-11-20,,Invented Registry,Counts of the year,2025,2026,\
https://www.example.org/registry,facts,2027-06-30
xx-bad,deaths,all,oral-pharynx,C00-C14,both,all,NZ,2024,many,,,national-statistics,nz-reg-2025,\
Table 3,read,,2026-11-20,,Invented Registry,Counts of the year,2025,2026,\
https://www.example.org/registry,facts,2027-06-30
""".replace("\\\n", "")


def test_a_practices_own_rows_reach_its_papers_and_bad_rows_are_named(office: Path) -> None:
    (office / "rows.csv").write_text(OWN, "utf-8")
    settings = (office / "practice.toml").read_text("utf-8")
    (office / "practice.toml").write_text(settings.replace('"US"', '"NZ"'), "utf-8")
    done = run("figures", "add", "rows.csv", folder=office)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("2 new figures taken from rows.csv.")
    assert "line 4, xx-bad: " in done.stdout
    made = run("make", "introduction", "--out", "i.txt", folder=office)
    assert made.returncode == 0, made.stderr
    text = (office / "i.txt").read_text("utf-8")
    assert "New Zealand, 2025. In one year, about 640 people" in text.replace("\n", " ")
    assert "Invented Registry. Counts of the year, 2025." in text


def test_claims_trees_and_rates_are_told(office: Path) -> None:
    assert "not carried" in run("figures", "claims", folder=office).stdout
    # ADA 2017, Table 1: 125/125/38,903/60,847 of 100,000 at 0.25 %.
    words = ("--prevalence", "0.25", "--out-of", "100000")
    told = run("figures", "tree", "harmless-looking-spots", *words, folder=office).stdout
    assert [n in told for n in ("125", "38,903", "60,847")] == [True] * 3
    refused = run("figures", "tree", "specialist-pooled-light", *words, folder=office)
    assert refused.returncode == ExitCode.EVIDENCE
    allowed = run(
        "figures", "tree", "specialist-pooled-light", *words, "--with-caveat", folder=office
    )
    assert "does not hold for a general practice" in allowed.stdout
    ages = "\n".join(f"{age},{age},10000" for age in range(0, 90, 5))
    (office / "registry.csv").write_text(f"age_from,cases,people\n{ages}\n", "utf-8")
    rate = run("figures", "rate", "registry.csv", "--standard", "segi", folder=office)
    assert rate.returncode == 0, rate.stderr
    assert "425.0 as counted" in rate.stdout


RESULTS = "seen,recheck,referred,biopsied,outcome\n" + "".join(
    f"2026-0{1 + n % 9}-11,{'gone' if n < 15 else 'still there'},{'no' if n < 15 else 'yes'},"
    f"{'no' if n < 16 else 'yes'},{'' if n < 16 else 'harmless'}\n"
    for n in range(20)
)


def test_own_results_stand_on_the_letter_from_twenty_areas_up(office: Path) -> None:
    settings = (office / "practice.toml").read_text("utf-8")
    (office / "practice.toml").write_text(f'{settings}\n[results]\nfile = "results.csv"\n', "utf-8")
    words = ("make", "dark-area", "--visit", "visit.toml", "--language", "en", "--out", "l.txt")
    for lines, printed in ((20, True), (19, False)):
        rows = RESULTS.splitlines(keepends=True)[: lines + 1]
        (office / "results.csv").write_text("".join(rows), "utf-8")
        done = run(*words, folder=office)
        assert done.returncode == 0, done.stderr
        text = " ".join((office / "l.txt").read_text("utf-8").split())
        assert ("What we have seen here" in text) == printed
        assert ("Gone at the re-check: 15" in text) == printed
        # Wilson for 15 of 20: 0.531 to 0.888 (statsmodels), rounded outwards.
        assert ("Out of 100 such areas, anything from 53 to 89 could be gone." in text) == printed
    (office / "results.csv").write_text("seen,recheck\nyesterday,gone\n", "utf-8")
    assert run(*words, folder=office).returncode == ExitCode.FACTS


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("make", "brochure", "--out", "x.pdf"), ExitCode.PAPER, "no paper called 'brochure'"),
        (("make", "introduction", "--out", "x.odt"), ExitCode.OUTPUT, "'odt' is no format"),
        (("make", "introduction", "--language", "sw", "--out", "x.pdf"), ExitCode.LANGUAGE, "'sw'"),
        (("make", "dark-area", "--out", "x.pdf"), ExitCode.FACTS, "lacks the person"),
        (("make", "dark-area", "--visit", "no.toml", "--out", "x.pdf"), ExitCode.FACTS, "no.toml"),
        (
            ("make", "introduction", "--practice", "no.toml", "--out", "x.pdf"),
            ExitCode.SETTINGS,
            "no.toml",
        ),
        (("day", "no.csv", "--paper", "introduction", "--out", "x.pdf"), ExitCode.FACTS, "no.csv"),
        (
            ("make", "introduction", "--out", "visit.toml/x.pdf"),
            ExitCode.OUTPUT,
            "cannot be written",
        ),
    ],
)
def test_a_known_problem_is_three_sentences_an_exit_code_and_no_file(
    office: Path, words: tuple[str, ...], code: ExitCode, says: str
) -> None:
    before = files(office)
    done = run(*words, folder=office)
    assert done.returncode == code
    assert says in done.stderr
    assert len(done.stderr.strip().splitlines()) == 3
    assert "Traceback" not in done.stderr
    assert done.stdout == ""
    assert files(office) == before, "nothing half-written stays behind"


def test_nothing_is_left_when_nobody_can_be_printed(office: Path) -> None:
    (office / "day.csv").write_text("name,language\nAna \U00013080,en\n", "utf-8")
    before = files(office)
    done = run("day", "day.csv", "--paper", "reminder-card", "--out", "c.pdf", folder=office)
    assert done.returncode == ExitCode.FACTS
    assert "none of the fonts" in done.stderr
    assert files(office) == before


def test_one_person_who_cannot_be_printed_does_not_stop_the_others(office: Path) -> None:
    names = "name,language\nBo,en\nAna \U00013080,en\nCy,es\n"
    (office / "day.csv").write_text(names, "utf-8")
    done = run("day", "day.csv", "--paper", "consent", "--out", "c.pdf", folder=office)
    assert done.returncode == ExitCode.LEFT_OUT, done.stderr
    assert "2 people" in done.stdout
    assert "line 3, Ana" in done.stdout
    assert "none of the fonts" in done.stdout


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
