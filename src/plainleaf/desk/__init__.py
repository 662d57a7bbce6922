"""The acts of the practice: what the faces may call, and nothing else.

Each act that not every command needs stands in its own module (``days``, ``evidence``,
``reminders``, ``translations``), to be imported by the command that does: one paper is made in
half a second.
"""

from plainleaf.desk.acts import (
    FORMATS,
    OWN_LANGUAGES,
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
from plainleaf.papers.catalogue import PAPERS
from plainleaf.papers.checks import CHECKS

__all__ = [
    "CHECKS",
    "FORMATS",
    "OWN_LANGUAGES",
    "PAPERS",
    "Desk",
    "LeftOut",
    "Made",
    "Progress",
    "begin",
    "demo",
    "read_practice",
    "read_visit",
    "write",
]
