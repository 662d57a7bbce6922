"""Languages that an office brings or adds to, and what a translator's editor does to a file."""

import re
import unicodedata
from pathlib import Path
from shutil import copytree

import pytest

from plainleaf import paths
from plainleaf.desk import Desk, translations
from plainleaf.desk.acts import demo_visit
from plainleaf.errors import LanguageProblem, OutputProblem, PaperProblem
from plainleaf.evidence.tables import Tables
from plainleaf.language import phrases
from plainleaf.language.catalogs import available, begun, catalog
from plainleaf.language.exchange import Message, messages_of, texts_of
from plainleaf.language.extraction import wanted
from plainleaf.language.locales import language
from plainleaf.language.xliff import from_xliff, to_xliff
from plainleaf.office.practice import Practice
from plainleaf.office.visits import Visit
from plainleaf.papers.allowed import problems_of, uses
from plainleaf.papers.catalogue import PAPERS
from plainleaf.papers.checks import exposed_words
from plainleaf.papers.compose import Order, compose
from plainleaf.papers.phrasing import lines

ES = language("es")
NEXT = "Your next visit"


@pytest.fixture(autouse=True)
def _fresh() -> None:
    """Each test has an office of its own, and catalogs are remembered by their folder."""
    catalog.cache_clear()
    language.cache_clear()


@pytest.fixture
def office(tmp_path: Path) -> Path:
    (tmp_path / "practice.toml").write_bytes(
        (paths.templates() / "demo" / "practice.toml").read_bytes()
    )
    return tmp_path


@pytest.fixture(scope="module")
def messages(evidence: Tables) -> list[Message]:
    return messages_of(wanted(paths.templates() / "papers", evidence.positions))


def ours(tag: str) -> str:
    return (paths.locales() / tag / "LC_MESSAGES" / "plainleaf.po").read_text("utf-8")


def sent_back(office: Path, content: str | bytes, name: str = "a.po") -> translations.Taken:
    file = office / name
    file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return translations.take("es", file, office)


# ---- what an office's folder may do to a language of ours ------------------------------------


def test_english_has_no_catalog_and_nothing_is_written_for_it(office: Path) -> None:
    for act in (
        lambda: translations.update_catalog("en", office),
        lambda: translations.send("en", office / "a.po", office),
        lambda: translations.take("en", office / "a.po", office),
    ):
        with pytest.raises(LanguageProblem, match="English has no catalog"):
            act()
    assert not (office / "locales").exists()


@pytest.mark.parametrize("tag", ["en", "es"])
def test_a_list_of_the_office_adds_to_ours_and_takes_nothing_away(
    tag: str, office: Path, practice: Practice
) -> None:
    folder = office / "locales" / tag
    folder.mkdir(parents=True)
    (folder / "exposed_words.txt").write_text("# remarks only\n", "utf-8")
    own = office / "locales"
    assert exposed_words(own, tag) == exposed_words(paths.locales(), tag)
    named = practice.model_copy(update={"name": "Juniper Oral Cancer & Cáncer Dental"})
    with pytest.raises(PaperProblem, match="health word"):
        Desk(named, folder=office).page(
            "reminder-card", demo_visit(PAPERS["reminder-card"], tag), tag
        )
    (folder / "exposed_words.txt").write_bytes("\ufeffjuniper\n".encode())
    exposed_words.cache_clear()
    assert "juniper" in exposed_words(own, tag)
    assert set(exposed_words(paths.locales(), tag)) < set(exposed_words(own, tag))


def test_a_list_without_a_word_is_refused_where_it_is_needed(office: Path) -> None:
    translations.update_catalog("so", office)
    with pytest.raises(PaperProblem, match="The list 'exposed_words' of 'so' is empty") as caught:
        lines(office / "locales", "so", "exposed_words", "A card could betray somebody.")
    assert "locales/so/exposed_words.txt" in caught.value.do


