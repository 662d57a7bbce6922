"""Makes the pictures in the README from real papers: ``python tests/pictures.py``."""

from dataclasses import replace
from datetime import date
from pathlib import Path

from plainleaf import paths
from plainleaf.desk import Desk, read_practice
from plainleaf.office.people import read_list
from plainleaf.papers.blocks import Isolate, Page
from plainleaf.papers.code import stamp
from plainleaf.writers import pdf

FOLDER = Path(__file__).parent / "pictures"
SHOWN = (("introduction", "en"), ("dark-area", "es"), ("dark-area", "ar"), ("consent", "en"))
DAY = date(2026, 11, 25)


def with_example(page: Page) -> Page:
    """The page with an example for its code, which changes with every change to the program."""
    example = stamp("an", "example", "only")
    return replace(
        page,
        foot=tuple(
            replace(one, text=example)
            if isinstance(one, Isolate) and one.origin == "paper"
            else one
            for one in page.foot
        ),
    )


def pictures() -> dict[str, bytes]:
    """The first page of each shown paper, and a sheet of cards for four people, as PNG."""
    demo = paths.templates() / "demo"
    visits = [row.visit for row in read_list(demo / "day.csv") if row.visit]
    desk = Desk(read_practice(demo / "practice.toml"), DAY)
    found = {}
    for paper, language in SHOWN:
        visit = next(one for one in visits if one.person.language == language)
        page = desk.page(paper, visit)
        found[f"{paper}-{language}.png"] = pdf.picture([with_example(page)], 75)[0]
    cards = [desk.page("reminder-card", visit) for visit in visits if not visit.person.large_print]
    found["reminder-card-day.png"] = pdf.picture(cards[:4], 60)[0]
    return found


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    for name, content in pictures().items():
        (FOLDER / name).write_bytes(content)
