"""Translations sent out and taken back: nothing lost, nothing harmed taken, every fault named."""

import re
import subprocess
import sys
from pathlib import Path
from shutil import copytree

import pytest
from babel.messages.pofile import read_po
from translate.storage import po, xliff2

from conftest import LANGUAGES
from plainleaf import paths
from plainleaf.desk import translations
from plainleaf.errors import LanguageProblem, OutputProblem
from plainleaf.evidence.tables import Tables
from plainleaf.language.catalogs import catalog
from plainleaf.language.exchange import Message, from_po, messages_of, returned, texts_of
from plainleaf.language.extraction import updated, wanted
from plainleaf.language.locales import language
from plainleaf.language.xliff import from_xliff, to_xliff
from plainleaf.office.practice import Practice

TRANSLATED = [tag for tag in LANGUAGES if tag != "en"]


@pytest.fixture(scope="session")
def messages(evidence: Tables) -> list[Message]:
    return messages_of(wanted(paths.templates() / "papers", evidence.positions))


@pytest.mark.parametrize("tag", TRANSLATED)
def test_what_goes_out_as_xliff_comes_back_the_same(tag: str, messages: list[Message]) -> None:
    tongue = language(tag)
    texts = texts_of(catalog(tongue).messages)
    sent = to_xliff(messages, texts, tongue)
    back = from_xliff(sent, messages, tongue, "a.xlf")
    assert back.texts == texts
    assert not (back.unfinished or back.unknown or back.twice or back.remarks)
    assert returned(messages, texts, tongue) == (texts, [])


@pytest.mark.parametrize("tag", TRANSLATED)
def test_another_library_reads_our_xliff(tag: str, messages: list[Message]) -> None:
    # The Translate Toolkit reads XLIFF 2 as editors do.
    texts = texts_of(catalog(language(tag)).messages)
    sent = to_xliff(messages, texts, language(tag))
    units = [one for one in xliff2.Xliff2File.parsestring(sent).units if one.source]
    forms = sum(len(forms) for forms in texts.values())
    assert len(units) == forms
    plain = {str(one.source): str(one.target) for one in units}
    assert plain["Your next visit"] == texts[None, "Your next visit"][0]
    assert len({one.getid() for one in units}) == len(units)


def test_values_and_tags_are_kept_whole_for_the_translator(messages: list[Message]) -> None:
    sent = to_xliff(messages, {}, language("es")).decode()
    assert 'equiv="%(fee)s"' in sent
    assert 'equiv="&lt;strong&gt;"' in sent
    bodies = re.findall(r"<source>(.*?)</source>", sent, re.DOTALL)
    assert not any("%(" in re.sub(r"<ph [^>]*>", "", body) for body in bodies)
    assert sent.count('state="initial"') == sent.count("<segment")


@pytest.mark.parametrize("tag", TRANSLATED)
def test_a_po_file_from_another_editor_is_taken(tag: str, messages: list[Message]) -> None:
    # Saved again by the Translate Toolkit: other line breaks, other header; then CRLF and a mark.
    file = paths.language_folder(tag) / "LC_MESSAGES" / "plainleaf.po"
    again = bytes(po.pofile.parsestring(file.read_bytes()))
    edited = b"\xef\xbb\xbf" + again.replace(b"\n", b"\r\n")
    found = from_po(edited, messages, language(tag), "a.po")
    assert found.texts == texts_of(catalog(language(tag)).messages)
    assert not (found.unfinished or found.unknown or found.twice or found.remarks)


def test_an_unfinished_text_is_not_taken(messages: list[Message]) -> None:
    content = b'msgid "Plan"\nmsgstr "Plano"\n\n#, fuzzy\nmsgid "Place"\nmsgstr "Lugar"\n'
    found = from_po(content, messages, language("es"), "a.po")
    assert found.texts == {(None, "Plan"): ("Plano",)}
    assert found.unfinished == ("Place",)


COUNTED = Message(None, ("%(n)s day", "%(n)s days"), ("phrases",))
FEE = Message(None, ("It costs %(fee)s. <strong>Ask</strong> yours.",), ("cost-notice",))


