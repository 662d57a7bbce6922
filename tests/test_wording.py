"""How papers say things: whose panel comes first, signs one by one, letters like letters."""

import pytest

from conftest import WEDNESDAY
from plainleaf.desk import Desk
from plainleaf.desk.acts import demo_visit
from plainleaf.office.practice import Practice
from plainleaf.papers.blocks import Break, Bullets, Page, Paragraph, Section, Strong, plain
from plainleaf.papers.catalogue import PAPERS


def section(page: Page, element: str) -> Section:
    (found,) = [one for one in page.blocks if getattr(one, "element", "") == element]
    assert isinstance(found, Section)
    return found


@pytest.mark.parametrize("name", ["introduction", "options", "consent", "talking-points"])
@pytest.mark.parametrize(
    ("country", "first"),
    [
        ("GB", "UK National Screening Committee"),
        ("CA", "Canadian Task Force"),
        ("US", "National Cancer Institute"),
    ],
)
def test_the_panel_of_the_own_country_is_told_first(
    country: str, first: str, name: str, practice: Practice
) -> None:
    # Canada and the United Kingdom advise on the ordinary check only; a patient there is told.
    there = Desk(practice.model_copy(update={"country": country}), WEDNESDAY)
    made = there.page(name, demo_visit(PAPERS[name], "en"), "en")
    experts = section(made, "experts")
    (listed,) = [one for one in experts.blocks if isinstance(one, Bullets)]
    assert plain(listed.items[0]).startswith(first)
    assert any("National Cancer Institute" in plain(one) for one in listed.items)


def test_a_paper_says_warning_signs_one_by_one_and_phones_on_lines_of_their_own(
    desk: Desk,
) -> None:
    for name in ("introduction", "nothing-seen"):
        made = desk.page(name, demo_visit(PAPERS[name], "en"), "en")
        signs, phones = section(made, "call-us-if").blocks
        assert isinstance(signs, Bullets)
        assert len(signs.items) == 4
        assert isinstance(phones, Paragraph)
        assert [type(one) for one in phones.inlines].count(Break) == 2
        assert sum(isinstance(one, Strong) for one in phones.inlines) == 3


@pytest.mark.parametrize(
    "name", ["nothing-seen", "dark-area", "recheck-outcome", "missed-visit", "referral-copy"]
)
def test_a_letter_has_its_day_and_a_closing_with_room_to_sign(name: str, desk: Desk) -> None:
    made = desk.page(name, demo_visit(PAPERS[name], "en"), "en")
    roles = [one.role for one in made.blocks if isinstance(one, Paragraph)]
    assert roles[0] == "date"
    assert roles[-2:] == ["closing", "signed"]
