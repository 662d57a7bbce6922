"""What each group of a paper's code covers.

**Wording**: the template with its parts as they stand; every message that they or the phrases may
use, with its translation in the language of the paper (the positions only with what this page
says of them); the version of the paper; whether a translator has signed it; and what turns words
into bytes: layouts, fonts, the program of these rooms, the libraries that set pages. An unused
message counts as well, so that a change of facts alone never looks like one of wording.

**Figures**: the rows that the page worded or counted with, also where it prints no number of them
(a comparison); the sources it cites; the positions it tells; each without what never reaches a
page (notes, the day of reading, where in the source). Not the whole tables: a new row elsewhere
changes no paper, and a newer edition that a paper now picks is exactly what must be noticed. So
facts that choose figures (the practice's country) change this group with their own.

**Facts**: the settings of the practice that a page may show; the language, large print and the
day; and, only if the template or the last line asks for them, the visit and the practice's own
results. A paper that tells nothing of a visit has the same code for everybody who gets it.

Not covered: the format (a paper has one code in all of them), the versions of Python and of the
compression in it. Another zlib can pack the same DOCX into other bytes.
"""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache, lru_cache
from importlib.metadata import version
from pathlib import Path
from types import CodeType
from typing import Any, cast

from jinja2 import Environment

from plainleaf import paths
from plainleaf.evidence.tables import Figure, Position, Source
from plainleaf.language import findings, phrases
from plainleaf.language.catalogs import Catalog
from plainleaf.office.practice import Practice
from plainleaf.office.results import Results
from plainleaf.office.visits import Visit
from plainleaf.papers.catalogue import Paper
from plainleaf.papers.quoting import Citations

_ROOMS = ("evidence", "language", "office", "papers", "writers")
_LIBRARIES = ("babel", "python-docx", "qrcode", "typst")
"""What sets pages, by its version. The phone library has a new one each month: what it makes of
the practice's numbers counts to the facts instead."""
_NEVER_SHOWN = {
    Figure: {"note", "date_read", "locator", "how_read"},
    Position: {"topic", "about", "places", "elsewhere", "how_read"},
    Source: {"licence"},
}
_SETTINGS_NEVER_SHOWN = {"forms", "languages", "reminders", "results"}


_KINDS = 64
"""How many papers, each in one language, are remembered by what they may say."""


@dataclass(frozen=True, eq=False)
class Texts:
    """A template and its parts: their text by name, and every string that they were compiled to.

    Messages and the names of the values that a template asks for are among those strings. Each is
    equal to itself only, so that asking whether it is known does not read it again.
    """

    sources: dict[str, str]
    strings: frozenset[str]


@lru_cache(maxsize=_KINDS)
def texts(environment: Environment, paper_id: str) -> Texts:
    """The template of a paper with all its parts."""
    sources: dict[str, str] = {}
    strings: set[str] = set()
    waiting = [f"{paper_id}.xml"]
    while waiting:
        name = waiting.pop()
        if environment.loader is None or name in sources:
            continue
        sources[name] = environment.loader.get_source(environment, name)[0]
        found = set(_strings(cast(Any, environment.get_template(name)).root_render_func.__code__))
        strings |= found
        waiting += [one for one in found if one.startswith("parts/")]
    return Texts(sources, frozenset(strings))


def wording(paper: Paper, told: Texts, words: Catalog, citations: Citations, reviewed: bool) -> str:
    """A digest of what the group of the wording covers: the same for all papers of a day."""
    positions = frozenset(one.says for one in citations.positions)
    return _wording(paper.id, paper.version, told, positions, words, reviewed, machinery())


@lru_cache(maxsize=_KINDS)
def _wording(
    paper: str,
    version: str,
    told: Texts,
    positions: frozenset[str],
    words: Catalog,
    reviewed: bool,
    made_with: str,
) -> str:
    asked = told.strings | _in_phrases() | positions
    sources = sorted(told.sources.items())
    covered = [paper, version, sources, sorted(_translations(words, asked)), reviewed, made_with]
    return hashlib.sha256(json.dumps(covered, ensure_ascii=False).encode()).hexdigest()


def figures(citations: Citations) -> dict[str, Any]:
    """What the group of the figures covers, as plain data."""
    return {
        "rows": [_shown(row) for _, row in sorted(citations.rows.items())],
        "sources": [[_shown(one) for one in (first, *vias)] for first, vias in citations.cited],
        "positions": [_shown(position) for position in citations.positions],
    }


def facts(
    practice: Practice,
    visit: Visit | None,
    language: str,
    large_print: bool,
    today: date,
    results: Results | None,
) -> dict[str, Any]:
    """What the group of the facts covers, as plain data; a setting left at its default is none."""
    return {
        **_settings(practice),
        "visit": visit.model_dump(mode="json", exclude_defaults=True) if visit else None,
        "language": language,
        "large print": large_print,
        "day": today.isoformat(),
        "results": _plain(vars(results)) if results else None,
    }


@lru_cache(maxsize=_KINDS)
def _settings(practice: Practice) -> dict[str, Any]:
    settings = practice.model_dump(
        mode="json", exclude_defaults=True, exclude=_SETTINGS_NEVER_SHOWN
    )
    phones = (practice.phones.desk, practice.phones.out_of_hours)
    return {
        "practice": settings,
        "phones as printed": [practice.national(number) for number in phones if number],
    }


@cache
def machinery() -> str:
    """A digest of what turns words into bytes: program, layouts, fonts, libraries."""
    house = Path(__file__).parents[1]
    files = [file for room in _ROOMS for file in (house / room).glob("*.py")]
    files.append(house / "characters.py")
    files += [file for file in (paths.templates() / "print").rglob("*") if file.is_file()]
    files += paths.fonts().glob("*.[ot]tf")
    digest = hashlib.sha256()
    for file in sorted(files):
        digest.update(f"{file.parent.name}/{file.name}".encode() + file.read_bytes())
    # The extra fonts are a hundred times as large as ours: their names and sizes have to do.
    more = paths.cjk_fonts()
    sizes = {file.name: file.stat().st_size for file in more.iterdir()} if more else {}
    digest.update(repr(sorted(sizes.items())).encode())
    digest.update(repr([(name, version(name)) for name in _LIBRARIES]).encode())
    return digest.hexdigest()


@cache
def _in_phrases() -> frozenset[str]:
    codes = (
        getattr(one, "__code__", None)
        for one in (*vars(phrases).values(), *vars(findings).values())
    )
    return frozenset(text for code in codes if code for text in _strings(code))


def _strings(code: CodeType) -> Iterator[str]:
    """Every string constant of compiled code: cheaper than reading the text a second time."""
    for constant in code.co_consts:
        if isinstance(constant, str):
            yield constant
        elif isinstance(constant, tuple):
            yield from (one for one in constant if isinstance(one, str))
        elif isinstance(constant, CodeType):
            yield from _strings(constant)


def _translations(words: Catalog, asked: frozenset[str]) -> Iterator[list[Any]]:
    entries = (*(words.overlay or ()), *(words.messages or ()))
    for entry in entries:
        message = entry.id if isinstance(entry.id, str) else entry.id[0]
        if message and message in asked:
            forms = [entry.string] if isinstance(entry.string, str) else list(entry.string or ())
            yield [entry.context or "", message, forms]


def _shown(row: Figure | Position | Source) -> dict[str, Any]:
    hidden = _NEVER_SHOWN[type(row)]
    return _plain({name: value for name, value in vars(row).items() if name not in hidden})


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    return {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in values.items()
    }
