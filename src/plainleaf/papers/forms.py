"""What a form must hold so that it can be signed, and found again later."""

from plainleaf.errors import PaperProblem
from plainleaf.papers.blocks import (
    Choices,
    Field,
    Fields,
    Inlines,
    Isolate,
    Link,
    Moment,
    Strong,
    Text,
    flat,
    plain,
    walk,
    words_of,
)
from plainleaf.papers.subject import Subject

_TICKS = frozenset("\u2611\u2612\u2705\u2713\u2714\u2715\u2716\u2717\u2718\u25a0\u25cf\u00d7[(")
"""Signs that look like a box that somebody has ticked already."""

SIGNATURE_LINES = 3
"""Signature, printed name, and date with time."""

FURTHER_OFFERS = 2
"""How often at least something advised is offered again."""

_USE = "use-"
_SIGNATURE = "signature-"


def choices_equal(subject: Subject) -> None:
    """CF-25: no box is ticked beforehand, and no choice stands out among the others."""
    for block in subject.blocks:
        if isinstance(block, Choices):
            for choice in block.choices:
                _plain_choice(subject, choice)


def _plain_choice(subject: Subject, choice: Inlines) -> None:
    words = plain(choice).strip()
    if words[:1] in _TICKS or any(isinstance(one, Strong) for one in choice):
        raise PaperProblem(
            f"{subject.where} has a choice that stands out: '{words[:60]}'.",
            "A box that is ticked or stressed beforehand decides for the reader.",
            "Write all choices alike, as plain text without a mark.",
        )


def decision_has_three_choices(subject: Subject) -> None:
    """CF-25: a decision can be yes, no, or more time."""
    for name in subject.asked_for_by("CF-25"):
        found = [block for block in walk(subject.parts[name]) if isinstance(block, Choices)]
        if [len({plain(one) for one in block.choices}) for block in found] != [3]:
            raise PaperProblem(
                f"{subject.where} does not offer three choices in '{name}'.",
                "Whoever needs more time would have to choose between yes and no.",
                "Offer yes, no and more time there, in one <choices>.",
            )


def signature_lines(subject: Subject) -> None:
    """CF-26 CF-27 RF-09 RF-10: a signature has empty lines for it, the printed name, the time."""
    for name in _begin(subject, _SIGNATURE):
        lines = _fields(subject, name)
        if len(lines) < SIGNATURE_LINES or plain(lines[0].value).strip():
            raise PaperProblem(
                f"{subject.where} has no room to sign in '{name}'.",
                "Later nobody could tell who signed, or when.",
                "Put the lines for signature, printed name, and date and time there.",
            )


def offers_again(subject: Subject) -> None:
    """RF-12: where advised care is refused, there are days on which it is offered again."""
    asked = subject.asked_for_by("RF-12")
    lines = [len(_fields(subject, name)) for name in asked]
    if lines and max(lines) < FURTHER_OFFERS:
        raise PaperProblem(
            f"{subject.where} has no days for further offers in {' or '.join(map(repr, asked))}.",
            "A refusal would be taken as the last word.",
            "Put lines for the day of each further offer there.",
        )


def one_purpose_each(subject: Subject) -> None:
    """CF-36 PH-01: each use has its own yes, no and signature; none covers two purposes."""
    uses = _begin(subject, _USE)
    for name in uses:
        choices = [block for block in walk(subject.parts[name]) if isinstance(block, Choices)]
        empty = [one for one in _fields(subject, name) if not plain(one.value).strip()]
        if [len(block.choices) for block in choices] != [2] or len(empty) < 2:
            raise _two_purposes(subject, f"no yes, no and signature of its own in '{name}'")
    if uses and "signature-patient" in subject.parts:
        raise _two_purposes(subject, "one signature for several uses")


def _two_purposes(subject: Subject, what: str) -> PaperProblem:
    return PaperProblem(
        f"{subject.where} has {what}.",
        "A signature for two things is a permission for neither.",
        "Give each purpose its own section with yes, no and a signature, or its own form.",
    )


def _begin(subject: Subject, beginning: str) -> list[str]:
    return [name for name in subject.parts if name.startswith(beginning)]


def _fields(subject: Subject, element: str) -> list[Field]:
    found = [block for block in walk(subject.parts[element]) if isinstance(block, Fields)]
    return [field for block in found for field in block.fields]


def foot_names_the_form(subject: Subject) -> None:
    """CF-03 CF-35: each sheet's foot has form, version, language, days, patient, page x of y."""
    lacking = [what for what, there in _foot(subject).items() if not there]
    if lacking:
        raise PaperProblem(
            f"The foot of {subject.where} lacks {', '.join(lacking)}.",
            "A sheet that is parted from the others could not be told whose and which it is.",
            "Put it back into the foot (papers/compose.py), which all writers print on each sheet.",
        )


def _foot(subject: Subject) -> dict[str, bool]:
    page = subject.page
    foot = list(flat(page.foot))
    values = [one for one in foot if isinstance(one, Isolate)]
    days = {one.iso for one in foot if isinstance(one, Moment)}
    version = " ".join(one.text for one in values if one.origin == "practice")
    personal = any(isinstance(one, Isolate) and one.origin == "visit" for one in subject.inlines)
    return {
        "the name of the form": any(isinstance(one, Text) and one.text.strip() for one in foot[:1]),
        "the version": subject.paper.version in version.split(),
        "the language": page.language in version,
        "the day": page.day in days,
        "the review day": bool(days - {page.day}),
        "the patient": not personal or any(one.origin == "visit" for one in values),
        "page x of y": all(one in page.labels.page_of for one in ("{page}", "{pages}")),
    }


def names_the_person(subject: Subject) -> None:
    """CF-02 RF-01: a form for a visit carries the person's own name where they are identified."""
    if subject.order and subject.order.visit and "identity" in subject.parts:
        name = subject.order.visit.person.name
        if name not in words_of(subject.parts["identity"]):
            raise PaperProblem(
                f"{subject.where} does not name the person for whom it was made.",
                "A form could be filed for somebody else.",
                "Ask for visit.name in the section 'identity'.",
            )


def says_whose_it_is(subject: Subject) -> None:
    """CF-01: the letterhead has the practice's name and address, and a phone number."""
    first, *rest = subject.page.letterhead or ((),)
    links = [one.href for run in rest for one in run if isinstance(one, Link)]
    address = [run for run in rest if not any(isinstance(one, Link) for one in run)]
    calls = any(href.startswith("tel:") for href in links)
    if not (plain(first).strip() and any(map(plain, address)) and calls):
        raise PaperProblem(
            f"{subject.where} does not say whose paper it is and how to call.",
            "A reader could not ask about it.",
            "Fill in name, address and phones in practice.toml.",
        )
