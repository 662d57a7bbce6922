"""Letters in window envelopes: what shows, what cannot show, and where to fold, on printed pixels.

The measures stand here once more, as published, and the reach of the window is found by moving the
folded sheet about in the envelope: nothing is taken from the code that sets the page.
"""

import ctypes
from collections.abc import Iterator
from dataclasses import dataclass, replace
from io import BytesIO
from itertools import product
from pathlib import Path

import page as page_validation
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from docx import Document
from PIL import Image, ImageChops

from conftest import LANGUAGES, WEDNESDAY, suited
from plainleaf import paths
from plainleaf.desk import Desk, write
from plainleaf.desk.days import day
from plainleaf.errors import PaperProblem, SettingsProblem
from plainleaf.office.practice import Address, Post, Practice, read_practice
from plainleaf.office.visits import Visit
from plainleaf.papers.blocks import Isolate, Page, plain
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.papers.checks import trace
from plainleaf.papers.cover import Day, Given, cover

INCH = 25.4
DPI = 200
# Invented places.
ADDRESSES = {
    "en": ("7 Larch Close", "Top floor", "Millbrook Falls, CO 80000"),
    "es": ("Calle del Fresno 12, 3.º B", "Edificio Ñandú", "Villa Ejemplo 00000"),
    "ar": ("شارع السرو 12", "Millbrook Falls, CO 80000"),
}
POSTED = [one.id for one in CATALOGUE.values() if one.posted]

Rect = tuple[float, float, float, float]


@dataclass(frozen=True)
class Published:
    """Millimetres: sheet, envelope, window with its place, folds, height folded, hole mark."""

    paper: str
    sheet: tuple[float, float]
    envelope: tuple[float, float]
    window: tuple[float, float]
    left: float
    bottom: float
    folds: tuple[float, float]
    folded: float
    hole: float | None

    def shown(self) -> list[Rect]:
        """What the window shows in each corner of the envelope (left, top, right, bottom)."""
        free_x = self.envelope[0] - self.sheet[0]
        free_y = self.envelope[1] - self.folded
        found = []
        for right, up in product((0, free_x), (0, free_y)):
            left = self.left - right
            bottom = self.folds[0] - (self.bottom - up)
            found.append((left, bottom - self.window[1], left + self.window[0], bottom))
        return found

    @property
    def swept(self) -> Rect:
        left, top, right, bottom = zip(*self.shown(), strict=True)
        return max(min(left), 0), min(top), max(right), max(bottom)

    @property
    def always(self) -> Rect:
        left, top, right, bottom = zip(*self.shown(), strict=True)
        return max(left), max(top), min(right), min(bottom)


def a4(first: float, second: float) -> Published:
    # DIN 5008 on A4: folds 87 and 192 mm (form A) or 105 and 210 mm (form B), hole mark 148.5 mm.
    # DIN 680 window 90 x 45 mm, 20 mm from the left and 15 mm from the bottom of a DL envelope of
    # 110 x 220 mm (ISO 269): from memory.
    return Published("a4", (210, 297), (220, 110), (90, 45), 20, 15, (first, second), 105, 148.5)


PUBLISHED = {
    "DIN 5008 A": a4(87, 192),
    "DIN 5008 B": a4(105, 210),
    # #10: 4.125 x 9.5 in, window 0.875 in from the left and 0.5 in from the bottom; the size of the
    # window, 1.125 x 4.5 in, is from memory. Folded at 3.9 in.
    "#10": Published(
        "letter",
        (8.5 * INCH, 11 * INCH),
        (9.5 * INCH, 4.125 * INCH),
        (4.5 * INCH, 1.125 * INCH),
        0.875 * INCH,
        0.5 * INCH,
        (3.9 * INCH, 7.8 * INCH),
        3.9 * INCH,
        None,
    ),
}
# USPS Publication 25, 3-9: at least 1/8 in clear around the address, wherever the insert lies.
CLEAR = INCH / 8

ENVELOPES = tuple(PUBLISHED)


def at_work(practice: Practice, envelope: str, **more: object) -> Desk:
    size = PUBLISHED[envelope].paper
    post = Post.model_validate({"envelope": envelope})
    update = {"paper_size": size, "post": post, **more}
    return Desk(practice.model_copy(update=update), WEDNESDAY)


def living_at(visit: Visit, lines: tuple[str, ...]) -> Visit:
    return visit.model_copy(update={"person": visit.person.model_copy(update={"address": lines})})


