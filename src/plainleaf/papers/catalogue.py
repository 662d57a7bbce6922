"""Every paper: when it is handed over, who reads it, who may see it, what it must contain.

Rule ids in ``Element.rules`` name the published checklists that ask for the element: CF consent
forms (after 45 CFR 46.116, AMA 2.1.1, GDC 3.1), RF refusals, PH photographs, CCI the Clear
Communication Index (CDC 2013), IPD the IPDAS minimum standards (Joseph-Williams
2014), CL clinical conventions, PR privacy of reminders (45 CFR 164.514, HHS guidance).
"""

from dataclasses import dataclass
from typing import Literal

from plainleaf.errors import PaperProblem
from plainleaf.papers.blocks import CardSize

Shape = Literal["sheet", "form", "card", "message"]


@dataclass(frozen=True)
class Element:
    """A part that a finished page must contain, and the rules that ask for it."""

    name: str
    rules: tuple[str, ...]


@dataclass(frozen=True)
class Paper:
    """One paper. ``needs`` names the facts without which it is not made, in plain words.

    ``most_pages`` is the most pages it may take in normal print; 0 means no limit.
    ``exposed`` papers may be seen by anybody and carry no health words. A ``brief`` paper has no
    room for a notice on a draft translation; whoever sends it is told instead.
    """

    id: str
    moment: str
    reader: str
    shape: Shape
    elements: tuple[Element, ...]
    needs: tuple[str, ...] = ()
    exposed: bool = False
    signed: bool = False
    most_pages: int = 0
    brief: bool = False
    version: str = "1"
    card: CardSize = "post"


def _elements(**rules: str) -> tuple[Element, ...]:
    return tuple(Element(name.replace("_", "-"), tuple(ids.split())) for name, ids in rules.items())


