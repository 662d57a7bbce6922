"""A thousand reminder cards, each with a code of its own, in one file, beside the bare engines.

Run it by hand: ``python tests/bench/cards.py [CARDS]``. Ours begins with the people and draws each
code. The bare engines are given the finished cards: the typesetter alone with their codes drawn,
and the typesetter with each code drawn by the library that draws ours, in its own usual form.
"""

import sys
import tempfile
from pathlib import Path

from qrcode.constants import ERROR_CORRECT_M
from qrcode.image.svg import SvgPathImage
from qrcode.main import QRCode
from side_by_side import Case, bare_typst, desk, in_turn, people, settle, settled

from plainleaf.desk import Desk, write
from plainleaf.papers.blocks import Page
from plainleaf.writers import qr

PAPER = "reminder-card"
ROUNDS = 3
GOAL = 1.5


def with_own_address(first: Desk, number: int) -> Desk:
    """The practice with an address that no other card has, and the evidence read once."""
    links = first.practice.links
    own = links.model_copy(update={"website": f"{links.website}/{number:04}"})
    found = Desk(first.practice.model_copy(update={"links": own}), first.today)
    found.tables, found.signatures = first.tables, first.signatures
    return found


def drawn(page: Page) -> str:
    """The code of a card, by the library alone."""
    code = QRCode(error_correction=ERROR_CORRECT_M, border=4)
    code.add_data(next(block.payload for block in page.blocks if hasattr(block, "payload")))
    return str(code.make_image(image_factory=SvgPathImage).to_string(encoding="unicode"))


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    visits, first = people(count, PAPER), desk()
    desks = [with_own_address(first, number) for number in range(count)]

    def pages() -> list[Page]:
        return [one.page(PAPER, visit) for one, visit in zip(desks, visits, strict=True)]

    finished = pages()
    program = settled(finished)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)

        def ours() -> None:
            qr.modules.cache_clear()
            qr.svg.cache_clear()
            (out / "ours.pdf").write_bytes(write(pages(), "pdf"))

        def bare() -> None:
            (out / "bare.pdf").write_bytes(bare_typst(program))

        def both() -> None:
            for page in finished:
                drawn(page)
            bare()

        cases = [
            Case("Plainleaf, from the people to the file", ours, count),
            Case("bare typst and qrcode, finished cards", both, count),
            Case("bare typst, finished cards with their codes", bare, count),
        ]
        in_turn(cases, ROUNDS)
    settle({f"at most {GOAL} times the bare typesetter": cases[0].ms <= GOAL * cases[2].ms})


if __name__ == "__main__":
    main()
