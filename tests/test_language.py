"""Languages and catalogs: complete, unharmed, in the right form, or not used at all."""

import shutil
from collections.abc import Callable
from datetime import date, time
from gettext import c2py  # type: ignore[attr-defined]
from pathlib import Path

import pytest
from babel.messages.catalog import Catalog as Messages
from babel.messages.pofile import read_po, write_po

from conftest import LANGUAGES
from plainleaf import paths
from plainleaf.desk import Desk
from plainleaf.errors import FactsProblem, LanguageProblem
from plainleaf.evidence.arithmetic import Ratio
from plainleaf.evidence.tables import Tables
from plainleaf.language import phrases
from plainleaf.language.catalogs import (
    available,
    catalog,
    message_problems,
    plural_categories,
    plural_index,
    typed_digits,
)
from plainleaf.language.extraction import plural_header, updated, wanted
from plainleaf.language.locales import clean_name, language
from plainleaf.office.practice import Practice

TRANSLATED = ("es", "ar")
# The counts at which plural categories change, from the CLDR plural rules (rule LG-02).
COUNTS = (0, 1, 2, 3, 4, 5, 11, 12, 14, 21, 22, 25, 100, 101, 111, 1_000_000)


def po(folder: Path, tag: str) -> Path:
    return folder / tag / "LC_MESSAGES" / "plainleaf.po"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(paths.locales(), tmp_path / "locales"))


def edit(file: Path, change: Callable[[Messages], None]) -> None:
    with file.open("rb") as stream:
        messages = read_po(stream, locale=file.parts[-3])
    change(messages)
    with file.open("wb") as stream:
        write_po(stream, messages)


def test_the_first_three_languages_are_there() -> None:
    assert set(available()) >= set(LANGUAGES)


@pytest.mark.parametrize("tag", TRANSLATED)
def test_every_message_of_every_paper_is_translated_whole(tag: str, evidence: Tables) -> None:
    tongue = catalog(language(tag))
    assert tongue.messages is not None
    for context, message, where in wanted(paths.templates() / "papers", evidence.positions):
        singular, plural = message if isinstance(message, tuple) else (message, None)
        entry = tongue.messages.get(singular, context)
        assert entry is not None, f"{where}: {singular}"
        assert not entry.fuzzy, f"{where}: {singular}"
        forms = entry.string if isinstance(entry.string, tuple | list) else (entry.string,)
        assert len(forms) == (len(plural_categories(tongue.language)) if plural else 1), singular
        assert message_problems(singular, forms, plural) == [], f"{where}: {singular}"


@pytest.mark.parametrize("tag", TRANSLATED)
def test_a_catalog_brought_up_to_date_again_does_not_change(tag: str, evidence: Tables) -> None:
    file = po(paths.locales(), tag)
    needed = wanted(paths.templates() / "papers", evidence.positions)
    assert updated(file, tag, needed) == file.read_bytes()


def test_no_number_is_typed_in_any_english_text(evidence: Tables) -> None:
    for _, message, where in wanted(paths.templates() / "papers", evidence.positions):
        for text in message if isinstance(message, tuple) else (message,):
            assert typed_digits(text) == "", f"{where}: {text}"


@pytest.mark.parametrize("tag", LANGUAGES)
def test_the_plural_rule_in_the_file_agrees_with_cldr(tag: str) -> None:
    tongue = language(tag)
    header = plural_header(tag)
    rule = c2py(header.partition("plural=")[2].rstrip(";"))
    # For editors that follow the header: the same form that we take from CLDR through Babel.
    order = [tongue.locale.plural_form(count) for count in COUNTS]
    assert [plural_categories(tongue)[plural_index(tongue, count)] for count in COUNTS] == order
    names = {rule(count): tongue.locale.plural_form(count) for count in COUNTS}
    assert [names[rule(count)] for count in COUNTS] == order


