"""A language tried out: each message by the lists of words, each paper as its branches make it.

Nothing is written. The people are those of the demo, with what was found changed in every way on
which a paper branches; the practice is the office's own.
"""

import re
from collections.abc import Iterable, Iterator
from datetime import date, time
from functools import cache
from pathlib import Path

from babel import Locale

from plainleaf import paths
from plainleaf.desk.acts import Desk, alone, demo_visit
from plainleaf.errors import LanguageProblem, Problem
from plainleaf.evidence.tables import load
from plainleaf.language.catalogs import SOURCE
from plainleaf.language.exchange import Fault, Message, Texts
from plainleaf.language.extraction import in_source
from plainleaf.language.marks import Language
from plainleaf.language.texting import FORMS, day_forms
from plainleaf.office.practice import Practice
from plainleaf.office.results import Results
from plainleaf.office.visits import Visit
from plainleaf.papers.allowed import Key, Use, problems_of, uses
from plainleaf.papers.catalogue import PAPERS, Paper
from plainleaf.papers.privacy import MOST_CHARACTERS
from plainleaf.writers.message import encoding, parts, plain_typography

_RESULTS = Results(
    *(date(2025, 1, 7), date(2026, 6, 30), 40),
    *(22, 6, 8, 4, 9, 7, 5, 1),
)
"""Invented counts, so that the sentences on a practice's own results are composed as well."""

_OUTCOMES = ("gone", "smaller", "still there")
_URGENCIES = ("routine", "prompt", "urgent")
_GUARDIAN = {"name": "Ilse Whitlock", "relationship": "parent"}
_NAME = "A practice of this length"
"""A name of usual length, where the texts alone are looked at."""


@cache
def _uses() -> dict[Key, Use]:
    return uses(paths.templates() / "papers", tuple(load().positions))


def faults_in_words(
    messages: Iterable[Message], texts: Texts, tongue: Language, extra: Path | None
) -> list[Fault]:
    """What the messages say that they may not say where they stand, and which are too long."""
    folder = extra or paths.locales()
    messages = list(messages)
    found = [
        Fault(message, what)
        for message in messages
        if message.key in texts
        for what in problems_of(
            _uses()[message.key], message.english[-1], texts[message.key], tongue, folder
        )
    ]
    return [*found, *_too_long_to_send(messages, texts, tongue)]


def _too_long_to_send(messages: list[Message], texts: Texts, tongue: Language) -> Iterator[Fault]:
    sent = _sent(messages, texts, tongue)
    whole = " ".join(sent.values())
    if len(whole) > MOST_CHARACTERS:
        longest = max(sent, key=lambda one: len(sent[one]) / len(one.english[0]))
        yield Fault(
            longest,
            f"the text message has {len(whole)} letters with it; {MOST_CHARACTERS} are the most",
        )


def parts_to_send(messages: Iterable[Message], texts: Texts, tongue: Language) -> tuple[str, ...]:
    """A remark when single letters make a text message of Latin letters cost more than one part."""
    whole = " ".join(_sent(list(messages), texts, tongue).values())
    if tongue.script != "Latn" or encoding(whole) == "GSM-7" or parts(whole) < 2:
        return ()
    rare = sorted({char for char in whole if encoding(char) != "GSM-7"})
    return (
        f"the text message goes out in {parts(whole)} parts, since telephones count"
        f" {', '.join(rare)} double",
    )


def _sent(messages: list[Message], texts: Texts, tongue: Language) -> dict[Message, str]:
    """The texts of a text message that have come so far, with values of usual length in them."""
    source = (paths.templates() / "papers" / "reminder-text.xml").read_text("utf-8")
    body = re.sub("<h1>.*?</h1>", "", source)
    keys = {(context, str(message)) for context, message, _ in in_source(body.encode(), "")}
    values = {
        "practice": _NAME,
        "day": day_forms(tongue, date(2026, 11, 25))[FORMS[-1]],
        "time": tongue.clock(time(10, 30)),
        "phone": "(303) 555-0142",
    }
    return {
        one: plain_typography(
            re.sub(r"%\((\w+)\)s", lambda name: values.get(name[1], ""), texts[one.key][0])
        )
        for one in messages
        if one.key in keys and one.key in texts
    }


def papers_that_fail(tag: str, practice: Practice, home: Path | None) -> list[str]:
    """Papers that may not leave in a language, or cannot be set, each with what was found."""
    drafts = practice.forms.model_copy(update={"allow_draft_translations": True})
    desk = Desk(practice.model_copy(update={"forms": drafts}), date.today(), home)
    with_results = Desk(desk.practice, desk.today, home)
    with_results.results = _RESULTS
    found: list[str] = []
    for one in PAPERS.values():
        for at_work, visit in _branches(one, desk, with_results):
            try:
                at_work.page(one.id, visit, tag)
            except Problem as problem:
                found.append(f"{one.id}: {problem.found}")
    return [*dict.fromkeys(found), *_pages_not_set(tag, desk)]


def _branches(one: Paper, desk: Desk, with_results: Desk) -> Iterator[tuple[Desk, Visit]]:
    """A visit for each way on which a paper branches."""
    visit = demo_visit(one, SOURCE, desk.today)
    yield desk, visit
    if visit.finding is None:
        return
    yield with_results, visit.model_copy(update={"missed_rechecks": 3})
    for outcome, urgency in zip(_OUTCOMES, _URGENCIES, strict=True):
        told = {**visit.model_dump(), "recheck_outcome": {"found": outcome, "day": visit.day}}
        told["finding"]["urgency"] = urgency
        yield desk, Visit.model_validate(told)
    yield desk, visit.model_copy(update={"missed_rechecks": 2})
    for outcome, plan in (("still there", "re-check"), ("smaller", "refer now")):
        told["finding"] |= {"likely_cause": "denture", "plan": "re-check"}
        told["recheck_outcome"] = {"found": outcome, "day": visit.day, "plan": plan}
        told["person"]["guardian"] = _GUARDIAN
        yield desk, Visit.model_validate(told)


def _pages_not_set(tag: str, desk: Desk) -> Iterator[str]:
    """Cards that are too full, and a script that no font of ours has."""
    for one in PAPERS.values():
        if one.shape != "card" and one.id != "introduction":
            continue
        try:
            alone(desk.page(one.id, demo_visit(one, SOURCE, desk.today), tag), None, "pdf")
        except LanguageProblem as problem:
            yield f"{one.id}: {_without_font(problem, tag, desk)}"
        except Problem as problem:
            yield f"{one.id}: {problem.found}"


def _without_font(problem: LanguageProblem, tag: str, desk: Desk) -> str:
    script = desk.words(tag).language.script
    name = Locale.parse("en").scripts.get(script, script)
    if "is in none of the fonts" not in problem.found or script in ("Latn", "Grek", "Cyrl"):
        return f"{problem.found} {problem.do}"
    return (
        f"no font for the script {name} travels with Plainleaf, and an office cannot add one."
        " A PDF cannot be made; DOCX, HTML and text can, with the fonts of the computer."
    )
