"""A paper's code: codes that were mistyped, and what changes which group."""

import hashlib
import re
import shutil
from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from conftest import LANGUAGES, WEDNESDAY, renamed, suited
from plainleaf import paths
from plainleaf.errors import PaperProblem
from plainleaf.evidence.tables import Tables
from plainleaf.language.catalogs import Review, catalog
from plainleaf.language.locales import language
from plainleaf.office.practice import Practice
from plainleaf.office.results import Results
from plainleaf.office.visits import Visit
from plainleaf.papers import covered
from plainleaf.papers.catalogue import PAPERS as CATALOGUE
from plainleaf.papers.code import ALPHABET, differing, read, stamp
from plainleaf.papers.compose import compose
from plainleaf.papers.order import Order
from plainleaf.papers.quoting import Figures
from plainleaf.papers.saying import of_paper
from plainleaf.papers.template import environment, template

FOLDER = paths.templates() / "papers"
SHAPE = re.compile(r"([0-9A-HJKMNP-TV-Z]{4}-){3}[0-9A-HJKMNP-TV-Z]")
HYPHENS = ["-", "\u2011", "\u2013", " ", ""]


def order(
    name: str, practice: Practice, visit: Visit | None = None, tag: str = "en", **more: object
) -> Order:
    return replace(
        Order(CATALOGUE[name], practice, visit, tag, False, WEDNESDAY),
        **more,  # type: ignore[arg-type]
    )


# ---- the code itself -------------------------------------------------------------------------


def test_the_signs_are_those_that_crockford_published() -> None:
    # crockford.com/base32.html: ten digits and 22 letters, without I, L, O and U, in this order.
    published = "0 1 2 3 4 5 6 7 8 9 A B C D E F G H J K M N P Q R S T V W X Y Z"
    assert published.split() == list(ALPHABET)


def test_a_group_is_the_first_twenty_bits_of_sha_256_of_canonical_json() -> None:
    # Worked out by hand: hexadecimal digits to bits, five bits a sign.
    digest = hashlib.sha256(b'{"a":1,"b":["\xc3\xa9"]}').hexdigest()
    bits = "".join(f"{int(sign, 16):04b}" for sign in digest[:5])
    signs = "".join(ALPHABET[int(bits[at : at + 5], 2)] for at in range(0, 20, 5))
    assert stamp({"b": ["é"], "a": 1}, 0, 0).startswith(f"{signs}-")


CODES = st.builds(stamp, st.integers(), st.text(), st.booleans())


@given(CODES, st.sampled_from(HYPHENS), st.booleans())
def test_a_code_is_read_as_people_write_it(code: str, hyphen: str, small: bool) -> None:
    assert SHAPE.fullmatch(code)
    typed = code.replace("-", hyphen).replace("0", "O").replace("1", "l")
    assert read(f" \u2066{typed.lower() if small else typed}\u2069 ") == code


def spoiled(code: str) -> set[str]:
    """Every code with one other sign, and every one with two signs in each other's places."""
    signs = code.replace("-", "")
    found = {signs[:at] + sign + signs[at + 1 :] for at in range(len(signs)) for sign in ALPHABET}
    for left, right in combinations(range(len(signs)), 2):
        swapped = list(signs)
        swapped[left], swapped[right] = swapped[right], swapped[left]
        found.add("".join(swapped))
    return found - {signs}


@pytest.mark.parametrize("seed", range(5))
def test_one_wrong_sign_or_two_exchanged_are_always_noticed(seed: int) -> None:
    for wrong in spoiled(stamp(seed, "x", None)):
        with pytest.raises(PaperProblem, match="last character does not fit"):
            read(wrong)


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("", "0 characters in place of 13"),
        ("7K2M-9QXT-0B4C", "12 characters in place of 13"),
        ("7K2M-9QXT-0B4C-VV", "14 characters"),
        ("7K2U-9QXT-0B4C-V", "'U' stands in no code"),
        ("7K2M-9QXT-0B4C-$", "'$' stands in no code"),
        ("../../etc", "'.' stands in no code"),
    ],
)
def test_what_is_no_code_is_told(typed: str, told: str) -> None:
    with pytest.raises(PaperProblem) as caught:
        read(typed)
    assert told in caught.value.found


# ---- which group covers what -----------------------------------------------------------------


def changed(one: Order, other: Order, tables: Tables, **more: object) -> tuple[str, ...]:
    """The groups in which two orders differ; ``more`` is for composing the second."""
    after = more.pop("evidence", tables)
    first, second = compose(one, tables), compose(other, after, **more)  # type: ignore[arg-type]
    names = differing(first.code, second.code)
    assert bool(names) == (first.code != second.code)
    return names


