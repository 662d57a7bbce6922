"""What each group of a paper's code covers.

**Wording**: the template with its parts as they stand; every message that the paper may say
(``saying``), with its translation in the language of the paper (the positions only with what this
page says of them); the notice on a draft if it has one, and the offer of help in each language in
which it stands there; the version of the paper; and what turns words into bytes: layouts, fonts,
the program of these rooms, the libraries that set pages. A message that this page does not use
counts as well, so that a change of facts alone never looks like one of wording.

**Figures**: the rows that the page worded or counted with, also where it prints no number of them
(a comparison); the sources it cites; the positions it tells; each without what never reaches a
page (notes, the day of reading, where in the source). Not the whole tables: a new row elsewhere
changes no paper, and a newer edition that a paper now picks is exactly what must be noticed. So
facts that choose figures (the practice's country) change this group with their own.

**Facts**: the settings of the practice that stand around every paper (``_EVERYWHERE``,
``_LETTERHEAD``) and those behind the facts that the template asks for (``_SHOWN_BY``); the
language, large print and the day; and, only if the template, the last line or the envelope asks for
them, the visit, the address, the languages of the offer of help and the practice's own results. A
paper that tells nothing of a visit has the same code for everybody who gets it.

Not covered: the format (a paper has one code in all of them), the versions of Python and of the
compression in it. Another zlib can pack the same DOCX into other bytes.
"""

import hashlib
import json
from collections.abc import Sequence
from datetime import date
from functools import cache, lru_cache, reduce
from importlib.metadata import version
from operator import getitem
from pathlib import Path
from typing import Any

from plainleaf import paths
from plainleaf.evidence.tables import Figure, Position, Source
from plainleaf.language import phrases
from plainleaf.language.catalogs import Catalog, Key
from plainleaf.office.practice import Practice
from plainleaf.papers.catalogue import Paper
from plainleaf.papers.order import Order
from plainleaf.papers.post import envelope
from plainleaf.papers.quoting import Citations
from plainleaf.papers.saying import notice, of_paper
from plainleaf.papers.template import Template

_ROOMS = ("evidence", "language", "office", "papers", "writers")
_LIBRARIES = ("babel", "python-docx", "qrcode", "typst")
"""What sets pages, by its version. The phone library has a new one each month: what it makes of
the practice's numbers counts to the facts instead."""
_NEVER_SHOWN = {
    Figure: {"note", "date_read", "locator", "how_read"},
    Position: {"topic", "about", "places", "elsewhere", "how_read"},
    Source: {"licence"},
}
_EVERYWHERE = ("name", "country", "paper_size", "phones.desk")
_LETTERHEAD = ("address.lines", "links.website")
"""What stands over every text, and what cards do without."""

_SHOWN_BY = {
    "practice.website": ("links.website",),
    "practice.website_address": ("links.website",),
    "practice.out_of_hours": ("phones.out_of_hours",),
    "practice.emergency": ("phones.emergency",),
    "practice.fee": ("fee",),
    "practice.hours": ("hours",),
    "practice.look_minutes": ("look.minutes",),
    "practice.sore_weeks": ("look.sore_weeks",),
    "practice.retention_years": ("look.retention_years",),
    "practice.recheck_span": ("look.recheck_days", "look.recheck_latest_days"),
    "visit.latest": ("look.recheck_latest_days",),
    "visit.signed_by": ("staff",),
}
"""The settings behind each fact, beside those that every paper shows."""

_KINDS = 64
"""How many papers, each in one language, are remembered by what they may say."""


def wording(
    paper: Paper,
    told: Template,
    words: Catalog,
    citations: Citations,
    draft: bool,
    offered: tuple[tuple[str, str], ...],
) -> str:
    """A digest of what the group of the wording covers: the same for all papers of a day.

    ``offered`` are the languages of the offer of help, each with the digest of what it says.
    """
    positions = frozenset(map(phrases.position, citations.positions))
    return _wording(paper, told, positions, words, draft, offered, machinery())


@lru_cache(maxsize=_KINDS)
def _wording(
    paper: Paper,
    told: Template,
    positions: frozenset[Key],
    words: Catalog,
    draft: bool,
    offered: tuple[tuple[str, str], ...],
    made_with: str,
) -> str:
    said = of_paper(told, paper, ()) | positions
    marked = notice(paper) if draft else None
    if marked:
        said |= set(marked.messages)
    sources = sorted(told.sources.items())
    covered = [paper.id, paper.version, sources, words.digest(said), draft, offered, made_with]
    return hashlib.sha256(json.dumps(covered, ensure_ascii=False).encode()).hexdigest()


def figures(citations: Citations) -> dict[str, Any]:
    """What the group of the figures covers, as plain data."""
    return {
        "rows": [_shown(row) for _, row in sorted(citations.rows.items())],
        "sources": [[_shown(one) for one in (first, *vias)] for first, vias in citations.cited],
        "positions": [_shown(position) for position in citations.positions],
    }


def facts(order: Order, told: Template, offered: Sequence[str]) -> dict[str, Any]:
    """What the group of the facts covers, as plain data; a fact left at its default is none.

    ``offered`` are the languages of the offer of help.
    """
    visit, results = order.visit, order.results
    about_visit = order.paper.signed or not told.values.isdisjoint(("visit", "area"))
    counted = results and results.printable and "results" in told.values
    return {
        **_settings(order.practice, told, order.paper.shape == "card"),
        "visit": visit.model_dump(mode="json", exclude_defaults=True)
        if visit and about_visit
        else None,
        "posted": _posted(order),
        "help": list(offered),
        "language": order.language,
        "large print": order.large_print,
        "day": order.today.isoformat(),
        "results": _plain(vars(results)) if counted else None,
    }


def _posted(order: Order) -> list[str]:
    """The envelope and what shows in its window; empty for a paper that is handed out."""
    used = envelope(order.paper, order.practice, order.visit)
    if not used or order.visit is None:
        return []
    return [used, order.visit.person.name, *order.visit.person.address]


@lru_cache(maxsize=_KINDS)
def _settings(practice: Practice, told: Template, card: bool) -> dict[str, Any]:
    names = {*_EVERYWHERE, *(() if card else _LETTERHEAD)}
    names.update(name for fact in told.asked for name in _SHOWN_BY.get(fact, ()))
    plain: Any = practice.model_dump(mode="json")
    shown = {name: reduce(getitem, name.split("."), plain) for name in sorted(names)}
    phones = (shown["phones.desk"], shown.get("phones.out_of_hours"))
    return {
        "practice": shown,
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


def _shown(row: Figure | Position | Source) -> dict[str, Any]:
    hidden = _NEVER_SHOWN[type(row)]
    return _plain({name: value for name, value in vars(row).items() if name not in hidden})


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    return {
        name: value.isoformat() if isinstance(value, date) else value
        for name, value in values.items()
    }
