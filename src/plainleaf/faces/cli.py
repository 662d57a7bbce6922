"""The command line: arguments to the desk, problems to sentences and exit codes."""

import logging
import sys
from collections.abc import Sequence
from contextlib import AbstractContextManager, nullcontext
from datetime import datetime
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import Annotated, Any

import typer
from typer import Argument, Option

from plainleaf import desk
from plainleaf.errors import LanguageProblem, Problem

app = typer.Typer(
    help="Papers for a dental practice that offers a light look at the lining of the mouth.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
)
figures_app = typer.Typer(help="The published numbers and where each stands on a paper.")
app.add_typer(figures_app, name="figures", invoke_without_command=True)

Settings = Annotated[
    Path, Option("--practice", help="The settings of your practice.", show_default=True)
]
Day = Annotated[
    datetime | None,
    Option("--date", formats=["%Y-%m-%d"], help="The day on the paper; today if left out."),
]
_PRACTICE = Path("practice.toml")


@app.callback()
def _begin(
    verbose: Annotated[bool, Option("--verbose", help="Show the numbered steps.")] = False,
) -> None:
    if verbose:
        logging.basicConfig(level=logging.WARNING, format="%(message)s", stream=sys.stderr)
        logging.getLogger("plainleaf").setLevel(logging.DEBUG)


@app.command()
def demo(
    to: Annotated[Path, Option("--to", help="The folder to write into.")] = Path("plainleaf-demo"),
) -> None:
    """Make every paper for an invented practice and its invented day, in three languages."""
    with _showing().progress("Making papers") as tell:
        made = desk.demo(to, tell)
    groups: dict[tuple[str, str], list[str]] = {}
    for one in made:
        groups.setdefault((one.paper, one.language), []).append(str(one.file.relative_to(to)))
    rows = [(paper, tongue, ", ".join(names)) for (paper, tongue), names in groups.items()]
    _showing().table(("paper", "language", "files"), rows, f"Made in {to}")
    typer.echo(f"{len(made)} files. The people, the place and the phones are invented.")
    typer.echo("The Spanish and Arabic texts are drafts: no qualified translator has signed them.")


@app.command()
def init() -> None:
    """Write a practice.toml with comments, to be filled in."""
    file = desk.begin(Path())
    typer.echo(f"Wrote {file}. Fill it in, then run 'plainleaf make introduction --out FILE'.")


@app.command()
def papers(
    language: Annotated[str, Option(help="Show who has signed each paper in this language.")] = "",
    elements: Annotated[
        bool, Option("--elements", help="Show what each paper must contain, and why.")
    ] = False,
    practice: Settings = _PRACTICE,
) -> None:
    """List the papers: when each is handed over, to whom, and what it needs."""
    own = desk.own_languages(practice.parent)
    if elements:
        _listing().elements(own)
        return
    if language:
        _listing().signatures(language, own)
        return
    _showing().table(
        ("paper", "moment", "reader", "needs"),
        [
            (one.id, one.moment, one.reader, ", ".join(one.needs) or "nothing more")
            for one in desk.PAPERS.values()
        ],
    )


@app.command()
def make(
    paper: Annotated[str, Argument(help="Which paper ('plainleaf papers' lists them).")],
    to: Annotated[Path, Option("--out", help="The file to write.")],
    language: Annotated[str, Option(help="Language tag, such as en, es or ar.")] = "",
    file_format: Annotated[str, Option("--format", help="pdf, docx, html or txt.")] = "",
    visit: Annotated[Path | None, Option(help="A TOML file with the visit.")] = None,
    large_print: Annotated[bool, Option("--large-print", help="18 point letters.")] = False,
    beside: Annotated[str, Option(help="A form in a second language too, beside the first.")] = "",
    practice: Settings = _PRACTICE,
    date: Day = None,
) -> None:
    """Make one paper."""
    facts = desk.read_visit(visit) if visit else None
    at_work = _desk(practice, date)
    codes: list[str] = []
    file = at_work.hand_out(
        paper, to, facts, language, file_format, large_print, beside, codes.append
    )
    typer.echo(f"Wrote {file}. Its code: {codes[0]}")
    for remark in at_work.remarks(paper, facts, language, beside):
        typer.echo(remark, err=True)
    _tell_about_help(at_work, paper)
    for one in at_work.advice(facts, paper) if facts else ():
        mark = "Please look again" if one.contradicts else "For your judgement"
        typer.echo(f"{mark}: {one.found} {one.suggestion}", err=True)