FACTS: dict[str, Callable[[Order], Order]] = {
    "a name": lambda o: replace(o, visit=renamed(o.visit, "Another")) if o.visit else o,
    "the day": lambda o: replace(o, today=WEDNESDAY.replace(day=26)),
    "large print": lambda o: replace(o, large_print=True),
    "the paper's size": lambda o: replace(
        o, practice=o.practice.model_copy(update={"paper_size": "a4"})
    ),
    "the practice's name": lambda o: replace(
        o, practice=o.practice.model_copy(update={"name": "Another Practice"})
    ),
}


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("fact", FACTS)
@pytest.mark.parametrize("name", ["consent", "dark-area", "missed-visit", "recheck-outcome"])
def test_a_changed_fact_changes_the_group_of_the_facts_alone(
    name: str,
    fact: str,
    tag: str,
    practice: Practice,
    visits: dict[str, Visit],
    evidence: Tables,
) -> None:
    before = order(name, practice, suited(visits[tag], name), tag)
    assert changed(before, FACTS[fact](before), evidence) == ("facts",)


def test_facts_that_choose_another_sentence_do_not_change_the_wording(
    practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    before = order("missed-visit", practice, suited(visits["es"], "missed-visit"), "es")
    last = suited(visits["es"], "missed-visit").model_copy(update={"missed_rechecks": 3})
    assert compose(before, evidence).blocks != compose(replace(before, visit=last), evidence).blocks
    assert changed(before, replace(before, visit=last), evidence) == ("facts",)


def test_settings_and_visits_that_a_paper_does_not_show_leave_its_code(
    practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    nobody = order("introduction", practice)
    assert changed(nobody, replace(nobody, visit=visits["en"]), evidence) == ()
    quiet = practice.model_copy(update={"reminders": None, "languages": ("en",)})
    assert changed(nobody, replace(nobody, practice=quiet), evidence) == ()


def test_own_results_count_only_where_they_are_printed(
    practice: Practice, visits: dict[str, Visit], evidence: Tables
) -> None:
    counts = Results(WEDNESDAY, WEDNESDAY, 20, 15, 2, 2, 1, 2, 2, 1, 1)
    letter = order("dark-area", practice, visits["en"])
    assert changed(letter, replace(letter, results=counts), evidence) == ("facts",)
    few = replace(counts, dark=19)
    assert changed(letter, replace(letter, results=few), evidence) == ()
    form = order("consent", practice, visits["en"])
    assert changed(form, replace(form, results=counts), evidence) == ()


def copied_locales(folder: Path, tag: str, old: str, new: str) -> Path:
    """The catalogs in another place, with one translation changed there."""
    shutil.copytree(paths.locales(), folder / "locales")
    file = folder / "locales" / tag / "LC_MESSAGES" / "plainleaf.po"
    text = file.read_text("utf-8")
    assert text.count(old) == 1
    file.write_text(text.replace(old, new), "utf-8")
    return folder / "locales"


@pytest.mark.parametrize("name", ["before-visit", "dark-area", "introduction", "reminder-card"])
def test_a_changed_translation_changes_the_wording_of_the_papers_that_may_use_it(
    name: str,
    practice: Practice,
    visits: dict[str, Visit],
    evidence: Tables,
    tmp_path: Path,
) -> None:
    # The heading of the contact part, which letters share and cards do not have.
    words = catalog(language("es"))
    message = next(
        text
        for _, text, _ in of_paper(template(FOLDER, "introduction"), CATALOGUE["introduction"], ())
        if text in (paths.templates() / "papers/parts/questions.xml").read_text("utf-8")
    )
    old = f'msgstr "{words.gettext(message)}"'
    folder = copied_locales(tmp_path, "es", old, old.replace('"', '"Nota: ', 1))
    mine = order(name, practice, suited(visits["es"], name), "es")
    expected = () if name == "reminder-card" else ("wording",)
    assert changed(mine, replace(mine, locales=folder), evidence) == expected
    english = order(name, practice, suited(visits["en"], name), "en")
    assert changed(english, replace(english, locales=folder), evidence) == ()


def test_a_changed_template_or_part_changes_the_wording_alone(
    practice: Practice, visits: dict[str, Visit], evidence: Tables, tmp_path: Path
) -> None:
    folder = tmp_path / "papers"
    shutil.copytree(paths.templates() / "papers", folder)
    mine = order("introduction", practice)
    assert changed(mine, mine, evidence, templates=folder) == ()
    part = folder / "parts" / "questions.xml"
    part.write_text(f"{part.read_text('utf-8')}\n", "utf-8")
    card = order("reminder-card", practice)
    environment.cache_clear()
    assert changed(mine, mine, evidence, templates=folder) == ("wording",)
    assert changed(card, card, evidence, templates=folder) == ()


def test_the_version_of_a_paper_and_a_signature_belong_to_the_wording(
    practice: Practice, evidence: Tables
) -> None:
    mine = order("before-visit", practice, tag="es")
    newer = replace(mine, paper=replace(mine.paper, version="2"))
    assert changed(mine, newer, evidence) == ("wording",)
    said = of_paper(template(FOLDER, "before-visit"), mine.paper, evidence.positions)
    text = catalog(language("es")).digest(said)
    signed = [Review("es", "before-visit", "Ana Roe", "invented", "2026-11-25", text)]
    assert changed(mine, mine, evidence, signatures=signed) == ("wording",)


@pytest.mark.parametrize("tag", ["en", "es"])
def test_a_changed_figure_source_or_position_changes_the_figures_alone(
    tag: str, practice: Practice, evidence: Tables
) -> None:
    mine = order("introduction", practice, tag=tag)
    page = compose(mine, evidence)
    used = covered.figures(_citations(mine, evidence))
    assert used["rows"], "the introduction words figures"
    for row in used["rows"]:
        nudged = [
            replace(one, high=one.value * 2, low=one.value) if one.id == row["id"] else one
            for one in evidence.figures
        ]
        other = replace(evidence, figures=tuple(nudged))
        assert changed(mine, mine, evidence, evidence=other) == ("figures",), row["id"]
    source = page.sources[0].source
    edition = replace(evidence.sources[source], edition="another edition")
    other = replace(evidence, sources={**evidence.sources, source: edition})
    assert changed(mine, mine, evidence, evidence=other) == ("figures",)
    ids = {one["id"] for one in used["positions"]}
    places = [replace(p, year=p.year - 1) if p.id in ids else p for p in evidence.positions]
    other = replace(evidence, positions=tuple(places))
    assert changed(mine, mine, evidence, evidence=other) == ("figures",)


def _citations(asked: Order, tables: Tables) -> covered.Citations:
    """What a page cites, caught where the figures' group is made."""
    caught: list[covered.Citations] = []
    real = covered.figures
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(covered, "figures", lambda one: caught.append(one) or real(one))
        compose(asked, tables)
    return caught[0]


def test_rows_that_no_paper_uses_and_notes_that_none_prints_leave_the_code(
    practice: Practice, evidence: Tables
) -> None:
    mine = order("introduction", practice)
    used = {row["id"] for row in covered.figures(_citations(mine, evidence))["rows"]}
    rows = tuple(
        replace(one, note="read once more", date_read=WEDNESDAY)
        if one.id in used
        else replace(one, locator="elsewhere")
        for one in evidence.figures
    )
    assert changed(mine, mine, evidence, evidence=replace(evidence, figures=rows)) == ()
    kept = tuple(one for one in evidence.figures if one.id in used)
    fewer = replace(evidence, figures=kept)
    assert len(kept) < len(evidence.figures)
    assert changed(mine, mine, evidence, evidence=fewer) == ()


def test_a_figure_that_decides_a_comparison_counts_without_being_printed(
    evidence: Tables,
) -> None:
    citations = covered.Citations(evidence)
    asked = Figures(evidence, catalog(language("en")), citations, "US", 2016)
    group = asked.newest(("deaths",), "mouth", beside="cervix")
    assert citations.rows == {}
    assert group.deaths_compared
    used = [(one.measure, one.site) for one in citations.rows.values()]
    assert sorted(used) == [("deaths", "cervix"), ("deaths", "oral-pharynx")]


def test_every_figure_on_a_page_is_among_its_rows(practice: Practice, evidence: Tables) -> None:
    mine = order("introduction", practice)
    rows = {row["id"] for row in covered.figures(_citations(mine, evidence))["rows"]}
    printed = re.findall(r"figure='([^']+)'", repr(compose(mine, evidence)))
    assert {one for text in printed for one in re.split(r" [-/] ", text)} == rows


def test_what_sets_the_pages_belongs_to_the_wording(
    practice: Practice, evidence: Tables, monkeypatch: pytest.MonkeyPatch
) -> None:
    mine = order("before-visit", practice)
    before = compose(mine, evidence).code
    monkeypatch.setattr(covered, "version", lambda _: "another")
    covered.machinery.cache_clear()
    assert differing(before, compose(mine, evidence).code) == ("wording",)
    monkeypatch.undo()
    covered.machinery.cache_clear()
    assert compose(mine, evidence).code == before
