"""Which language somebody means, and the languages whose dates we bring ourselves."""

from datetime import date, time
from itertools import product
from pathlib import Path

import pytest

from plainleaf.errors import LanguageProblem
from plainleaf.language.locales import language
from plainleaf.language.matching import lookup, tag_of
from plainleaf.language.own_locale import read_own_locale

SIXTEEN = (
    *("en", "es", "fr", "de", "it", "pt-BR", "pl", "ru"),
    *("vi", "zh-Hans", "ko", "ja", "ar", "fil", "ht", "hi"),
)


@pytest.mark.parametrize(
    ("said", "tag"),
    [
        ("Spanish", "es"),
        (" español ", "es"),
        ("ESPANOL", "es"),
        ("espagnol", "es"),
        ("spa", "es"),
        ("es-MX", "es-MX"),
        ("ES_mx", "es-MX"),
        ("Spanish (Mexico)", "es-MX"),
        # ISO 639-2 has two codes for some languages (bibliographic and terminological).
        ("ger", "de"),
        ("deu", "de"),
        ("chi", "zh"),
        ("zho", "zh"),
        ("Mandarin", "zh-Hans"),
        ("Chinese (Simplified)", "zh-Hans"),
        ("Chinese (Traditional)", "zh-Hant"),
        ("Chinese - Cantonese", "yue"),
        ("简体中文", "zh-Hans"),
        ("Tagalog", "fil"),
        ("tl", "fil"),
        ("Haitian Creole", "ht"),
        ("Kreyòl Ayisyen", "ht"),
        ("Portuguese (Brazil)", "pt-BR"),
        ("Русский", "ru"),
        ("العربية", "ar"),
        ("हिन्दी", "hi"),
        ("tiếng Việt", "vi"),
        ("한국어", "ko"),
        ("日本語", "ja"),
        ("English (US)", "en-US"),
        ("English (UK)", "en-GB"),
        ("Spanish; Castilian", "es"),
        ("Spanish/Castilian", "es"),
        ("Haitian; Haitian Creole", "ht"),
        ("Mandarin Chinese", "zh-Hans"),
        ("Chinese, Simplified", "zh-Hans"),
        ("Spanish - Mexico", "es-MX"),
        ("Portuguese, Brazil", "pt-BR"),
        ("Spanish (Latin America)", "es-419"),
        ("Tagalog (Filipino)", "fil"),
        ("Filipino (Tagalog)", "fil"),
        ("Português do Brasil", "pt-BR"),
        ("francés de Canadá", "fr-CA"),
        ("हिंदी", "hi"),
        ("普通话", "zh-Hans"),
        ("中文", "zh"),
        ("繁體中文", "zh-Hant"),
        ("Kreyol", "ht"),
        # Spanish for Tagalog: a name's code has its alias, like a code.
        ("Tagalo", "fil"),
        ("tl-PH", "fil-PH"),
        ("sh", "sr-Latn"),
    ],
)
def test_lists_spell_a_language_in_many_ways(said: str, tag: str) -> None:
    assert tag_of(said) == tag


@pytest.mark.parametrize(
    "said",
    [
        *("??", "unknown", "zz", "English (Atlantis)", "en_US.UTF-8", ""),
        # Two languages are not one, and nobody says which.
        *("Spanish; English", "French or Creole", "Russian, Ukrainian"),
        "Spanish (preferred) " * 20,
    ],
)
def test_what_is_no_language_is_not_guessed(said: str) -> None:
    assert tag_of(said) is None


def rfc_4647(tag: str, have: tuple[str, ...]) -> str | None:
    """Lookup as RFC 4647, section 3.4, tells it: cut subtags from the right until one fits."""
    parts = tag.split("-")
    for length in range(len(parts), 0, -1):
        if "-".join(parts[:length]) in have:
            return "-".join(parts[:length])
    return None


@pytest.mark.parametrize(
    ("tag", "canonical", "answer"),
    [
        # RFC 5646, appendix A, and what the lookup of RFC 4647 finds among ours.
        ("de", "de", "de"),
        ("zh-Hans", "zh-Hans", "zh-Hans"),
        ("zh-Hant", "zh-Hant", None),
        ("zh-cmn-Hans-CN", "zh-Hans-CN", "zh-Hans"),
        ("cmn-Hans-CN", "zh-Hans-CN", "zh-Hans"),
        ("zh-yue-HK", "yue-HK", None),
        ("sr-Latn-RS", "sr-Latn-RS", None),
        ("sl-rozaj-biske", "sl-rozaj-biske", None),
        ("de-CH-1901", "de-CH-1901", "de"),
        ("de-CH-1996", "de-CH-1996", "de"),
        ("de-CH-x-phonebk", "de-CH-x-phonebk", "de"),
        ("es-x-foo", "es-x-foo", "es"),
        ("en-GB-oxendict", "en-GB-oxendict", "en"),
        ("es-419", "es-419", "es"),
        ("en-US-u-islamcal", "en-US-u-islamcal", "en"),
        ("zh-CN-a-myext-x-private", "zh-CN-a-myext-x-private", "zh-Hans"),
        ("en-a-myext-b-another", "en-a-myext-b-another", "en"),
        ("AZ-ARAB-X-AZE-DERBEND", "az-Arab-x-aze-derbend", None),
        # Not valid by the same appendix: two regions, one letter, one extension twice.
        ("de-419-DE", None, None),
        ("a-DE", None, None),
        ("ar-a-aaa-b-bbb-a-ccc", None, None),
    ],
)
def test_tags_of_every_form_are_understood(
    tag: str, canonical: str | None, answer: str | None
) -> None:
    assert tag_of(tag) == canonical
    assert (lookup(canonical, SIXTEEN) if canonical else None) == answer


