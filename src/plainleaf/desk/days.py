"""A day at once: everybody's papers in their own language, in the order of the list.

A list is cut into jobs before anything is made, by the list alone. Each job is composed and set in
one place, here or in a worker, and comes back as finished bytes: they are much smaller than the
pages. So the same list gives the same bytes with any number of workers, and with none.
"""

import pickle
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from functools import lru_cache, partial
from pathlib import Path
from tempfile import TemporaryDirectory

from plainleaf.desk.acts import (
    Desk,
    LeftOut,
    Progress,
    by_remark,
    format_of,
    put,
    read_people,
    silent,
    write,
)
from plainleaf.desk.workers import in_order, processes, scheduler
from plainleaf.errors import FactsProblem, Problem
from plainleaf.office.people import Row
from plainleaf.office.sets import paper_set
from plainleaf.office.visits import Visit
from plainleaf.papers.backs import with_back
from plainleaf.papers.blocks import Page
from plainleaf.papers.catalogue import PAPERS, paper
from plainleaf.papers.cover import Given, cover

__all__ = ["DayResult", "day", "processes", "scheduler"]

WHOLE_SIDES = 240
"""A day of at most so many printed sides is one file."""

PART_SIDES = 80
"""A longer day comes in files of at most so many sides: the typesetter holds all pages of a file
at once, about 2 MB for each side."""

EACH_PEOPLE = 8
"""How many people make one job when everybody's papers are files of their own."""

_CARD_FILES = {"post": "-cards", "wallet": "-wallet-cards"}

_SIDES = {"sheet": 2.0, "form": 2.0, "message": 1.0, "card": 0.25}

_CONTROLS = {code: f"\\x{code:02x}" for code in (*range(32), 127)}

OnTop = Callable[["Items", bool], Sequence[Page]]


