"""PDF for print, tagged after PDF/UA-1: fixed Typst layouts that receive the pages as JSON."""

import json
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, is_dataclass
from datetime import UTC, datetime
from functools import cache, partial
from math import ceil
from threading import local
from typing import Any, TypeAlias, TypeVar
from unicodedata import east_asian_width

import typst

from plainleaf import paths
from plainleaf.errors import LanguageProblem, OutputProblem, PaperProblem, Problem
from plainleaf.papers.blocks import (
    Beside,
    Bullets,
    ChartPart,
    Choices,
    Code,
    Page,
    Paragraph,
    PeopleChart,
    Section,
    Table,
    codes_of,
    plain,
    walk,
    words_of,
)
from plainleaf.writers import chart, envelope, qr

Document: TypeAlias = dict[str, Any]
Made = TypeVar("Made")

_DENSITIES = 8
_LARGE_DENSITIES = 3
"""How many steps from roomy to close the layout knows (``densities``, ``large`` in sheet.typ)."""

_FULL = {
    "letter": (2611, 2699, 3009, 3012, 3974, 4112),
    "a4": (2824, 2881, 3012, 3114, 4115, 4154),
}
"""How full a page may be at each density but the last: what parted best those that fitted from
those that did not, among all papers in sixteen languages (95 of 100 are told right)."""

_SETTLED = 2
"""A page that is guessed to need no closer density than this is not tried in a roomier one."""

_FOOT_WIDTH = 138
_LARGE_FOOT_WIDTH = 158
"""Millimetres that the foot has: beside the number of the page, and alone in large letters."""

_STOPPED = re.compile(r"(?:too long|straggling): (\d+)(?:, (\d+))?")

_UNTRIED: Document = {"closeness": 0, "limited": True, "drawn-in": True}
"""How a page is set before anything was tried: how closely; whether it must keep its sheets; and
whether its last sheet must not be half empty."""


@dataclass(frozen=True)
class _Stop:
    """The layout stopped at the page of this place in its file.

    It would have filled so many sides, the last of them badly; 0 when they were too many.
    """

    number: int
    sides: int


_REMEMBERED = 12
"""More compilations than the typesetter keeps (ten, measured by the memory of a process)."""

_THREAD = local()

_CJK = {
    "Hans": "Noto Sans CJK SC",
    "Hant": "Noto Sans CJK TC",
    "Jpan": "Noto Sans CJK JP",
    "Kore": "Noto Sans CJK KR",
}


def write(pages: Sequence[Page]) -> bytes:
    """One PDF with all pages, in order; the same pages always give the same bytes.

    A paper that is too long for its sheets is set closer, step by step; one that is still too long
    takes another sheet and is set with room again: a front desk needs the paper more than the
    sheet. Raises LanguageProblem if a letter is in none of the fonts, PaperProblem if a card has
    too much to say, OutputProblem otherwise.
    """
    return _fitted(pages, partial(_pdf, pages))


def picture(pages: Sequence[Page], pixels_per_inch: int = 80) -> list[bytes]:
    """The printed sheets as PNG pictures, to be looked at."""

    def drawn(document: Document) -> list[bytes]:
        found = _compiler().compile(
            _program(_layout(pages), document), format="png", ppi=pixels_per_inch
        )
        return [found] if isinstance(found, bytes) else list(found or [])

    return _fitted(pages, drawn)


def _fitted(pages: Sequence[Page], render: Callable[[Document], Made]) -> Made:
    """The pages as roomy as each one's sheets allow.

    Pages of the same paper and language are much alike: the first of them is tried alone, and the
    others begin where it ended.
    """
    _fonts_installed(pages)
    document = _document(pages)
    if len(pages) == 1:
        return _roomiest(pages, document, render)
    settled: dict[tuple[object, ...], Document] = {}
    for page, data in zip(pages, document["pages"], strict=True):
        kind = (page.paper, page.language, page.paper_size, page.large_print, bool(page.address))
        if kind not in settled:
            settled[kind] = _settled_alone(page, document, data)
        data.update(settled[kind])
    try:
        return _together(pages, document, render)
    finally:
        _forget()


def _settled_alone(page: Page, document: Document, data: Document) -> Document:
    """How one page is set when it is set alone: its values of ``_UNTRIED``."""
    data.update(_UNTRIED)
    _roomiest([page], {**document, "pages": [data]}, partial(_pdf, [page]))
    return {name: data[name] for name in _UNTRIED}


