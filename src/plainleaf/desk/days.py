"""A day at once: everybody's papers in their own language, in the order of the list.

A list is cut into jobs before anything is made, by the list alone. Each job is composed and set in
one place, here or in a worker, and comes back as finished bytes: they are much smaller than the
pages. So the same list gives the same bytes with any number of workers, and with none.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain
from pathlib import Path
from tempfile import TemporaryDirectory

from plainleaf.desk.acts import (
    FORMATS,
    Desk,
    LeftOut,
    Progress,
    by_remark,
    format_of,
    read_people,
    silent,
    write,
)
from plainleaf.desk.files import none_of_an_earlier_run, put_all
from plainleaf.desk.packed import packed, unpacked
from plainleaf.desk.pieces import Advised, Item, Items, Job, Piece, Wish, advised, sorted_out
from plainleaf.desk.workers import in_order, processes, scheduler
from plainleaf.errors import FactsProblem, Problem
from plainleaf.language import phrases
from plainleaf.office.people import Row, one_each
from plainleaf.office.sets import paper_set
from plainleaf.office.visits import Visit
from plainleaf.papers.backs import with_back
from plainleaf.papers.blocks import Page
from plainleaf.papers.catalogue import PAPERS, paper
from plainleaf.papers.cover import Day, Given, Told, cover, in_text

__all__ = ["DayResult", "NobodyProblem", "day", "processes", "scheduler"]

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

_OURS = "en"
"""The language of the desk's list and of all problems; none of its words can be missing."""

Show = Callable[[str], str]
OnTop = Callable[[Items, bool], Sequence[Page]]


@dataclass(frozen=True)
class DayResult:
    """What came of a list: the files, who is in them in order, and who is not.

    ``left_out`` has each person who got nothing, with the first reason; ``gaps`` has every other
    paper that was not made; ``remarks`` say for whom a language was chosen that nobody told, or
    which form of one, and where somebody's record disagrees with itself or with a paper. ``advice``
    is for the clinician, ``notes`` are about how the list was read, and ``desk_list`` is the file
    with all that when no cover of a print file tells it.
    """

    files: tuple[Path, ...]
    printed: tuple[str, ...]
    left_out: tuple[LeftOut, ...]
    gaps: tuple[LeftOut, ...] = ()
    remarks: tuple[str, ...] = ()
    advice: tuple[Advised, ...] = ()
    notes: tuple[str, ...] = ()
    desk_list: Path | None = None


