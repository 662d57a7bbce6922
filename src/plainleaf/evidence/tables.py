"""Sources, figures and positions: read, checked and looked up.

Every row says who published it, in which edition, and how it was read: ``read`` at the source
or a faithful copy of it, ``quoted`` by somebody else, or ``memory``. A figure from memory may
stand in the table so that it can be confirmed one day, and can never reach a patient.
"""

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any, Literal, cast

from plainleaf import paths
from plainleaf.errors import EvidenceProblem
from plainleaf.evidence.entries import exactly, read_entries
from plainleaf.evidence.measures import EVERYWHERE, FAMILIES, MEASURES, SETTINGS, SITES, WORLD

HowRead = Literal["read", "quoted", "memory"]
_HOW_READ = ("read", "quoted", "memory")
_SEXES = ("both", "female", "male")
_STATUSES = ("current", "under revision", "draft", "replaced")
_PLACE = re.compile(rf"[A-Z]{{2}}|{WORLD}|{EVERYWHERE}")
_PERIOD = re.compile(r"([0-9]{4})(?:-([0-9]{4}))?")
_TRUST = "A number that cannot be traced and trusted must not reach a patient."


@dataclass(frozen=True)
class Source:
    """Who published something, in which edition, and when we have to look for a newer one.

    ``published`` is a year or a day in ISO form. ``review_by`` is the day from which the source
    counts as out of date. ``title`` names the work without its year; ``edition`` carries that.
    """

    id: str
    publisher: str
    title: str
    edition: str
    published: str
    address: str
    licence: str
    review_by: date


@dataclass(frozen=True)
class Figure:
    """One published value.

    ``value``, ``low`` and ``high`` are in the unit of the measure; low and high are the published
    interval, or None. ``period`` is a year or a span of years. ``quoted_in`` names the source in
    which a quoted value was seen. ``place`` is an ISO 3166 country, ``world`` or ``study``.
    """

    id: str
    measure: str
    group: str
    site: str
    icd10: str
    sex: str
    age: str
    place: str
    period: str
    value: float
    low: float | None
    high: float | None
    setting: str
    source: str
    locator: str
    how_read: HowRead
    quoted_in: str
    date_read: date | None
    note: str

    @property
    def unit(self) -> str:
        """The unit in words, from the measure."""
        return MEASURES[self.measure].unit

    @property
    def stratum(self) -> tuple[str, ...]:
        """What is measured, where, when and in whom: two rows must not share all of it."""
        return (
            self.measure,
            self.group,
            self.site,
            self.sex,
            self.age,
            self.place,
            self.period,
            self.setting,
        )

    @property
    def last_year(self) -> int:
        """The last year of the period."""
        return int(self.period[-4:])

    @property
    def printable(self) -> bool:
        """Whether a patient may be shown it: never a remembered value."""
        return self.how_read != "memory"


@dataclass(frozen=True)
class Position:
    """What an expert body says, in our own plain English sentence (translated by the catalogs).

    ``places`` are the countries it speaks for; a position marked ``elsewhere`` is also shown in
    countries that have none of their own.
    """

    id: str
    body: str
    topic: str
    year: int
    about: str
    says: str
    status: str
    places: tuple[str, ...]
    elsewhere: bool
    source: str
    how_read: HowRead

    @property
    def in_force(self) -> bool:
        """Whether papers tell it."""
        return self.status == "current" or self.under_revision

    @property
    def under_revision(self) -> bool:
        """Whether it is in force while a newer one is being written."""
        return self.status == "under revision"