@app.command()
def again(
    code: Annotated[str, Argument(help="The code in the paper's last line or its file.")],
    paper: Annotated[str, Option(help="Which paper ('plainleaf papers' lists them).")],
    to: Annotated[Path, Option("--out", help="The file to write.")],
    language: Annotated[str, Option(help="Language tag, such as en, es or ar.")] = "",
    file_format: Annotated[str, Option("--format", help="pdf, docx, html or txt.")] = "",
    visit: Annotated[Path | None, Option(help="A TOML file with the visit.")] = None,
    large_print: Annotated[bool, Option("--large-print", help="18 point letters.")] = False,
    beside: Annotated[str, Option(help="The second language of the form.")] = "",
    anyway: Annotated[bool, Option("--anyway", help="Write it as it is now.")] = False,
    practice: Settings = _PRACTICE,
    date: Day = None,
) -> None:
    """Make a paper again: the same bytes, or which of wording, figures and facts changed."""
    facts = desk.read_visit(visit) if visit else None
    order = _again().Asked(paper, facts, language, large_print, beside)
    at_work = _desk(practice, date)
    made = _again().again(at_work, code, order, to, file_format, anyway)
    if made.changed:
        typer.echo(f"Wrote {made.file} as it is now. Its code: {made.code}")
        typer.echo(f"Changed since {made.before}: {', '.join(made.changed)}.")
    else:
        typer.echo(f"Wrote {made.file}, the same as before: {made.code}")
    _tell_about_help(at_work, paper)


@app.command()
def day(
    people: Annotated[Path, Argument(metavar="LIST.csv", help="One person a line.")],
    paper: Annotated[
        list[str] | None,
        Option(help="Which paper everybody gets; may be given again. By what was recorded if not."),
    ] = None,
    to: Annotated[
        Path | None, Option("--out", help="The print file; PAPER.pdf or day.pdf if left out.")
    ] = None,
    file_format: Annotated[str, Option("--format", help="pdf, docx, html or txt.")] = "",
    each: Annotated[
        bool, Option("--each", help="Every paper in a file of its own, in the folder --out.")
    ] = False,
    workers: Annotated[int, Option(min=1, help="So many processes share the work.")] = 1,
    scheduler: Annotated[
        str, Option(help="A Dask scheduler of your own: names and findings are sent to it.")
    ] = "",
    practice: Settings = _PRACTICE,
    date: Day = None,
) -> None:
    """Everybody's papers in their own language, in the order of the list, in one print file."""
    papers = paper or []
    name = papers[0] if len(papers) == 1 else "day"
    target = to or Path(name if each else f"{name}.{file_format or 'pdf'}")
    at_work = _desk(practice, date)
    with _executor(workers, scheduler) as executor, _showing().progress("Making papers") as tell:
        result = _days().day(at_work, people, papers, target, file_format, tell, executor, each)
    names = ", ".join(map(str, result.files))
    shown = f"{len(result.files)} files into {target}" if each else names
    typer.echo(f"Wrote {shown}: {len(result.printed)} people, in the order of the list.")
    if len(result.files) > 1 and not each:
        typer.echo("Cards, and the parts of a long day, are files of their own.")
    for remark in result.remarks:
        typer.echo(remark)
    _tell_left_out(result.left_out)
    _tell_left_out(result.gaps, "Papers missing from somebody's set")
    _tell_about_help(at_work, *papers)


def _executor(workers: int, scheduler: str) -> AbstractContextManager[Any]:
    if scheduler:
        found: AbstractContextManager[Any] = _days().scheduler(scheduler)
        return found
    return _days().processes(workers) if workers > 1 else nullcontext()


@app.command()
def remind(
    people: Annotated[Path, Argument(metavar="LIST.csv", help="Booked visits.")],
    to: Annotated[Path, Option("--to", help="The folder to write into.")],
    practice: Settings = _PRACTICE,
    date: Day = None,
) -> None:
    """Make reminders of booked visits: cards, texts, e-mails and calendar entries."""
    with _showing().progress("Making reminders") as tell:
        result = _reminders().remind(_desk(practice, date), people, to, tell)
    ways = ", ".join(f"{count} by {way}" for way, count in sorted(result.ways.items()))
    typer.echo(f"Wrote {len(result.files)} files into {to}: {ways or 'nobody'}.")
    typer.echo("Nothing was sent, and no record is kept yet of what you send.")
    if result.drafts:
        typer.echo(f"Texts in {', '.join(result.drafts)} are drafts that no translator has signed.")
    for remark in result.remarks:
        typer.echo(remark)
    _tell_left_out(result.left_out)


def _tell_left_out(people: tuple[desk.LeftOut, ...], words: str = "Left out") -> None:
    if people:
        typer.echo(f"{words}: {len(people)}.")
    for one in people:
        typer.echo(f"  line {one.line}, {one.name}: {one.problem}")