@pytest.mark.parametrize(
    ("message", "forms", "said"),
    [
        (FEE, ("Cuesta mucho. <strong>Pregunte</strong>.",), "its placeholders differ"),
        (FEE, ("Cuesta %(fee)s. Pregunte.",), "its tags differ"),
        (FEE, ("Cuesta %(fee)s por 2. <strong>Pregunte</strong>.",), "a number is typed"),
        (FEE, ("Cuesta %(fee)s. </strong>Pregunte<strong>.",), "not closed in their order"),
        (FEE, ("Cuesta %(fee)s %(fee)s. <strong>Pregunte</strong>.",), "its placeholders differ"),
        (FEE, ("Cuesta %(fee)s < más. <strong>Pregunte</strong>.",), "a bare '<' or '&'"),
        (FEE, ("Cuesta %(fee)s & más. <strong>Pregunte</strong>.",), "a bare '<' or '&'"),
        (FEE, ("Cuesta %(fee)s \u202emás. <strong>Pregunte</strong>.",), "nobody sees (U+202E)"),
        (FEE, ("Cuesta %(fee)s m\u00adás. <strong>Pregunte</strong>.",), "nobody sees (U+00AD)"),
        (FEE, ("Cuesta %(fee)s al % a. <strong>Pregunte</strong>.",), "a '%' that is no placeh"),
        (FEE, ("Cuesta %(fee)s. <strong>Pregunte</strong> a %",), "a '%' that is no placeholder"),
        (FEE, ("Cuesta %(fee)s % (fee)s. <strong>Pregunte</strong>.",), "a '%' that is no place"),
        (COUNTED, ("%(n)s día",), "it has 1 forms where 3 are needed"),
        (COUNTED, ("%(n)s día", "%(n)s días", ""), "a form is empty"),
    ],
)
def test_every_fault_names_paper_message_and_what_differs(
    message: Message, forms: tuple[str, ...], said: str
) -> None:
    sound, faults = returned([message], {message.key: forms}, language("es"))
    assert sound == {}
    told = str(faults[0])
    assert said in told
    assert told.startswith(f"{message.papers[0]}: '{message.english[0][:60]}'")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"<xliff", "cannot be read"),
        (b"<html/>", "it is no XLIFF 2 file"),
        (
            b'<xliff xmlns="urn:oasis:names:tc:xliff:document:2.0" trgLang="fr"/>',
            "a translation into 'fr', not 'es'",
        ),
        (b'<?xml version="1.0" encoding="CHARSET"?><xliff/>', "cannot be read"),
    ],
)
def test_what_is_no_file_of_ours_is_refused(content: bytes, said: str) -> None:
    with pytest.raises(LanguageProblem, match=said):
        from_xliff(content, [], language("es"), "a.xlf")


# ---- the command -----------------------------------------------------------------------------


@pytest.fixture
def office(tmp_path: Path) -> Path:
    """A practice that brings its own copy of Spanish."""
    (tmp_path / "practice.toml").write_bytes(
        (paths.templates() / "demo" / "practice.toml").read_bytes()
    )
    copytree(paths.locales() / "es", tmp_path / "locales" / "es")
    return tmp_path


