"""The acts of the practice: what the faces may call, and nothing else."""

from plainleaf.desk.acts import (
    FORMATS,
    DayResult,
    Desk,
    LeftOut,
    Made,
    Progress,
    begin,
    demo,
    write,
)
from plainleaf.desk.evidence import (
    accuracy_tree,
    add_figures,
    cite,
    claims,
    figure_places,
    overdue,
    registry_rate,
)
from plainleaf.desk.reminders import Reminded, remind
from plainleaf.desk.translations import review_states, update_catalog
from plainleaf.office.practice import read_practice
from plainleaf.office.visits import read_visit
from plainleaf.papers.catalogue import PAPERS

__all__ = [
    "FORMATS",
    "PAPERS",
    "DayResult",
    "Desk",
    "LeftOut",
    "Made",
    "Progress",
    "Reminded",
    "accuracy_tree",
    "add_figures",
    "begin",
    "cite",
    "claims",
    "demo",
    "figure_places",
    "overdue",
    "read_practice",
    "read_visit",
    "registry_rate",
    "remind",
    "review_states",
    "update_catalog",
    "write",
]
