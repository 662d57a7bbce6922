"""Which language somebody means, however a list spells it, and which of ours answers to it.

Tags are BCP 47. A tag is answered as by the lookup of RFC 4647, section 3.4, but with the script
and region that CLDR thinks likeliest filled in, and never in another script. What does not fit has
no answer: nobody is given another language in silence.
"""

import re
import unicodedata
from collections.abc import Collection, Mapping
from functools import cache

from babel import Locale
from babel.core import get_global

# What lists say for a language in other words than CLDR; common spellings, from memory.
_ALSO = {
    "mandarin": "zh-Hans",
    "chinese simplified": "zh-Hans",
    "chinese traditional": "zh-Hant",
    "chinese mandarin": "zh-Hans",
    "chinese cantonese": "yue",
    "cantonese": "yue",
    "creole": "ht",
    "haitian": "ht",
    "kreyol": "ht",
    "kreyol ayisyen": "ht",
    "tagalog": "fil",
    "pilipino": "fil",
    "castellano": "es",
    "castilian": "es",
    "brazilian": "pt-BR",
    "farsi": "fa",
}
_WRITTEN_IN = ("en", "es", "fr", "de", "it", "pt", "pl", "ru", "vi", "zh", "ko", "ja", "ar", "hi")


def tag_of(text: str) -> str | None:
    """The BCP 47 tag for a language as a list spells it, or None when it is no language.

    Taken are tags in any case and with either mark (``es-MX``, ``ES_mx``), ISO 639 codes of two or
    three letters (``spa``, ``ger``), and names in English, in the language itself, or in another of
    the languages that many people here read (``Spanish``, ``español``, ``espagnol``), also with a
    country in brackets.
    """
    plain = _folded(text)
    if plain in _ALSO:
        return _ALSO[plain]
    return _as_tag(text.strip()) or _named(plain) or _in_country(text)


def lookup(tag: str, have: Collection[str]) -> str | None:
    """The longest tag of ``have`` that answers to a tag, or None.

    It answers when it says nothing that the full form of the tag does not say, in the same script:
    ``es`` answers to ``es-MX`` and ``pt-BR`` to plain ``pt``, but nothing simplified to ``zh-TW``.
    """
    full = _full(tag)
    fitting = [
        one
        for one in have
        if one.lower() == tag.lower()
        or (set(one.split("-")) <= set(full) and one.split("-")[0] == full[0])
        and _full(one)[1] == full[1]
    ]
    return max(fitting, key=lambda one: (one.lower() == tag.lower(), len(one)), default=None)


def _full(tag: str) -> tuple[str, str, str]:
    """Language, script and region of a tag, the likeliest where it is silent (CLDR)."""
    known: Mapping[str, str] = get_global("likely_subtags")
    language, *rest = tag.split("-")
    script = next((part for part in rest if len(part) == 4), "")
    region = next((part for part in rest if len(part) in (2, 3)), "")
    named = ((script, region), ("", region), (script, ""), ("", ""))
    keys = ("_".join(filter(None, (language, *parts))) for parts in named)
    likely = next((known[key] for key in keys if key in known), f"{language}_Latn_")
    parts = likely.split("_")
    return language, script or parts[1], region or parts[2]


def _as_tag(text: str) -> str | None:
    first, *rest = text.replace("_", "-").split("-")
    aliases: Mapping[str, str] = get_global("language_aliases")
    language = aliases.get(first.lower(), first.lower())
    cased = [_cased(part) for part in rest]
    if not first.isascii() or language not in _languages() or not all(cased):
        return None
    return "-".join((language, *cased))


def _cased(part: str) -> str:
    """A script or a region as BCP 47 writes it; empty for anything else."""
    if re.fullmatch("[A-Za-z]{4}", part):
        return part.title()
    return part.upper() if re.fullmatch("[A-Za-z]{2}|[0-9]{3}", part) else ""


@cache
def _languages() -> Mapping[str, str]:
    return {code: str(name) for code, name in Locale.parse("en").languages.items()}


@cache
def _names(written_in: str) -> Mapping[str, str]:
    found: dict[str, str] = {}
    for code, name in Locale.parse(written_in).languages.items():
        found.setdefault(_folded(name), code.replace("_", "-"))
    return found


def _named(plain: str) -> str | None:
    # One by one: most lists are in English, and each further language takes a while to load.
    found = (_names(speaker).get(plain) for speaker in _WRITTEN_IN)
    return next((tag for tag in found if tag), None)


def _in_country(text: str) -> str | None:
    """A language with its country in brackets, in English, such as ``Portuguese (Brazil)``."""
    parts = re.fullmatch(r"\s*(.+?)\s*\((.+)\)\s*", text)
    language = _named(_folded(parts[1])) if parts else None
    if parts is None or language is None:
        return None
    country = _countries().get(_folded(parts[2]))
    return f"{language}-{country}" if country else None


@cache
def _countries() -> Mapping[str, str]:
    return {_folded(name): code for code, name in Locale.parse("en").territories.items()}


def _folded(text: str) -> str:
    """Small letters without accents and marks, one space between words."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    kept = "".join(char for char in apart if not unicodedata.combining(char))
    return " ".join(re.sub(r"[^\w\s]", " ", unicodedata.normalize("NFC", kept)).split())