class NobodyProblem(FactsProblem):
    """Nobody on a list can be given anything; ``result`` has each one with the reason."""

    result = DayResult((), (), ())


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
    after the place on the list. Somebody booked more than once gets one set. Nobody is lost: who
    cannot be printed is returned with the reason. Raises NobodyProblem when nobody can be; then,
    and when a worker dies, nothing is written.
    """
    chosen = tuple(paper(one).id for one in papers)
    written = file_format or "pdf" if each else file_format
    name = format_of(Path() if each else out, written)
    listed = one_each(read_people(people, desk.practice), desk.today)
    jobs = _jobs(_wishes(listed, chosen), name, each, listed.notes)
    total = Piece()
    with TemporaryDirectory() as folder:
        kept: list[tuple[str, int, Path]] = []
        for number, piece in enumerate(_pieces(desk, jobs, executor, progress)):
            for ending, content in piece.files.items():
                place = Path(folder) / f"{number}{ending}"
                place.write_bytes(content)
                kept.append((ending, number, place))
            total.add(piece)
        if not kept:
            raise _nobody(people, total, listed.notes)
        targets = list(_in_folder(kept, out) if each else _beside_each_other(kept, out))
        text = None if total.covered else _desk_text(out, each)
        desk.spare(*(target for target, _ in targets), *([text] if text else []))
        title = _title(desk, chosen)
        told = [(text, _listed(desk, title, total, listed.notes).encode())] if text else []
        _put(targets, told, out, each)
    return _result((target for target, _ in targets), total, listed.notes, text)


def _result(
    files: Iterable[Path], total: Piece, notes: tuple[str, ...], text: Path | None = None
) -> DayResult:
    return DayResult(
        tuple(files),
        tuple(total.printed),
        tuple(total.left_out),
        tuple(total.gaps),
        by_remark(total.remarks),
        tuple(total.advised),
        notes,
        text,
    )


def _put(
    targets: list[tuple[Path, Path]], told: list[tuple[Path, bytes]], out: Path, each: bool
) -> None:
    """All files in their places; a longer run before may not leave parts of it among them."""
    new = [target for target, _ in targets]
    if each:
        none_of_an_earlier_run(out, rf"[0-9]{{4,}}-[a-z-]+\.({'|'.join(FORMATS)})", new)
    else:
        parts = rf"{re.escape(out.stem)}(-wallet-cards|-cards)?(-[0-9]+-of-[0-9]+)?"
        none_of_an_earlier_run(out.parent, parts + re.escape(out.suffix), new)
    put_all(chain(((target, place.read_bytes()) for target, place in targets), told))


def _wishes(rows: Iterable[Row], chosen: tuple[str, ...]) -> list[Wish]:
    return [Wish(place, row, chosen or _set_of(row)) for place, row in enumerate(rows, 1)]


def _set_of(row: Row) -> tuple[str, ...]:
    return paper_set(row.visit) if row.visit else ()


def _jobs(
    wishes: Sequence[Wish], file_format: str, each: bool, notes: tuple[str, ...]
) -> list[Job]:
    if each:
        starts = range(0, len(wishes), EACH_PEOPLE)
        groups = [tuple(wishes[start : start + EACH_PEOPLE]) for start in starts]
    elif sum(map(_sides, wishes)) <= WHOLE_SIDES:
        groups = [tuple(wishes)]
    else:
        groups = list(_parts(wishes))
    return [Job(group, file_format, each, notes) for group in groups]


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
    content = packed(desk)
    done = in_order(executor, _made_in_worker, [(content, job) for job in jobs])
    for job, piece in zip(jobs, done, strict=True):
        for wish in job.wishes:
            progress(wish.row.name)
        yield piece


def _made_in_worker(order: tuple[bytes, Job]) -> Piece:
    content, job = order
    return _made(unpacked(content), job, silent)


def _made(desk: Desk, job: Job, progress: Progress) -> Piece:
    lost: list[LeftOut] = []
    items = [one for wish in job.wishes for one in _composed(desk, wish, job, lost, progress)]
    bound = _apart if job.apart else _bound
    files, items = bound(desk, items, lost, job)
    left_out, gaps = sorted_out(items, lost)
    printed = {item.wish.place: item.wish.row.name for item in items}
    return Piece(
        files,
        list(printed.values()),
        left_out,
        gaps,
        _remarks(desk, items),
        _given(desk, items, str),
        advised(desk, job.wishes),
        # A piece of which nothing is printed has nothing to lay a cover on.
        not files or (job.file_format == "pdf" and "" in files),
    )


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
        lost.append(wish.left_out(problem))
        visit = None
    for one in wish.papers if visit else ():
        try:
            page = desk.page(one, visit)
            if job.file_format == "pdf" and visit:
                page = with_back(page, desk.practice, visit, desk.locales)
            yield Item(wish, page)
        except Problem as problem:
            lost.append(wish.left_out(problem, one))
    progress(wish.row.name)


# ---- files -----------------------------------------------------------------------------------


def _apart(_: Desk, items: Items, lost: list[LeftOut], job: Job) -> tuple[dict[str, bytes], Items]:
    """Every paper in a file of its own, named after the place on the list and not the person."""
    files: dict[str, bytes] = {}
    kept = []
    for item in items:
        content = _alone(item, lost, job.file_format)
        if content is not None:
            files[f"{item.wish.place:04}-{item.page.paper}.{job.file_format}"] = content
            kept.append(item)
    return files, kept


def _alone(item: Item, lost: list[LeftOut], file_format: str) -> bytes | None:
    try:
        return write([item.page], file_format)
    except Problem as problem:
        lost.append(item.wish.left_out(problem, item.page.paper))
        return None


def _bound(
    desk: Desk, items: Items, lost: list[LeftOut], job: Job
) -> tuple[dict[str, bytes], Items]:
    """All papers in one file under the desk's list, and all cards of a size in another one.

    Cards are several to a sheet, so they cannot stand among the sheets of a person.
    """
    sheets = [item for item in items if item.page.shape != "card"]
    cards: Items = []
    files: dict[str, bytes] = {}
    for size, ending in _CARD_FILES.items():
        alike = [one for one in items if one.page.shape == "card" and one.page.card == size]
        kept, files[ending] = _set(alike, lost, job.file_format, lambda *_: ())
        cards += kept

    def on_top(kept: Items, spelled: bool) -> tuple[Page, ...]:
        if job.file_format != "pdf":
            return ()
        like = kept[0].page
        show = partial(_shown, like) if spelled else str
        return (cover(like, _told_to_desk(desk, job, kept, cards, lost, show)),)

    sheets, files[""] = _set(sheets, lost, job.file_format, on_top)
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


def _told_to_desk(
    desk: Desk, job: Job, sheets: Items, cards: Items, lost: list[LeftOut], show: Show
) -> Day:
    """The desk's list of those whose papers follow, and of what was not made."""
    items = sorted((*sheets, *cards), key=lambda item: item.wish.place)
    left_out, gaps = sorted_out(items, lost)
    kinds = tuple({item.page.paper for item in sheets})
    return Day(
        _title(desk, kinds),
        _given(desk, items, show),
        _reasons(desk, left_out, show),
        _reasons(desk, gaps, show),
        _advice(advised(desk, job.wishes), show),
        tuple(map(show, job.notes)),
    )


