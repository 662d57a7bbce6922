"""What the bench scripts share: invented people, cases timed in turn, and a small table."""

import gc
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from itertools import product
from statistics import median
from time import perf_counter, process_time

import typst

from plainleaf import paths
from plainleaf.desk.acts import Desk, demo_visit, read_practice
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Page
from plainleaf.papers.catalogue import paper
from plainleaf.writers import pdf

DAY = date(2026, 11, 25)
LANGUAGES = ("en", "es", "ar")
_FIRST = {
    "en": ("Bran", "Ella", "Horv", "Mira", "Osk", "Quen", "Tam", "Wynn"),
    "es": ("Adel", "Bríg", "Cand", "Elvi", "Íñig", "Mart", "Nuri", "Ximé"),
    "ar": ("سلم", "نور", "رشد", "هند", "كرم", "ليل", "منى", "زهر"),
}
_LAST = {
    "en": ("a Fernholt", "is Marrowby", "en Oakrill", "ow Tansley", "y Underhay"),
    "es": ("a Otxarán", "o Belmira", "ela Cordúa", "ina Quijal", "eo Ñandez"),
    "ar": ("ان الواد", "ى المرج", "ة السهل", "ون البحر", "ي الغصن"),
}
_MIDDLE = ("", " B.", " D.", " F.", " K.", " L.", " R.", " S.", " V.")


def desk() -> Desk:
    """The demo's practice on the demo's day."""
    return Desk(read_practice(paths.templates() / "demo" / "practice.toml"), DAY)


def people(count: int, paper_id: str) -> list[Visit]:
    """So many invented people, no two with the same name, in turn in three languages."""
    asked = {tag: demo_visit(paper(paper_id), tag) for tag in LANGUAGES}
    names = {
        tag: [a + c + b for b, c, a in product(_MIDDLE, _LAST[tag], _FIRST[tag])]
        for tag in LANGUAGES
    }
    found = []
    for number in range(count):
        visit = asked[LANGUAGES[number % 3]]
        name = names[visit.person.language][number // 3]
        told = {"name": name, "called": name.split()[0], "record": f"J-{2000 + number}"}
        person = visit.person.model_copy(update=told)
        found.append(visit.model_copy(update={"person": person}))
    return found


def settled(pages: list[Page]) -> bytes:
    """The program that sets the pages, at the density that the writer ends with."""
    kept = b""

    def render(document: pdf.Document) -> bytes:
        nonlocal kept
        made = pdf._pdf(pages, document)
        kept = pdf._program(pdf._layout(pages), document)
        return made

    pdf._fitted(pages, render)
    return kept


def as_json(program: bytes) -> str:
    """The pages in a program, as JSON."""
    text = program.decode().splitlines()[1].split('"')[1]
    return text.replace("\\u{22}", '"').replace("\\u{5c}", "\\")


def bare_typst(program: bytes) -> bytes:
    """The typesetter alone: one call of the compiler that lives on, with the same standard."""
    made = pdf._compiler().compile(
        program, format="pdf", pdf_standards=["ua-1"], timestamp=1764028800
    )
    assert isinstance(made, bytes)
    return made


def usual_typst(json_text: str, layout: str) -> bytes:
    """The typesetter alone, given its pages as ``sys.inputs``, as is usual."""
    line = f'#import "/{layout}": sheet\n#sheet(json(bytes(sys.inputs.doc)))\n'
    made = _other_compiler().compile(
        line.encode(),
        sys_inputs={"doc": json_text},
        format="pdf",
        pdf_standards=["ua-1"],
        timestamp=1764028800,
    )
    assert isinstance(made, bytes)
    return made


@cache
def _other_compiler() -> typst.Compiler:
    folder = str(paths.templates() / "print")
    return typst.Compiler(root=folder, font_paths=pdf._fonts(), ignore_system_fonts=True)


def forget() -> None:
    """Let the typesetter forget what it has set: it keeps things for ten documents."""
    for number in range(12):
        pdf._compiler().compile(f"#let x = {number}".encode(), format="svg")


@dataclass
class Case:
    """One way to do the work: what it is called, how much it does a round, and its times."""

    name: str
    work: Callable[[], object]
    items: int
    wall: list[float] = field(default_factory=list)
    processor: list[float] = field(default_factory=list)

    def run(self) -> None:
        """Do the work once, and keep the milliseconds an item took."""
        forget()
        gc.collect()
        begun, used = perf_counter(), process_time()
        self.work()
        self.wall.append((perf_counter() - begun) / self.items * 1000)
        self.processor.append((process_time() - used) / self.items * 1000)

    @property
    def ms(self) -> float:
        """The median of the rounds, in milliseconds an item."""
        return median(self.wall)


def in_turn(cases: list[Case], rounds: int) -> None:
    """Every case once in each round, so that a busy machine is busy for all of them."""
    for case in cases:
        case.work()
    for _ in range(rounds):
        for case in cases:
            case.run()
    ours = cases[0]
    print(f"{'':44} ms an item   processor   beside ours")
    for case in cases:
        used, ratio = median(case.processor), case.ms / ours.ms
        print(f"{case.name:44} {case.ms:10.2f} {used:11.2f} {ratio:11.2f} x")


def settle(goals: dict[str, bool]) -> None:
    """Say which goals are met; exit 1 when one is missed."""
    for goal, met in goals.items():
        print(f"{'met   ' if met else 'MISSED'} {goal}")
    if not all(goals.values()):
        sys.exit(1)
