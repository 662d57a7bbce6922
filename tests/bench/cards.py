"""A thousand reminder cards, each with a code of its own, in one file, beside the bare typesetter.

Run it by hand: ``python tests/bench/cards.py``. Ours begins with the people and draws each code;
the typesetter alone is given the finished cards, their codes drawn.
"""

import tempfile
from pathlib import Path

from side_by_side import Case, bare_typst, desk, in_turn, people, settle, settled

from plainleaf.desk import Desk, write
from plainleaf.papers.blocks import Page

PAPER = "reminder-card"
CARDS = 1000
ROUNDS = 1
GOAL = 2.0
"""The composing of a card and the drawing of its code may take as long as the typesetting."""


def with_own_address(number: int) -> Desk:
    """The demo's practice with an address that no other card has."""
    at_work = desk()
    address = f"{at_work.practice.links.website}/{number:04}"
    links = at_work.practice.links.model_copy(update={"website": address})
    at_work.practice = at_work.practice.model_copy(update={"links": links})
    return at_work


def main() -> None:
    visits = people(CARDS, PAPER)
    desks = [with_own_address(number) for number in range(CARDS)]
    for at_work in desks:
        at_work.tables, at_work.signatures = desks[0].tables, desks[0].signatures

    def pages() -> list[Page]:
        return [one.page(PAPER, visit) for one, visit in zip(desks, visits, strict=True)]

    program = settled(pages())
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        cases = [
            Case(
                "Plainleaf, from the people to the file",
                lambda: (out / "ours.pdf").write_bytes(write(pages(), "pdf")),
                CARDS,
            ),
            Case(
                "bare typst, finished cards",
                lambda: (out / "bare.pdf").write_bytes(bare_typst(program)),
                CARDS,
            ),
        ]
        in_turn(cases, ROUNDS)
    settle({f"at most {GOAL} times the bare typesetter": cases[0].ms <= GOAL * cases[1].ms})


if __name__ == "__main__":
    main()
