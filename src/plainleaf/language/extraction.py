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
from babel.messages.pofile import read_po, write_po
from babel.plural import to_gettext
from jinja2.ext import babel_extract

from plainleaf.evidence.tables import Position
from plainleaf.language import findings, phrases
from plainleaf.language.catalogs import Key

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
    yield from _shared(positions)


def in_templates(folder: Path, names: Iterable[str]) -> Iterator[Key]:
    """The messages that stand in some templates of a folder."""
    for name in names:
        for context, message, _ in _in_template(folder / name):
            singular, plural = message if isinstance(message, tuple) else (message, None)
            yield context, singular, plural


def _in_template(template: Path) -> list[Wanted]:
    with template.open("rb") as file:
        options = {"trimmed": "true", "newstyle_gettext": "true", "silent": "false"}
        # The stubs of the two libraries name the same function in two ways.
        method = cast(Any, babel_extract)
        found = extract(method, file, keywords=_KEYWORDS, options=options)
        return list(_as_wanted(found, template.stem))


def _shared(positions: Iterable[Position]) -> Iterator[Wanted]:
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


def updated(file: Path, locale: str, needed: Iterable[Wanted]) -> bytes:
    """A catalog file with every needed message, its translations kept and nothing guessed."""
    template = Messages(locale=locale)
    for context, message, where in needed:
        template.add(message, locations=[(where, None)], context=context)  # type: ignore[list-item]
    catalog = Messages(locale=locale)
    if file.is_file():
        with file.open("rb") as stream:
            catalog = read_po(stream, locale=locale)
    catalog.update(template, no_fuzzy_matching=True)
    catalog.fuzzy = False
    catalog.header_comment = f"# {Locale.parse(locale).english_name} texts of the Plainleaf papers."
    catalog.mime_headers = [
        ("Plural-Forms", plural_header(locale)),
        ("Content-Type", "text/plain; charset=utf-8"),
    ]
    written = BytesIO()
    write_po(written, catalog, width=100, ignore_obsolete=True, omit_header=True)
    return _header(catalog, locale).encode() + written.getvalue()


def plural_header(locale: str) -> str:
    """The plural rule of a language for a catalog, from the CLDR data that Babel carries.

    The order of the forms is that of CLDR: zero, one, two, few, many, other.
    """
    rule = str(to_gettext(Locale.parse(locale).plural_form))
    # CLDR also looks at a compact exponent ("e"), which whole numbers written out never have.
    return re.sub(r"\be\b", "0", rule) + ";" * (not rule.endswith(";"))


def _header(catalog: Messages, locale: str) -> str:
    # No dates and no addresses: the file must not change when no text does.
    return (
        f'{catalog.header_comment}\nmsgid ""\nmsgstr ""\n'
        f'"Language: {locale}\\n"\n'
        f'"Plural-Forms: {plural_header(locale)}\\n"\n'
        '"MIME-Version: 1.0\\n"\n'
        '"Content-Type: text/plain; charset=utf-8\\n"\n'
        '"Content-Transfer-Encoding: 8bit\\n"\n\n'
    )
