"""How one language writes money, times and days, and what a paper prints of them."""

import re
from datetime import date, time
from decimal import Decimal
from pathlib import Path

import pytest

from conftest import SIXTEEN, WEDNESDAY, renamed
from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.desk.acts import demo_visit
from plainleaf.errors import SettingsProblem
from plainleaf.language.locales import language
from plainleaf.office.practice import Fee, Practice, read_practice
from plainleaf.papers.blocks import plain, words_of
from plainleaf.papers.catalogue import PAPERS

DEMO = (paths.templates() / "demo" / "practice.toml").read_text("utf-8")


@pytest.mark.parametrize(
    ("tag", "country", "amount", "currency", "printed"),
    [
        ("en", "US", "35", "USD", "$35"),
        ("en", "US", "45.5", "USD", "$45.50"),
        ("en", "US", "1250", "USD", "$1,250"),
        ("es", "US", "45.5", "USD", "$45.50"),
        ("de", "DE", "45.5", "EUR", "45,50\u00a0€"),
        ("fr", "CH", "45.5", "CHF", "45,50\u00a0CHF"),
        ("pt-BR", "BR", "45.5", "BRL", "R$\u00a045,50"),
        ("hi", "IN", "125000", "INR", "₹1,25,000"),
        ("ja", "JP", "4500", "JPY", "￥4,500"),
        # The dinar has a thousand parts; letters keep a space from digits (CLDR).
        ("en", "KW", "12.345", "KWD", "KWD\u00a012.345"),
        ("en", "KW", "12.5", "KWD", "KWD\u00a012.500"),
        ("en", "KW", "12", "KWD", "KWD\u00a012"),
        ("ar", "KW", "12.345", "KWD", "12.345 دينار كويتي"),
        ("ar", "US", "35", "USD", "35 دولار أمريكي"),
        ("ar", "US", "45.5", "USD", "45.50 دولار أمريكي"),
        ("ht", "US", "45.5", "USD", "$45.50"),
    ],
)
def test_money_has_no_decimals_or_all_that_its_currency_has(
    tag: str, country: str, amount: str, currency: str, printed: str
) -> None:
    assert language(tag, country).money(Decimal(amount), currency) == printed


@pytest.mark.parametrize("tag", SIXTEEN)
@pytest.mark.parametrize(("amount", "currency"), [("45.5", "USD"), ("7.125", "KWD")])
def test_no_language_loses_a_digit_of_an_amount(tag: str, amount: str, currency: str) -> None:
    printed = language(tag, "US").money(Decimal(amount), currency)
    digits = "".join(char for char in printed if char.isdigit())
    assert digits == {"45.5": "4550", "7.125": "7125"}[amount]


@pytest.mark.parametrize(
    ("amount", "currency", "says"),
    [
        ("0.125", "USD", "the amount 0.125 cannot be paid: USD has 2 decimals"),
        ("45.5", "JPY", "the amount 45.5 cannot be paid: JPY has no decimals"),
        ("35", "ZZZ", "'ZZZ' is no currency that is in use"),
        ("35", "DEM", "'DEM' is no currency that is in use"),
        ("35", "usd", "'usd' is no currency that is in use"),
        ('"35"', "USD", "it is no number"),
        ("true", "USD", "it is no number"),
        ("nan", "USD", "it is no number"),
    ],
)
def test_a_fee_that_nobody_can_pay_is_refused_at_reading(
    tmp_path: Path, amount: str, currency: str, says: str
) -> None:
    file = tmp_path / "practice.toml"
    text = DEMO.replace("amount = 35", f"amount = {amount}", 1)
    file.write_text(text.replace('"USD"', f'"{currency}"', 1), "utf-8")
    with pytest.raises(SettingsProblem) as caught:
        read_practice(file)
    assert says in caught.value.found
    assert "practice.toml line " in caught.value.found


def test_one_amount_is_one_setting_however_it_is_written() -> None:
    assert Fee(amount=35.5, currency="USD") == Fee(amount=Decimal("35.50"), currency="USD")
    assert Fee(amount=35.50, currency="USD").model_dump(mode="json")["amount"] == "35.5"
    assert Fee(amount=30.0, currency="USD").model_dump(mode="json")["amount"] == "30"


def test_the_first_of_a_month_is_an_ordinal_where_that_is_the_custom() -> None:
    first, eleventh = date(2026, 12, 1), date(2026, 12, 11)
    french, brazilian = language("fr", "CA"), language("pt-BR", "US")
    assert french.whole_date(first) == "mardi 1er décembre 2026"
    assert french.short_date(first) == "1er décembre 2026"
    assert french.brief_date(first) == "1er déc. 2026"
    assert french.short_date(eleventh) == "11 décembre 2026"
    assert brazilian.whole_date(first) == "terça-feira, 1º de dezembro de 2026"
    assert brazilian.short_date(first) == "1º de dezembro de 2026"
    assert brazilian.brief_date(eleventh) == "11 de dez. de 2026"
    # Portugal writes the numeral, and so do Spain and Italy.
    assert language("pt-PT").short_date(first) == "1 de dezembro de 2026"
    assert language("es", "ES").short_date(first) == "1 de diciembre de 2026"


def test_hindi_says_the_time_of_day_in_its_own_letters() -> None:
    # The parts of the day and their limits are those of CLDR for Hindi.
    hours = {8: "सुबह 8:30", 14: "दोपहर 2:30", 17: "शाम 5:30", 20: "रात 8:30"}
    for hour, printed in hours.items():
        assert language("hi", "IN").clock(time(hour, 30)) == printed
    assert language("ko", "US").clock(time(14, 30)) == "오후 2:30"


@pytest.mark.parametrize("tag", SIXTEEN)
def test_no_time_of_day_mixes_alphabets(tag: str) -> None:
    tongue = language(tag, "US")
    printed = "".join(tongue.clock(time(hour, 5)) for hour in range(24))
    if tongue.script != "Latn":
        assert not any(char.isascii() and char.isalpha() for char in printed)


STOPPED = [("en", "CA"), ("es", "US"), ("es", "AR"), ("ru", "US")]


@pytest.mark.parametrize(("tag", "country"), STOPPED)
def test_no_page_has_two_full_stops_where_a_value_ends_with_one(
    tag: str, country: str, practice: Practice
) -> None:
    tongue = language(tag, country)
    assert "." in (tongue.clock(time(15, 5))[-1], tongue.short_date(WEDNESDAY)[-1])
    forms = practice.forms.model_copy(update={"allow_draft_translations": True})
    there = practice.model_copy(update={"country": country, "forms": forms})
    for one in PAPERS.values():
        visit = renamed(demo_visit(one, tag), "Ana Ruiz Jr.")
        page = Desk(there, WEDNESDAY).page(one.id, visit, tag)
        printed = [*map(plain, page.letterhead), plain(page.foot), words_of(page.blocks)]
        assert not re.search(r"\.\.", "\n".join(printed)), one.id


def test_every_form_of_a_language_whose_values_end_with_a_stop_is_tried() -> None:
    """A new release of CLDR may give such values to another language or country."""
    own = {tag: {country for one, country in STOPPED if one == tag} for tag in SIXTEEN}
    for tag in SIXTEEN:
        for country in ("US", "CA", "GB", "MX", "AR", "ES", "FR", "DE", "BR", "IN", "RU", "KR"):
            tongue = language(tag, country)
            values = (tongue.clock(time(15, 5)), tongue.whole_date(WEDNESDAY))
            assert own[tag] or not any(value.endswith(".") for value in values), (tag, country)