@figures_app.callback(invoke_without_command=True)
def figures(
    context: typer.Context,
    on_papers: Annotated[
        bool, Option("--on-papers", help="Only those that stand on a paper.")
    ] = False,
    practice: Settings = _PRACTICE,
) -> None:
    """List the published numbers, how each was read, and on which papers each stands."""
    if context.invoked_subcommand:
        return
    at_work = _desk(practice, None)
    places = _evidence().figure_places(at_work)
    heads = ("figure", "value", "place, period", "source", "read", "on papers")
    rows = []
    for one in at_work.tables.figures:
        if on_papers and one.id not in places:
            continue
        span = f" ({one.low:g} to {one.high:g})" if one.low is not None else ""
        rows.append(
            (
                one.id,
                f"{one.value:,g}{span} {one.unit}",
                f"{one.place}, {one.period}",
                one.source,
                one.how_read + ("" if one.printable else ": never printed"),
                ", ".join(places.get(one.id, [])) or "-",
            )
        )
    _showing().table(heads, rows)


@figures_app.command("check")
def check(practice: Settings = _PRACTICE, date: Day = None) -> None:
    """Say which sources are out of date, which papers they stand on, and what to do."""
    found = _evidence().overdue(_desk(practice, date))
    for one in found:
        where = f"stands on {', '.join(one.papers)}" if one.papers else "stands on no paper"
        typer.echo(
            f"{one.source.publisher}, {one.source.title}, {one.source.edition}: to be looked at by"
            f" {one.source.review_by}; {where}.\n"
            f"  Look for a newer edition at {one.source.address}, then add its rows with"
            f" 'plainleaf figures add', or set a new 'review_by' for [{one.source.id}]."
        )
    typer.echo(f"{len(found)} sources are out of date.")


@figures_app.command("add")
def add(
    file: Annotated[Path, Argument(metavar="FILE.csv", help="Rows as in figures.csv.")],
    practice: Settings = _PRACTICE,
) -> None:
    """Take your own rows of figures, kept beside practice.toml in own_figures.csv."""
    added, problems = _evidence().add_figures(_desk(practice, None), file)
    typer.echo(f"{added} new figures taken from {file.name}.")
    for one in problems:
        typer.echo(f"  line {one.line}, {one.id or 'no id'}: {one.problem}")


@figures_app.command("claims")
def claims() -> None:
    """List popular claims that the evidence does not carry; no paper prints them."""
    rows = [(one.claim, one.verdict, one.known, one.not_known) for one in _evidence().claims()]
    _showing().table(("claim", "verdict", "what is known", "what is not"), rows)


@figures_app.command("tree")
def tree(
    study: Annotated[str, Argument(help="The study's name, as in the group column.")],
    prevalence: Annotated[float, Option(min=0, max=100, help="Percent who have it.")],
    out_of: Annotated[int, Option(min=10, help="How many people.")] = 1000,
    with_caveat: Annotated[
        bool, Option("--with-caveat", help="Take specialist-clinic accuracy, and say so.")
    ] = False,
    practice: Settings = _PRACTICE,
) -> None:
    """Say what a study's accuracy means for people: found, missed, false alarms, cleared."""
    tables = _desk(practice, None).tables
    found = _evidence().accuracy_tree(tables, study, prevalence, out_of, with_caveat)
    names = ("found", "missed", "false alarms", "cleared")
    low, high = found.low or found.cells, found.high or found.cells
    rows = [
        (name, f"{cell:,}", f"{bottom:,} to {top:,}" if found.low else "not given")
        for name, cell, bottom, top in zip(names, found.cells, low, high, strict=True)
    ]
    _showing().table((f"of {out_of:,} people", "about", "with all inputs at their ends"), rows)
    if found.caveat:
        typer.echo(
            "This accuracy comes from specialist clinics. It does not hold for a general practice."
        )


@figures_app.command("rate")
def rate(
    file: Annotated[Path, Argument(metavar="REGISTRY.csv", help="age_from, cases, people")],
    standard: Annotated[str, Option(help="The standard population.")] = "us-2000",
) -> None:
    """Adjust a local registry's counts for age, with the interval of the rate."""
    found = _evidence().registry_rate(file, standard)
    typer.echo(
        f"Per {found.per:,} people a year: {found.crude:.1f} as counted; {found.value:.1f} adjusted"
        f" to {standard} ({found.low:.1f} to {found.high:.1f}, interval after Fay and Feuer)."
    )


@app.command()
def cite(
    paper: Annotated[str, Argument(help="Which paper ('plainleaf papers' lists them).")],
    language: Annotated[str, Option(help="Language tag, such as en, es or ar.")] = "en",
    visit: Annotated[Path | None, Option(help="A TOML file with the visit.")] = None,
    practice: Settings = _PRACTICE,
    date: Day = None,
) -> None:
    """Trace every number on a paper: as printed, its exact value, source, year, how it was read."""
    facts = desk.read_visit(visit) if visit else None
    rows = [
        (one.printed, one.origin, one.exact, one.source, one.how_read)
        for one in _evidence().cite(_desk(practice, date), paper, facts, language)
    ]
    _showing().table(("as printed", "from", "exactly", "source", "read"), rows)


