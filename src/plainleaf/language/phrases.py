"""Numbers into plain words, and the fixed words that come from data: one name a phrase."""

from plainleaf.evidence.arithmetic import significant
from plainleaf.evidence.tables import Position
from plainleaf.language.catalogs import Catalog, Key
from plainleaf.language.messages import N_, NN_, Counted, OneOf, Phrase


def about(words: Catalog, value: float) -> str:
    """A number to two leading digits; the sentence around it says 'about'."""
    return words.language.number(significant(value))


site = OneOf(
    {
        "oral-pharynx": N_("cancer of the mouth or throat"),
        "oral-cavity": N_("cancer of the lip or mouth"),
        "cervix": N_("cancer of the cervix"),
    }
)
"""A cancer by its place in the body, as the object of a sentence."""

deaths_compared = OneOf(
    {
        "less-than-half": N_(
            "Fewer than half as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "about-half": N_(
            "About half as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "fewer": N_(
            "Fewer people die of this cancer than of cancer of the cervix (about %(other)s people)."
        ),
        "about-as-many": N_(
            "About as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "more": N_(
            "More people die of this cancer than of cancer of the cervix (about %(other)s people)."
        ),
        "nearly-twice": N_(
            "Nearly twice as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "about-twice": N_(
            "About twice as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "more-than-twice": N_(
            "More than twice as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "nearly-times": N_(
            "Nearly %(times)s times as many people die of this cancer as of cancer of the"
            " cervix"
            " (about %(other)s people)."
        ),
        "about-times": N_(
            "About %(times)s times as many people die of this cancer as of cancer of the"
            " cervix"
            " (about %(other)s people)."
        ),
        "more-than-times": N_(
            "More than %(times)s times as many people die of this cancer as of cancer of the"
            " cervix"
            " (about %(other)s people)."
        ),
    }
)
"""A whole sentence: deaths from mouth cancer beside deaths from cancer of the cervix.

The message takes ``%(other)s``, the number of deaths from cancer of the cervix, and may take
``%(times)s``, the whole number of a ratio.
"""


def position(one: Position) -> Key:
    """The message in which we say what an expert body says."""
    return "position", one.says, None


def says(words: Catalog, one: Position) -> str:
    """What an expert body says, in our plain sentence."""
    return words.say(position(one))


under_revision = Phrase(N_("This advice is being revised."))
"""On a position that is being replaced."""

role = OneOf(
    {
        "dentist": N_("dentist"),
        "hygienist": N_("dental hygienist"),
        "assistant": N_("dental assistant"),
        "front desk": N_("front desk"),
        "practice manager": N_("practice manager"),
    }
)
"""What somebody in the practice does."""

mouth_side = OneOf(
    {
        "left": N_("on your left side"),
        "right": N_("on your right side"),
        "middle": N_("in the middle"),
    }
)
"""Which side, from the patient's own view."""

mouth_place = OneOf(
    {
        "upper lip": N_("the red part of your upper lip"),
        "lower lip": N_("the red part of your lower lip"),
        "inside upper lip": N_("the inside of your upper lip"),
        "inside lower lip": N_("the inside of your lower lip"),
        "corner of mouth": N_("the corner of your mouth"),
        "cheek": N_("the inside of your cheek"),
        "upper groove": N_("the fold between your upper gum and your cheek"),
        "lower groove": N_("the fold between your lower gum and your cheek"),
        "upper gum": N_("your upper gum"),
        "lower gum": N_("your lower gum"),
        "behind last molar": N_("the place behind your last tooth"),
        "hard palate": N_("the front part of the roof of your mouth"),
        "soft palate": N_("the back part of the roof of your mouth"),
        "uvula": N_("the small flap at the back of your throat"),
        "top of tongue": N_("the top of your tongue"),
        "side of tongue": N_("the side of your tongue"),
        "under tongue": N_("the underside of your tongue"),
        "back of tongue": N_("the back of your tongue"),
        "floor of mouth": N_("the floor of your mouth, below the tongue"),
        "tonsil": N_("the area of your tonsil"),
        "throat": N_("the back of your throat"),
    }
)
"""A place in the mouth in plain words."""

step_done = OneOf(
    {
        "smoothed edge": N_("We smoothed a sharp edge of a tooth or filling."),
        "eased denture": N_("We eased your denture where it pressed."),
        "pressed gently": N_("We pressed the area gently to see if the color changed."),
        "took photograph": N_("We took a photograph, so that we can compare."),
        "treated infection": N_("We treated a likely infection."),
        "left alone": N_("We changed nothing. We want to see if the area goes away by itself."),
    }
)
"""What the team did at the visit, a sentence each."""

day_range = Phrase(N_("%(first)s to %(last)s"), ("first", "last"))
"""Days of the week that follow each other."""