@dataclass(frozen=True)
class DayResult:
    """What came of a list: the files, who is in them in order, and who is not.

    ``left_out`` has each person who got nothing, with the first reason; ``gaps`` has every other
    paper that was not made; ``remarks`` say for whom a language was chosen that nobody told, or
    which form of one, and where somebody's record disagrees with itself or with a paper.
    """

    files: tuple[Path, ...]
    printed: tuple[str, ...]
    left_out: tuple[LeftOut, ...]
    gaps: tuple[LeftOut, ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Wish:
    """Somebody on the list, at which place (from 1), and the papers to be made."""

    place: int
    row: Row
    papers: tuple[str, ...]


@dataclass(frozen=True)
class Item:
    """One paper of one person."""

    wish: Wish
    page: Page


Items = list[Item]


@dataclass(frozen=True)
class Job:
    """Some people of a list, the format, and whether each paper is a file of its own."""

    wishes: tuple[Wish, ...]
    file_format: str
    apart: bool


@dataclass
class Piece:
    """What came of a job: files by the end of their name, and who got something or not."""

    files: dict[str, bytes] = field(default_factory=dict)
    printed: list[str] = field(default_factory=list)
    left_out: list[LeftOut] = field(default_factory=list)
    gaps: list[LeftOut] = field(default_factory=list)
    remarks: list[tuple[str, str]] = field(default_factory=list)


def day(
    desk: Desk,
    people: Path,
    papers: Sequence[str],
    out: Path,
    file_format: str = "",
    progress: Progress = silent,
    executor: Executor | None = None,
    each: bool = False,
) -> DayResult:
    """Everybody's papers, person by person, in one print file; cards in a second one beside it.

    Without ``papers`` each person's set follows from what was recorded (``office.sets``). A long
    day comes in parts. With ``each`` every paper is a file of its own in the folder ``out``, named
    after the place on the list. Nobody is lost: who cannot be printed is returned with the reason.
    Raises FactsProblem when nobody can be; then, and when a worker dies, nothing is written.
    """
    chosen = tuple(paper(one).id for one in papers)
    written = file_format or "pdf" if each else file_format
    name = format_of(out, written)
    jobs = _jobs(_wishes(read_people(people, desk.practice), chosen), name, each)
    total = Piece()
    with TemporaryDirectory() as folder:
        kept: list[tuple[str, int, Path]] = []
        for number, piece in enumerate(_pieces(desk, jobs, executor, progress)):
            for ending, content in piece.files.items():
                place = Path(folder) / f"{number}{ending}"
                place.write_bytes(content)
                kept.append((ending, number, place))
            total.printed += piece.printed
            total.left_out += piece.left_out
            total.gaps += piece.gaps
            total.remarks += piece.remarks
        if not kept:
            raise _nobody(people, total.left_out)
        targets = _in_folder(kept, out) if each else _beside_each_other(kept, out)
        files = [put(target, place.read_bytes()) for target, place in targets]
    return DayResult(
        tuple(files),
        tuple(total.printed),
        tuple(total.left_out),
        tuple(total.gaps),
        by_remark(total.remarks),
    )


def _wishes(rows: Iterable[Row], chosen: tuple[str, ...]) -> list[Wish]:
    return [Wish(place, row, chosen or _set_of(row)) for place, row in enumerate(rows, 1)]


def _set_of(row: Row) -> tuple[str, ...]:
    return paper_set(row.visit) if row.visit else ()


def _jobs(wishes: Sequence[Wish], file_format: str, each: bool) -> list[Job]:
    if each:
        starts = range(0, len(wishes), EACH_PEOPLE)
        groups = [tuple(wishes[start : start + EACH_PEOPLE]) for start in starts]
    elif sum(map(_sides, wishes)) <= WHOLE_SIDES:
        groups = [tuple(wishes)]
    else:
        groups = list(_parts(wishes))
    return [Job(group, file_format, each) for group in groups]


def _parts(wishes: Sequence[Wish]) -> Iterator[tuple[Wish, ...]]:
    """Neighbours on the list, cut between people, each part short enough for one file."""
    part: list[Wish] = []
    sides = 0.0
    for wish in wishes:
        if part and sides + _sides(wish) > PART_SIDES:
            yield tuple(part)
            part, sides = [], 0.0
        part.append(wish)
        sides += _sides(wish)
    yield tuple(part)


def _sides(wish: Wish) -> float:
    """About how many printed sides somebody's papers take."""
    asked = [PAPERS[one] for one in wish.papers]
    return sum(float(one.most_pages) or _SIDES[one.shape] for one in asked)


# ---- here or in a worker ---------------------------------------------------------------------


def _pieces(
    desk: Desk, jobs: Sequence[Job], executor: Executor | None, progress: Progress
) -> Iterator[Piece]:
    if executor is None:
        yield from (_made(desk, job, progress) for job in jobs)
        return
    packed = _packed(desk)
    done = in_order(executor, _made_in_worker, [(packed, job) for job in jobs])
    for job, piece in zip(jobs, done, strict=True):
        for wish in job.wishes:
            progress(wish.row.name)
        yield piece


def _packed(desk: Desk) -> bytes:
    """The desk with all that it read: a worker elsewhere may not see the practice's folder."""
    _ = desk.tables, desk.results, desk.signatures, desk.figure_ids
    return pickle.dumps(desk)


@lru_cache(maxsize=1)
def _unpacked(packed: bytes) -> Desk:
    """The desk in a worker, unpacked once for all its jobs. Our own bytes, from our own process."""
    desk: Desk = pickle.loads(packed)
    return desk


def _made_in_worker(order: tuple[bytes, Job]) -> Piece:
    packed, job = order
    return _made(_unpacked(packed), job, silent)


def _made(desk: Desk, job: Job, progress: Progress) -> Piece:
    lost: list[LeftOut] = []
    items = [one for wish in job.wishes for one in _composed(desk, wish, job, lost, progress)]
    bound = _apart if job.apart else _bound
    files, items = bound(items, lost, job.file_format)
    left_out, gaps = _sorted_out(items, lost)
    printed = {item.wish.place: item.wish.row.name for item in items}
    return Piece(files, list(printed.values()), left_out, gaps, _remarks(desk, items))


def _remarks(desk: Desk, items: Items) -> list[tuple[str, str]]:
    """What is to be told about languages, and asked about the record, once a person."""
    found = {
        (item.wish.place, remark): item.wish.row.name
        for item in items
        if item.wish.row.visit and item.page.paper in PAPERS
        for remark in _told(desk, item.page.paper, item.wish.row.visit)
    }
    return [(remark, name) for (_, remark), name in found.items()]


def _told(desk: Desk, paper_id: str, visit: Visit) -> Iterator[str]:
    yield from desk.remarks(paper_id, visit)
    for one in desk.advice(visit, paper_id):
        if one.contradicts:
            yield f"Please look again: {one.found} {one.suggestion}"


def _composed(
    desk: Desk, wish: Wish, job: Job, lost: list[LeftOut], progress: Progress
) -> Iterator[Item]:
    """Somebody's pages in the order of their set; papers that cannot be made go to ``lost``."""
    try:
        visit = wish.row.sound_visit()
    except Problem as problem:
        lost.append(LeftOut(wish.row.line, wish.row.name, problem))
        visit = None
    for one in wish.papers if visit else ():
        try:
            page = desk.page(one, visit)
            if job.file_format == "pdf" and visit:
                page = with_back(page, desk.practice, visit)
            yield Item(wish, page)
        except Problem as problem:
            lost.append(LeftOut(wish.row.line, wish.row.name, problem, one))
    progress(wish.row.name)


def _sorted_out(items: Items, lost: Iterable[LeftOut]) -> tuple[list[LeftOut], list[LeftOut]]:
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


# ---- files -----------------------------------------------------------------------------------


def _apart(items: Items, lost: list[LeftOut], file_format: str) -> tuple[dict[str, bytes], Items]:
    """Every paper in a file of its own, named after the place on the list and not the person."""
    files: dict[str, bytes] = {}
    kept = []
    for item in items:
        content = _alone(item, lost, file_format)
        if content is not None:
            files[f"{item.wish.place:04}-{item.page.paper}.{file_format}"] = content
            kept.append(item)
    return files, kept


def _alone(item: Item, lost: list[LeftOut], file_format: str) -> bytes | None:
    try:
        return write([item.page], file_format)
    except Problem as problem:
        row = item.wish.row
        lost.append(LeftOut(row.line, row.name, problem, item.page.paper))
        return None


def _bound(items: Items, lost: list[LeftOut], file_format: str) -> tuple[dict[str, bytes], Items]:
    """All papers in one file under the desk's list, and all cards of a size in another one.

    Cards are several to a sheet, so they cannot stand among the sheets of a person.
    """
    sheets = [item for item in items if item.page.shape != "card"]
    cards: Items = []
    files: dict[str, bytes] = {}
    for size, ending in _CARD_FILES.items():
        alike = [one for one in items if one.page.shape == "card" and one.page.card == size]
        kept, files[ending] = _set(alike, lost, file_format, lambda *_: ())
        cards += kept

    def on_top(kept: Items, spelled: bool) -> tuple[Page, ...]:
        return _cover(kept, cards, lost, spelled) if file_format == "pdf" else ()

    sheets, files[""] = _set(sheets, lost, file_format, on_top)
    printed = sorted((*sheets, *cards), key=lambda item: item.wish.place)
    return {ending: content for ending, content in files.items() if content}, printed


def _set(items: Items, lost: list[LeftOut], file_format: str, on_top: OnTop) -> tuple[Items, bytes]:
    """The items that can be set, and their file; those that cannot go to ``lost``."""
    if not items:
        return [], b""
    pages = [item.page for item in items]
    try:
        return items, write([*on_top(items, False), *pages], file_format)
    except Problem:
        # Somebody's name or card cannot be set: find out whose, and print the others.
        kept = [one for one in items if _alone(one, lost, file_format) is not None]
        if len(kept) < len(items):
            return _set(kept, lost, file_format, on_top)
        # Only a name on the desk's list is left as the reason.
        return items, write([*on_top(items, True), *pages], file_format)


def _cover(sheets: Items, cards: Items, lost: list[LeftOut], spelled: bool) -> tuple[Page]:
    """The desk's list of those whose papers follow, and of what was not made."""
    like = sheets[0].page
    show = partial(_shown, like) if spelled else str
    given: dict[int, Given] = {}
    for item in sheets:
        place, name = item.wish.place, item.wish.row.name
        seen = given.get(place) or Given(place, show(name), item.page.language, 0)
        given[place] = replace(seen, papers=seen.papers + 1)
    kinds = {item.page.paper for item in sheets}
    title = kinds.pop() if len(kinds) == 1 else "the papers of the day"
    told = [
        [(one.line, show(one.name), show(one.problem.found)) for one in group]
        for group in _sorted_out([*sheets, *cards], lost)
    ]
    return (cover(like, title, list(given.values()), *told),)


def _shown(like: Page, text: str) -> str:
    """The text for the desk's list, spelled out when it has a letter that no font has."""
    try:
        write([cover(like, text, [], [])], "pdf")
    except Problem:
        return text.encode("ascii", "backslashreplace").decode().translate(_CONTROLS)
    return text


def _in_folder(kept: Sequence[tuple[str, int, Path]], out: Path) -> Iterator[tuple[Path, Path]]:
    return ((out / name, place) for name, _, place in kept)


def _beside_each_other(
    kept: Sequence[tuple[str, int, Path]], out: Path
) -> Iterator[tuple[Path, Path]]:
    """Each file with its target: sheets under the name asked for, cards beside; parts numbered."""
    endings = sorted({ending for ending, _, _ in kept})
    for ending in endings:
        places = [place for one, _, place in kept if one == ending]
        shown = ending if len(endings) > 1 else ""
        for number, place in enumerate(places, 1):
            part = f"-{number}-of-{len(places)}" if len(places) > 1 else ""
            yield out.with_name(f"{out.stem}{shown}{part}{out.suffix}"), place


def _nobody(people: Path, left: Sequence[LeftOut]) -> FactsProblem:
    reason = f" The first reason, line {left[0].line}: {left[0].problem.found}" if left else ""
    return FactsProblem(
        f"Nobody on {people.name} can be given this paper.{reason}",
        "An empty print file would look like a finished job.",
        "Correct the list, or choose a paper that needs fewer facts.",
    )
