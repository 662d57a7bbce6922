"""The acts of the practice: what the faces may call, and nothing else.

Each act that not every command needs stands in its own module (``days``, ``evidence``,
``reminders``, ``translations``), to be imported by the command that does: one paper is made in
half a second.
"""

from plainleaf.desk.acts import (
    FORMATS,
    Desk,
    LeftOut,
    Made,
    Progress,
    begin,
    demo,
    write,
)
from plainleaf.office.practice import read_practice
from plainleaf.office.visits import read_visit
from plainleaf.papers.catalogue import CALENDAR, PAPERS
from plainleaf.papers.checks import CHECKS
from plainleaf.paths import own_languages

__all__ = [
    "CALENDAR",
    "CHECKS",
    "FORMATS",
    "PAPERS",
    "Desk",
    "LeftOut",
    "Made",
    "Progress",
    "begin",
    "demo",
    "own_languages",
    "read_practice",
    "read_visit",
    "write",
]
