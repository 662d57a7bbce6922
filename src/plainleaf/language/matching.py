"""Which language somebody means, however a list spells it, and which of ours answers to it.

Tags are BCP 47. A tag is answered as by the lookup of RFC 4647, section 3.4, but with the script
and region that CLDR thinks likeliest filled in, and never in another script. What does not fit has
no answer: nobody is given another language in silence.
"""

import re
import unicodedata
from collections.abc import Collection, Iterator, Mapping
from functools import cache

from babel import Locale
from babel.core import get_global

from plainleaf.characters import bare

_TAG = re.compile(
    r"(?P<language>[a-z]{2,3})(?P<extended>(-[a-z]{3}){0,3})"
    r"(-(?P<script>[a-z]{4}))?(-(?P<region>[a-z]{2}|[0-9]{3}))?"
    r"(?P<rest>(-([a-z0-9]{5,8}|[0-9][a-z0-9]{3}))*"
    r"(-[0-9a-wyz](-[a-z0-9]{2,8})+)*(-x(-[a-z0-9]{1,8})+)?)",
    re.IGNORECASE,
)
"""A tag by RFC 5646, section 2.1: language, extended language, script, region, and the rest, which
is variants, extensions and private use."""

_LONGEST = 80
"""A longer text is no name of a language; in characters."""

_WRITTEN_IN = ("en", "es", "fr", "de", "it", "pt", "pl", "ru", "vi", "zh", "ko", "ja", "ar", "hi")
_OR = re.compile(r"\s*[;/|]\s*|\s+or\s+")
_WITH_MORE = re.compile(
    r"\s*(?P<language>.+?)\s*(?:\((?P<brackets>.+)\)|\s-\s*(?P<dash>.+)|,\s*(?P<comma>.+)"
    r"|\s(?:do|da|de|del|du|of|from)\s(?P<of>.+))\s*"
)
"""A language and then a country, a script or another name: in brackets, after a dash or a comma,
or as in ``português do Brasil``."""


def tag_of(text: str) -> str | None:
    """The BCP 47 tag for a language as a list spells it, or None when it is no language.

    Taken are tags in any case and with either mark (``es-MX``, ``ES_mx``), ISO 639 codes of two or
    three letters (``spa``, ``ger``), and names in English, in the language itself, or in another of
    the languages that many people here read (``Spanish``, ``español``, ``espagnol``), also with a
    country or another name of the same language (``Spanish - Mexico``, ``Spanish; Castilian``).
    """
    if len(text) > _LONGEST:
        return None
    whole = _also().get(_plain(text)) or _as_tag(text.strip()) or _named(_plain(text))
    return whole or _in_country(text) or _agreed(text)


def lookup(tag: str, have: Collection[str]) -> str | None:
    """The tag of ``have`` that answers to a tag, or None.

    The tag is cut from its end until one fits (RFC 4647, section 3.4), then the likeliest script
    and region are filled in and that is cut: ``es`` answers to ``es-MX``, and ``pt-BR`` to plain
    ``pt``. What is written in another script never answers: nothing simplified to ``zh-TW``.
    """
    by_small = {one.lower(): one for one in have}
    language, script, region = likely(tag)
    filled = (f"{language}-{script}-{region}", f"{language}-{region}", f"{language}-{script}")
    for one in (*_shortened(tag.lower()), *map(str.lower, filled), language):
        found = by_small.get(one)
        if found and (found.lower() == tag.lower() or likely(found)[1] == script):
            return found
    return None


def is_tag(text: str) -> bool:
    """Whether a text has the form of a tag, also of a language that nobody else knows."""
    return _TAG.fullmatch(text) is not None


def _shortened(tag: str) -> Iterator[str]:
    """A tag, and what is left of it when subtags are cut from its end, down to its region."""
    known = _TAG.fullmatch(tag)
    shortest = len(tag) - len(known["rest"]) if known else len(tag)
    while len(tag) >= shortest:
        yield tag
        # A single letter only says what comes after it.
        tag = re.sub(r"(-[a-z0-9])?-[a-z0-9]+$", "", tag) if "-" in tag else ""


def likely(tag: str, country: str = "") -> tuple[str, str, str]:
    """Language, script and region of a tag, the likeliest in a country where it is silent (CLDR).

    Without a country, or where the language is not at home there, the likeliest of all.
    """
    known: Mapping[str, str] = get_global("likely_subtags")
    found = _TAG.fullmatch(tag)
    language = found["language"].lower() if found else tag.split("-")[0]
    script = (found["script"] or "").title() if found else ""
    region = (found["region"] or ("" if script else country)).upper() if found else ""
    named = ((script, region), ("", region), (script, ""), ("", ""))
    keys = ("_".join(filter(None, (language, *parts))) for parts in named)
    parts = next((known[key] for key in keys if key in known), f"{language}_Latn_").split("_")
    return language, script or parts[1], region or parts[2]