def test_a_list_that_is_no_text_is_a_known_problem(office: Path) -> None:
    folder = office / "locales" / "es"
    folder.mkdir(parents=True)
    (folder / "one_in.txt").write_bytes("más".encode("latin-1"))
    with pytest.raises(PaperProblem, match="cannot be read as UTF-8"):
        lines(office / "locales", "es", "one_in", "why")


def test_a_form_of_a_language_of_ours_has_our_lists_too(office: Path) -> None:
    made = translations.update_catalog("es-MX", office)
    assert not list(made.file.parents[1].glob("*.txt"))
    assert exposed_words(office / "locales", "es-MX") == exposed_words(paths.locales(), "es")


def test_a_language_that_is_only_begun_answers_nobody(office: Path, practice: Practice) -> None:
    made = translations.update_catalog("es-MX", office)
    assert "until it has texts, who reads 'es-MX' is given 'es'" in made.remarks
    own = office / "locales"
    assert "es-MX" in begun(own)
    assert available(own) == available()
    visit = demo_visit(PAPERS["reminder-card"], "es-MX")
    assert Desk(practice, folder=office).page("reminder-card", visit).language == "es"
    text = made.file.read_text("utf-8")
    made.file.write_text(text.replace(f'"{NEXT}"\nmsgstr ""', f'"{NEXT}"\nmsgstr "Su cita"'))
    assert "es-MX" in available(own)


def test_no_language_is_there_twice(office: Path) -> None:
    folder = office / "locales" / "en" / "LC_MESSAGES"
    folder.mkdir(parents=True)
    (folder / "plainleaf.po").write_text('msgid ""\nmsgstr ""\n\nmsgid "No"\nmsgstr "No"\n')
    assert available(office / "locales") == available()
    assert translations.matrix(office / "locales")[0] == available()


@pytest.mark.parametrize(
    ("asked", "tag"),
    [("SO", "so"), ("Spanish", "es"), ("pt-br", "pt-BR"), ("PT_br", "pt-BR"), ("qaa", "qaa")],
)
def test_a_language_is_named_as_lists_name_it(asked: str, tag: str, office: Path) -> None:
    assert translations.tag_for(asked, office) == tag


def test_one_of_ours_is_not_copied_into_the_office(office: Path) -> None:
    made = translations.update_catalog("fr", office)
    assert "it comes with Plainleaf, up to date; nothing was written" in made.remarks
    assert not (office / "locales").exists()


