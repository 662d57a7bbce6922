"""What somebody asks for: one paper, for one visit or for nobody yet, in one language."""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

from plainleaf.office.practice import Practice
from plainleaf.office.results import Results
from plainleaf.office.visits import Visit
from plainleaf.papers.paper import Paper


@dataclass(frozen=True)
class Order:
    """What somebody asked for. ``locales`` is the office's own folder of languages, if any.

    ``day_form`` says how fully a text message names its day (``language.texting``).
    """

    paper: Paper
    practice: Practice
    visit: Visit | None
    language: str
    large_print: bool
    today: date
    results: Results | None = None
    locales: Path | None = None
    day_form: str = "short"
