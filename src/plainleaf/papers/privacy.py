"""What anybody may see on a card, a message or in a code: names and times of a visit, no more."""

import re
from urllib.parse import urlsplit

from plainleaf.errors import PaperProblem
from plainleaf.office.plans import comes_next
from plainleaf.papers.blocks import (
    Code,
    Fields,
    Figure,
    Isolate,
    Link,
    Moment,
    Page,
    Paragraph,
    flat,
    plain,
    runs,
    walk,
)
from plainleaf.papers.order import Order
from plainleaf.papers.subject import Subject

MOST_CHARACTERS = 160
"""The longest text message (47 CFR 64.1200(a)(9)(iv)(D))."""

_DIALLED = re.compile(r"tel:\+?\d{2,15}")
_HOURS = re.compile(r"\d\d:\d\d/\d\d:\d\d")


def only_what_a_reminder_needs(subject: Subject) -> None:
    """PR-02 PR-05: of the person the called name, of the visit day and time; else the practice."""
    if subject.order is None:
        return
    known, moments = _practice_and_name(subject.order), _times(subject.order)
    page = subject.page
    shown = [run for block in subject.blocks for run in runs(block)]
    for inline in (one for run in (*shown, *page.letterhead) for one in flat(run)):
        told = isinstance(inline, Isolate) and inline.text not in known
        dated = isinstance(inline, Moment) and not _may_stand(inline.iso, moments)
        if told or dated or isinstance(inline, Figure):
            raise _too_much(subject, plain((inline,)))
    _foot_tells_nothing(subject)


def _practice_and_name(order: Order) -> set[str]:
    practice, phones = order.practice, order.practice.phones
    numbers = [phones.desk, *((phones.out_of_hours,) if phones.out_of_hours else ())]
    website = practice.links.website.removeprefix("https://").rstrip("/")
    known = {practice.name, practice.called, website, phones.emergency, *practice.address.lines}
    known |= {practice.national(number) for number in numbers}
    if order.visit:
        known.add(order.visit.person.called or order.visit.person.name)
    return known


def _times(order: Order) -> set[str]:
    when = comes_next(order.visit, order.today) if order.visit else None
    if when is None:
        return set()
    return {when.date().isoformat(), f"{when:%H:%M}", when.isoformat(timespec="minutes")}


def _may_stand(iso: str, moments: set[str]) -> bool:
    return iso in moments or bool(_HOURS.fullmatch(iso))


def _foot_tells_nothing(subject: Subject) -> None:
    for inline in flat(subject.page.foot):
        personal = isinstance(inline, Isolate) and inline.origin == "visit"
        other_day = isinstance(inline, Moment) and inline.iso != subject.page.day
        if personal or other_day:
            raise _too_much(subject, plain((inline,)))


def _too_much(subject: Subject, shown: str) -> PaperProblem:
    return PaperProblem(
        f"{subject.where} shows '{shown[:40]}', which is more than a reminder needs.",
        "Anybody may see this surface: it may carry the name somebody goes by, the practice, its"
        " phones, and the day and time of the visit.",
        "Take it out of the template.",
    )


def addresses_tell_nothing(subject: Subject) -> None:
    """PR-14 PR-15: links and codes are whole addresses, without a query or a person in them."""
    for block in subject.blocks:
        if isinstance(block, Code):
            _public(subject, block.payload)
    for inline in subject.inlines:
        if isinstance(inline, Link):
            _public(subject, inline.href)


def _public(subject: Subject, address: str) -> None:
    parts = urlsplit(address)
    bare = not (parts.query or parts.fragment or "?" in address)
    web = parts.scheme == "https" and bool(parts.hostname) and "@" not in parts.netloc
    mailed = parts.scheme == "mailto" and bool(parts.path)
    dialled = bool(_DIALLED.fullmatch(address))
    if not (dialled or (bare and (web or mailed))) or _personal(subject.order, address):
        raise PaperProblem(
            f"{subject.where} leads to '{address[:60]}'.",
            "Others see an address and machines keep it, so it may tell nothing of a person.",
            "Use the practice's plain https address, without '?', '#' or anything personal.",
        )


def _personal(order: Order | None, address: str) -> bool:
    """Whether a web address holds the record number or a name; not the practice's own address."""
    if order is None or order.visit is None or address.startswith(("tel:", "mailto:")):
        return False
    own = order.practice.links.website
    person = order.visit.person
    names = [*(person.called or "").split(), *person.name.split(), person.record or ""]
    rest = address.removeprefix(own).casefold()
    return any(len(name) > 1 and name.casefold() in rest for name in names)


def length(page: Page) -> int:
    """How many characters the text message of a page has."""
    found = [
        plain(run)
        for block in walk(page.blocks)
        if isinstance(block, Paragraph | Fields)
        for run in runs(block)
    ]
    return len(" ".join(" ".join(found).split()))


def short_enough(subject: Subject) -> None:
    """PR-08 SM-07: a text message has at most 160 characters."""
    found = length(subject.page)
    if found > MOST_CHARACTERS:
        raise PaperProblem(
            f"{subject.where} is {found} characters long.",
            f"A text message about a visit may have {MOST_CHARACTERS} characters.",
            "Set a short name for texts in practice.toml, as 'called' under [reminders].",
        )
