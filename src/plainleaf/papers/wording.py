"""Words that a page may not carry, looked for in the lists of its language."""

import re
from collections.abc import Iterator

from plainleaf.errors import PaperProblem
from plainleaf.papers.blocks import Text, spelled
from plainleaf.papers.phrasing import Phrase, folded, said
from plainleaf.papers.subject import Subject, own_words

RISKS_ARE_TOLD_IN = frozenset(
    (
        "benefit",
        "both-sides",
        "if-no",
        "if-wait",
        "limits",
        "meaning",
        "not-known",
        "numbers",
        "risks",
        "what-may-happen",
    )
)
"""The elements in which a word of judgement would weigh a risk, or a benefit, for the reader."""

_NUMBER = re.compile(r"\d+(?:[.,\u00a0\u202f\u066b\u066c]\d+)*")


def no_right_given_up(subject: Subject) -> None:
    """CS-02 RF-11: no right is given up, nobody is freed of blame, nobody threatened."""
    _none_of(
        subject,
        "waiver_words",
        subject.words,
        "What somebody signs must take away none of their rights, and no care.",
    )


def no_value_words(subject: Subject) -> None:
    """NUM-07 NUM-03 NUM-15: no word judges a risk, hides it in a ratio, or asks for a sum."""
    told = [blocks for name, blocks in subject.parts.items() if name in RISKS_ARE_TOLD_IN]
    _none_of(
        subject,
        "value_words",
        "\n".join(own_words(one, subject.page.language) for one in told),
        "Readers should weigh a risk for themselves, from the number and not from our word for it.",
    )


def no_banned_claim(subject: Subject) -> None:
    """CL-03: nothing claims what the evidence does not carry, or comforts where nobody can."""
    _none_of(
        subject,
        "banned_claims",
        folded(subject.page.title, subject.page.language) + "\n" + subject.words,
        "The evidence does not carry it, and somebody could rely on it.",
    )


def no_selling(subject: Subject) -> None:
    """PR-12 PR-13 PR-08: no word of advertising or of price."""
    _none_of(
        subject,
        "selling_words",
        folded(subject.page.title, subject.page.language) + "\n" + subject.words,
        "One such word can turn a reminder into advertising, which has other laws.",
    )


def _none_of(subject: Subject, name: str, words: str, why: str) -> None:
    for phrase, there in _said(subject, name, words):
        raise PaperProblem(
            f"{subject.where} says '{there}' (listed as '{phrase.text}' in {name}.txt).",
            why,
            "Say it in other words; if this wording is right, add it after '!' in that line.",
        )


def _said(subject: Subject, name: str, words: str) -> Iterator[tuple[Phrase, str]]:
    for line in words.split("\n"):
        yield from said(subject.locales, subject.page.language, name, line)


def one_in_one_number(subject: Subject) -> None:
    """NUM-02: 'one in so many' stands with one number at most, as such numbers do not compare."""
    words = "\n".join(folded(spelled(run), subject.page.language) for run in subject.runs)
    found = {there for _, there in _said(subject, "one_in", words)}
    # The number stands last in English and first in Hindi; the other one is always 1.
    numbers = {number for one in found for number in _NUMBER.findall(one) if number != "1"}
    if len(numbers) > 1:
        raise PaperProblem(
            f"{subject.where} says {' and '.join(map(repr, sorted(found)))}.",
            "Readers take the larger of two such numbers for the larger risk.",
            "Count both out of the same number of people.",
        )


def calm(subject: Subject) -> None:
    """STY-06: no sentence calls out with an exclamation mark."""
    for inline in subject.inlines:
        if isinstance(inline, Text) and any(mark in inline.text for mark in "!\u00a1\uff01"):
            raise PaperProblem(
                f"{subject.where} calls out: '{inline.text.strip()[:60]}'.",
                "Papers about health stay calm, so that readers can think.",
                "End the sentence with a period.",
            )