@dataclass(frozen=True)
class Tables:
    """All evidence in memory, checked."""

    sources: dict[str, Source]
    figures: tuple[Figure, ...]
    positions: tuple[Position, ...]

    def figure(self, figure_id: str) -> Figure:
        """The figure with this id. Raises EvidenceProblem if there is none."""
        for figure in self.figures:
            if figure.id == figure_id:
                return figure
        raise EvidenceProblem(
            f"There is no figure '{figure_id}' in figures.csv.",
            _TRUST,
            "Add the row, or ask for another figure ('plainleaf figures' lists them).",
        )

    def newest(
        self,
        measures: tuple[str, ...],
        family: str,
        country: str,
        beside: str | None = None,
        oldest: int = 0,
    ) -> list[Figure]:
        """The newest printable edition that has all the measures, both sexes, one place and period.

        The rule that picks: the practice's own country wins over the world, unless its newest
        edition is from before the year ``oldest``; then the later period; then the wider grouping
        of sites; and all measures of an edition come from one source. Rows of another group than
        ``all`` are second values (counted, web version, as quoted) and are never picked. With
        ``beside``, the same edition must also have the measures for that family; those follow in
        the list. Raises EvidenceProblem when no edition has them all.
        """
        for place in (country, WORLD):
            editions = {
                (figure.last_year, figure.period)
                for figure in self.figures
                if figure.place == place
                and figure.measure in measures
                and (place == WORLD or figure.last_year >= oldest)
            }
            for _, period in sorted(editions, reverse=True):
                found = self._edition(measures, family, place, period)
                other = self._edition(measures, beside, place, period) if beside else []
                if found and (other or not beside):
                    return found + other
        raise EvidenceProblem(
            f"No edition for {country} or the world has {' and '.join(measures)} for {family}"
            f"{' and ' + beside if beside else ''}.",
            "A paper must not show one number without the others that make it fair.",
            "Add the rows to figures.csv, or correct the ones that are there.",
        )

    def _edition(
        self, measures: tuple[str, ...], family: str, place: str, period: str
    ) -> list[Figure]:
        for site in FAMILIES[family]:
            rows = {
                figure.measure: figure
                for figure in self.figures
                if (figure.site, figure.place, figure.period) == (site, place, period)
                and figure.group == "all"
                and figure.sex == ("female" if family == "cervix" else "both")
                and figure.printable
            }
            found = [rows[measure] for measure in measures if measure in rows]
            if len(found) == len(measures) and len({figure.source for figure in found}) == 1:
                return found
        return []

    def study(self, group: str) -> dict[str, Figure]:
        """All printable figures of one study, by measure. Raises EvidenceProblem if none are."""
        if rows := self._studies.get(group):
            return rows
        raise EvidenceProblem(
            f"No printable figures belong to the study '{group}'.",
            _TRUST,
            "Add the study's rows to figures.csv, or confirm the remembered ones.",
        )

    @cached_property
    def _studies(self) -> dict[str, dict[str, Figure]]:
        found: dict[str, dict[str, Figure]] = {}
        for figure in self.figures:
            if figure.place == EVERYWHERE and figure.printable:
                found.setdefault(figure.group, {})[figure.measure] = figure
        return found

    def positions_on(self, topic: str, country: str) -> list[Position]:
        """Positions in force on a topic, those of the country first, the newer first."""
        live = [p for p in self.positions if p.topic == topic and p.in_force]
        own = [p for p in live if country in p.places]
        abroad = [p for p in live if country not in p.places and p.elsewhere]
        return sorted(own, key=lambda p: -p.year) + sorted(abroad, key=lambda p: -p.year)

    def out_of_date(self, today: date) -> list[Source]:
        """Sources whose day of review has passed."""
        return [source for source in self.sources.values() if source.review_by < today]


def load(folder: Path | None = None) -> Tables:
    """Read and check the three tables. Raises EvidenceProblem naming file, line and id."""
    folder = folder or paths.evidence()
    sources = {source.id: source for source in _read_sources(folder / "sources.toml")}
    figures = tuple(_read_figures(folder / "figures.csv", sources))
    positions = tuple(_read_positions(folder / "positions.toml", sources))
    return Tables(sources, figures, positions)


def wrong(where: str, what: str, do: str) -> EvidenceProblem:
    """The problem with a row or a table: ``where`` names file, line and id."""
    return EvidenceProblem(f"{where}: {what}.", _TRUST, do)


def _read_sources(path: Path) -> Iterator[Source]:
    wanted = set(Source.__dataclass_fields__) - {"id"}
    for where, name, table in read_entries(path, wrong):
        exactly(where, table, wanted, wrong)
        yield source_from_table(where, name, table)


def source_from_table(where: str, name: str, table: dict[str, Any]) -> Source:
    """A source from its fields; ``where`` names file, line and id. Raises EvidenceProblem."""
    if not isinstance(table["review_by"], date):
        raise wrong(where, "'review_by' is not a day", "Write it as YYYY-MM-DD, unquoted.")
    if not re.fullmatch(r"[0-9]{4}(-[0-9]{2}(-[0-9]{2})?)?", str(table["published"])):
        raise wrong(where, "'published' is not a year or a day", "Write YYYY or YYYY-MM-DD.")
    return Source(id=name, **{**table, "published": str(table["published"])})


def _read_positions(path: Path, sources: dict[str, Source]) -> Iterator[Position]:
    wanted = set(Position.__dataclass_fields__) - {"id"}
    for where, name, table in read_entries(path, wrong):
        exactly(where, table, wanted, wrong)
        if table["status"] not in _STATUSES:
            raise wrong(where, f"'{table['status']}' is no status", f"Use {', '.join(_STATUSES)}.")
        if table["how_read"] not in _HOW_READ:
            raise wrong(where, f"'{table['how_read']}' is no way of reading", "Use read or quoted.")
        _known_source(where, table["source"], sources)
        yield Position(id=name, **{**table, "places": tuple(table["places"])})


