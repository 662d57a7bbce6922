"""Numbers into plain words, and the fixed words that come from data: one function a phrase."""

from plainleaf.evidence.arithmetic import Ratio, significant
from plainleaf.evidence.tables import Position
from plainleaf.language.catalogs import Catalog


def about(words: Catalog, value: float) -> str:
    """A number to two leading digits; the sentence around it says 'about'."""
    return words.language.number(significant(value))


def site(words: Catalog, name: str) -> str:
    """A cancer by its place in the body, as the object of a sentence."""
    return {
        "oral-pharynx": words.gettext("cancer of the mouth or throat"),
        "oral-cavity": words.gettext("cancer of the lip or mouth"),
        "cervix": words.gettext("cancer of the cervix"),
    }[name]


def deaths_compared(words: Catalog, ratio: Ratio) -> str:
    """A whole sentence: deaths from mouth cancer beside deaths from cancer of the cervix.

    The message takes ``%(other)s``, the number of deaths from cancer of the cervix, and may take
    ``%(times)s``, the whole number of a ratio.
    """
    return {
        "less-than-half": words.gettext(
            "Fewer than half as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "about-half": words.gettext(
            "About half as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "fewer": words.gettext(
            "Fewer people die of this cancer than of cancer of the cervix (about %(other)s people)."
        ),
        "about-as-many": words.gettext(
            "About as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "more": words.gettext(
            "More people die of this cancer than of cancer of the cervix (about %(other)s people)."
        ),
        "nearly-twice": words.gettext(
            "Nearly twice as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "about-twice": words.gettext(
            "About twice as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "more-than-twice": words.gettext(
            "More than twice as many people die of this cancer as of cancer of the cervix"
            " (about %(other)s people)."
        ),
        "nearly-times": words.gettext(
            "Nearly %(times)s times as many people die of this cancer as of cancer of the"
            " cervix"
            " (about %(other)s people)."
        ),
        "about-times": words.gettext(
            "About %(times)s times as many people die of this cancer as of cancer of the"
            " cervix"
            " (about %(other)s people)."
        ),
        "more-than-times": words.gettext(
            "More than %(times)s times as many people die of this cancer as of cancer of the"
            " cervix"
            " (about %(other)s people)."
        ),
    }[ratio.kind]


def says(words: Catalog, position: Position) -> str:
    """What an expert body says, in our plain sentence."""
    return words.pgettext("position", position.says)


def status_note(words: Catalog, position: Position) -> str:
    """A sentence on a position that is being replaced, or nothing."""
    if position.status == "under revision":
        return words.gettext("This advice is being revised.")
    return ""


def role(words: Catalog, name: str) -> str:
    """What somebody in the practice does."""
    return {
        "dentist": words.gettext("dentist"),
        "hygienist": words.gettext("dental hygienist"),
        "assistant": words.gettext("dental assistant"),
        "front desk": words.gettext("front desk"),
        "practice manager": words.gettext("practice manager"),
    }[name]


def mouth_side(words: Catalog, side: str) -> str:
    """Which side, from the patient's own view."""
    return {
        "left": words.gettext("on your left side"),
        "right": words.gettext("on your right side"),
        "middle": words.gettext("in the middle"),
    }[side]


def mouth_place(words: Catalog, name: str) -> str:
    """A place in the mouth in plain words."""
    return {
        "upper lip": words.gettext("the red part of your upper lip"),
        "lower lip": words.gettext("the red part of your lower lip"),
        "inside upper lip": words.gettext("the inside of your upper lip"),
        "inside lower lip": words.gettext("the inside of your lower lip"),
        "corner of mouth": words.gettext("the corner of your mouth"),
        "cheek": words.gettext("the inside of your cheek"),
        "upper groove": words.gettext("the fold between your upper gum and your cheek"),
        "lower groove": words.gettext("the fold between your lower gum and your cheek"),
        "upper gum": words.gettext("your upper gum"),
        "lower gum": words.gettext("your lower gum"),
        "behind last molar": words.gettext("the place behind your last tooth"),
        "hard palate": words.gettext("the front part of the roof of your mouth"),
        "soft palate": words.gettext("the back part of the roof of your mouth"),
        "uvula": words.gettext("the small flap at the back of your throat"),
        "top of tongue": words.gettext("the top of your tongue"),
        "side of tongue": words.gettext("the side of your tongue"),
        "under tongue": words.gettext("the underside of your tongue"),
        "back of tongue": words.gettext("the back of your tongue"),
        "floor of mouth": words.gettext("the floor of your mouth, below the tongue"),
        "tonsil": words.gettext("the area of your tonsil"),
        "throat": words.gettext("the back of your throat"),
    }[name]


def step_done(words: Catalog, name: str) -> str:
    """What the team did at the visit, a sentence each."""
    return {
        "smoothed edge": words.gettext("We smoothed a sharp edge of a tooth or filling."),
        "eased denture": words.gettext("We eased your denture where it pressed."),
        "pressed gently": words.gettext("We pressed the area gently to see if the color changed."),
        "took photograph": words.gettext("We took a photograph, so that we can compare."),
        "treated infection": words.gettext("We treated a likely infection."),
        "left alone": words.gettext(
            "We changed nothing. We want to see if the area goes away by itself."
        ),
    }[name]


def day_range(words: Catalog, first: str, last: str) -> str:
    """Days of the week that follow each other."""
    return words.gettext("%(first)s to %(last)s") % {"first": first, "last": last}


