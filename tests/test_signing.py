"""Signatures under texts: what is listed to be signed is what makes a paper no draft any more."""

from pathlib import Path

import pytest

from conftest import PAPERS, WEDNESDAY
from plainleaf.desk import Desk
from plainleaf.desk.acts import demo_visit
from plainleaf.desk.translations import (
    ReviewState,
    review_states,
    texts_to_sign,
    unreviewed_marks,
    whole_in,
)
from plainleaf.errors import LanguageProblem
from plainleaf.language.catalogs import SOURCE, available
from plainleaf.office.practice import Forms, Practice
from plainleaf.papers.blocks import Page, Section
from plainleaf.papers.catalogue import PAPERS as CATALOGUE

OVERLAID = (("es", "ES"), ("es", "US"), ("en", "GB"), ("en", "US"))


def signature(one: ReviewState) -> str:
    """The entry of a review under a text as it is listed."""
    return (
        f'[[review]]\nlanguage = "{one.language}"\npaper = "{one.paper}"\n'
        'reviewer = "Ada Poe"\nqualification = "certified"\nday = 2026-01-31\n'
        f'digest = "{one.digest}"\n'
    )


def signing(folder: Path, *texts: ReviewState) -> Path:
    """An office whose own folder has these signatures."""
    (folder / "locales").mkdir(exist_ok=True)
    (folder / "locales" / "reviews.toml").write_text("".join(map(signature, texts)), "utf-8")
    return folder


def is_draft(page: Page) -> bool:
    """Whether a page says of itself that it is a draft."""
    return any(isinstance(one, Section) and one.element == "draft-notice" for one in page.blocks)


@pytest.mark.parametrize("name", ["consent", "before-visit", "dark-area", "home-care"])
def test_what_is_listed_is_what_counts_in_each_country(
    name: str, practice: Practice, tmp_path: Path
) -> None:
    listed = [one for one in texts_to_sign("es") if one.paper == name]
    assert [one.language for one in listed] == ["es", "es-ES"]
    here, there = listed
    refusing = practice.model_copy(update={"forms": Forms(allow_draft_translations=True)})
    for country, own, other in (("US", here, there), ("ES", there, here), ("MX", here, there)):
        place = refusing.model_copy(update={"country": country})
        visit = demo_visit(CATALOGUE[name], "es")
        signed = Desk(place, WEDNESDAY, signing(tmp_path, own)).page(name, visit, "es")
        assert not is_draft(signed), country
        # The words of the one place are not those that somebody signed for the other.
        assert is_draft(Desk(place, WEDNESDAY, signing(tmp_path, other)).page(name, visit, "es"))


@pytest.mark.parametrize("tag", available())
def test_every_text_is_listed_once_and_has_one_digest_everywhere(tag: str) -> None:
    listed = texts_to_sign(tag)
    assert len({(one.paper, one.language) for one in listed}) == len(listed)
    assert {one.paper for one in listed} == set(PAPERS)
    states = {one.paper: one.digest for one in review_states(tag)}
    assert {one.paper: one.digest for one in listed if one.language == tag} == states


@pytest.mark.parametrize(("tag", "country"), OVERLAID)
def test_a_country_signs_one_of_the_texts_that_are_listed(tag: str, country: str) -> None:
    listed = {(one.paper, one.language, one.digest) for one in texts_to_sign(tag)}
    there = review_states(tag, None, country)
    assert {(one.paper, one.language, one.digest) for one in there} <= listed


def test_english_says_whether_a_clinician_has_read_it(tmp_path: Path) -> None:
    listed = [one for one in texts_to_sign(SOURCE) if one.paper == "consent"]
    assert {one.state for one in texts_to_sign(SOURCE)} == {"source, not reviewed"}
    own = signing(tmp_path, listed[0]) / "locales"
    states = {one.paper: one for one in review_states(SOURCE, own)}
    assert states["consent"].state == "signed"
    assert states["consent"].signed_by == "Ada Poe, certified, 2026-01-31"
    assert states["options"].state == "source, not reviewed"


def test_a_language_is_listed_by_any_of_its_names(tmp_path: Path) -> None:
    assert texts_to_sign("Spanish") == texts_to_sign("es")
    with pytest.raises(LanguageProblem, match="no translation into 'tlh'"):
        texts_to_sign("tlh")
    for tag in available():
        assert unreviewed_marks(tag) == ("ht/locale.toml" if tag == "ht" else "")
    assert set(whole_in()) == set(PAPERS)


@pytest.mark.parametrize(
    "content",
    [
        b"[[review]]\nlanguage = ",
        b"[[review]]\nlanguage = 'es'\n",
        b"review = 3\n",
        b"[[review]]\nname = 'x'\nday = 2026-01-31\n",
        b"# Mar\xeda\n",
    ],
)
def test_signatures_that_cannot_be_read_stop(
    content: bytes, practice: Practice, tmp_path: Path
) -> None:
    file = signing(tmp_path) / "locales" / "reviews.toml"
    file.write_bytes(content)
    with pytest.raises(LanguageProblem, match=r"reviews\.toml cannot be read"):
        Desk(practice, WEDNESDAY, tmp_path).page("introduction", None, "es")
