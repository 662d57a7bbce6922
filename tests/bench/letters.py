"""Two hundred letters, each in its own PDF/UA file, beside the bare typesetter and WeasyPrint.

Run it by hand: ``python tests/bench/letters.py`` (with the extra ``bench``). Ours begins with the
people; the others begin with finished pages: the same pages as a program for the same typesetter
and layout, and our own HTML.
"""

import tempfile
from pathlib import Path

from side_by_side import (
    Case,
    as_json,
    bare_typst,
    desk,
    in_turn,
    people,
    settle,
    settled,
    usual_typst,
)
from weasyprint import HTML

from plainleaf.desk import write

PAPER = "dark-area"
LETTERS = 200
SAMPLE = 12
"""So many letters are enough for WeasyPrint, which takes long; times are told for one letter."""
ROUNDS = 3


def main() -> None:
    at_work = desk()
    visits = people(LETTERS, PAPER)
    pages = [at_work.page(PAPER, visit) for visit in visits]
    programs = [settled([page]) for page in pages]
    texts = list(map(as_json, programs))
    documents = [write([page], "html").decode() for page in pages[:SAMPLE]]
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)

        def ours() -> None:
            for number, visit in enumerate(visits):
                at_work.hand_out(PAPER, out / f"{number}.pdf", visit)

        def bare() -> None:
            for number, program in enumerate(programs):
                (out / f"bare-{number}.pdf").write_bytes(bare_typst(program))

        def usual() -> None:
            for number, text in enumerate(texts):
                (out / f"usual-{number}.pdf").write_bytes(usual_typst(text, "sheet.typ"))

        def weasy() -> None:
            for number, text in enumerate(documents):
                file = out / f"weasy-{number}.pdf"
                HTML(string=text).write_pdf(str(file), pdf_variant="pdf/ua-1")

        cases = [
            Case("Plainleaf, from the people to the files", ours, LETTERS),
            Case("bare typst, finished pages", bare, LETTERS),
            Case("bare typst, finished pages as sys.inputs", usual, LETTERS),
            Case("WeasyPrint, finished HTML", weasy, SAMPLE),
        ]
        in_turn(cases, ROUNDS)
    first, second, _, third = (case.ms for case in cases)
    settle(
        {
            "at most 1.5 times the bare typesetter": first <= 1.5 * second,
            "at least 10 times as fast as WeasyPrint": 10 * first <= third,
        }
    )


if __name__ == "__main__":
    main()
