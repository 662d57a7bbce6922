"""A practice's or a country's own rows: read from a table they kept, and stored beside it.

The columns are those of figures.csv, and seven more for a source that is not in sources.toml.
One row is one line of the file, so that a stray quotation mark spoils its own line and no other.
Own rows pass every check that the package's rows pass; what is typed wrong is never guessed.
"""

import csv
import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from os import fsync, getpid
from pathlib import Path

from plainleaf.characters import one_line, printable
from plainleaf.errors import EvidenceProblem
from plainleaf.evidence.cells import delimiter_of, iso_day, read_lines, split
from plainleaf.evidence.tables import (
    Figure,
    Source,
    Tables,
    figure_from_row,
    source_from_table,
    wrong,
)

_SOURCE_FIELDS = tuple(name for name in Source.__dataclass_fields__ if name != "id")
COLUMNS = tuple(Figure.__dataclass_fields__)
"""The columns that must be there, in the order of figures.csv."""
SOURCE_COLUMNS = tuple(f"source_{name}" for name in _SOURCE_FIELDS)
"""The columns that may be there, for a source of the practice's own."""

# Two sources of one id are the same work if these agree; the rest may be brought up to date.
_NAMES_THE_WORK = ("publisher", "title", "edition", "published")
_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
_ADDRESS = re.compile(r"https?://\S+")


@dataclass(frozen=True)
class RowProblem:
    """A line of the file that cannot be used: its number, its id or '', and what is wrong."""

    line: int
    id: str
    problem: EvidenceProblem


@dataclass(frozen=True)
class OwnRows:
    """What came of a file: the good rows, the sources that only they have, and the bad lines."""

    figures: tuple[Figure, ...]
    sources: dict[str, Source]
    problems: tuple[RowProblem, ...]


@dataclass(frozen=True)
class _Row:
    """One line that has something in it. ``cells`` has every column, '' where nothing stands."""

    file: str
    line: int
    cells: dict[str, str]

    @property
    def id(self) -> str:
        return self.cells.get("id", "")

    @property
    def where(self) -> str:
        return f"{self.file} line {self.line} ({self.id or 'no id'})"

    @property
    def source(self) -> str:
        return self.cells["source"]

    @property
    def source_cells(self) -> dict[str, str]:
        """The filled cells about the source, by the name of the field."""
        pairs = zip(_SOURCE_FIELDS, SOURCE_COLUMNS, strict=True)
        return {field: self.cells[column] for field, column in pairs if self.cells[column]}


_Pairs = list[tuple[_Row, Figure]]


def read_rows(path: Path, sources: Mapping[str, Source]) -> OwnRows:
    """Every line of the file as a figure or as a problem. ``sources`` are those already known.

    Commas, semicolons or tabs; columns in any order. Raises EvidenceProblem when the file as a
    whole cannot be understood.
    """
    bad: list[RowProblem] = []
    rows = _rows(path, bad)
    own = _own_sources(rows, sources)
    pairs = _figures(rows, sources, own, bad)
    pairs = _each_once(pairs, bad)
    figures = tuple(figure for _, figure in _all_quoted(pairs, sources, bad))
    used = {figure.source for figure in figures}
    return OwnRows(
        figures,
        {name: source for name, source in sorted(own.items()) if name in used},
        tuple(sorted(bad, key=lambda problem: problem.line)),
    )


def append_rows(store: Path, rows: OwnRows, taken: Collection[str]) -> int:
    """Write the good rows to the practice's own file; returns how many ids were not there before.

    A row with the id of a stored one replaces it. ``taken`` are the ids of the package's tables.
    The file is written whole or not at all. Raises EvidenceProblem for an id that is taken, for
    rows that contradict the stored ones, or when the file cannot be read or written.
    """
    for figure in rows.figures:
        if figure.id in taken:
            raise _taken(figure.id)
    if not rows.figures:
        return 0
    old = _stored(store) if store.exists() else {}
    new = {one.id: _cells_of(one, rows.sources.get(one.source)) for one in rows.figures}
    kept = {name: row for name, row in old.items() if name not in new}
    _agree(kept.values(), rows)
    both = {name: _with_source(row.cells, rows.sources) for name, row in kept.items()} | new
    _still_quoted(store.name, [row.cells for row in old.values()], list(both.values()))
    _write(store, [both[name] for name in sorted(both)])
    return len(new.keys() - old.keys())


