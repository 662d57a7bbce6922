"""From the small XML vocabulary to blocks.

The vocabulary is named after HTML and is strict: an element or an attribute that is not known, or
text where none may stand, stops the paper. Elements:
``paper h1 h2 p ul ol li table tr th td fields field label value choices choice box section code
chart part`` and, inside text, ``strong a bdi data time cite br``.
"""

import re
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from typing import cast, get_args
from xml.etree import ElementTree

from plainleaf.errors import PaperProblem
from plainleaf.papers.blocks import (
    NOTHING,
    Block,
    Blocks,
    Box,
    Break,
    Bullets,
    Cell,
    ChartPart,
    Choices,
    Cite,
    Code,
    Direction,
    Field,
    Fields,
    Figure,
    Fill,
    Heading,
    Inline,
    Inlines,
    Isolate,
    Link,
    Moment,
    Paragraph,
    ParagraphRole,
    PeopleChart,
    Section,
    Strong,
    Table,
    Text,
)

Element = ElementTree.Element
_ATTRIBUTES = {
    "p": {"role", "lang", "dir"},
    "td": {"element"},
    "choices": {"row"},
    "box": {"element"},
    "section": {"element"},
    "code": {"payload", "alt"},
    "chart": {"alt"},
    "part": {"count", "fill"},
    "a": {"href"},
    "bdi": {"dir", "lang", "from"},
    "data": {"figure", "value"},
    "time": {"datetime"},
    "cite": {"number"},
}
CHART_COLUMNS = {100: 10, 1000: 40}
"""The two sizes of a people chart and their columns: the same grid for every chart of a size."""

_SPACE = re.compile(r"[ \t\r\n]+")
_KEPT = 8192
"""How many texts are remembered: the papers of a day say mostly the same."""


def parse(xml: str, paper: str) -> Blocks:
    """The blocks of a rendered template. Raises PaperProblem when the markup is not right."""
    try:
        root = ElementTree.fromstring(xml)
    except ElementTree.ParseError as error:
        line = xml.splitlines()[error.position[0] - 1].strip() if xml else ""
        raise _wrong(paper, f"its markup breaks at '{line[:80]}' ({error.msg})") from error
    if root.tag != "paper":
        raise _wrong(paper, f"it begins with <{root.tag}> instead of <paper>")
    return _Reader(paper).blocks(root)


def _wrong(paper: str, what: str) -> PaperProblem:
    return PaperProblem(
        f"The template of '{paper}' cannot be used: {what}.",
        "A page that is not understood completely could lose a sentence or a number.",
        "Correct the template or the translation of that sentence.",
    )