def test_arabic_hits_all_six_forms() -> None:
    # CLDR 44, plural rules for Arabic: zero, one, two, few 3-10, many 11-99, other.
    arabic = language("ar")
    seen = [arabic.locale.plural_form(count) for count in (0, 1, 2, 3, 11, 100)]
    assert seen == ["zero", "one", "two", "few", "many", "other"] == plural_categories(arabic)
    span = {phrases.weeks_or_days(catalog(arabic), 7, 7 * n)[0] for n in (2, 3, 11)}
    assert len(span) == 3


CHOICE = "It is your choice"


def first(messages: Messages, text: str) -> object:
    exact = messages.get(text)
    return exact or next(one for one in messages if text in str(one.id))


@pytest.mark.parametrize(
    ("harm", "says"),
    [
        (lambda m: m.delete(CHOICE), "it is missing"),
        (lambda m: first(m, CHOICE).flags.add("fuzzy"), "unfinished"),
        (lambda m: setattr(first(m, CHOICE), "string", " "), "a form is empty"),
        (lambda m: setattr(first(m, "costs %(fee)s"), "string", "x"), "placeholders differ"),
        (lambda m: setattr(first(m, CHOICE), "string", "Son 2"), "number is typed"),
        (lambda m: setattr(first(m, CHOICE), "string", "Son ٢"), "number is typed"),
        (lambda m: setattr(first(m, "If you say no:</"), "string", "Si no"), "tags differ"),
        (lambda m: setattr(first(m, "dark for about"), "string", ("%(n)s",)), "a form is empty"),
    ],
)
def test_a_harmed_translation_stops_the_message(
    folder: Path, harm: Callable[[Messages], None], says: str
) -> None:
    file = po(folder, "es")
    edit(file, harm)
    words = catalog(language("es"), folder)
    with pytest.raises(LanguageProblem) as caught:
        words.gettext(CHOICE)
        words.gettext(
            next(
                str(m.id)
                for m in catalog(language("es")).messages or ()
                if "costs %(fee)s" in str(m.id)
            )
        )
        words.gettext("<strong>If you say no:</strong> we do the ordinary check in full.")
        words.ngettext(
            "The room is dark for about %(n)s minute.",
            "The room is dark for about %(n)s minutes.",
            5,
        )
    assert says in caught.value.found
    assert caught.value.found.startswith("Spanish text '")
    assert "locales/es/LC_MESSAGES/plainleaf.po" in caught.value.do


def test_a_broken_catalog_and_a_language_that_is_not_there_are_known_problems(folder: Path) -> None:
    po(folder, "es").write_text("never a catalog\n", "utf-8")
    with pytest.raises(LanguageProblem, match="cannot be read"):
        catalog(language("es"), folder)
    with pytest.raises(LanguageProblem, match="no translation into Swahili"):
        catalog(language("sw"), folder)
    with pytest.raises(LanguageProblem, match="not a language tag"):
        language("xx-yy-zz")


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize(
    "worded",
    [
        Ratio("less-than-half"),
        Ratio("about-half"),
        Ratio("fewer"),
        Ratio("about-as-many"),
        Ratio("more"),
        Ratio("nearly-twice"),
        Ratio("about-twice"),
        Ratio("more-than-twice"),
        Ratio("nearly-times", 3),
        Ratio("about-times", 3),
        Ratio("more-than-times", 3),
    ],
)
def test_every_ratio_has_its_own_sentence(tag: str, worded: Ratio) -> None:
    sentence = phrases.deaths_compared(catalog(language(tag)), worded.kind)
    assert "%(other)s" in sentence
    assert ("%(times)s" in sentence) == worded.kind.endswith("-times")


def test_the_trades_round_numbers_of_2006_in_words() -> None:
    # Cancer Facts & Figures 2006: cervix as quoted by others; oral from memory (see figures.csv).
    words = catalog(language("en"))
    assert phrases.about(words, 30990) == "31,000"
    assert phrases.about(words, 9710) == "9,700"
    assert phrases.deaths_compared(words, "more-than-twice").startswith("More than twice")