PAPERS = {
    paper.id: paper
    for paper in (
        Paper(
            "introduction",
            moment="before or at a check-up",
            reader="the patient who has not decided yet",
            shape="sheet",
            most_pages=2,
            elements=_elements(
                key_message="CCI-01 IPD-Q2",
                what_it_is="IPD-Q1 IPD-C7",
                ordinary_check="CL-01 CF-07",
                what_it_is_like="IPD-Q6",
                numbers="CF-13 NUM-04",
                not_known="CCI-11 IPD-C5",
                experts="CL-03 CF-14",
                both_sides="IPD-Q4 IPD-Q5 IPD-C1",
                cost="CS-08 CF-17 CF-18",
                choice="IPD-Q3",
                next_steps="IPD-C8 IPD-C9",
                call_us_if="CL-16",
                questions="CF-24 LA-12",
                made_by="IPD-C3 IPD-C4 IPD-C6",
            ),
        ),
        Paper(
            "consent",
            moment="after the talk, before the light look",
            reader="the patient who decides, and whoever helps",
            shape="form",
            signed=True,
            most_pages=4,
            elements=_elements(
                identity="CF-01 CF-02 CF-04",
                key_information="CF-05",
                purpose="CF-06",
                extra="CF-07",
                steps="CF-08 CF-09",
                both_sides="IPD-C1",
                benefit="CF-10",
                risks="CF-11",
                limits="CF-12",
                numbers="CF-13",
                experts="CF-14",
                alternatives="CF-15",
                if_no="CF-16",
                next_steps="CF-19",
                cost="CF-17 CF-18",
                privacy="CF-23",
                voluntary="CF-20 CF-24",
                understanding="CF-21 CF-22",
                decision="CF-25",
                signature_patient="CF-26 CF-36",
                signature_clinician="CF-27 CF-30",
                representative="CF-28 CF-29",
                interpreter="CF-31",
                copy="CF-33",
                withdrawal="CF-34",
            ),
        ),
        Paper(
            "dark-area",
            moment="at the end of a visit at which an area looked dark",
            reader="the patient, perhaps frightened",
            shape="sheet",
            most_pages=2,
            needs=("the person", "the day of the visit", "the dark area", "the booked re-check"),
            elements=_elements(
                key_message="CF-12 CCI-01",
                place="CL-14",
                ordinary_causes="IPD-C10",
                what_was_done="CL-02",
                recheck="CL-04",
                after_recheck="CL-02 IPD-C8",
                call_sooner="CL-16",
                questions="CF-24",
            ),
        ),
        Paper(
            "before-visit",
            moment="before a check-up, sent or handed out",
            reader="the patient at home",
            shape="sheet",
            most_pages=2,
            elements=_elements(
                key_message="CCI-01",
                bring="CCI-12",
                what_happens="CL-01 CF-07",
                cost="CF-17",
                tell_us="CF-11 LA-12",
                questions="CF-24",
            ),
        ),
        Paper(
            "decline",
            moment="when somebody does not want the light look",
            reader="the person who decides",
            shape="form",
            signed=True,
            most_pages=2,
            elements=_elements(
                identity="RF-01",
                key_information="RF-11",
                offered="RF-02",
                explained="RF-03",
                if_no="RF-04",
                ordinary_result="RF-06",
                reason="RF-05",
                change_of_mind="RF-07 RF-08",
                rights="RF-11 CS-02 CF-33",
                signature_patient="RF-09 CF-36",
                signature_clinician="RF-10",
            ),
        ),
        Paper(
            "photo-permission",
            moment="before a photograph is used for anything",
            reader="the person who decides",
            shape="form",
            signed=True,
            most_pages=4,
            elements=_elements(
                identity="CF-02",
                key_information="PH-02",
                what="PH-06",
                storage="PH-04 PH-05",
                use_record="PH-01 CF-36",
                use_referral="PH-01 CF-36",
                use_teaching="PH-01 CF-36",
                use_public="PH-01 PH-06 CF-36",
                withdrawal="PH-03",
                rights="CS-02 CF-33",
                signature_clinician="CF-27",
            ),
        ),
        Paper(
            "nothing-seen",
            moment="after a light look at which no area looked dark",
            reader="the patient",
            shape="sheet",
            most_pages=2,
            needs=("the person", "the day of the visit"),
            elements=_elements(
                key_message="CF-12 CL-16",
                what_was_done="CL-01",
                limits="CF-12",
                self_check="CCI-14",
                next_steps="IPD-C9",
                call_us_if="CL-16",
                questions="CF-24",
            ),
        ),
        Paper(
            "recheck-outcome",
            moment="after the second look at a dark area",
            reader="the patient",
            shape="sheet",
            most_pages=2,
            needs=(
                "the person",
                "the day of the visit",
                "the dark area",
                "what the re-check showed",
            ),
            elements=_elements(
                key_message="CF-12 CCI-01",
                place="CL-14",
                meaning="CCI-11",
                next_steps="CL-02 CL-04",
                call_us_if="CL-16",
                questions="CF-24",
            ),
        ),
        Paper(
            "missed-visit",
            moment="after a re-check to which somebody did not come: first, second or last letter",
            reader="the patient, in a sealed envelope",
            shape="sheet",
            most_pages=2,
            needs=("the person", "the day of the visit", "the dark area", "the booked re-check"),
            elements=_elements(
                key_message="CCI-01",
                what_happened="CL-04",
                why="CF-12",
                what_you_can_do="CCI-12 RF-07",
                call_us_if="CL-16",
                questions="CF-24",
            ),
        ),
        Paper(
            "specialist-visit",
            moment="when somebody is referred",
            reader="the patient, perhaps frightened",
            shape="sheet",
            most_pages=2,
            elements=_elements(
                key_message="CF-12 CCI-01",
                before="CCI-12 CF-17",
                what_happens="IPD-Q6",
                sample="CF-11 IPD-Q6",
                results="IPD-C8",
                choice="CF-20",
                call_us_if="CL-16",
                questions="CF-24",
            ),
        ),
        Paper(
            "reminder-text",
            moment="some days before a visit",
            reader="anybody who sees the telephone",
            shape="message",
            exposed=True,
            brief=True,
            needs=("the person", "the next visit"),
            elements=_elements(appointment="PR-02", contact="PR-02", opt_out="PR-08"),
        ),
        Paper(
            "reminder-mail",
            moment="some days before a visit",
            reader="anybody who sees the mailbox",
            shape="message",
            exposed=True,
            needs=("the person", "the next visit"),
            elements=_elements(appointment="PR-02", contact="PR-02", opt_out="PR-08 EM-04"),
        ),
        Paper(
            "reminder-card",
            moment="between visits",
            reader="anybody who sees the card",
            shape="card",
            exposed=True,
            elements=_elements(
                appointment="PR-02",
                contact="PR-02",
                opt_out="PR-08",
            ),
        ),
        Paper(
            "appointment-card",
            moment="at the desk, when a visit is booked",
            reader="anybody who sees the card",
            shape="card",
            card="wallet",
            exposed=True,
            elements=_elements(appointment="PR-02", contact="PR-02"),
        ),
    )
}


def paper(paper_id: str) -> Paper:
    """The paper with this id. Raises PaperProblem if there is none."""
    if paper_id in PAPERS:
        return PAPERS[paper_id]
    raise PaperProblem(
        f"There is no paper called '{paper_id}'.",
        "We do not guess which paper somebody should be handed.",
        f"Choose one of: {', '.join(PAPERS)}.",
    )