def _together(
    pages: Sequence[Page], document: Document, render: Callable[[Document], Made]
) -> Made:
    """All pages; one that fills its sheets otherwise than the first of its kind is tried alone."""
    tried: set[int] = set()
    while True:
        made = _tried(pages, document, render)
        if not isinstance(made, _Stop):
            return made
        data = document["pages"][made.number]
        if made.number in tried:
            data["limited"] = False
        else:
            tried.add(made.number)
            _settled_alone(pages[made.number], document, data)


def _roomiest(
    pages: Sequence[Page], document: Document, render: Callable[[Document], Made]
) -> Made:
    """One page at the roomiest density that keeps it on its sheets, found step by step.

    A last sheet that would be half empty is drawn in if any density can do that. Only the page
    itself says where to begin: what was set before must not change its bytes.
    """
    data = document["pages"][0]
    best: tuple[int, Made] | None = None
    straggled = False
    floor, level = _first_guess(pages[0])
    while level < _densities(pages[0]):
        data["closeness"] = level
        made = _tried(pages, document, render)
        if not isinstance(made, _Stop):
            best = level, made
            if level == floor:
                break
            level -= 1
        elif best:
            break
        else:
            straggled = straggled or made.sides > 1
            floor = level = max(level + 1, _guess(pages[0], made.sides - 1))
    if best:
        data["closeness"] = best[0]
        return best[1]
    data.update({"drawn-in": False} if straggled else {"closeness": 0, "limited": False})
    return _roomiest(pages, document, render) if straggled else render(document)


def _tried(
    pages: Sequence[Page], document: Document, render: Callable[[Document], Made]
) -> "Made | _Stop":
    """What was made, or why the layout stopped."""
    try:
        return render(document)
    except typst.TypstError as error:
        if found := _STOPPED.search(str(error)):
            return _Stop(int(found[1]), int(found[2] or 0))
        raise _explained(error, pages) from error


def _first_guess(page: Page) -> tuple[int, int]:
    """The roomiest density worth a try, and where to begin: fuller pages are set closer."""
    level = _guess(page, page.most_pages)
    return level if level <= _SETTLED else 0, level


def _guess(page: Page, sides: int) -> int:
    """The density that a page probably needs on so many sides."""
    if page.large_print or sides < 1:
        return 0
    full = _fullness(page) / sides
    return sum(full > most for most in _FULL[page.paper_size])


def _fullness(page: Page) -> int:
    """How much room a page takes, in letters: what parts its texts counts as some too."""
    count = len(words_of(page.blocks)) + 110 * len(page.sources)
    for block in walk(page.blocks):
        if isinstance(block, Section):
            count += 260
        elif isinstance(block, Choices):
            count += 260 * len(block.choices)
        elif isinstance(block, Bullets):
            count += 20 * len(block.items)
        elif isinstance(block, Table):
            count += 10 * len(block.rows)
        elif isinstance(block, Paragraph):
            count += 10
    return count


def _densities(page: Page) -> int:
    return _LARGE_DENSITIES if page.large_print else _DENSITIES


def _pdf(pages: Sequence[Page], document: Document) -> bytes:
    day = datetime.fromisoformat(pages[0].day).replace(tzinfo=UTC)
    made, warnings = _compiler().compile_with_warnings(
        _program(_layout(pages), document),
        format="pdf",
        pdf_standards=["ua-1"],
        timestamp=int(day.timestamp()),
    )
    if warnings:
        raise OutputProblem(
            f"The page could not be set cleanly: {warnings[0].message}.",
            "A warning of the typesetter often means a missing font or a lost line.",
            "Report it with the paper and the language; nothing was written.",
        )
    assert isinstance(made, bytes)
    return made


def _program(layout: str, document: Document) -> bytes:
    """Two fixed lines that hand the document to a layout, as JSON in one string.

    The typesetter keeps what it has set, such as a paragraph, for the next letters, but forgets it
    all when ``sys.inputs`` change. In the string there are only ASCII letters without the two that
    could end it: no name can become a part of the program.
    """
    text = json.dumps(document).replace("\\", "\\u{5c}").replace('"', "\\u{22}")
    return f'#import "/{layout}": sheet\n#sheet(json(bytes("{text}")))\n'.encode("ascii")


def _layout(pages: Sequence[Page]) -> str:
    if pages[0].shape != "card":
        return "sheet.typ"
    return "wallet.typ" if pages[0].card == "wallet" else "card.typ"


def _document(pages: Sequence[Page]) -> Document:
    return {
        "title": pages[0].title,
        "codes": codes_of(pages),
        "installed": list(_families()),
        "pages": [
            {
                **_plain(page),
                **_UNTRIED,
                "post": envelope.places(page),
                "foot-lines": _foot_lines(page),
            }
            for page in pages
        ],
    }


