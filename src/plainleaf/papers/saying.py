"""What one paper may say: the messages that a translator signs, and that stop it when they lack.

They are those of its template and its parts; of the phrases behind each fact that these ask for
(``_PHRASES``); of the expert positions on the topics that it tells; and of what stands around its
text for its kind. Any of them may be said for some visit, settings or figures, and no other. Not
among them are the notice on a draft, which goes when the paper is signed (``notice``), and what
the language-help notice says in other languages.
"""

from collections.abc import Iterable, Iterator
from itertools import chain

from plainleaf.evidence.measures import FAMILIES
from plainleaf.evidence.tables import Position
from plainleaf.language import findings, phrases
from plainleaf.language.catalogs import Key
from plainleaf.language.extraction import in_templates
from plainleaf.language.messages import Phrase, Said
from plainleaf.office.plans import ORDINARY
from plainleaf.papers.catalogue import Paper
from plainleaf.papers.template import Template

_STAFF = (phrases.name_and_role, phrases.role)
_PHRASES: dict[str, tuple[Said, ...]] = {
    "practice.hours": (phrases.day_range, phrases.opening, phrases.hours_joined),
    "practice.recheck_span": (phrases.weeks_span, phrases.days_span),
    "visit.on_behalf": (phrases.for_somebody,),
    "visit.interpreter_way": (findings.interpreted,),
    "visit.cause": (findings.cause.only(*ORDINARY),),
    "visit.next_look": (phrases.day_at_time,),
    "visit.guardian": (phrases.name_and_role, findings.relationship),
    "visit.place": (phrases.mouth_place, phrases.mouth_side, phrases.place_and_side),
    "visit.done": (phrases.step_done,),
    "visit.recheck": (phrases.day_at_time,),
    "visit.explained_by": _STAFF,
    "visit.done_by": _STAFF,
    "visit.signed_by": _STAFF,
    "area.place": (findings.place, findings.side, findings.joined),
    "area.size": (findings.millimetres,),
    "area.looks": (findings.colour, findings.surface, findings.edge, findings.joined),
    "area.feel": (findings.feel,),
    "area.since": (findings.days, findings.weeks),
    "area.symptoms": (findings.symptom, findings.no_symptoms, findings.joined),
    "area.ordinary": (findings.ordinary,),
    "area.light": (findings.light,),
    "area.pressure": (findings.pressure,),
    "area.cause": (findings.cause,),
    "area.photographs": (findings.photograph, findings.joined),
    "area.done": (phrases.step_done,),
    "area.plan": (findings.plan,),
    "area.urgency": (findings.urgency,),
    "area.outcome": (findings.outcome,),
    "area.decision": (findings.decision,),
    "area.normal": (findings.place, findings.joined),
    "area.reach": (findings.joined,),
    "area.address": (findings.joined,),
    "area.language_needs": (*(findings.interpreter_needed, findings.large_print, findings.joined),),
    ".status_note": (phrases.under_revision,),
    ".deaths_compared": (phrases.deaths_compared,),
    ".alt": (phrases.chart_alt,),
}
"""What each fact may say beside numbers, days and names, by the name that templates ask for."""


def of_paper(told: Template, paper: Paper, positions: Iterable[Position]) -> frozenset[Key]:
    """All that a paper may say, once each. ``positions`` are all that there are."""
    said = chain(_of_facts(told), _around(told, paper))
    return frozenset(
        chain(
            in_templates(told.folder, told.sources),
            (key for one in said for key in one.messages),
            map(phrases.position, on_topics(told, positions)),
        )
    )


def on_topics(told: Template, positions: Iterable[Position]) -> Iterator[Position]:
    """The positions that a paper tells, in one country or another."""
    told_everywhere, own = [], []
    for one in positions:
        if one.in_force and one.topic in told.topics:
            told_everywhere.append(one)
        elif one.in_force and one.topic in told.own_topics:
            own.append(one)
    heard = {place for one in told_everywhere for place in one.places}
    yield from told_everywhere
    yield from (one for one in own if any(_is_country(p) and p not in heard for p in one.places))


def _is_country(place: str) -> bool:
    return len(place) == 2


def notice(paper: Paper) -> Phrase | None:
    """What a paper says of its text while nobody has signed it; a brief one has no room for it."""
    if paper.brief:
        return None
    return phrases.draft_card if paper.shape == "card" else phrases.draft_notice


def _of_facts(told: Template) -> Iterator[Said]:
    for name in told.asked:
        yield from _PHRASES.get(name, ())
    if ".site" in told.asked:
        sites = chain.from_iterable(FAMILIES[family] for family in told.families)
        yield phrases.site.only(*sites)
    if "code_alt" in told.values:
        yield phrases.code_alt


def _around(told: Template, paper: Paper) -> Iterator[Said]:
    yield phrases.short_name.only(paper.id)
    yield phrases.foot_words.only(*_foot(paper))
    yield phrases.page_words.only(*_labels(told, paper))
    if told.cites:
        yield phrases.old_figures
    if "figures" in told.values:
        yield phrases.quoted_in
    if paper.offers_help:
        yield phrases.language_help_title
    if paper.offers_help or "language_help" in told.values:
        yield phrases.language_help
    if paper.posted:
        yield phrases.for_somebody
    if "eml" in paper.formats:
        yield phrases.appointment_title


def _foot(paper: Paper) -> Iterator[str]:
    yield "made_on"
    if paper.shape == "form":
        yield from ("version", "review")
    if paper.signed:
        yield "patient"


def _labels(told: Template, paper: Paper) -> Iterator[str]:
    if paper.shape != "card":
        yield "page_of"
    if told.cites:
        yield from ("sources", "cited")
    if told.holds("<field>"):
        yield "empty_line"
    if told.holds("<choices"):
        yield "tick_box"
