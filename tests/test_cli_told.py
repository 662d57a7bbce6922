"""The command line: listings, the numbers behind a paper, and every known problem."""

import re
import shutil
from pathlib import Path

import pytest

from plainleaf import paths
from plainleaf.errors import ExitCode
from plainleaf.papers.catalogue import CALENDAR, PAPERS
from test_cli import files, office, rows, run

__all__ = ["office"]


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