def test_texts_are_written_into_the_office_and_never_into_the_program(
    office: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = ours("es")
    taken = sent_back(office, before.replace('"Su próxima cita"', '"Su cita que viene"'))
    assert taken.file == office / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po"
    assert taken.taken == 1
    assert "Su cita que viene" in taken.file.read_text("utf-8")
    assert ours("es") == before
    # Without settings beside it, an installed program has no place for texts.
    monkeypatch.setattr(paths, "is_checkout", lambda: False)
    (office / "practice.toml").unlink()
    with pytest.raises(OutputProblem, match="no practice.toml"):
        translations.take("es", office / "a.po", office)


def test_a_catalog_in_the_office_may_have_any_header(office: Path) -> None:
    file = office / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po"
    file.parent.mkdir(parents=True)
    file.write_text(re.sub("nplurals=3;[^\\\\]*", "nplurals=2; plural=(n != 1);", ours("es")))
    words = catalog(ES, office / "locales")
    assert words.gettext(NEXT) == "Su próxima cita"
    assert phrases.weeks_or_days(words, 14, 28)[1:] == (2, 4)


def test_an_office_adds_the_words_of_a_country(office: Path) -> None:
    folder = office / "locales" / "es_ES"
    folder.mkdir(parents=True)
    (folder / "overlay.po").write_text(f'msgid "{NEXT}"\nmsgstr "La próxima cita"\n', "utf-8")
    words = catalog(language("es", "ES", office / "locales"), office / "locales")
    assert words.gettext(NEXT) == "La próxima cita"
    assert "gafas" in words.gettext("your glasses, if you read with them")
    plain = catalog(language("es", "ES"))
    assert plain.gettext(NEXT) == "Su próxima cita"


def test_the_check_looks_at_the_words_of_a_country_too(office: Path, practice: Practice) -> None:
    folder = office / "locales" / "es_US"
    folder.mkdir(parents=True)
    (folder / "overlay.po").write_text(f'msgid "{NEXT}"\nmsgstr "Su cita al %"\n', "utf-8")
    faults = translations.check("es", practice, office).faults
    assert any(f"'{NEXT}': a '%' that is no placeholder" in one for one in faults)


OWN = """
reviewed = false
name = "Examplish"
own_name = "Examplish"
numbers_like = "ja"
like = "ja"
months = ["a", "b", "c", "d", "e", "f", "g", "h", "i", "j", "k", "l"]
weekdays = ["m", "n", "o", "p", "q", "r", "s"]
and = "t"
[territories]
US = "u"
"""


def test_a_language_that_nobody_knows_is_told_of_in_its_own_file(office: Path) -> None:
    with pytest.raises(LanguageProblem) as caught:
        translations.update_catalog("qaa", office)
    assert "locales/qaa/locale.toml" in caught.value.do
    folder = office / "locales" / "qaa"
    folder.mkdir(parents=True)
    (folder / "locale.toml").write_text(OWN, "utf-8")
    language.cache_clear()
    head = translations.update_catalog("qaa", office).file.read_text("utf-8").split("\n\n")[0]
    assert head.startswith("# Examplish texts")
    assert "Language: qaa" in head
    assert "nplurals=1" in head


def test_a_script_without_a_font_is_told_by_its_name(office: Path, practice: Practice) -> None:
    translations.update_catalog("bn", office)
    file = office / "locales" / "bn" / "LC_MESSAGES" / "plainleaf.po"
    head, _, body = file.read_text("utf-8").partition("\n\n")
    said = re.sub(
        r'^msgid ((?:"[^\n]*"\n)+)(?:msgid_plural ((?:"[^\n]*"\n)+))?(?:msgstr[^\n]*\n)+',
        lambda one: (
            f"{one[0].split('msgstr')[0]}"
            + (
                f'msgstr[0] ""\n"কথা "\n{one[1]}msgstr[1] ""\n"কথা "\n{one[2]}'
                if one[2]
                else f'msgstr ""\n"কথা "\n{one[1]}'
            )
        ),
        body,
        flags=re.MULTILINE,
    )
    file.write_text(f"{head}\n\n{said}", "utf-8")
    for one in file.parents[1].glob("*.txt"):
        one.write_text("ক্যান্সার\n", "utf-8")
    faults = translations.check("bn", practice, office).faults
    assert faults
    assert all("no font for the script Bangla travels with Plainleaf" in one for one in faults)


# ---- what an editor does to a file -----------------------------------------------------------


@pytest.mark.parametrize(
    "change",
    [
        lambda text: re.sub(r"nplurals=3;[^\\]*", "nplurals=2; plural=(n != 1);", text),
        lambda text: text.split("\n\n", 1)[1],
        lambda text: text.replace("charset=utf-8", "charset=CHARSET"),
        lambda text: text.replace('"MIME', '"PO-Revision-Date: 2026-13-45 99:99+0000\\n"\n"MIME'),
        lambda text: text.encode("utf-16"),
        lambda text: text.replace("charset=utf-8", "charset=ISO-8859-1").encode("latin-1"),
        lambda text: unicodedata.normalize("NFD", text),
        lambda text: text.replace("\n", "\r\n"),
    ],
)
def test_a_header_and_an_encoding_are_forgiven(change: object, office: Path) -> None:
    assert callable(change)
    edited = ours("es").replace('"Su próxima cita"', '"Su cita que viene"')
    taken = sent_back(office, change(edited))
    assert (taken.taken, taken.faults) == (1, ())


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (ours("fr"), "a translation into 'fr', not 'es'"),
        ("", "there is no translation in it"),
        (ours("es").replace('"Su próxima cita"', '"Su próxima cita'), "no line of a PO file"),
        (b"\xff\x00\x01", "in no encoding"),
        ('msgstr "a"\n', "cannot be read"),
    ],
)
def test_what_cannot_be_forgiven_is_refused_and_nothing_written(
    content: str | bytes, said: str, office: Path
) -> None:
    with pytest.raises(LanguageProblem, match=said):
        sent_back(office, content)
    assert not (office / "locales").exists()


