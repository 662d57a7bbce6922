"""How hard the papers are to read: our own wording, without names, numbers and headings."""

from collections.abc import Iterator
from dataclasses import dataclass

from plainleaf.desk.acts import Desk
from plainleaf.language.readability import Lengths, Score, Text, lengths, prepare, scores
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import (
    Block,
    Bullets,
    Choices,
    Figure,
    Inlines,
    Isolate,
    Moment,
    Page,
    Paragraph,
    flat,
    walk,
)
from plainleaf.papers.blocks import Text as Words

_ENDS = (".", "!", "?", "。", "؟", "।", "！", "？", "：", ":")


@dataclass(frozen=True)
class Reading:
    """What can be said of one paper in one language."""

    paper: str
    language: str
    scores: tuple[Score, ...]
    lengths: Lengths

    def told(self) -> list[str]:
        """The same in lines: each score with its goal, sample and error, then the lengths."""
        lines = [_told(score) for score in self.scores]
        if not lines:
            lines.append(f"No measure is valid for '{self.language}' here: lengths only.")
        lines.append(
            f"Sentences: {self.lengths.mean_sentence:.1f} {self.lengths.unit} in the mean;"
            f" words: {self.lengths.mean_word:.1f} letters."
        )
        lines += [f"Long sentence: {one}" for one in self.lengths.long_sentences]
        lines += [f"Long paragraph: {one}" for one in self.lengths.long_paragraphs]
        lines.append("A score compares drafts. It does not show that a reader understands.")
        return lines


def readability(desk: Desk, paper_id: str, visit: Visit | None, tag: str) -> Reading:
    """The scores and lengths of a paper. Raises a Problem when the paper cannot be made."""
    page = desk.page(paper_id, visit, tag)
    text = wording(page)
    return Reading(paper_id, page.language, scores(text), lengths(text))


def _told(score: Score) -> str:
    sign = "at most" if score.measure.better == "lower" else "at least"
    error = f", standard error {score.measure.error:g}" if score.measure.error else ""
    verdict = {True: "reached", False: "missed", None: "too short to be judged"}[score.met]
    return (
        f"{score.measure.name}: {score.value:.1f} (goal {sign} {score.measure.goal:g}: {verdict};"
        f" {score.sentences} sentences, {score.words} words{error})."
    )


def wording(page: Page) -> Text:
    """The sentences of a page, ready for counting.

    Points of a list count only when they are sentences (RL-04); what stands in a heading, a label
    or a legend is none.
    """
    return prepare([_worded(run) for run in _sentences(page)], page.language)


def _sentences(page: Page) -> Iterator[Inlines]:
    for block in walk(page.blocks):
        for run in _runs(block):
            if _worded(run).rstrip().endswith(_ENDS):
                yield run


def _runs(block: Block) -> tuple[Inlines, ...]:
    if isinstance(block, Paragraph):
        return () if block.role in ("notice", "signed") else (block.inlines,)
    if isinstance(block, Bullets):
        return block.items
    return block.choices if isinstance(block, Choices) else ()


def _worded(run: Inlines) -> str:
    """The words of a run; a number or a date stands as one numeral, and a name not at all."""
    parts = []
    for one in flat(run):
        if isinstance(one, Words):
            parts.append(one.text)
        elif isinstance(one, Figure | Moment | Isolate) and any(map(str.isdigit, one.text)):
            parts.append("0")
    return "".join(parts)
