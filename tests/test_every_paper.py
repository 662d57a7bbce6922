"""Every paper in every language, format, size and print: composed, checked, accessible, whole."""

from itertools import product
from pathlib import Path

import page as page_validation
import pypdfium2
import pytest

from conftest import LANGUAGES, PAPERS, WEDNESDAY, suited, with_outcome
from plainleaf.desk import FORMATS, Desk, write
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import is_rtl, words_of
from plainleaf.papers.catalogue import PAPERS as CATALOGUE

MATRIX = list(product(PAPERS, LANGUAGES, ("letter", "a4"), (False, True)))


def at_work(desk: Desk, size: str) -> Desk:
    return Desk(desk.practice.model_copy(update={"paper_size": size}), WEDNESDAY)


@pytest.mark.parametrize(("name", "tag", "size", "large"), MATRIX)
def test_every_pdf_meets_every_rule_of_pdf_ua_1(
    name: str,
    tag: str,
    size: str,
    large: bool,
    desk: Desk,
    visits: dict[str, Visit],
    tmp_path: Path,
) -> None:
    # ISO 14289-1:2014 as the Matterhorn Protocol's rules in page-validation (104 rules).
    file = tmp_path / "paper.pdf"
    made = at_work(desk, size).page(name, suited(visits[tag], name), tag, large)
    file.write_bytes(write([made], "pdf"))
    report = page_validation.validate_pdf(
        str(file), profile="ua1", limits=page_validation.SafetyLimits.unlimited()
    )
    assert [failure.message for failure in report.failures] == []
    assert report.is_compliant
    sheets = len(pypdfium2.PdfDocument(str(file)))
    most = CATALOGUE[name].most_pages
    if not large and most:
        assert sheets <= most, "does not fit its sheets"


def test_an_untagged_pdf_does_not_pass_the_same_check(tmp_path: Path) -> None:
    document = pypdfium2.PdfDocument.new()
    document.new_page(200, 200)
    file = tmp_path / "bare.pdf"
    document.save(str(file))
    assert not page_validation.validate_pdf(str(file), profile="ua1").is_compliant


@pytest.mark.parametrize("file_format", FORMATS)
@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", PAPERS)
def test_every_paper_is_written_in_every_format(
    name: str, tag: str, file_format: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    content = write([desk.page(name, suited(visits[tag], name), tag)], file_format)
    assert len(content) > 120


@pytest.mark.parametrize("outcome", ["gone", "smaller", "still there"])
@pytest.mark.parametrize("tag", LANGUAGES)
def test_the_letter_after_the_second_look_has_three_forms(
    tag: str, outcome: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    made = {
        one: words_of(desk.page("recheck-outcome", with_outcome(visits[tag], one), tag).blocks)
        for one in ("gone", "smaller", "still there")
    }
    assert len(set(made.values())) == 3
    if tag == "en":
        assert ("refer you to a specialist" in made[outcome]) == (outcome != "gone")
        assert ("is gone. You come" in made[outcome]) == (outcome == "gone")


@pytest.mark.parametrize("tag", LANGUAGES)
def test_the_letters_about_a_missed_second_look_differ_and_the_last_brings_a_referral(
    tag: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    missed = suited(visits[tag], "missed-visit")
    letters = [
        words_of(
            desk.page(
                "missed-visit", missed.model_copy(update={"missed_rechecks": one}), tag
            ).blocks
        )
        for one in (1, 2, 3)
    ]
    assert len(set(letters)) == 3
    if tag == "en":
        assert ["another day" in one for one in letters] == [False, True, False]
        assert ["interpreter for you" in one for one in letters] == [False, True, False]
        last = "you get a letter for a specialist"
        assert [last in one for one in letters] == [False, False, True]


def test_no_two_people_share_a_sheet_of_paper(desk: Desk, visits: dict[str, Visit]) -> None:
    pages = [desk.page("before-visit", visits["en"], "en") for _ in range(3)]
    document = pypdfium2.PdfDocument(write(pages, "pdf"))
    words = [len(one.get_textpage().get_text_bounded()) for one in document]
    assert [bool(count) for count in words] == [True, False, True, False, True]


# The offer of help is in many languages on any page.
@pytest.mark.parametrize("name", [name for name in PAPERS if name != "language-help"])
def test_arabic_pages_are_arabic_and_others_are_not(
    name: str, desk: Desk, visits: dict[str, Visit]
) -> None:
    for tag in LANGUAGES:
        made = desk.page(name, suited(visits[tag], name), tag)
        assert made.direction == ("rtl" if tag == "ar" else "ltr")
        words = words_of(made.blocks).split()
        share = sum(map(is_rtl, words)) / len(words)
        # A short message is half made of the practice's name, a phone number and a time.
        least = 0.35 if made.shape == "message" else 0.6
        assert share > least if tag == "ar" else share == 0


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", [one.id for one in CATALOGUE.values() if not one.needs])
def test_papers_that_need_no_person_are_made_for_nobody(name: str, tag: str, desk: Desk) -> None:
    made = desk.page(name, None, tag)
    assert made.language == tag
    for file_format in FORMATS:
        assert write([made], file_format)
