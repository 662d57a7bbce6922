"""HTML to read on a screen or aloud: one file, nothing loaded from elsewhere (WCAG 2.2 AA)."""

from collections.abc import Iterable, Sequence
from html import escape
from itertools import repeat

from plainleaf import paths
from plainleaf.papers.blocks import (
    Beside,
    Block,
    Blocks,
    Box,
    Break,
    Bullets,
    Cell,
    Choices,
    Cite,
    Code,
    Fields,
    Figure,
    Heading,
    InLanguage,
    Inline,
    Inlines,
    Isolate,
    Link,
    Moment,
    Page,
    Paragraph,
    PeopleChart,
    Section,
    Sheets,
    SourceNote,
    Strong,
    Table,
    Text,
    codes_of,
    in_lines,
    plain,
)
from plainleaf.writers import chart, qr

_ROLES = (
    ' class="many" role="table"',
    *(f' role="{role}"' for role in ("row", "cell", "columnheader", "rowgroup")),
)


def write(pages: Sequence[Page]) -> bytes:
    """One HTML file with all pages, in order."""
    first = pages[0]
    style = (paths.templates() / "print" / "page.css").read_text(encoding="utf-8")
    codes = "".join(f'<meta name="plainleaf-code" content="{one}">\n' for one in codes_of(pages))
    bodies = "\n".join(_Writer(page, number).article() for number, page in enumerate(pages))
    return (
        "<!doctype html>\n"
        f'<html lang="{escape(first.language)}" dir="{first.direction}">\n<head>\n'
        '<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"{codes}<title>{escape(first.title)}</title>\n<style>\n{style}</style>\n</head>\n<body>\n"
        f"<main>\n{bodies}\n</main>\n</body>\n</html>\n"
    ).encode()


_HIDDEN_SVG = '<svg aria-hidden="true" '


