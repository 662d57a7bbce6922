"""Two hundred DOCX letters beside docxtpl, which fills a template of similar content.

Run it by hand: ``python tests/bench/word.py`` (with the extra ``bench``). Ours begins with the
people; docxtpl is given one template a language with the same paragraphs and the same picture
already in it, and only the values that differ from letter to letter.
"""

import tempfile
from io import BytesIO
from pathlib import Path
from typing import Any

from docx import Document
from docx.shared import Mm
from docxtpl import DocxTemplate
from side_by_side import LANGUAGES, Case, desk, in_turn, people, settle

from plainleaf.papers.blocks import Code, Heading, Page, plain, runs, walk
from plainleaf.writers import qr

PAPER = "dark-area"
LETTERS = 200
ROUNDS = 3


def template(page: Page, name: str, file: Path) -> None:
    """A template with the paragraphs of a page, and a place for the name wherever it stands."""
    document: Any = Document()
    for block in walk(page.blocks):
        if isinstance(block, Heading):
            document.add_heading(plain(block.inlines), block.level)
            continue
        for run in runs(block):
            document.add_paragraph(plain(run).replace(name, "{{ name }}"))
        if isinstance(block, Code):
            document.add_picture(BytesIO(qr.png_picture(block.payload)), width=Mm(22))
    for source in page.sources:
        document.add_paragraph(source.text)
    document.add_paragraph("{{ name }} · {{ record }}")
    document.save(str(file))


def main() -> None:
    at_work = desk()
    visits = people(LETTERS, PAPER)
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        files = {tag: out / f"{tag}-template.docx" for tag in LANGUAGES}
        for visit, tag in zip(visits, LANGUAGES, strict=False):
            template(at_work.page(PAPER, visit), visit.person.name, files[tag])

        def ours() -> None:
            for number, visit in enumerate(visits):
                at_work.hand_out(PAPER, out / f"{number}.docx", visit)

        def filled() -> None:
            for number, visit in enumerate(visits):
                person = visit.person
                letter = DocxTemplate(str(files[person.language]))
                letter.render({"name": person.name, "record": person.record}, autoescape=True)
                letter.save(str(out / f"filled-{number}.docx"))

        cases = [
            Case("Plainleaf, from the people to the files", ours, LETTERS),
            Case("docxtpl, a template with values", filled, LETTERS),
        ]
        in_turn(cases, ROUNDS)
    settle({"at least twice as fast as docxtpl": 2 * cases[0].ms <= cases[1].ms})


if __name__ == "__main__":
    main()