def _known_source(where: str, name: str, sources: dict[str, Source]) -> None:
    if name not in sources:
        raise wrong(where, f"the source '{name}' is not in sources.toml", "Add it there.")


def _read_figures(path: Path, sources: dict[str, Source]) -> Iterator[Figure]:
    seen: dict[object, int] = {}
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        for row in reader:
            where = f"{path.name} line {reader.line_num} ({row.get('id') or 'no id'})"
            figure = figure_from_row(where, row)
            for key, what in (
                (figure.id, "the id"),
                (figure.stratum, "another value for the same"),
            ):
                if key in seen:
                    raise wrong(
                        where,
                        f"{what} stands already on line {seen[key]}",
                        "Give it another id, or another group if it is a second value.",
                    )
                seen[key] = reader.line_num
            for name in filter(None, (figure.source, figure.quoted_in)):
                _known_source(where, name, sources)
            yield figure


def figure_from_row(where: str, row: dict[str, Any]) -> Figure:
    """A figure from the cells of its row, checked on its own; ``where`` names file, line and id.

    Raises EvidenceProblem for the first thing that is wrong.
    """
    if None in row or None in row.values():
        raise wrong(where, "the row has too many or too few cells", "Quote cells with commas.")
    exactly(where, row, Figure.__dataclass_fields__, wrong)
    _closed_sets(where, row)
    numbers = {name: _number(where, name, row) for name in ("value", "low", "high")}
    if numbers["value"] is None:
        raise wrong(where, "the value is empty", "Fill it in, or take the row out.")
    _within(where, row["measure"], numbers)
    when = _day(where, row["date_read"])
    if when is None and row["how_read"] != "memory":
        raise wrong(where, "'date_read' is empty", "Say on which day it was read.")
    if (row["how_read"] == "quoted") != bool(row["quoted_in"]):
        raise wrong(where, "'quoted_in' and 'how_read' disagree", "Name who quotes it, or neither.")
    return Figure(**{**row, **cast(dict[str, Any], numbers), "date_read": when})


def _closed_sets(where: str, row: dict[str, str]) -> None:
    for name, allowed in (
        ("measure", MEASURES),
        ("site", SITES),
        ("sex", _SEXES),
        ("setting", SETTINGS),
        ("how_read", _HOW_READ),
    ):
        if row[name] not in allowed:
            raise wrong(where, f"'{row[name]}' is no {name}", f"Use {', '.join(sorted(allowed))}.")
    groups = MEASURES[row["measure"]].groups
    if groups and row["group"] not in groups:
        raise wrong(where, f"'{row['group']}' is no stage", f"Use {', '.join(sorted(groups))}.")
    if row["icd10"] != SITES[row["site"]]:
        raise wrong(
            where,
            f"ICD-10 '{row['icd10']}' does not belong to {row['site']}",
            f"Write '{SITES[row['site']]}', or name another site.",
        )
    if not _PLACE.fullmatch(row["place"]):
        raise wrong(where, f"'{row['place']}' is no place", "Use an ISO country, world or study.")
    period = _PERIOD.fullmatch(row["period"])
    if not period or (period[2] and period[2] < period[1]):
        raise wrong(where, f"'{row['period']}' is no period", "Write YYYY or YYYY-YYYY.")


def _number(where: str, name: str, row: dict[str, str]) -> float | None:
    text = row[name].strip()
    if not text:
        return None
    if not re.fullmatch(r"-?[0-9]+(\.[0-9]+)?", text):
        raise wrong(where, f"{name} '{text}' is not a plain number", "Write digits and one dot.")
    return float(text)


def _within(where: str, measure_name: str, numbers: dict[str, float | None]) -> None:
    measure = MEASURES[measure_name]
    for name, number in numbers.items():
        if number is None:
            continue
        if not measure.lowest <= number <= measure.highest:
            raise wrong(
                where,
                f"{name} {number:g} is outside {measure.lowest:g} to {measure.highest:g}"
                f" ({measure.unit})",
                "Correct the number or the measure.",
            )
        if measure.whole and name == "value" and number != int(number):
            raise wrong(where, f"{name} {number:g} is not a whole number", "Correct it.")
    low, value, high = numbers["low"], numbers["value"], numbers["high"]
    if (low is None) != (high is None):
        raise wrong(where, "one end of the interval is missing", "Give both ends, or neither.")
    if low is not None and high is not None and value is not None and not low <= value <= high:
        raise wrong(
            where, f"{value:g} is not inside its interval {low:g} to {high:g}", "Correct it."
        )


def _day(where: str, text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError as error:
        raise wrong(where, f"'{text}' is not a day", "Write it as YYYY-MM-DD.") from error