def letter(
    practice: Practice,
    visits: dict[str, Visit],
    envelope: str,
    tag: str = "en",
    paper: str = "dark-area",
    large: bool = False,
) -> Page:
    visit = living_at(suited(visits[tag], paper), ADDRESSES[tag])
    return at_work(practice, envelope).page(paper, visit, tag, large)


def blanked(page: Page) -> Page:
    return replace(page, address=((Isolate("\u00a0"),),))


def sheets(pages: list[Page]) -> list[Image.Image]:
    """The printed sheets in grey, at DPI."""
    document = pypdfium2.PdfDocument(write(pages, "pdf"))
    return [one.render(scale=DPI / 72).to_pil().convert("L") for one in document]


def dots(rect: Rect) -> tuple[int, int, int, int]:
    left, top, right, bottom = (round(mm / INCH * DPI) for mm in rect)
    return left, top, right, bottom


def ink(picture: Image.Image) -> Rect | None:
    """Where anything that is not white stands, in millimetres."""
    box = picture.point(lambda value: 255 if value < 250 else 0).getbbox()
    if box is None:
        return None
    left, top, right, bottom = (place / DPI * INCH for place in box)
    return left, top, right, bottom


def differing(one: Image.Image, other: Image.Image) -> Rect:
    found = ink(ImageChops.invert(ImageChops.difference(one, other)))
    assert found is not None
    return found


def assert_inside(inner: Rect, outer: Rect) -> None:
    slack = INCH / DPI  # one dot: the edge of a letter is drawn in greys
    assert inner[0] >= outer[0] - slack, (inner, outer)
    assert inner[1] >= outer[1] - slack, (inner, outer)
    assert inner[2] <= outer[2] + slack, (inner, outer)
    assert inner[3] <= outer[3] + slack, (inner, outer)


CASES = [
    *product(POSTED, ENVELOPES, LANGUAGES, (False,)),
    *product(("dark-area", "nothing-seen"), ENVELOPES, LANGUAGES, (True,)),
]


@pytest.mark.parametrize(("paper", "envelope", "tag", "large"), CASES)
def test_nothing_but_the_address_can_show_in_the_window(
    paper: str,
    envelope: str,
    tag: str,
    large: bool,
    practice: Practice,
    visits: dict[str, Visit],
) -> None:
    page = letter(practice, visits, envelope, tag, paper, large)
    published = PUBLISHED[envelope]
    made = sheets([page])
    assert large or len(made) <= CATALOGUE[paper].most_pages
    first, bare = made[0], sheets([blanked(page)])[0]
    assert ink(bare.crop(dots(published.swept))) is None
    left, top, right, bottom = published.always
    clear = (left + CLEAR, top + CLEAR, right - CLEAR, bottom - CLEAR)
    # All that blanking the address took away stood where it shows wherever the letter lies.
    address = differing(first, bare)
    assert_inside(address, clear)
    # 25 mm from the left in DIN 5008 (from memory); 1.0 in for #10. The window stays at the left
    # where a page is read from the right.
    assert address[0] == pytest.approx(INCH if envelope == "#10" else 25, abs=0.9)
    shown = ink(first.crop(dots(published.swept)))
    assert shown is not None


def test_a_paper_that_is_handed_out_would_show_its_words_in_the_window(
    practice: Practice, visits: dict[str, Visit]
) -> None:
    for envelope, published in PUBLISHED.items():
        page = at_work(practice, envelope).page("dark-area", visits["en"])
        assert ink(sheets([page])[0].crop(dots(published.swept))) is not None


def test_the_published_strips_are_those_of_the_moving_sheet() -> None:
    # Worked out from Publication 25 and the size of #10: 2.625-3.275 in from the top of the page
    # and 1.0-4.25 in from the left when the page is folded at 3.9 in.
    left, top, right, bottom = (mm / INCH for mm in PUBLISHED["#10"].always)
    assert (left + 0.125, right - 0.125) == pytest.approx((1.0, 4.25))
    assert (top + 0.125, bottom - 0.125) == pytest.approx((2.625, 3.275))
    # DIN 5008: the field, 85 x 45 mm, begins at 20 mm, and 27 mm (A) or 45 mm (B) from the top.
    for form, top in (("DIN 5008 A", 27), ("DIN 5008 B", 45)):
        assert PUBLISHED[form].swept[1] == top
        assert_inside(PUBLISHED[form].always, (20, top, 105, top + 45))


