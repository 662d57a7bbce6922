"""The language for a tag, and the names that may be set into a text in it."""

from functools import cache
from pathlib import Path

from babel import Locale, UnknownLocaleError
from babel.core import get_global

from plainleaf import paths
from plainleaf.characters import one_line, printable
from plainleaf.errors import FactsProblem, LanguageProblem
from plainleaf.language.marks import Language as Language
from plainleaf.language.own_locale import FILE, OwnLanguage, read_own_locale


@cache
def language(tag: str, country: str = "", extra: Path | None = None) -> Language:
    """The language for a BCP 47 tag, as written in a country if Babel knows that form.

    ``extra`` is the office's own folder of languages, looked at first. A language whose folder
    holds a ``locale.toml`` says its dates and numbers from there. Raises LanguageProblem for a tag
    that is not known.
    """
    file = paths.language_file(tag, FILE, extra)
    if file.is_file():
        own = read_own_locale(file)
        return OwnLanguage(tag, Locale.parse(own.like or tag, sep="-"), own.script, country, own)
    try:
        plain = Locale.parse(tag, sep="-")
    except (UnknownLocaleError, ValueError) as error:
        raise LanguageProblem(
            f"'{tag}' is not a language tag that we know.",
            "A paper must name its language exactly, for screen readers and for the record.",
            "Use a tag such as en, es, ar or pt-BR. For a language that nobody has told us of, put"
            f" its dates and numbers into locales/{tag.replace('-', '_')}/{FILE} beside"
            " practice.toml (DEVELOPERS.md tells the form).",
        ) from error
    locale = _written_in(plain, tag, country)
    return Language(tag, locale, plain.script or _likely_script(plain), country)


def _written_in(plain: Locale, tag: str, country: str) -> Locale:
    """The form of a language in a country, when CLDR has one and the tag names no other."""
    if not country or plain.territory:
        return plain
    try:
        return Locale.parse(f"{tag}-{country}".replace("-", "_"))
    except (UnknownLocaleError, ValueError):
        return plain


def _likely_script(locale: Locale) -> str:
    """The script a language is written in when its tag names none (CLDR likely subtags)."""
    likely = get_global("likely_subtags").get(locale.language, "")
    return next((part for part in likely.split("_") if len(part) == 4), "Latn")


def clean_name(text: str) -> str:
    """A name as it may enter a paper: NFC, one line, no character that hides or turns others.

    Marks that steer direction are taken out, because each value is isolated where it is set.
    Raises FactsProblem for control, private-use or unassigned characters.
    """
    cleaned = one_line(text)
    if not printable(cleaned):
        raise FactsProblem(
            f"The text {cleaned[:40]!a} holds a character that cannot be printed.",
            "It would be lost or would spoil the page.",
            "Type the text again without it.",
        )
    return cleaned