class _Writer:
    """Writes one page; ``number`` keeps the anchors of several pages in one file apart."""

    def __init__(self, page: Page, number: int) -> None:
        self.page = page
        self.number = number

    def article(self) -> str:
        """The whole page as an article with its own language and direction."""
        page = self.page
        large = " large" if page.large_print else ""
        return (
            f'<article class="{page.shape}{large}" lang="{escape(page.language)}"'
            f' dir="{page.direction}">\n'
            f"{self._letterhead()}{self._address()}\n{self._blocks(page.blocks)}\n{self._sources()}\n"
            f'<p class="foot">{self._run(page.foot)}</p>\n</article>'
        )

    def _letterhead(self) -> str:
        lines = [f"<span>{self._run(line)}</span>" for line in self.page.letterhead]
        name, rest = lines[0], lines[1:] if self.page.shape != "card" else []
        return f'<p class="letterhead"><strong>{name}</strong>{"".join(rest)}</p>'

    def _address(self) -> str:
        address = self._run(in_lines(self.page.address))
        return f'\n<p class="address">{address}</p>' if address else ""

    def _sources(self) -> str:
        if not self.page.sources:
            return ""
        items = "\n".join(map(self._source, self.page.sources))
        title = escape(self.page.labels.sources)
        return f'<section class="sources"><h2>{title}</h2>\n<ol>\n{items}\n</ol></section>'

    def _source(self, note: SourceNote) -> str:
        quoted = f" {self._run(note.note)}" if note.note else ""
        return (
            f'<li id="{self._anchor(note.number)}"><a href="{escape(note.href)}"'
            f' lang="{note.language}" dir="ltr">{escape(note.text)}</a>{quoted}</li>'
        )

    def _anchor(self, source: int) -> str:
        return f"source-{self.number}-{source}"

    def _blocks(self, blocks: Blocks) -> str:
        return "\n".join(map(self._block, blocks))

    def _block(self, block: Block) -> str:
        match block:
            case Heading():
                number = f"<span>{block.number}</span> " if block.number else ""
                return f"<h{block.level}>{number}{self._run(block.inlines)}</h{block.level}>"
            case Paragraph():
                return self._paragraph(block)
            case Bullets():
                tag = "ol" if block.ordered else "ul"
                return f"<{tag}>{self._wrapped('li', block.items)}</{tag}>"
            case Table():
                return self._table(block)
            case Fields():
                return self._fields(block)
            case Choices():
                return self._choices(block)
            case Code():
                return self._code(block)
            case PeopleChart():
                return self._chart(block)
            case Box() | Section() | Beside():
                return self._group(block)

    def _wrapped(self, tag: str, runs: Iterable[Inlines]) -> str:
        return "".join(f"<{tag}>{self._run(run)}</{tag}>" for run in runs)

    def _paragraph(self, block: Paragraph) -> str:
        lang = f' lang="{escape(block.language)}"' if block.language else ""
        way = f' dir="{block.direction}"' if block.language else ""
        role = "" if block.role == "body" else f' class="{escape(block.role)}"'
        return f"<p{role}{lang}{way}>{self._run(block.inlines)}</p>"

    def _table(self, block: Table) -> str:
        """A table; one of many columns becomes a list of its cells where a screen is narrow.

        Roles are told, since a browser forgets them when the layout is no table's; each cell keeps
        the head of its column.
        """
        many = len(block.header) > 2
        kind, row, cell, heads, group = _ROLES if many else ("",) * 5
        head = "".join(f'<th scope="col"{heads}>{self._run(run)}</th>' for run in block.header)
        names = [f' data-head="{escape(plain(run))}"' if many else "" for run in block.header]
        rows = "\n".join(
            f"<tr{row}>{''.join(map(self._cell, cells, names, repeat(cell)))}</tr>"
            for cells in block.rows
        )
        return (
            f"<table{kind}>\n<thead{group}><tr{row}>{head}</tr></thead>\n"
            f"<tbody{group}>\n{rows}\n</tbody>\n</table>"
        )

    def _cell(self, cell: Cell, name: str, role: str) -> str:
        return f"<td{role}{name}>{self._blocks(cell.blocks)}</td>"

    def _fields(self, block: Fields) -> str:
        blank = f'<span class="line">{self._hidden(self.page.labels.empty_line)}</span>'
        rows = "\n".join(
            f"<div><dt>{self._run(one.label)}</dt>"
            f"<dd>{self._run(one.value) if one.value else blank}</dd></div>"
            for one in block.fields
        )
        return f"<dl>\n{rows}\n</dl>"

    def _choices(self, block: Choices) -> str:
        box = f'<span class="tick">{self._hidden(self.page.labels.tick_box)}</span>'
        items = "".join(f"<li>{box} {self._run(choice)}</li>" for choice in block.choices)
        kind = "choices row" if block.in_row else "choices"
        return f'<ul class="{kind}">{items}</ul>'

    def _code(self, block: Code) -> str:
        picture = qr.svg(block.payload).replace(
            "<svg ", f'<svg role="img" aria-label="{escape(block.alt)}" ', 1
        )
        caption = f"<figcaption>{self._run(block.caption)}</figcaption>" if block.caption else ""
        return f'<figure class="code">{picture}{caption}</figure>'

    def _chart(self, block: PeopleChart) -> str:
        label = f'<svg role="img" aria-label="{escape(block.alt)}" '
        picture = chart.svg(block).replace("<svg ", label, 1)
        rows = "".join(
            f"<li>{chart.key(part.fill).replace('<svg ', _HIDDEN_SVG, 1)}"
            f"<span>{self._run(part.label)}</span></li>"
            for part in block.parts
        )
        return f'<figure class="people">{picture}<ul>{rows}</ul></figure>'

    def _group(self, block: Box | Section | Beside) -> str:
        if isinstance(block, Section):
            return self._section(block)
        if isinstance(block, Beside):
            return self._beside(block)
        return f'<div class="key">{self._blocks(block.blocks)}</div>'

    def _section(self, block: Section) -> str:
        heading = self._block(block.heading) if block.heading else ""
        body = self._blocks(block.blocks)
        kind = ' class="notice"' if block.element == "draft-notice" else ""
        return f"<section{kind}>\n{heading}\n<div>{body}</div>\n</section>"

    def _beside(self, block: Beside) -> str:
        tag = f'lang="{escape(block.language)}" dir="{block.direction}"'
        return (
            f'<div class="beside"><div>{self._blocks(block.first)}</div>\n'
            f"<div {tag}>{self._blocks(block.second)}</div></div>"
        )

    def _hidden(self, words: str) -> str:
        return f'<span class="hidden">{escape(words)}</span>'

    def _run(self, inlines: Inlines) -> str:
        return "".join(map(self._inline, inlines))

    def _inline(self, inline: Inline) -> str:
        match inline:
            case Text():
                return escape(inline.text)
            case Strong():
                return f"<strong>{self._run(inline.inlines)}</strong>"
            case Link():
                return f'<a href="{escape(inline.href)}">{self._run(inline.inlines)}</a>'
            case Isolate():
                lang = f' lang="{escape(inline.language)}"' if inline.language else ""
                return f'<bdi dir="{inline.direction}"{lang}>{escape(inline.text)}</bdi>'
            case Figure():
                return f'<data value="{escape(inline.value)}">{escape(inline.text)}</data>'
            case Moment():
                return f'<time datetime="{escape(inline.iso)}">{escape(inline.text)}</time>'
            case Cite():
                return self._cite(inline)
            case Break():
                return "<br>"
            case InLanguage():
                tag = f'lang="{escape(inline.language)}" dir="{inline.direction}"'
                return f"<span {tag}>{self._run(inline.inlines)}</span>"
            case Sheets():
                return escape(inline.text)

    def _cite(self, mark: Cite) -> str:
        label = f"{self.page.labels.cited} {mark.number}"
        return (
            f'\u2060\u00a0<a class="cite" href="#{self._anchor(mark.number)}"'
            f' aria-label="{escape(label)}">[{mark.number}]</a>'
        )