def opening(words: Catalog, days: str, opens: str, closes: str) -> str:
    """Opening hours that some days share."""
    return words.gettext("%(days)s, from %(opens)s to %(closes)s") % {
        "days": days,
        "opens": opens,
        "closes": closes,
    }


def hours_joined(words: Catalog, first: str, following: str) -> str:
    """Two opening hours of different days, one after the other."""
    return words.gettext("%(first)s; %(following)s") % {"first": first, "following": following}


def place_and_side(words: Catalog, place: str, side: str) -> str:
    """A place in the mouth with the side it is on."""
    return words.gettext("%(place)s, %(side)s") % {"place": place, "side": side}


def day_at_time(words: Catalog, day: str, time: str) -> str:
    """A whole date with a time of day."""
    return words.gettext("%(day)s at %(time)s") % {"day": day, "time": time}


def weeks_or_days(words: Catalog, first: int, last: int) -> tuple[str, int, int]:
    """The message for a span of time, with the two numbers to set into it: weeks if both are whole.

    The message takes ``%(first)s`` and ``%(last)s`` and reads like 'two to four weeks'.
    """
    if first % 7 == 0 and last % 7 == 0:
        first, last = first // 7, last // 7
        return (
            words.ngettext("%(first)s to %(last)s week", "%(first)s to %(last)s weeks", last),
            first,
            last,
        )
    return (
        words.ngettext("%(first)s to %(last)s day", "%(first)s to %(last)s days", last),
        first,
        last,
    )


def name_and_role(words: Catalog, name: str, role_name: str) -> str:
    """Somebody's name and what they do."""
    return words.gettext("%(name)s, %(role)s") % {"name": name, "role": role_name}


def for_somebody(words: Catalog) -> str:
    """On whose behalf somebody gets a letter; the message takes ``%(name)s``."""
    return words.gettext("for %(name)s")


def quoted_in(words: Catalog) -> str:
    """What stands before the source in which a value was seen quoted."""
    return words.gettext("quoted in:")


def draft_notice(words: Catalog) -> str:
    """The notice on a translation that nobody has signed."""
    return words.gettext(
        "A machine drafted this translation. No qualified translator has checked it. It may contain"
        " mistakes. Please ask us for an interpreter: it is free."
    )


def draft_card(words: Catalog) -> str:
    """The same notice in the few words that a card has room for."""
    return words.gettext("Draft translation, not checked yet.")


def page_words(words: Catalog) -> dict[str, str]:
    """The words that stand around every page."""
    return {
        "sources": words.gettext("Where the numbers come from"),
        "page_of": words.gettext("page %(page)s of %(pages)s"),
        "cited": words.gettext("source"),
        "empty_line": words.gettext("empty line to write on"),
        "tick_box": words.gettext("empty box to tick"),
    }


def foot_words(words: Catalog) -> dict[str, str]:
    """The words of the last line of every page."""
    return {
        "version": words.gettext("version"),
        "made_on": words.gettext("made on"),
        "review": words.gettext("form valid until"),
        "patient": words.gettext("patient"),
    }


def chart_alt(words: Catalog) -> str:
    """The counts of a people chart in words."""
    return words.gettext(
        "%(total)s circles, one for each person. Black: %(solid)s, grey: %(shaded)s,"
        " crossed: %(crossed)s, empty: %(open)s"
    )


def language_help_title(words: Catalog) -> str:
    """The heading over the notice that language help is free."""
    return words.gettext("Help in your language")


def language_help(words: Catalog) -> str:
    """That help in the reader's language is free; the message takes ``%(phone)s``."""
    return words.gettext(
        "Help in your language is free, and so are large print and other aids. Ask us, or call"
        " %(phone)s."
    )


def appointment_title(words: Catalog) -> str:
    """What a calendar shows: the practice and that there is a visit, nothing else."""
    return words.gettext("%(practice)s: appointment")


def old_figures(words: Catalog) -> str:
    """The notice on a paper whose numbers come from a source that is out of date."""
    return words.gettext("Some figures here are from %(year)s. Newer ones may exist.")


def code_alt(words: Catalog) -> str:
    """What a QR code is, for those who cannot see it."""
    return words.gettext("Square code that opens the address printed beside it")


def short_name(words: Catalog, paper: str) -> str:
    """What a paper is called in its last line."""
    return {
        "introduction": words.gettext("Introduction"),
        "consent": words.gettext("Decision form"),
        "dark-area": words.gettext("Follow-up letter"),
        "reminder-card": words.gettext("Card"),
        "appointment-card": words.gettext("Appointment card"),
        "nothing-seen": words.gettext("Letter: no dark area seen"),
        "decline": words.gettext("Form: light look not wanted"),
        "photo-permission": words.gettext("Photograph permission"),
        "before-visit": words.gettext("Before your visit"),
        "recheck-outcome": words.gettext("Re-check letter"),
        "missed-visit": words.gettext("Letter about a missed re-check"),
        "specialist-visit": words.gettext("About the specialist"),
        "home-care": words.gettext("Caring for the place"),
        "decline-referral": words.gettext("Form: specialist not wanted"),
        "referral": words.gettext("Referral"),
        "referral-copy": words.gettext("About your referral"),
        "options": words.gettext("Your choices"),
        "cost-notice": words.gettext("Cost"),
        "talking-points": words.gettext("For the team"),
        "phone-script": words.gettext("For the front desk"),
        "voicemail-script": words.gettext("Message"),
        "language-help": words.gettext("Help in your language"),
        "chart-note": words.gettext("Note for the record"),
        "reminder-text": words.gettext("Text"),
        "reminder-mail": words.gettext("E-mail"),
    }[paper]