@app.command()
def readability(
    paper: Annotated[
        str, Argument(help="Which paper; none lists what is too long in all papers.")
    ] = "",
    language: Annotated[str, Option(help="Language tag, such as en, es or ar.")] = "en",
    visit: Annotated[
        Path | None, Option(help="A TOML file with the visit; one of the demo if left out.")
    ] = None,
    practice: Settings = _PRACTICE,
    date: Day = None,
) -> None:
    """Measure how hard a paper is to read, by what is valid in its language."""
    at_work = _desk(practice, date)
    if not paper:
        rows = [
            (one.what, one.text, ", ".join(one.papers))
            for one in _readability().too_long(at_work, [language])
        ]
        _showing().table(("size", "too long", "on"), rows)
        return
    facts = desk.read_visit(visit) if visit else None
    for line in _readability().readability(at_work, paper, facts, language).told():
        typer.echo(line)


@app.command()
def catalog(
    language: Annotated[str, Argument(help="Language tag, such as fr; none for a table.")] = "",
    check: Annotated[bool, Option("--check", help="Say what is wrong with it.")] = False,
    send: Annotated[
        Path | None, Option(help="Write its texts for a translator: FILE.po or FILE.xlf.")
    ] = None,
    take: Annotated[
        Path | None, Option(help="Take a translator's file back: FILE.po or FILE.xlf.")
    ] = None,
    practice: Settings = _PRACTICE,
) -> None:
    """Bring the translations of a language up to date with the papers, or begin a new one."""
    office = practice.parent
    if not language:
        tags, rows = _translations().matrix(desk.own_languages(office))
        _showing().table(("paper", *tags), rows)
        return
    tag = _translations().tag_for(language, office)
    if send:
        typer.echo(f"Wrote {_translations().send(tag, send, office)}.")
    elif take:
        _tell_taken(_translations().take(tag, take, office), take.name)
    elif check:
        found = _translations().check(tag, desk.read_practice(practice), office)
        _tell_faults(found.faults, found.remarks)
    else:
        made = _translations().update_catalog(tag, office)
        typer.echo(f"{made.file} for '{tag}': {made.empty} texts are still empty.")
        _tell_faults((), made.remarks)


def _tell_taken(found: Any, name: str) -> None:
    typer.echo(f"{found.taken} texts taken from {name}; {found.missing} are still empty.")
    if found.taken:
        typer.echo(f"They are in {found.file}.")
    _tell_faults(found.faults, found.remarks, "; none of these was taken, and older texts stay")


def _tell_faults(faults: Sequence[str], remarks: Sequence[str], kept: str = "") -> None:
    for one in remarks:
        typer.echo(f"  Note: {one}.")
    for one in faults:
        typer.echo(f"  {one}")
    if faults:
        typer.echo(f"{len(faults)} to be corrected{kept}.")
        raise typer.Exit(LanguageProblem.exit_code)


def _tell_about_help(at_work: desk.Desk, *papers: str) -> None:
    for one in at_work.about_help(*papers):
        typer.echo(one, err=True)


def _desk(practice: Path, day: datetime | None) -> desk.Desk:
    today = day.date() if day else None
    return desk.Desk(desk.read_practice(practice), today, practice.parent)


def _days() -> ModuleType:
    """The acts around a day at once, and the executors that share its work."""
    return import_module("plainleaf.desk.days")


def _evidence() -> ModuleType:
    """The acts around the numbers, for the commands that need them."""
    return import_module("plainleaf.desk.evidence")


def _again() -> ModuleType:
    """The act that makes a paper again."""
    return import_module("plainleaf.desk.again")


def _reminders() -> ModuleType:
    """The acts around reminders: their calendar library takes a while to load."""
    return import_module("plainleaf.desk.reminders")


def _readability() -> ModuleType:
    """The acts around how hard a text is to read."""
    return import_module("plainleaf.desk.readability")


def _translations() -> ModuleType:
    """The acts around translations."""
    return import_module("plainleaf.desk.translations")


def _listing() -> ModuleType:
    """The lists of papers that need the translations."""
    return import_module("plainleaf.faces.listing")


def _showing() -> ModuleType:
    """The module for tables and progress; rich would cost each single paper a tenth of its time."""
    return import_module("plainleaf.faces.showing")


def main() -> None:
    """Run the command; a known problem becomes its sentences and its exit code."""
    try:
        app()
    except Problem as problem:
        typer.echo(f"{problem.found}\n{problem.why}\n{problem.do}", err=True)
        sys.exit(problem.exit_code)