def run(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    program = "from plainleaf.faces.cli import main; main()"
    return subprocess.run(
        [sys.executable, "-W", "error", "-c", program, "catalog", *words],
        cwd=folder,
        capture_output=True,
        text=True,
    )


@pytest.mark.parametrize("name", ["out.po", "out.xlf"])
def test_a_file_goes_out_is_changed_and_comes_back(name: str, office: Path) -> None:
    assert run(office, "es", "--send", name).returncode == 0
    file = office / name
    text = file.read_text("utf-8")
    old = "Su próxima cita" if name.endswith(".po") else "Su pr&#243;xima cita"
    assert old in text
    file.write_text(text.replace(old, "Su cita que viene", 1), "utf-8")
    done = run(office, "es", "--take", name)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith(f"1 texts taken from {name}; 0 are still empty.")
    assert "They are in locales/es/LC_MESSAGES/plainleaf.po." in done.stdout
    own = (office / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po").read_text("utf-8")
    assert "Su cita que viene" in own
    ours = (paths.locales() / "es" / "LC_MESSAGES" / "plainleaf.po").read_text("utf-8")
    assert "Su cita que viene" not in ours


def test_a_harmed_text_is_told_and_the_old_one_kept(office: Path) -> None:
    run(office, "es", "--send", "out.po")
    file = office / "out.po"
    text = file.read_text("utf-8")
    harmed = re.sub(r'(msgstr "[^"]*)%\(fee\)s', r"\g<1>35", text, count=1)
    assert harmed != text
    file.write_text(harmed, "utf-8")
    before = (office / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po").read_bytes()
    done = run(office, "es", "--take", "out.po")
    assert done.returncode == LanguageProblem.exit_code
    assert "its placeholders differ" in done.stdout
    assert "fee" in done.stdout
    assert (office / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po").read_bytes() == before


def test_the_check_names_words_that_a_paper_may_not_say(office: Path) -> None:
    file = office / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po"
    text = file.read_text("utf-8")
    file.write_text(text.replace('"Su próxima cita"', '"Su cita por el cáncer"', 1), "utf-8")
    done = run(office, "es", "--check")
    assert done.returncode == LanguageProblem.exit_code
    assert "reminder-card: 'reminder-card' in 'es' carries the health word" in done.stdout
    assert run(office, "ar", "--check").stdout == ""


def test_the_check_names_a_text_that_is_too_long_for_a_message(office: Path) -> None:
    file = office / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po"
    with file.open("rb") as stream:
        catalogue = read_po(stream, locale="es")
    entry = next(one for one in catalogue if "STOP" in str(one.id))
    longer = f"{entry.string} {'Gracias. ' * 20}"
    text = file.read_text("utf-8").replace(str(entry.string), longer)
    file.write_text(text, "utf-8")
    assert "reminder-text: " in run(office, "es", "--check").stdout


def test_the_table_has_every_language_and_paper(office: Path) -> None:
    done = run(office)
    assert done.returncode == 0, done.stderr
    assert "introduction" in done.stdout
    tags, rows = translations.matrix()
    assert tags[0] == "en"
    assert {row[1] for row in rows} == {"source, not reviewed"}
    assert {state for row in rows for state in row[2:]} == {"draft"}


def test_another_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OutputProblem):
        translations.send("es", tmp_path / "out.docx")


# ---- one language more -----------------------------------------------------------------------


def test_a_seventeenth_language_takes_one_command_and_a_catalog(
    office: Path, practice: Practice, evidence: Tables
) -> None:
    begun = run(office, "sw")
    assert begun.returncode == 0, begun.stderr
    folder = office / "locales" / "sw"
    assert (folder / "exposed_words.txt").exists()
    assert not (paths.locales() / "sw").exists()
    # An invented translation: the English text behind a word.
    file = folder / "LC_MESSAGES" / "plainleaf.po"
    needed = wanted(paths.templates() / "papers", evidence.positions)
    text = re.sub(
        r'^msgid ((?:"[^\n]*"\n)+)(msgid_plural ((?:"[^\n]*"\n)+))?((?:msgstr[^\n]*\n)+)',
        _echoed,
        updated(file, "sw", needed).decode(),
        flags=re.MULTILINE,
    )
    file.write_text(text, "utf-8")
    lacking = run(office, "sw", "--check")
    assert "The list 'exposed_words' of 'sw' is empty." in lacking.stdout
    assert lacking.returncode == LanguageProblem.exit_code
    for one in folder.glob("*.txt"):
        one.write_text("# invented\nsaratani\n", "utf-8")
    assert run(office, "sw", "--check").stdout == ""


def _echoed(found: re.Match[str]) -> str:
    one, more = found[1], found[3]
    if one == '""\n':
        return found[0]
    said, counted = ('""\n"Neno "\n' + text for text in (one, more or ""))
    if more is None:
        return f"msgid {one}msgstr {said}"
    return f"msgid {one}msgid_plural {more}msgstr[0] {said}msgstr[1] {counted}"


def test_a_deleted_message_stops_exactly_the_papers_that_use_it(
    office: Path, practice: Practice
) -> None:
    file = office / "locales" / "es" / "LC_MESSAGES" / "plainleaf.po"
    text = file.read_text("utf-8")
    gone = re.sub(r'msgid "Where it is"\nmsgstr "[^"]*"', 'msgid "Where it is"\nmsgstr ""', text)
    assert gone != text
    file.write_text(gone, "utf-8")
    failing = {
        line.split(":")[0].strip()
        for line in run(office, "es", "--check").stdout.splitlines()
        if "in 'es'" in line or "text 'Where it is'" in line
    }
    assert failing == {"dark-area"}