opening = Phrase(N_("%(days)s, from %(opens)s to %(closes)s"), ("days", "opens", "closes"))
"""Opening hours that some days share."""

hours_joined = Phrase(N_("%(first)s; %(following)s"), ("first", "following"))
"""Two opening hours of different days, one after the other."""

place_and_side = Phrase(N_("%(place)s, %(side)s"), ("place", "side"))
"""A place in the mouth with the side it is on."""

day_at_time = Phrase(N_("%(day)s at %(time)s"), ("day", "time"))
"""A whole date with a time of day."""

weeks_span = Counted(NN_("%(first)s to %(last)s week", "%(first)s to %(last)s weeks"))
"""A span in whole weeks, such as two to four weeks; the message takes both numbers."""

days_span = Counted(NN_("%(first)s to %(last)s day", "%(first)s to %(last)s days"))
"""A span in days; the message takes both numbers."""


def weeks_or_days(words: Catalog, first: int, last: int) -> tuple[str, int, int]:
    """The message for a span of time, with the two numbers to set into it: weeks if both are whole.

    The message takes ``%(first)s`` and ``%(last)s`` and reads like 'two to four weeks'.
    """
    if first % 7 == 0 and last % 7 == 0:
        first, last = first // 7, last // 7
        return weeks_span(words, last), first, last
    return days_span(words, last), first, last


name_and_role = Phrase(N_("%(name)s, %(role)s"), ("name", "role"))
"""Somebody's name and what they do."""

for_somebody = Phrase(N_("for %(name)s"))
"""On whose behalf somebody gets a letter; the message takes ``%(name)s``."""

quoted_in = Phrase(N_("Read as quoted in:"))
"""What stands before the source in which a value was seen quoted."""

draft_notice = Phrase(
    N_(
        "A machine drafted this translation. No qualified translator has checked it. It may contain"
        " mistakes. Please ask us for an interpreter: it is free."
    )
)
"""The notice on a translation that nobody has signed."""

draft_card = Phrase(N_("Draft translation, not checked yet."))
"""The same notice in the few words that a card has room for."""

page_words = OneOf(
    {
        "sources": N_("Where the numbers come from"),
        "page_of": N_("page %(page)s of %(pages)s"),
        "cited": N_("source"),
        "empty_line": N_("empty line to write on"),
        "tick_box": N_("empty box to tick"),
    }
)
"""The words that writers set around a page."""

foot_words = OneOf(
    {
        "version": N_("version"),
        "made_on": N_("made on"),
        "review": N_("use until"),
        "patient": N_("patient"),
    }
)
"""The words of the last line of every page."""

chart_alt = Phrase(
    N_(
        "%(total)s circles, one for each person. Black: %(solid)s, grey: %(shaded)s,"
        " crossed: %(crossed)s, empty: %(open)s"
    )
)
"""The counts of a people chart in words."""

language_help_title = Phrase(N_("Help in your language"))
"""The heading over the notice that language help is free."""

language_help = Phrase(
    N_(
        "Help in your language is free, and so are large print and other aids. Ask us, or call"
        " %(phone)s."
    )
)
"""That help in the reader's language is free; the message takes ``%(phone)s``."""

appointment_title = Phrase(N_("%(practice)s: appointment"))
"""What a calendar shows: the practice and that there is a visit, nothing else."""

old_figures = Phrase(N_("Some figures here are from %(year)s. Newer ones may exist."))
"""The notice on a paper whose numbers come from a source that is out of date."""

code_alt = Phrase(N_("Square code that opens the address printed beside it"))
"""What a QR code is, for those who cannot see it."""

short_name = OneOf(
    {
        "introduction": N_("Introduction"),
        "consent": N_("Decision form"),
        "dark-area": N_("Follow-up letter"),
        "reminder-card": N_("Card"),
        "appointment-card": N_("Appointment card"),
        "nothing-seen": N_("Letter: no dark area seen"),
        "decline": N_("Form: light look not wanted"),
        "photo-permission": N_("Photograph permission"),
        "before-visit": N_("Before your visit"),
        "recheck-outcome": N_("Re-check letter"),
        "missed-visit": N_("Letter about a missed re-check"),
        "specialist-visit": N_("About the specialist"),
        "home-care": N_("Caring for the place"),
        "decline-referral": N_("Form: specialist not wanted"),
        "referral": N_("Referral"),
        "referral-copy": N_("About your referral"),
        "options": N_("Your choices"),
        "cost-notice": N_("Cost"),
        "talking-points": N_("For the team"),
        "phone-script": N_("For the front desk"),
        "voicemail-script": N_("Message"),
        "language-help": N_("Help in your language"),
        "chart-note": N_("Note for the record"),
        "reminder-text": N_("Text"),
        "reminder-mail": N_("E-mail"),
    }
)
"""What a paper is called in its last line."""