def strokes(sheet: Image.Image, x: float) -> list[float]:
    """The heights at which marks cross a line down the margin, in millimetres."""
    column = sheet.crop(dots((x, 0, x + INCH / DPI, sheet.height / DPI * INCH)))
    dark = [row for row in range(column.height) if column.getpixel((0, row)) < 200]  # type: ignore[operator]
    runs = [[row] for row in dark[:1]]
    for row in dark[1:]:
        if row == runs[-1][-1] + 1:
            runs[-1].append(row)
        else:
            runs.append([row])
    return [(run[0] + run[-1] + 1) / 2 / DPI * INCH for run in runs]


@pytest.mark.parametrize(
    ("envelope", "tag", "large"), list(product(ENVELOPES, ("en", "ar"), (0, 1)))
)
def test_fold_and_hole_marks_stand_at_their_published_millimetres(
    envelope: str, tag: str, large: int, practice: Practice, visits: dict[str, Visit]
) -> None:
    published = PUBLISHED[envelope]
    made = sheets([letter(practice, visits, envelope, tag, "dark-area", bool(large))])
    wanted = sorted([*published.folds, *([published.hole] if published.hole else [])])
    assert strokes(made[0], 7) == pytest.approx(wanted, abs=0.15)
    # The hole mark is the longer one; none reaches the words or the window (10 mm on A4).
    assert strokes(made[0], 10.2) == ([pytest.approx(148.5, abs=0.15)] if published.hole else [])
    assert strokes(made[0], 12) == strokes(made[0], 3) == []
    assert strokes(made[1], 7) == []


def test_each_persons_letter_has_its_own_head_and_marks(
    practice: Practice, visits: dict[str, Visit]
) -> None:
    envelope = "DIN 5008 B"
    pages = [letter(practice, visits, envelope, tag) for tag in LANGUAGES]
    handed = at_work(practice, envelope).page("dark-area", visits["en"])
    made = sheets([handed, *pages])
    assert [bool(strokes(sheet, 7)) for sheet in made] == [False, False, *(True, False) * 3]
    alone = [sheets([page])[0] for page in pages]
    area = dots(PUBLISHED[envelope].swept)
    for together, single in zip(made[2::2], alone, strict=True):
        assert ImageChops.difference(together.crop(area), single.crop(area)).getbbox() is None


def letters_in(pages: list[Page], rect: Rect) -> Iterator[tuple[str, float]]:
    """Each character of the first sheet inside a rectangle, with its size in points."""
    sheet = pypdfium2.PdfDocument(write(pages, "pdf"))[0]
    text = sheet.get_textpage()
    for index in range(text.count_chars()):
        left, bottom, right, top = (mm / 72 * INCH for mm in text.get_charbox(index))
        high = sheet.get_height() / 72 * INCH
        if rect[0] <= left and right <= rect[2] and rect[1] <= high - top <= rect[3]:
            matrix = pdfium.FS_MATRIX()
            char = pdfium.FPDFText_GetUnicode(text.raw, index)
            pdfium.FPDFText_GetMatrix(text.raw, index, ctypes.byref(matrix))
            yield chr(char), pdfium.FPDFText_GetFontSize(text.raw, index) * abs(matrix.d)


@pytest.mark.parametrize(
    ("envelope", "lines", "least"),
    [
        # Four lines 11.5 points apart have room in a #10 folded at 3.9 in.
        ("#10", ("7 Larch Close", "Top floor", "Millbrook Falls, CO 80000"), 9.5),
        # The post reads eight points or more.
        ("#10", ("Flat 3", "7 Larch Close", "Top floor", "Millbrook Falls, CO 80000"), 8),
        ("DIN 5008 A", ("Flat 3", "7 Larch Close", "Back", "Up", "Millbrook Falls", "USA"), 10),
    ],
)
def test_an_address_is_as_large_as_its_window_lets_it(
    envelope: str,
    lines: tuple[str, ...],
    least: float,
    practice: Practice,
    visits: dict[str, Visit],
) -> None:
    desk = at_work(practice, envelope)
    page = desk.page("nothing-seen", living_at(suited(visits["en"], "nothing-seen"), lines))
    first, bare = sheets([page])[0], sheets([blanked(page)])[0]
    left, top, right, bottom = PUBLISHED[envelope].always
    assert_inside(
        differing(first, bare), (left + CLEAR, top + CLEAR, right - CLEAR, bottom - CLEAR)
    )
    found = list(letters_in([page], PUBLISHED[envelope].always))
    words = "".join(char for char, _ in found if not char.isspace())
    for line in (visits["en"].person.name, *lines):
        assert line.replace(" ", "") in words
    sizes = {round(size, 1) for char, size in found if char.isalnum()}
    assert len(sizes) == 1
    assert least <= sizes.pop() <= 12