def merged(tables: Tables, rows: OwnRows) -> Tables:
    """The tables with the own figures and sources added.

    Raises EvidenceProblem for an id of the package, or a second value of what it has a value of.
    """
    ids = {figure.id for figure in tables.figures}
    strata = {figure.stratum: figure.id for figure in tables.figures}
    for figure in rows.figures:
        if figure.id in ids:
            raise _taken(figure.id)
        if figure.stratum in strata:
            raise _second_value(f"The own figure '{figure.id}'", strata[figure.stratum])
    for name, source in rows.sources.items():
        if tables.sources.get(name, source) != source:
            raise _other_work("The own figures", name)
    return replace(
        tables,
        figures=(*tables.figures, *rows.figures),
        sources=tables.sources | rows.sources,
    )


def _taken(name: str) -> EvidenceProblem:
    return wrong(
        f"The own figure '{name}'",
        "the id belongs to a row of the package",
        "Give the own row another id.",
    )


def _second_value(where: str, other: str) -> EvidenceProblem:
    return wrong(
        where,
        f"'{other}' has a value of the same already",
        "Take one out, or give it another group if it is a second value.",
    )


def _other_work(where: str, name: str) -> EvidenceProblem:
    return wrong(
        where,
        f"the source '{name}' is already known with other particulars",
        "Give the new source another id, or correct its columns.",
    )


@contextmanager
def _noting(bad: list[RowProblem], row: _Row) -> Iterator[None]:
    """Keep the problem with a row, so that the next row is looked at as well."""
    try:
        yield
    except EvidenceProblem as problem:
        bad.append(RowProblem(row.line, row.id, problem))


def _rows(path: Path, bad: list[RowProblem]) -> list[_Row]:
    (number, first), *rest = read_lines(path, wrong)
    delimiter = delimiter_of(first)
    heads = _heads(path.name, split(f"{path.name} line {number}", first, delimiter, wrong))
    rows: list[_Row] = []
    for number, text in rest:
        row = _Row(path.name, number, {})
        with _noting(bad, row):
            cells = [one_line(cell) for cell in split(row.where, text, delimiter, wrong)]
            if any(cells):
                rows.extend(_row(row, heads, cells, bad))
    return rows


def _heads(file: str, cells: list[str]) -> list[str]:
    """The names of the columns in the order of the file; '' for a column without a heading."""
    heads = [re.sub(r"[\s\-]+", "_", one_line(cell)).lower() for cell in cells]
    named = [head for head in heads if head]
    missing = [name for name in COLUMNS if name not in named]
    unknown = sorted(set(named) - {*COLUMNS, *SOURCE_COLUMNS})
    if missing:
        raise wrong(file, f"it has no column {', '.join(missing)}", "Add what is missing.")
    if unknown:
        raise wrong(file, f"'{unknown[0]}' is no known column", "Take it out, or correct it.")
    if len(set(named)) < len(named):
        double = next(head for head in named if named.count(head) > 1)
        raise wrong(file, f"there are two columns '{double}'", "Take one of them out.")
    return heads


def _row(bare: _Row, heads: list[str], cells: list[str], bad: list[RowProblem]) -> Iterator[_Row]:
    """The row, or nothing when its cells do not fit the columns."""
    empty = dict.fromkeys((*COLUMNS, *SOURCE_COLUMNS), "")
    row = replace(bare, cells=empty | dict(zip(heads, cells, strict=False)))
    with _noting(bad, row):
        # Without a heading nobody knows what a cell says; an empty one says nothing.
        heads = heads + [""] * (len(cells) - len(heads))
        if len(cells) < len(heads) or any(
            cell and not head for head, cell in zip(heads, cells, strict=True)
        ):
            raise wrong(
                row.where, "the row has too many or too few cells", "Quote cells with commas."
            )
        _printable(row)
        yield row