def _title(desk: Desk, papers: Sequence[str]) -> str:
    if len(papers) != 1:
        return "the papers of the day"
    return phrases.short_name(desk.words(_OURS), papers[0])


def _reasons(desk: Desk, left: Iterable[LeftOut], show: Show) -> list[Told]:
    words = desk.words(_OURS)
    named = (
        (one, f"{phrases.short_name(words, one.paper)}: " if one.paper else "") for one in left
    )
    return [
        (one.where, show(one.name), show(f"{paper}{one.problem.found}")) for one, paper in named
    ]


def _advice(said: Iterable[Advised], show: Show) -> list[Told]:
    return [(one.where, show(one.name), one.words) for one in said]


def _given(desk: Desk, items: Items, show: Show) -> list[Given]:
    """Everybody who gets something, with languages and papers in words."""
    words = desk.words(_OURS)
    given: dict[int, Given] = {}
    for item in items:
        place, page = item.wish.place, item.page
        tongue = words.language.named(page.language)
        seen = given.get(place) or Given(place, show(item.wish.row.name), tongue, ())
        named = (*seen.papers, phrases.short_name(words, page.paper))
        sheets = seen.sheets + (page.shape != "card")
        given[place] = replace(seen, papers=named, sheets=sheets)
    return list(given.values())


def _listed(desk: Desk, title: str, total: Piece, notes: Sequence[str]) -> str:
    left_out, gaps = (_reasons(desk, one, str) for one in (total.left_out, total.gaps))
    return in_text(Day(title, total.given, left_out, gaps, _advice(total.advised, str), notes))


def _desk_text(out: Path, each: bool) -> Path:
    return out / "desk.txt" if each else out.with_name(f"{out.stem}-desk.txt")


def _shown(like: Page, text: str) -> str:
    """The text for the desk's list, spelled out when it has a letter that no font has."""
    try:
        write([cover(like, Day(text, ()))], "pdf")
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


def _nobody(people: Path, total: Piece, notes: tuple[str, ...]) -> NobodyProblem:
    problem = NobodyProblem(
        f"Nobody on {people.name} can be given this paper."
        if total.left_out
        else f"Nobody stands on {people.name}.",
        "An empty print file would look like a finished job.",
        "Correct the list, or choose a paper that needs fewer facts.",
    )
    problem.result = _result((), total, notes)
    return problem