def _foot_lines(page: Page) -> int:
    """About how many lines the foot takes, a line more at worst.

    The code stands below the number of the page, so there are two lines where it is printed; in
    large letters both have a line of their own, below the words of a form and else alone.
    """
    if page.large_print and page.shape != "form":
        return 1
    words = plain(page.foot)
    printed = bool(page.code) and page.code in words
    wide, size = (_FOOT_WIDTH, 1.0) if not page.large_print else (_LARGE_FOOT_WIDTH, 1.5)
    lines = ceil(size * sum(map(_width, words.removesuffix(page.code))) / wide)
    return lines + 1 if page.large_print else max(lines, 1 + printed)


def _width(char: str) -> float:
    """About how wide a letter of 12 points is, in millimetres."""
    return 4.3 if east_asian_width(char) in "WF" else 2.4


def _plain(value: Any) -> Any:
    """Blocks as plain data: each with its kind, a code with its picture."""
    kind = type(value)
    if kind is tuple:
        return [_plain(one) for one in value]
    if not is_dataclass(kind):
        return value
    found: Document = {"kind": kind.__name__, **_drawn(value)}
    for name in kind.__dataclass_fields__:
        inner = getattr(value, name)
        found[name] = inner if isinstance(inner, str) else _plain(inner)
    return found


def _drawn(value: Any) -> Document:
    match value:
        case Code():
            quiet = qr.QUIET_ZONE / len(qr.modules(value.payload))
            return {"svg": qr.svg(value.payload), "quiet": quiet}
        case PeopleChart():
            return {"svg": chart.svg(value)}
        case ChartPart():
            return {"svg": chart.key(value.fill)}
    return {}


@cache
def _fonts() -> typst.Fonts:
    folders = [paths.fonts(), *filter(None, [paths.cjk_fonts()])]
    return typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[str(folder) for folder in folders],
    )


@cache
def _families() -> tuple[str, ...]:
    return tuple(sorted({font.family for font in _fonts().fonts()}))


def _compiler() -> typst.Compiler:
    """The compiler. It serves one thread at a time, so each thread has its own."""
    if not hasattr(_THREAD, "compiler"):
        _THREAD.compiler = _new_compiler()
    mine: typst.Compiler = _THREAD.compiler
    return mine


def _forget() -> None:
    """Let the typesetter forget the pages of a large file before the next one is set.

    It keeps what it worked out for the last compilations, however large; empty ones push it out.
    """
    for _ in range(_REMEMBERED):
        typst.compile(b"", font_paths=_fonts(), ignore_system_fonts=True)


def _new_compiler() -> typst.Compiler:
    return typst.Compiler(
        root=str(paths.templates() / "print"), font_paths=_fonts(), ignore_system_fonts=True
    )


def _fonts_installed(pages: Sequence[Page]) -> None:
    blocks = (block for page in pages for block in walk(page.blocks))
    second = (block for block in blocks if isinstance(block, Beside))
    speaking: list[Page | Beside] = [*pages, *second]
    for one in speaking:
        wanted = _CJK.get(one.script)
        if wanted and wanted not in _families():
            raise LanguageProblem(
                f"The fonts for '{one.language}' are not installed.",
                "Without them the page would show empty boxes.",
                "Run: pip install 'plainleaf[cjk]'",
            )


def _explained(error: typst.TypstError, pages: Sequence[Page]) -> Problem:
    text = str(getattr(error, "message", error)).splitlines()[0]
    if "card too full" in text:
        return PaperProblem(
            f"A '{pages[0].paper}' has more words than its card has room for.",
            "Words would run over each other or be lost.",
            "Use a shorter name for the card ('called'), or a shorter name of the practice.",
        )
    if problem := envelope.explained(text, pages):
        return problem
    if "address too full" in text:
        return PaperProblem(
            "An address has more words than the back of a card has room for.",
            "Machines of the post read only a part of the card, and words would be lost.",
            "Use shorter lines for the address, or send a letter.",
        )
    if "could not be displayed" in text:
        return LanguageProblem(
            f"A letter on '{pages[0].paper}' is in none of the fonts ({text}).",
            "It would print as an empty box.",
            "Type the name another way, make it as html, docx or txt, or install the fonts of"
            " Chinese, Japanese and Korean: pip install 'plainleaf[cjk]'.",
        )
    return OutputProblem(
        f"The page could not be set: {text}.",
        "Nothing that is incomplete may be printed.",
        "Report it with the paper and the language; nothing was written.",
    )