@pytest.mark.parametrize(
    ("tag", "number", "day", "clock", "money"),
    [
        # CLDR 47 forms as Babel 2.18 carries them; the spaces before AM and p. m. are narrow ones.
        ("en", "12,345", "Wednesday, November 25, 2026", "9:05\u202fAM", "$35"),
        ("es", "12,345", "miércoles, 25 de noviembre de 2026", "9:05\u202fa.m.", "$35"),
        ("ar", "12,345", "الأربعاء، 25 نوفمبر 2026", "9:05\u202fص", "35 دولار أمريكي"),
    ],
)
def test_numbers_and_dates_as_the_language_writes_them(
    tag: str, number: str, day: str, clock: str, money: str
) -> None:
    tongue = language(tag, "US")
    assert tongue.number(12345) == number
    assert tongue.whole_date(date(2026, 11, 25)) == day
    assert tongue.clock(time(9, 5)).replace(" ", "\u202f") == clock.replace(" ", "\u202f")
    assert tongue.money(35, "USD") == money


def test_direction_and_script() -> None:
    assert (language("ar").direction, language("ar").script) == ("rtl", "Arab")
    assert (language("es").direction, language("es").script) == ("ltr", "Latn")
    assert language("zh-Hans").script == "Hans"
    assert language("ja").script == "Jpan"


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("  Ana   María ", "Ana María"),
        ("Nguye\u0302\u0303n", "Nguyễn"),
        ("\u202eevil\u202c", "evil"),
        ("\ufeffName", "Name"),
        ("An\u200ba", "Ana"),
        # The joiners of Persian and Hindi change letters, and stay.
        ("علی\u200cرضا", "علی\u200cرضا"),
        ("A & B <b>#panic()*x*", "A & B <b>#panic()*x*"),
        ("نورة\nالسالمي", "نورة السالمي"),
    ],
)
def test_names_are_cleaned_and_kept(typed: str, kept: str) -> None:
    assert clean_name(typed) == kept


@pytest.mark.parametrize("typed", ["a\x00b", "a\x07b", "a\ue000b", "a\ufffeb"])
def test_names_that_cannot_be_printed_are_refused(typed: str) -> None:
    with pytest.raises(FactsProblem, match="cannot be printed"):
        clean_name(typed)


def test_a_country_says_some_words_in_its_own_way() -> None:
    # British spelling outside the United States; "gafas" and "lentes" for glasses.
    color = "spots of color in the lining"
    glasses = "your glasses, if you read with them"
    assert catalog(language("en", "US")).gettext(color) == color
    for country in ("GB", "AU", "IE", "CA"):
        assert "colour" in catalog(language("en", country)).gettext(color)
    assert "gafas" in catalog(language("es", "ES")).gettext(glasses)
    assert "lentes" in catalog(language("es", "US")).gettext(glasses)
    assert "lentes" in catalog(language("es", "MX")).gettext(glasses)


def test_an_overlay_is_as_sound_as_a_catalog_and_says_nothing_twice() -> None:
    for tag, country in (("en", "GB"), ("es", "ES")):
        words = catalog(language(tag, country))
        assert words.overlay is not None
        for entry in words.overlay:
            if entry.id:
                forms = (entry.string,) if isinstance(entry.string, str) else entry.string
                first, *more = entry.id if isinstance(entry.id, tuple) else (entry.id,)
                assert message_problems(first, forms, more[0] if more else None) == []
                plain = catalog(language(tag)).entry(entry.context, first)
                assert forms[0] != (plain.string if plain else first)


def test_english_overlays_reach_the_paper(practice: Practice) -> None:
    british = practice.model_copy(update={"country": "GB", "phones": practice.phones})
    words = Desk(british, date(2026, 11, 25)).words("en")
    assert "colour" in words.gettext("the color comes back")