@pytest.mark.parametrize(
    ("envelope", "lines"),
    [
        ("#10", ("Flat 3", "7 Larch Close", "Back house", "Top floor", "Millbrook Falls")),
        ("#10", ("The House Behind the Long Row of Very Old Larches Beside the Mill", "Millbrook")),
        ("DIN 5008 B", ("A very long line " * 5, "Millbrook Falls")),
    ],
)
def test_an_address_that_does_not_fit_stops_the_letter(
    envelope: str, lines: tuple[str, ...], practice: Practice, visits: dict[str, Visit]
) -> None:
    page = at_work(practice, envelope).page(
        "nothing-seen", living_at(suited(visits["en"], "nothing-seen"), lines)
    )
    with pytest.raises(PaperProblem, match="too many lines, or too long ones") as caught:
        write([page], "pdf")
    assert envelope in caught.value.found
    # Only the printed letter promises the place.
    for file_format in ("docx", "html", "txt"):
        assert write([page], file_format)


def test_who_has_too_long_an_address_is_named_and_the_others_are_printed(
    practice: Practice, tmp_path: Path
) -> None:
    file = tmp_path / "day.csv"
    rows = "Ana,2026-11-25,yes,7 Larch Close | Millbrook\nBo,2026-11-25,yes,a | b | c | d | e | f\n"
    file.write_text(f"name,visit day,nothing dark,address\n{rows}Cy,2026-11-25,yes,\n", "utf-8")
    out = tmp_path / "out.pdf"
    result = day(at_work(practice, "#10"), file, ["nothing-seen"], out)
    assert result.printed == ("Ana", "Cy")
    assert [(one.name, one.line) for one in result.left_out] == [("Bo", 3)]
    assert "too many lines" in result.left_out[0].problem.found
    # The desk's list goes into no envelope.
    document = pypdfium2.PdfDocument(out)
    marked = [
        bool(strokes(one.render(scale=DPI / 72).to_pil().convert("L"), 7)) for one in document
    ]
    assert marked[0] is False
    assert sum(marked) == 1


def test_the_desks_own_list_carries_nobodys_address(
    practice: Practice, visits: dict[str, Visit]
) -> None:
    page = letter(practice, visits, "#10")
    assert page.address
    assert cover(page, Day("a day", [Given(1, "Ana", "English", ("letter",), 1)])).address == ()


@pytest.mark.parametrize("envelope", ENVELOPES)
@pytest.mark.parametrize("large", [False, True])
def test_a_long_letterhead_stays_out_of_the_window(
    envelope: str, large: bool, practice: Practice, visits: dict[str, Visit]
) -> None:
    lines = ("The Old Mill House", "14 Juniper Lane, Suite 2", "Millbrook Falls, CO 80000", "USA")
    desk = at_work(practice, envelope, address=Address(lines=lines))
    page = desk.page(
        "missed-visit",
        living_at(suited(visits["en"], "missed-visit"), ADDRESSES["en"]),
        "en",
        large,
    )
    bare = sheets([blanked(page)])[0]
    assert ink(bare.crop(dots(PUBLISHED[envelope].swept))) is None
    words = pypdfium2.PdfDocument(write([page], "pdf"))[0].get_textpage().get_text_bounded()
    assert all(line in " ".join(words.split()) for line in lines)


def test_a_letterhead_that_cannot_stay_out_of_the_window_stops_the_letter(
    practice: Practice, visits: dict[str, Visit]
) -> None:
    desk = at_work(practice, "DIN 5008 A", name="The Practice of Many Names " * 12)
    page = desk.page(
        "missed-visit", living_at(suited(visits["en"], "missed-visit"), ADDRESSES["en"])
    )
    with pytest.raises(PaperProblem, match="too long to stand above the window"):
        write([page], "pdf")