def test_a_form_of_the_language_in_a_country_is_taken_with_a_remark(office: Path) -> None:
    edited = ours("es").replace("Language: es", "Language: es_MX")
    taken = sent_back(office, edited.replace('"Su próxima cita"', '"Su cita que viene"'))
    assert taken.taken == 1
    assert taken.remarks == ("a.po says that it is 'es_MX'; it was taken as 'es'",)
    with pytest.raises(LanguageProblem, match="pt-PT"):
        from_xliff(
            b'<xliff xmlns="urn:oasis:names:tc:xliff:document:2.0" trgLang="pt-PT"/>',
            [],
            language("pt-BR"),
            "a.xlf",
        )


def changed(old: str, new: str) -> str:
    text = ours("es")
    assert old in text
    return text.replace(old, new, 1)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (changed(f'msgid "{NEXT}"', f'#, fuzzy\nmsgid "{NEXT}"'), "marked as unfinished"),
        (ours("es") + f'\nmsgid "{NEXT}"\nmsgstr "Otra"\n', "it stands there in two ways"),
        (
            changed(f'msgid "{NEXT}"', f'msgid "{NEXT}."'),
            "no paper: 'Your next visit.': it is none",
        ),
        (changed("Su próxima cita", "Su cita por el cáncer"), "the health word 'cáncer'"),
        (changed("Su próxima cita", "¡Su próxima cita!"), "calls out"),
        (changed("Su próxima cita", "Su cita " + "otra " * 20), "letters where there is room for"),
        (changed('STOP."\nmsgstr "', f'STOP."\nmsgstr "{"Gracias. " * 7}'), "are the most"),
        (
            changed("Una zona oscura", "La luz ve un cáncer. Una zona oscura"),
            "in banned_claims.txt",
        ),
    ],
)
def test_what_is_left_out_is_told_with_its_paper_and_message(
    content: str, said: str, office: Path
) -> None:
    taken = sent_back(office, content)
    assert taken.taken == 0
    told = [one for one in taken.faults if said in one]
    assert told
    assert re.match(r"[\w, -]+: '", told[0])


def test_english_left_in_place_is_remarked(office: Path) -> None:
    taken = sent_back(office, changed("Su próxima cita", NEXT))
    assert (taken.taken, taken.faults) == (1, ())
    assert taken.remarks == (f"1 texts are the English ones: '{NEXT}'",)


# ---- XLIFF -----------------------------------------------------------------------------------

FEE = Message(None, ("It costs %(fee)s. <strong>Ask</strong> yours.",), ("cost-notice",))
SAID = {FEE.key: ("Cuesta %(fee)s. <strong>Pregunte</strong>.",)}


def xliff() -> str:
    return to_xliff([FEE], SAID, ES).decode()


def test_a_value_is_known_by_its_number() -> None:
    bare = re.sub(r' (?:equiv|disp)="[^"]*"', "", xliff())
    assert 'equiv="' not in bare
    assert from_xliff(bare.encode(), [FEE], ES, "a.xlf").texts == SAID


def segments(*parts: tuple[str, str]) -> bytes:
    """The unit in several segments, each with its state, parted by what an editor ignores."""
    told = "<ignorable><source> </source></ignorable>".join(
        f"<segment{state}><source>x</source><target>{text}</target></segment>"
        for state, text in parts
    )
    return re.sub("<segment.*</segment>", told, xliff(), flags=re.DOTALL).encode()


FIRST = 'Cuesta <ph id="1"/>.'
SECOND = '<ph id="2"/>Pregunte<ph id="3"/>.'
DONE, BEGUN = ' state="reviewed"', ' state="initial"'