def _as_tag(text: str) -> str | None:
    """A tag in the form of RFC 5646, with the language's own code in place of an old one."""
    found = _TAG.fullmatch(text.replace("_", "-"))
    if not found or not _singletons_once(found["rest"].lower()):
        return None
    # An extended language says more than the one it extends: zh-yue is yue.
    code = (found["extended"] or found["language"]).split("-")[-1].lower()
    aliases: Mapping[str, str] = get_global("language_aliases")
    language, *implied = aliases.get(code, code).split("_")
    if language not in _languages():
        return None
    script = (found["script"] or next((one for one in implied if len(one) == 4), "")).title()
    region = (found["region"] or next((one for one in implied if len(one) == 2), "")).upper()
    return "-".join(filter(None, (language, script, region))) + found["rest"].lower()


def _singletons_once(rest: str) -> bool:
    singles = re.findall(r"-([a-z0-9])(?=-)", rest.partition("-x-")[0])
    return len(singles) == len(set(singles))


@cache
def _languages() -> Mapping[str, str]:
    return {code: str(name) for code, name in Locale.parse("en").languages.items()}


@cache
def _names(written_in: str) -> Mapping[str, str]:
    found: dict[str, str] = {}
    for code, name in Locale.parse(written_in).languages.items():
        found.setdefault(_plain(name), _as_tag(code) or code.replace("_", "-"))
    return found


def _named(plain: str) -> str | None:
    # One by one: most lists are in English, and each further language takes a while to load.
    found = (_names(speaker).get(plain) for speaker in _WRITTEN_IN)
    return next((tag for tag in found if tag), None)


def _in_country(text: str) -> str | None:
    """A language with its country, or with another name of it: ``Portuguese (Brazil)``."""
    parts = _WITH_MORE.fullmatch(text)
    if parts is None:
        return None
    language = _one_name(parts["language"])
    more = next(filter(None, parts.groups()[1:]))
    if language and (country := _country(more)):
        return f"{language.split('-')[0]}-{country}"
    return _same(language, _one_name(more)) if parts["of"] is None else None


def _agreed(text: str) -> str | None:
    """One language that is named twice: ``Spanish; Castilian``; None for two languages."""
    first, *others = _OR.split(text)
    found = _one_name(first)
    for other in others:
        found = _same(found, _one_name(other))
    return found if others else None


def _one_name(text: str) -> str | None:
    plain = _plain(text)
    return _also().get(plain) or _named(plain)


def _same(one: str | None, two: str | None) -> str | None:
    """The one of two tags that says more, if they are of one language and do not disagree."""
    if one is None or two is None:
        return None
    shorter, longer = sorted((one, two), key=len)
    return longer if longer == shorter or longer.startswith(f"{shorter}-") else None


def _country(text: str) -> str | None:
    """The code of a country by its name, or by a code such as ``US`` or ``UK``."""
    code = text.strip().upper()
    aliases: Mapping[str, list[str]] = get_global("territory_aliases")
    if re.fullmatch("[A-Z]{2,3}", code):
        code = aliases.get(code, [code])[0]
        if code in Locale.parse("en").territories:
            return code
    plain = _plain(text)
    found = (_countries(speaker).get(plain) for speaker in _WRITTEN_IN)
    return next((one for one in found if one), None)


@cache
def _countries(written_in: str) -> Mapping[str, str]:
    territories = Locale.parse(written_in).territories
    return {_plain(name): code for code, name in territories.items()}


def _plain(text: str) -> str:
    """Small letters without accents and punctuation, one space between words."""
    # Letters of full width are the same letters. The vowel signs of Hindi are marks, and stay.
    small = bare(unicodedata.normalize("NFKC", text))
    words = (" " if unicodedata.category(char)[0] in "PSZC" else char for char in small)
    return " ".join("".join(words).split())


@cache
def _also() -> Mapping[str, str]:
    """What lists say in other words than CLDR; common spellings, from memory."""
    spelled = {
        "zh-Hans": "Mandarin|Mandarin Chinese|Chinese Mandarin|Chinese Simplified|普通话|简体中文",
        "zh-Hant": "Chinese Traditional|繁體中文|正體中文",
        "zh": "Chinese|汉语|漢語|華語",
        "yue": "Cantonese|Chinese Cantonese|粵語|廣東話|广东话",
        "ht": "Creole|Haitian|Kreyol|Kreyòl ayisyen|Créole haïtien",
        "fil": "Tagalog|Pilipino",
        "es": "Castellano|Castilian",
        "pt-BR": "Brazilian",
        "fa": "Farsi",
        "hi": "हिंदी",
    }
    return {_plain(name): tag for tag, names in spelled.items() for name in names.split("|")}