def _printable(row: _Row) -> None:
    for name, cell in row.cells.items():
        if not printable(cell):
            raise wrong(
                row.where,
                f"'{name}' holds a character that cannot be printed",
                "Type the cell again without it.",
            )


def _own_sources(rows: list[_Row], sources: Mapping[str, Source]) -> dict[str, Source]:
    """The new sources, each as its first good line has it; a bad line is noted with its figure."""
    own: dict[str, Source] = {}
    for row in rows:
        if row.source_cells and row.source not in sources:
            with suppress(EvidenceProblem):
                own.setdefault(row.source, _new_source(row))
    return own


def _new_source(row: _Row) -> Source:
    cells = row.source_cells
    empty = [name for name in _SOURCE_FIELDS if name not in cells]
    if empty:
        raise wrong(
            row.where,
            f"'source_{empty[0]}' is empty for the new source '{row.source}'",
            "Fill in all columns of a source on one of its lines, and none on the others.",
        )
    if not _ID.fullmatch(row.source):
        raise _no_id(row.where, "source", row.source)
    if not _ADDRESS.fullmatch(cells["address"]):
        raise wrong(row.where, "'source_address' is no address", "Begin it with https://.")
    table = {**cells, "review_by": _day(row.where, cells["review_by"])}
    return source_from_table(row.where, row.source, table)


def _no_id(where: str, column: str, text: str) -> EvidenceProblem:
    return wrong(
        where, f"'{text}' is no {column}", "Write small letters a to z, digits and hyphens."
    )


def _day(where: str, text: str) -> date:
    day = iso_day(text)
    if day is None:
        raise wrong(where, f"'source_review_by' '{text}' is not a day", "Write it as YYYY-MM-DD.")
    return day


def _figures(
    rows: list[_Row],
    sources: Mapping[str, Source],
    own: Mapping[str, Source],
    bad: list[RowProblem],
) -> _Pairs:
    pairs: _Pairs = []
    for row in rows:
        with _noting(bad, row):
            pairs.append((row, _figure(row, sources, own)))
    return pairs


def _figure(row: _Row, sources: Mapping[str, Source], own: Mapping[str, Source]) -> Figure:
    if not _ID.fullmatch(row.id):
        raise _no_id(row.where, "id", row.id)
    for name in ("group", "age", "source"):
        if not row.cells[name]:
            raise wrong(row.where, f"'{name}' is empty", "Fill it in.")
    if row.source in sources:
        _same_work(row, sources[row.source], _NAMES_THE_WORK)
    else:
        _defined(row, own)
    return figure_from_row(row.where, {name: row.cells[name] for name in COLUMNS})


def _defined(row: _Row, own: Mapping[str, Source]) -> None:
    if row.source_cells:
        _new_source(row)
    if row.source not in own:
        raise wrong(
            row.where,
            f"the source '{row.source}' is not known",
            "Correct it, or fill in the columns 'source_publisher' to 'source_review_by'.",
        )
    _same_work(row, own[row.source], _SOURCE_FIELDS)


def _same_work(row: _Row, source: Source, fields: Sequence[str]) -> None:
    cells = row.source_cells
    if any(name in cells and cells[name] != str(getattr(source, name)) for name in fields):
        raise _other_work(row.where, source.id)


def _each_once(pairs: _Pairs, bad: list[RowProblem]) -> _Pairs:
    """The pairs without a second row of one id, or a second value of the same."""
    seen: dict[object, int] = {}
    kept: _Pairs = []
    for row, figure in pairs:
        with _noting(bad, row):
            for key, what in ((figure.id, "the id"), (figure.stratum, "a value of the same")):
                if key in seen:
                    raise wrong(
                        row.where,
                        f"{what} stands already on line {seen[key]}",
                        "Give it another id, or another group if it is a second value.",
                    )
            seen[figure.id] = seen[figure.stratum] = row.line
            kept.append((row, figure))
    return kept


