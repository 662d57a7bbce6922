"""A day as a short message may name it, from the fullest form to the shortest."""

import re
from datetime import date

from babel.dates import format_date

from plainleaf.language.marks import Language

FORMS = ("whole", "near", "short", "brief")
"""With weekday and year; with weekday, without the year; with the year, without the weekday; the
same with a shorter month. The month is a number only where ``_NUMBERS`` says so."""

_SPELLED = {"fr": (("août", "aout"),)}
"""Letters outside the basic alphabet of messages, where another spelling is as right: ``aout`` is
that of the French reform of 1990. One letter outside makes a message cost two or three."""

_NUMBERS = {"pl": "d.MM.y"}
"""Where the shortest form has numbers alone: September and October have a letter outside
the alphabet in Polish, and everybody there writes the day before the month."""


def day_forms(language: Language, day: date) -> dict[str, str]:
    """The day in each of the forms; where a language has no such form, the next one."""
    short, whole = language.short_date(day), language.whole_date(day)
    found = {
        "whole": whole,
        "near": _without_year(language, whole, day) or short,
        "short": short,
        "brief": _in_numbers(language, day) or language.brief_date(day),
    }
    return {form: _spelled(language, text) for form, text in found.items()}


def _without_year(language: Language, whole: str, day: date) -> str:
    year = re.escape(str(format_date(day, "y", locale=language.locale)).rstrip("年년"))
    around = rf",?\s(?:de\s)?{year}(?:\sг\.)?(?=\s|,|$)|{year}(?:年|년\s)"
    text, cut = re.subn(around, "", whole, count=1)
    return text if cut else ""


def _in_numbers(language: Language, day: date) -> str:
    pattern = _NUMBERS.get(language.tag)
    return str(format_date(day, pattern, locale=language.locale)) if pattern else ""


def _spelled(language: Language, text: str) -> str:
    for one, other in _SPELLED.get(language.tag, ()):
        text = text.replace(one, other)
    return text