@pytest.mark.parametrize(
    ("envelope", "tag", "large"), list(product(ENVELOPES, LANGUAGES, (False, True)))
)
def test_posted_letters_meet_every_rule_of_pdf_ua_1(
    envelope: str,
    tag: str,
    large: bool,
    practice: Practice,
    visits: dict[str, Visit],
    tmp_path: Path,
) -> None:
    # ISO 14289-1:2014 as the Matterhorn Protocol's rules in page-validation (104 rules).
    file = tmp_path / "letter.pdf"
    page = letter(practice, visits, envelope, tag, "dark-area", large)
    file.write_bytes(write([page], "pdf"))
    report = page_validation.validate_pdf(
        str(file), profile="ua1", limits=page_validation.SafetyLimits.unlimited()
    )
    assert [failure.message for failure in report.failures] == []
    assert report.is_compliant


@pytest.mark.parametrize("tag", LANGUAGES)
def test_other_formats_have_the_address_between_letterhead_and_title(
    tag: str, practice: Practice, visits: dict[str, Visit]
) -> None:
    page = letter(practice, visits, "#10", tag)
    lines = [visits[tag].person.name, *ADDRESSES[tag]]
    assert [plain(line) for line in page.address] == lines
    word = [one.text for one in Document(BytesIO(write([page], "docx"))).paragraphs]
    bare = ["".join(c for c in one if c not in "\u200e\u200f") for one in word]
    assert "\n".join(lines) in bare
    assert bare.index("\n".join(lines)) < bare.index(page.title)
    text = "".join(c for c in write([page], "txt").decode() if c not in "\u2066\u2067\u2068\u2069")
    block = "\n".join(["", *lines, ""])
    assert text.count(block) == 1
    assert text.index(practice.address.lines[0]) < text.index(block) < text.index(page.title)
    html = write([page], "html").decode()
    start = html.index('class="address"')
    assert html.index('class="letterhead"') < start
    places = [html.index(f">{line}</bdi>", start) for line in lines]
    assert places == sorted(places)
    assert places[-1] < html.index("<h1>")


def test_who_gets_no_address_on_the_paper(practice: Practice, visits: dict[str, Visit]) -> None:
    desk = at_work(practice, "#10")
    there = living_at(suited(visits["en"], "missed-visit"), ADDRESSES["en"])
    assert desk.page("missed-visit", there).envelope == "#10"
    # Nobody told us where the person lives; the practice posts nothing; the paper is handed out.
    assert desk.page("missed-visit", suited(visits["en"], "missed-visit")).address == ()
    assert Desk(practice, WEDNESDAY).page("missed-visit", there).address == ()
    for name in sorted(set(CATALOGUE) - set(POSTED)):
        page = desk.page(name, living_at(visits["en"], ADDRESSES["en"]))
        assert (page.address, page.envelope) == ((), "")
    assert all(
        not one.exposed and one.shape == "sheet" for one in map(CATALOGUE.get, POSTED) if one
    )


def test_numbers_of_an_address_are_traced_to_the_visit(
    practice: Practice, visits: dict[str, Visit]
) -> None:
    page = letter(practice, visits, "#10")
    assert ("7 Larch Close", "visit", "7 Larch Close") in trace(page)


@pytest.mark.parametrize(
    ("envelope", "size", "says"),
    [
        ("DIN 5008 A", "letter", "is for the paper size 'a4', and paper_size is 'letter'"),
        ("DIN 5008 B", "letter", "is for the paper size 'a4', and paper_size is 'letter'"),
        ("#10", "a4", "is for the paper size 'letter', and paper_size is 'a4'"),
        ("C5", "a4", "'post.envelope'"),
    ],
)
def test_an_envelope_that_does_not_go_with_the_paper_is_refused(
    envelope: str, size: str, says: str, tmp_path: Path
) -> None:
    demo = (paths.templates() / "demo" / "practice.toml").read_text("utf-8")
    text = demo.replace('paper_size = "letter"', f'paper_size = "{size}"')
    file = tmp_path / "practice.toml"
    file.write_text(f'{text}\n[post]\nenvelope = "{envelope}"\n', "utf-8")
    with pytest.raises(SettingsProblem) as caught:
        read_practice(file)
    assert says in caught.value.found


def test_the_settings_that_init_writes_tell_of_envelopes(tmp_path: Path) -> None:
    start = (paths.templates() / "start" / "practice.toml").read_text("utf-8")
    text = start.replace("# [post]", "[post]").replace("# envelope", "envelope")
    file = tmp_path / "practice.toml"
    file.write_text(text, "utf-8")
    post = read_practice(file).post
    assert post is not None
    assert post.envelope == "#10"
    assert all(name in start for name in ENVELOPES)