def _all_quoted(pairs: _Pairs, sources: Mapping[str, Source], bad: list[RowProblem]) -> _Pairs:
    """The pairs whose quoting source is known, from before or as the source of a good row."""
    known = set(sources) | {figure.source for _, figure in pairs}
    kept: _Pairs = []
    for row, figure in pairs:
        with _noting(bad, row):
            if figure.quoted_in and figure.quoted_in not in known:
                raise wrong(
                    row.where,
                    f"the source '{figure.quoted_in}' that quotes it is not known",
                    "Correct it, or add a row that has it as its source.",
                )
            kept.append((row, figure))
    # A row that fell out may have been the only one with a source that another is quoted in.
    return kept if len(kept) == len(pairs) else _all_quoted(kept, sources, bad)


def _stored(store: Path) -> dict[str, _Row]:
    """The rows of the practice's own file as they stand, by id."""
    bad: list[RowProblem] = []
    stored: dict[str, _Row] = {}
    for row in _rows(store, bad):
        if not row.id or row.id in stored:
            raise wrong(row.where, "the id is empty or stands twice", "Correct the line.")
        stored[row.id] = row
    if bad:
        raise bad[0].problem
    return stored


def _cells_of(figure: Figure, source: Source | None) -> dict[str, str]:
    cells = {name: _written(getattr(figure, name)) for name in COLUMNS}
    return _with_source(cells, {source.id: source} if source else {})


def _written(value: str | float | date | None) -> str:
    """A cell as the reader takes it: an empty one for None, a number without an exponent."""
    if value is None:
        return ""
    if isinstance(value, float):
        return format(Decimal(repr(value)).normalize(), "f")
    return str(value)


def _with_source(cells: dict[str, str], sources: Mapping[str, Source]) -> dict[str, str]:
    """The cells, with those about a source of the practice's own as they stand now."""
    source = sources.get(cells["source"])
    if source is None:
        return cells
    pairs = zip(_SOURCE_FIELDS, SOURCE_COLUMNS, strict=True)
    return cells | {column: _written(getattr(source, field)) for field, column in pairs}


def _agree(kept: Iterable[_Row], rows: OwnRows) -> None:
    """Raise EvidenceProblem when stored rows that stay do not agree with the new ones."""
    strata = {figure.stratum: figure.id for figure in rows.figures}
    for row in kept:
        if row.source in rows.sources:
            _same_work(row, rows.sources[row.source], _NAMES_THE_WORK)
        other = strata.get(_stratum(row))
        if other:
            raise _second_value(row.where, other)


def _stratum(row: _Row) -> tuple[str, ...]:
    """The stratum of a stored row; nothing for one that was spoilt since, which reading reports."""
    with suppress(EvidenceProblem):
        cells = {name: row.cells[name] for name in COLUMNS}
        return figure_from_row(row.where, cells).stratum
    return ()


def _still_quoted(
    file: str, before: Iterable[dict[str, str]], after: Sequence[dict[str, str]]
) -> None:
    """Raise EvidenceProblem when a replaced row was the last with a source that others quote."""
    were, are = (
        {cells["source"] for cells in lines if cells.get("source_title")}
        for lines in (before, after)
    )
    for cells in after:
        if cells["quoted_in"] in were - are:
            raise wrong(
                f"{file} ({cells['id']})",
                f"no row would have the source '{cells['quoted_in']}' that quotes it any more",
                "Keep a row with that source, or replace this one as well.",
            )


def _write(store: Path, lines: Iterable[dict[str, str]]) -> None:
    """Write the file whole or not at all: beside its place first, then into it."""
    part = store.with_name(f".{store.name}.{getpid()}.part")
    try:
        with part.open("w", encoding="utf-8", newline="") as file:
            writer = csv.DictWriter(file, [*COLUMNS, *SOURCE_COLUMNS], "", lineterminator="\n")
            writer.writeheader()
            writer.writerows(lines)
            file.flush()
            fsync(file.fileno())
        part.replace(store)
    except OSError as error:
        raise wrong(
            store.name,
            f"it cannot be written ({error.strerror})",
            "Close the program that holds the file, or make room for it.",
        ) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