class _Reader:
    """Turns elements into blocks and inlines; keeps the paper's name for its problems."""

    def __init__(self, paper: str) -> None:
        self.paper = paper
        self.headings = 0
        self.readers: dict[str, Callable[[Element], Block]] = {
            "h1": self._heading,
            "h2": self._heading,
            "p": self._paragraph,
            "ul": self._bullets,
            "ol": self._bullets,
            "table": self._table,
            "fields": self._fields,
            "choices": lambda e: Choices(
                tuple(map(self._run, self._children(e, "choice"))), e.get("row", "") == "yes"
            ),
            "box": lambda e: Box(self._needed(e, "element"), self.blocks(e)),
            "section": self._section,
            "chart": self._chart,
            "code": lambda e: Code(
                self._needed(e, "payload"), self._needed(e, "alt"), self._run(e)
            ),
        }

    def blocks(self, parent: Element) -> Blocks:
        """The blocks inside an element that may hold nothing else."""
        self._no_text(parent)
        return tuple(self._block(child) for child in parent)

    def _block(self, element: Element) -> Block:
        self._known_attributes(element)
        reader = self.readers.get(element.tag)
        if reader is None:
            raise _wrong(self.paper, f"<{element.tag}> may not stand here")
        return reader(element)

    def _known_attributes(self, element: Element) -> None:
        unknown = set(element.attrib) - _ATTRIBUTES.get(element.tag, set())
        if unknown:
            raise _wrong(self.paper, f"<{element.tag}> has the unknown attribute '{min(unknown)}'")

    def _needed(self, element: Element, name: str) -> str:
        value = element.get(name, "")
        if not value:
            raise _wrong(self.paper, f"<{element.tag}> lacks the attribute '{name}'")
        return value

    def _no_text(self, parent: Element) -> None:
        for text in (parent.text, *(child.tail for child in parent)):
            if text and text.strip():
                raise _wrong(self.paper, f"loose text in <{parent.tag}>: '{text.strip()[:40]}'")

    def _children(self, parent: Element, *tags: str) -> list[Element]:
        self._no_text(parent)
        for child in parent:
            self._known_attributes(child)
            if child.tag not in tags:
                raise _wrong(self.paper, f"<{child.tag}> may not stand in <{parent.tag}>")
        return list(parent)

    def _heading(self, element: Element) -> Heading:
        return Heading(self._run(element), int(element.tag[1]))

    def _paragraph(self, element: Element) -> Paragraph:
        return Paragraph(
            self._run(element),
            self._role(element),
            element.get("lang", ""),
            self._direction(element),
        )

    def _role(self, element: Element) -> ParagraphRole:
        role = element.get("role", "body")
        if role not in get_args(ParagraphRole):
            raise _wrong(self.paper, f"'{role}' is no role of a paragraph")
        return cast(ParagraphRole, role)

    def _direction(self, element: Element) -> Direction:
        direction = element.get("dir", "auto")
        if direction not in get_args(Direction):
            raise _wrong(self.paper, f"'{direction}' is no direction")
        return cast(Direction, direction)

    def _bullets(self, element: Element) -> Bullets:
        items = tuple(self._run(item) for item in self._children(element, "li"))
        return Bullets(items, element.tag == "ol")

    def _table(self, element: Element) -> Table:
        rows = self._children(element, "tr")
        if not rows:
            raise _wrong(self.paper, "a table has no rows")
        header = tuple(self._run(cell) for cell in self._children(rows[0], "th"))
        body = tuple(
            tuple(
                Cell(self.blocks(cell), cell.get("element", ""))
                for cell in self._children(row, "td")
            )
            for row in rows[1:]
        )
        if any(len(row) != len(header) for row in body):
            raise _wrong(self.paper, "a table row has another number of cells than its header")
        return Table(header, body)

    def _fields(self, element: Element) -> Fields:
        fields = []
        for one in self._children(element, "field"):
            parts = self._children(one, "label", "value")
            if [part.tag for part in parts] != ["label", "value"]:
                raise _wrong(self.paper, "a <field> needs one <label> and one <value>")
            fields.append(Field(self._run(parts[0]), _given(self._run(parts[1]))))
        return Fields(tuple(fields))

    def _chart(self, element: Element) -> PeopleChart:
        parts = []
        for one in self._children(element, "part"):
            fill, count = self._needed(one, "fill"), self._needed(one, "count")
            if fill not in get_args(Fill) or not count.isdecimal():
                raise _wrong(self.paper, f"'{count}' icons cannot be '{fill}'")
            parts.append(ChartPart(int(count), cast(Fill, fill), self._run(one)))
        chart = PeopleChart(tuple(parts), 0, self._needed(element, "alt"))
        if chart.total not in CHART_COLUMNS:
            raise _wrong(self.paper, f"a chart has {chart.total} people in place of 100 or 1,000")
        return replace(chart, columns=CHART_COLUMNS[chart.total])

    def _section(self, element: Element) -> Section:
        blocks = self.blocks(element)
        name = self._needed(element, "element")
        if blocks and isinstance(blocks[0], Heading):
            return Section(name, blocks[0], blocks[1:])
        return Section(name, None, blocks)

    def _run(self, element: Element) -> Inlines:
        """The text of an element with white space folded and none at either end."""
        return _trimmed(self._inlines(element))

    def _inlines(self, element: Element) -> list[Inline]:
        found: list[Inline] = _text(element.text)
        for child in element:
            self._known_attributes(child)
            found.append(self._inline(child))
            found.extend(_text(child.tail))
        return found

    def _inline(self, element: Element) -> Inline:
        inner = "".join(element.itertext())
        match element.tag:
            case "strong":
                return Strong(tuple(self._inlines(element)))
            case "a":
                return Link(tuple(self._inlines(element)), self._needed(element, "href"))
            case "bdi":
                return Isolate(
                    inner,
                    self._direction(element),
                    element.get("lang", ""),
                    element.get("from", ""),
                )
            case "data":
                figure, value = self._needed(element, "figure"), self._needed(element, "value")
                return Figure(inner, figure, value)
            case "time":
                return Moment(inner, self._needed(element, "datetime"))
            case "cite":
                return Cite(int(self._needed(element, "number")))
            case "br":
                return Break()
        raise _wrong(self.paper, f"<{element.tag}> may not stand inside text")


def _given(value: Inlines) -> Inlines:
    """A field's value without the mark of one that was not given: that is a line to write on."""
    return tuple(one for one in value if not (isinstance(one, Isolate) and one.origin == NOTHING))


def _text(text: str | None) -> list[Inline]:
    return [Text(_spaced(text))] if text else []


@lru_cache(maxsize=_KEPT)
def _spaced(text: str) -> str:
    return _SPACE.sub(" ", text)


def _trimmed(inlines: list[Inline]) -> Inlines:
    if inlines and isinstance(inlines[0], Text):
        inlines[0] = Text(inlines[0].text.lstrip(" "))
    if inlines and isinstance(inlines[-1], Text):
        inlines[-1] = Text(inlines[-1].text.rstrip(" "))
    return tuple(one for one in inlines if not (isinstance(one, Text) and not one.text))
