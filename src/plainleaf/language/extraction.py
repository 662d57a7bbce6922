"""Which messages the papers need, and catalogs brought up to date with them.

Messages stand in the templates, in the phrases of this room and in the expert positions. Babel
reads the first two; the positions are data.
"""

import re
from collections.abc import Iterable, Iterator
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any, cast

from babel import Locale
from babel.messages.catalog import Catalog as Messages
from babel.messages.extract import extract
from babel.messages.pofile import write_po
from babel.plural import to_gettext
from jinja2.ext import babel_extract

from plainleaf.evidence.tables import Position
from plainleaf.language import findings, phrases
from plainleaf.language.catalogs import Key
from plainleaf.language.marks import Language
from plainleaf.language.pofile import read

Wanted = tuple[str | None, str | tuple[str, str], str]
"""Context, message (or singular and plural), and where it stands."""

_KEYWORDS: dict[str, tuple[int | tuple[int, str], ...] | None] = {
    "_": None,
    "gettext": None,
    "ngettext": (1, 2),
    "pgettext": ((1, "c"), 2),
    "npgettext": ((1, "c"), 2, 3),
    "N_": None,
    "NC_": ((1, "c"), 2),
    "NN_": (1, 2),
}


def wanted(templates: Path, positions: Iterable[Position]) -> Iterator[Wanted]:
    """Every message that some paper may ask for, in the order of the templates."""
    for template in sorted(templates.rglob("*.xml")):
        yield from _in_template(template)
    yield from shared(positions)


def in_templates(folder: Path, names: Iterable[str]) -> Iterator[Key]:
    """The messages that stand in some templates of a folder."""
    for name in names:
        for context, message, _ in _in_template(folder / name):
            singular, plural = message if isinstance(message, tuple) else (message, None)
            yield context, singular, plural


def _in_template(template: Path) -> list[Wanted]:
    return in_source(template.read_bytes(), template.stem)


def in_source(source: bytes, where: str) -> list[Wanted]:
    """Every message in the source of a template, or in a piece of it."""
    options = {"trimmed": "true", "newstyle_gettext": "true", "silent": "false"}
    # The stubs of the two libraries name the same function in two ways.
    method = cast(Any, babel_extract)
    return list(
        _as_wanted(extract(method, BytesIO(source), keywords=_KEYWORDS, options=options), where)
    )


def shared(positions: Iterable[Position]) -> Iterator[Wanted]:
    """Every message that stands in no template: the phrases and the positions."""
    for module in (phrases, findings):
        yield from _in_phrases(str(module.__file__))
    for position in positions:
        yield "position", position.says, position.id


@cache
def _in_phrases(module: str) -> tuple[Wanted, ...]:
    with Path(module).open("rb") as file:
        return tuple(_as_wanted(extract("python", file, keywords=_KEYWORDS), Path(module).stem))


def _as_wanted(found: Iterable[tuple[object, ...]], where: str) -> Iterator[Wanted]:
    for _, message, _, context in found:
        yield context, message, where  # type: ignore[misc]


def updated(
    file: Path, locale: str, needed: Iterable[Wanted], language: Language | None = None
) -> bytes:
    """A catalog file with every needed message, its translations kept and nothing guessed.

    ``language`` names itself in the head of the file, where its ``locale`` only lends it plurals.
    Raises ValueError, in words, when there is a file that cannot be read.
    """
    template = Messages(locale=locale)
    for context, message, where in needed:
        template.add(message, locations=[(where, None)], context=context)  # type: ignore[list-item]
    tongue = language or _plain(locale)
    catalog = read(file.read_bytes() if file.is_file() else b"", tongue).messages
    catalog.update(template, no_fuzzy_matching=True)
    return filled(catalog, locale, tongue)


def filled(catalog: Messages, locale: str, language: Language) -> bytes:
    """The file of a catalog as it stands."""
    catalog.fuzzy = False
    catalog.mime_headers = [
        ("Plural-Forms", plural_header(locale)),
        ("Content-Type", "text/plain; charset=utf-8"),
    ]
    written = BytesIO()
    write_po(written, catalog, width=100, ignore_obsolete=True, omit_header=True)
    return _header(language, locale).encode() + written.getvalue()


def _plain(locale: str) -> Language:
    parsed = Locale.parse(locale)
    return Language(locale.replace("_", "-"), parsed, parsed.script or "", "")


def plural_header(locale: str) -> str:
    """The plural rule of a language for a catalog, from the CLDR data that Babel carries.

    The order of the forms is that of CLDR: zero, one, two, few, many, other.
    """
    rule = str(to_gettext(Locale.parse(locale).plural_form))
    # CLDR also looks at a compact exponent ("e"), which whole numbers written out never have.
    return re.sub(r"\be\b", "0", rule) + ";" * (not rule.endswith(";"))


def _header(language: Language, locale: str) -> str:
    lender = Locale.parse(locale)
    its_own = lender.language == language.tag.split("-")[0]
    name = lender.english_name if its_own else language.english_name
    # No dates and no addresses: the file must not change when no text does.
    return (
        f"# {name} texts of the Plainleaf papers.\n"
        'msgid ""\nmsgstr ""\n'
        f'"Language: {language.tag.replace("-", "_")}\\n"\n'
        f'"Plural-Forms: {plural_header(locale)}\\n"\n'
        '"MIME-Version: 1.0\\n"\n'
        '"Content-Type: text/plain; charset=utf-8\\n"\n'
        '"Content-Transfer-Encoding: 8bit\\n"\n\n'
    )
