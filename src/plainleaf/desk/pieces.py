"""What a day is made of: who is to get what, and what came of some of them."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace

from plainleaf.desk.acts import Desk, LeftOut
from plainleaf.errors import Problem
from plainleaf.office.advice import Advice
from plainleaf.office.people import Row
from plainleaf.papers.blocks import Page
from plainleaf.papers.cover import Given


@dataclass(frozen=True)
class Wish:
    """Somebody on the list, at which place (from 1), and the papers to be made."""

    place: int
    row: Row
    papers: tuple[str, ...]

    def left_out(self, problem: Problem, paper: str = "") -> LeftOut:
        """That the person gets nothing, or not this paper."""
        return LeftOut(self.row.line, self.row.name, problem, paper, self.row.place)


@dataclass(frozen=True)
class Item:
    """One paper of one person."""

    wish: Wish
    page: Page


Items = list[Item]


@dataclass(frozen=True)
class Advised:
    """Something about a person's record that the clinician should think about."""

    where: str
    name: str
    advice: Advice

    @property
    def words(self) -> str:
        """What to think about, beginning with how much it presses."""
        return self.advice.words


@dataclass(frozen=True)
class Job:
    """Some people of a list, the format, and whether each paper is a file of its own.

    ``notes`` are what the desk should know about how the list was read.
    """

    wishes: tuple[Wish, ...]
    file_format: str
    apart: bool
    notes: tuple[str, ...] = ()


@dataclass
class Piece:
    """What came of a job: files by the end of their name, and who got something or not.

    ``covered`` says that the desk's list stands on top of its print file.
    """

    files: dict[str, bytes] = field(default_factory=dict)
    printed: list[str] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    gaps: list[LeftOut] = field(default_factory=list)
    remarks: list[tuple[str, str]] = field(default_factory=list)
    given: list[Given] = field(default_factory=list)
    advised: list[Advised] = field(default_factory=list)
    covered: bool = True

    def add(self, other: "Piece") -> None:
        """Takes in who got something or not in another piece; its files stay with it."""
        for name in ("printed", "left_out", "gaps", "remarks", "given", "advised"):
            getattr(self, name).extend(getattr(other, name))
        self.covered = self.covered and other.covered


def advised(desk: Desk, wishes: Iterable[Wish]) -> list[Advised]:
    """What each record gives cause to say, whether or not its papers can be made; once each."""
    found = []
    for wish in wishes:
        if wish.row.visit is not None:
            visit = wish.row.visit
            said = [one for paper in wish.papers for one in desk.advice(visit, paper)]
            once = {(one.code, one.found): one for one in said}
            found += [Advised(wish.row.where, wish.row.name, one) for one in once.values()]
    return found


def sorted_out(items: Items, lost: Iterable[LeftOut]) -> tuple[list[LeftOut], list[LeftOut]]:
    """Those who got nothing, with their first reason, and every other paper that is missing.

    A reason that is the same for all of somebody's papers is told once.
    """
    served = {item.wish.row.line for item in items}
    first: dict[int, LeftOut] = {}
    gaps: list[LeftOut] = []
    for one in sorted(lost, key=lambda one: one.line):
        if one.line in served:
            gaps.append(one)
        elif one.line not in first:
            first[one.line] = replace(one, paper="")
        elif one.problem.found != first[one.line].problem.found:
            gaps.append(one)
    return list(first.values()), gaps