def test_a_unit_is_taken_whole_or_not_at_all() -> None:
    whole = from_xliff(segments((DONE, FIRST), (DONE, SECOND)), [FEE], ES, "a.xlf")
    assert whole.texts == SAID
    for half in (
        segments((DONE, FIRST), (BEGUN, SECOND)),
        segments((BEGUN, FIRST), (BEGUN, SECOND)),
        segments((DONE, FIRST), ("", SECOND)),
    ):
        back = from_xliff(half, [FEE], ES, "a.xlf")
        assert back.texts == {}
        assert back.unfinished == (FEE.english[0],)


def test_a_file_without_states_is_taken_as_finished_and_that_is_said() -> None:
    back = from_xliff(segments(("", FIRST), ("", SECOND)), [FEE], ES, "a.xlf")
    assert back.texts == SAID
    assert "all were taken as finished" in back.remarks[0]


def test_a_unit_that_is_none_of_ours_is_named() -> None:
    other = re.sub('unit id="[^"]*"', 'unit id="x1"', xliff()).encode()
    back = from_xliff(other, [FEE], ES, "a.xlf")
    assert back.texts == {}
    assert back.unknown[0].startswith("It costs")


# ---- every message by the lists --------------------------------------------------------------


def test_every_message_of_ours_keeps_to_the_lists(
    evidence: Tables, messages: list[Message]
) -> None:
    used = uses(paths.templates() / "papers", tuple(evidence.positions))
    assert used.keys() == {one.key for one in messages}
    for tag in available():
        tongue = language(tag)
        said = texts_of(catalog(tongue).messages) or {one.key: one.english for one in messages}
        for one in messages:
            forms = said[one.key]
            found = problems_of(used[one.key], one.english[-1], forms, tongue, paths.locales())
            assert found == [], (tag, one)


def test_where_a_message_stands_says_which_lists_hold(evidence: Tables) -> None:
    used = uses(paths.templates() / "papers", tuple(evidence.positions))
    assert used[None, NEXT].exposed
    assert used[None, "%(practice)s: appointment"].exposed
    assert not used[None, "cancer of the mouth or throat"].exposed
    risk = used[None, "Something can be missed, also when all looks normal."]
    assert risk.weighs
    assert "waiver_words" in risk.lists
    assert not used[None, "The price of your ordinary visit."].weighs


@pytest.mark.parametrize("name", [one.id for one in PAPERS.values() if one.exposed])
def test_every_phrase_on_an_exposed_paper_is_held_to_be_seen_by_all(
    name: str, practice: Practice, evidence: Tables, visits: dict[str, Visit]
) -> None:
    # What composing asks for, in a catalog that is asked by nobody else.
    words = catalog(ES)
    words._sound.clear()
    compose(
        Order(PAPERS[name], practice, visits["es"], "es", False, visits["es"].day, None, None),
        evidence,
        (),
    )
    used = uses(paths.templates() / "papers", tuple(evidence.positions))
    hidden = [message for context, message, _ in words._sound if not used[context, message].exposed]
    assert hidden == []


def test_the_check_sees_branches_and_messages_that_no_demo_visit_reaches(
    office: Path, practice: Practice
) -> None:
    copytree(paths.locales() / "es", office / "locales" / "es")
    file = office / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po"
    text = file.read_text("utf-8")
    title = re.search(r'msgid "%\(practice\)s: appointment"\nmsgstr "([^"]*)"', text)
    gone = re.search(r'msgid "infection"\nmsgstr "([^"]*)"', text)
    assert title and gone
    text = text.replace(title[1], title[1] + " por biopsia", 1)
    text = text.replace(gone[0], gone[0].replace(gone[1], "la luz ve un cáncer"), 1)
    file.write_text(text, "utf-8")
    faults = "\n".join(translations.check("es", practice, office).faults)
    assert "'%(practice)s: appointment': it carries the health word 'biops'" in faults
    assert "'infection': it says" in faults