@pytest.mark.parametrize(
    ("have", "answer"),
    [
        (("zh-Hant-CN-x-private1-private2", "zh-Hant"), "zh-Hant-CN-x-private1-private2"),
        (("zh-Hant-CN-x-private1", "zh-Hant"), "zh-Hant-CN-x-private1"),
        (("zh-Hant-CN", "zh-Hant"), "zh-Hant-CN"),
        (("zh-Hant",), "zh-Hant"),
        # Here we differ: plain zh is written in the other script.
        (("zh",), None),
        (("en",), None),
    ],
)
def test_the_example_of_rfc_4647(have: tuple[str, ...], answer: str | None) -> None:
    """RFC 4647, section 3.4, table of fallbacks of the range below."""
    assert lookup("zh-Hant-CN-x-private1-private2", have) == answer


def test_lookup_agrees_with_rfc_4647_where_a_language_has_one_script() -> None:
    one_script = [tag for tag in SIXTEEN if not tag.startswith("zh")]
    tags = [*one_script, *(f"{a}-{b}" for a, b in product(("es", "fr", "ar", "ru"), ("MX", "CA")))]
    assert [lookup(tag, SIXTEEN) for tag in tags] == [rfc_4647(tag, SIXTEEN) for tag in tags]


@pytest.mark.parametrize(
    ("wanted", "answer"),
    [
        ("zh-CN", "zh-Hans"),
        ("zh", "zh-Hans"),
        ("zh-SG", "zh-Hans"),
        # Taiwan and Hong Kong read traditional characters (CLDR likely subtags).
        ("zh-TW", None),
        ("zh-HK", None),
        ("zh-Hant", None),
        ("pt", "pt-BR"),
        ("pt-PT", None),
        ("sr-Latn", None),
        ("so", None),
    ],
)
def test_nobody_is_given_another_script_or_country_in_silence(
    wanted: str, answer: str | None
) -> None:
    assert lookup(wanted, (*SIXTEEN, "sr")) == answer


def test_the_closest_of_several_answers() -> None:
    assert lookup("es-MX", ("es", "es-MX")) == "es-MX"
    assert lookup("es-AR", ("es", "es-MX")) == "es"


def test_haitian_creole_has_its_own_months_and_not_the_french_ones() -> None:
    # Babel prints "9 mars 2026" for it (LG-03); the months here are from memory.
    words = language("ht", "US")
    assert words.whole_date(date(2026, 3, 9)) == "lendi 9 mas 2026"
    assert words.brief_date(date(2026, 8, 1)) == "1 out 2026"
    assert words.number(12345) == "12,345"
    assert words.money(35, "USD") == "$35"
    assert words.clock(time(14, 30)).replace("\u202f", " ") == "2:30 PM"
    assert words.joined(["a", "b", "c"]) == "a, b ak c"
    assert words.territory("US") == "Etazini"
    assert words.english_name == "Haitian Creole"


OWN = """
reviewed = false
name = "Invented"
own_name = "Inventado"
numbers_like = "en"
like = "ja"
months = ["a","b","c","d","e","f","g","h","i","j","k","l"]
weekdays = ["m","t","w","th","f","s","su"]
and = "&"
[territories]
"""


def test_an_office_may_bring_a_language_that_babel_does_not_know(tmp_path: Path) -> None:
    with pytest.raises(LanguageProblem):
        language("hmn")
    (tmp_path / "hmn").mkdir()
    (tmp_path / "hmn" / "locale.toml").write_text(OWN, encoding="utf-8")
    words = language("hmn", "US", tmp_path)
    assert words.short_date(date(2026, 11, 25)) == "25 k 2026"
    assert (words.tag, words.own_name) == ("hmn", "Inventado")


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ('"a","b",', "", "months"),
        ('numbers_like = "en"', 'numbers_like = "hmn"', "no language that Babel knows"),
        ("reviewed", "revewed", "reviewed"),
        ("[territories]", "[", "cannot be used"),
        ('like = "ja"', 'whole_date = "{0} {day}"', "'whole_date': .*asks for {0}"),
        ('like = "ja"', 'whole_date = "{dia} {month} {year}"', "asks for {dia}"),
        ('like = "ja"', 'short_date = "{day"', "'short_date': .*a bracket too many or too few"),
        ('like = "ja"', 'short_date = "{day} {month}"', "lacks {year}"),
        ('like = "ja"', 'short_date = "{day:02} {month} {year}"', "says how to write a part"),
        ('like = "ja"', 'short_date = "{day.real} {month} {year}"', "asks for {day.real}"),
    ],
)
def test_a_mistake_in_own_dates_is_named(
    before: str, after: str, said: str, tmp_path: Path
) -> None:
    file = tmp_path / "locale.toml"
    file.write_text(OWN.replace(before, after, 1), encoding="utf-8")
    with pytest.raises(LanguageProblem, match=said):
        read_own_locale(file)
