"""How hard the papers are to read: our own wording, without names, numbers and headings."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import product

from plainleaf.desk.acts import Desk, demo_visit
from plainleaf.language.readability import Lengths, Score, Text, lengths, prepare, scores
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import (
    Beside,
    Block,
    Blocks,
    Bullets,
    Choices,
    Figure,
    Inlines,
    Isolate,
    Link,
    Moment,
    Page,
    Paragraph,
    Strong,
    inner_blocks,
)
from plainleaf.papers.blocks import Text as Words
from plainleaf.papers.catalogue import PAPERS, paper
from plainleaf.papers.facts import missing

_ENDS = (".", "!", "?", "。", "؟", "।", "！", "？", "：", ":")


@dataclass(frozen=True)
class Reading:
    """What can be said of one paper in one language.

    ``invented`` says that the visit in it is one of the demo's.
    """

    paper: str
    language: str
    scores: tuple[Score, ...]
    lengths: Lengths
    invented: bool = False

    def told(self) -> list[str]:
        """The same in lines: each score with its goal, sample and error, then the lengths."""
        lines = ["With a visit of the demo."] if self.invented else []
        lines += map(_told, self.scores)
        if not self.scores:
            lines.append(f"No measure is valid for '{self.language}' here: lengths only.")
        return [
            *lines,
            *_lengths_told(self.lengths),
            "A score compares drafts. It does not show that a reader understands.",
        ]


def readability(desk: Desk, paper_id: str, visit: Visit | None, tag: str) -> Reading:
    """The scores and lengths of a paper; one that needs a visit may have one of the demo's.

    Raises a Problem when the paper cannot be made.
    """
    asked = paper(paper_id)
    invented = visit is None and bool(missing(asked.needs, None))
    given = demo_visit(asked, tag, desk.today) if invented else visit
    page = _measuring(desk).page(paper_id, given, tag)
    text = wording(page)
    return Reading(paper_id, page.language, scores(text), lengths(text), invented)


@dataclass(frozen=True)
class TooLong:
    """A sentence or a paragraph over its limit (RL-02), and the papers on which it stands."""

    language: str
    what: str
    text: str
    papers: tuple[str, ...]


def too_long(desk: Desk, tags: Iterable[str]) -> list[TooLong]:
    """What is too long in all papers of some languages, each text once, the longest first.

    Papers are made with visits of the demo, so that every text of theirs is there. Raises a
    Problem when one cannot be made.
    """
    desk = _measuring(desk)
    found: dict[tuple[str, str, str, int], list[str]] = {}
    for tag, one in product(tags, PAPERS.values()):
        page = desk.page(one.id, demo_visit(one, tag, desk.today), tag)
        read = lengths(wording(page))
        pieces = [
            *((str(read.unit), piece) for piece in read.long_sentences),
            *(("sentences", piece) for piece in read.long_paragraphs),
        ]
        for unit, piece in pieces:
            names = found.setdefault((page.language, unit, piece.text, piece.size), [])
            if one.id not in names:
                names.append(one.id)
    return [
        TooLong(language, f"{size} {unit}", text, tuple(names))
        for (language, unit, text, size), names in sorted(
            found.items(), key=lambda item: (item[0][0], item[0][1], -item[0][3])
        )
    ]


def _measuring(desk: Desk) -> Desk:
    """The desk with leave to make drafts of forms: they are measured, and not handed out."""
    forms = desk.practice.forms.model_copy(update={"allow_draft_translations": True})
    return Desk(desk.practice.model_copy(update={"forms": forms}), desk.today, desk.folder)


def _told(score: Score) -> str:
    sign = "at most" if score.measure.better == "lower" else "at least"
    error = "no published standard error is known"
    if score.measure.error:
        error = f"standard error {score.measure.error:g}"
    verdict = {True: "reached", False: "missed", None: "too short to be judged"}[score.met]
    return (
        f"{score.measure.name}: {score.value:.1f} (goal {sign} {score.measure.goal:g}: {verdict};"
        f" {score.sentences} sentences, {score.size} {score.unit}; {error})."
    )


def _lengths_told(found: Lengths) -> Iterator[str]:
    words = f"; words: {found.mean_word:.1f} letters" if found.mean_word is not None else ""
    yield f"Sentences: {found.mean_sentence:.1f} {found.unit} in the mean{words}."
    if found.sentence and found.paragraph:
        yield f"Longest sentence, {found.sentence.size} {found.unit}: {found.sentence.text}"
        yield f"Longest paragraph, {found.paragraph.size} sentences: {found.paragraph.text}"
    yield from (f"Too long, {one.size} {found.unit}: {one.text}" for one in found.long_sentences)
    yield from (f"Too long, {one.size} sentences: {one.text}" for one in found.long_paragraphs)


def wording(page: Page) -> Text:
    """The sentences of a page, ready for counting.

    Points of a list count only when they are sentences (RL-04); what stands in a heading, a label
    or a legend is none, and what is in another language is read by that one's readers (RE-01).
    """
    return prepare([_worded(run) for run in _sentences(page)], page.language)


def _sentences(page: Page) -> Iterator[Inlines]:
    for block in _own(page.blocks):
        for run in _runs(block, page.language):
            if _worded(run).rstrip().endswith(_ENDS):
                yield run


def _own(blocks: Blocks) -> Iterator[Block]:
    """The blocks of a page without those in its second language."""
    for block in blocks:
        yield block
        yield from _own(block.first if isinstance(block, Beside) else inner_blocks(block))


def _runs(block: Block, language: str) -> tuple[Inlines, ...]:
    if isinstance(block, Paragraph):
        foreign = block.language not in ("", language)
        return () if foreign or block.role not in ("body", "offer") else (block.inlines,)
    if isinstance(block, Bullets):
        return block.items
    return block.choices if isinstance(block, Choices) else ()


def _worded(run: Inlines) -> str:
    """The words of a run; a number or a date stands as one numeral, and a name not at all."""
    parts = []
    for one in run:
        if isinstance(one, Strong | Link):
            parts.append(_worded(one.inlines))
        elif isinstance(one, Words):
            parts.append(one.text)
        elif isinstance(one, Figure | Moment | Isolate) and any(map(str.isdigit, one.text)):
            parts.append("0")
    return "".join(parts)
