"""What was recorded about an area, in the words of one language: one function a closed set."""

from plainleaf.language.catalogs import Catalog


def urgency(words: Catalog, name: str) -> str:
    """How soon somebody should be seen, as the first words of a referral."""
    return {
        "routine": words.gettext("Routine."),
        "prompt": words.gettext("Soon."),
        "urgent": words.gettext("Urgent."),
    }[name]


def colour(words: Catalog, name: str) -> str:
    """The color of an area."""
    return {
        "white": words.gettext("white"),
        "red": words.gettext("red"),
        "red and white": words.gettext("red and white"),
        "brown or black": words.gettext("brown or black"),
        "blue or purple": words.gettext("blue or purple"),
        "as around": words.gettext("same color as around it"),
    }[name]


def surface(words: Catalog, name: str) -> str:
    """The surface of an area."""
    return {
        "smooth": words.gettext("smooth surface"),
        "rough": words.gettext("rough surface"),
        "wart-like": words.gettext("wart-like surface"),
        "cracked": words.gettext("cracked surface"),
        "ulcer": words.gettext("ulcer"),
    }[name]


def edge(words: Catalog, name: str) -> str:
    """The edge of an area."""
    return {
        "sharp": words.gettext("sharp edge"),
        "fading": words.gettext("fading edge"),
        "raised": words.gettext("raised edge"),
    }[name]


def feel(words: Catalog, name: str) -> str:
    """How an area feels to the finger."""
    return {
        "soft": words.gettext("soft"),
        "firm": words.gettext("firm"),
        "hard": words.gettext("hard"),
        "fixed": words.gettext("fixed to what lies below"),
        "hard and fixed": words.gettext("hard, and fixed to what lies below"),
    }[name]


def symptom(words: Catalog, name: str) -> str:
    """What somebody feels."""
    return {
        "pain": words.gettext("pain"),
        "burning": words.gettext("burning"),
        "numbness": words.gettext("numbness"),
        "bleeding": words.gettext("bleeding"),
        "trouble swallowing": words.gettext("trouble swallowing"),
        "trouble opening": words.gettext("trouble opening the mouth"),
        "earache": words.gettext("earache"),
        "loose tooth": words.gettext("loose tooth"),
        "neck lump": words.gettext("lump in the neck"),
        "weight loss": words.gettext("weight loss"),
    }[name]


def no_symptoms(words: Catalog) -> str:
    """When somebody was asked and feels nothing."""
    return words.gettext("none")


def light(words: Catalog, name: str) -> str:
    """How an area looks under the light."""
    return {
        "dark": words.gettext("dark"),
        "not dark": words.gettext("not dark"),
        "unsure": words.gettext("unsure"),
    }[name]


def pressure(words: Catalog, name: str) -> str:
    """What an area does under gentle pressure."""
    return {
        "colour comes back": words.gettext("the color comes back"),
        "partly": words.gettext("the color comes back in part"),
        "does not": words.gettext("the color does not come back"),
        "not tried": words.gettext("not tried"),
    }[name]


def days(words: Catalog, count: int) -> str:
    """A number of days; the message takes ``%(n)s``."""
    return words.ngettext("%(n)s day", "%(n)s days", count)


def weeks(words: Catalog, count: int) -> str:
    """A number of weeks; the message takes ``%(n)s``."""
    return words.ngettext("%(n)s week", "%(n)s weeks", count)


def millimetres(words: Catalog) -> str:
    """A length and a width; the message takes both."""
    return words.gettext("%(length)s by %(width)s")


def joined(words: Catalog) -> str:
    """Two things of a list without 'and', one after the other."""
    return words.gettext("%(first)s, %(following)s")


def interpreter_needed(words: Catalog) -> str:
    """When an interpreter is needed."""
    return words.gettext("interpreter needed")


def interpreted(words: Catalog, name: str) -> str:
    """How an interpreter takes part in a talk."""
    return {
        "in the room": words.gettext("In the room"),
        "by phone": words.gettext("By phone"),
        "by video": words.gettext("By video"),
    }[name]


def large_print(words: Catalog) -> str:
    """When large print is needed."""
    return words.gettext("large print")


def place(words: Catalog, name: str) -> str:
    """A place in the mouth as clinicians name it to each other."""
    return {
        "upper lip": words.pgettext("clinic", "red part of the upper lip"),
        "lower lip": words.pgettext("clinic", "red part of the lower lip"),
        "inside upper lip": words.pgettext("clinic", "inside of the upper lip"),
        "inside lower lip": words.pgettext("clinic", "inside of the lower lip"),
        "corner of mouth": words.pgettext("clinic", "corner of the mouth"),
        "cheek": words.pgettext("clinic", "cheek lining"),
        "upper groove": words.pgettext("clinic", "upper groove (vestibule)"),
        "lower groove": words.pgettext("clinic", "lower groove (vestibule)"),
        "upper gum": words.pgettext("clinic", "upper gum"),
        "lower gum": words.pgettext("clinic", "lower gum"),
        "behind last molar": words.pgettext("clinic", "behind the last molar"),
        "hard palate": words.pgettext("clinic", "hard palate"),
        "soft palate": words.pgettext("clinic", "soft palate"),
        "uvula": words.pgettext("clinic", "uvula"),
        "top of tongue": words.pgettext("clinic", "top of the tongue"),
        "side of tongue": words.pgettext("clinic", "side of the tongue"),
        "under tongue": words.pgettext("clinic", "underside of the tongue"),
        "back of tongue": words.pgettext("clinic", "back of the tongue"),
        "floor of mouth": words.pgettext("clinic", "floor of the mouth"),
        "tonsil": words.pgettext("clinic", "tonsil"),
        "throat": words.pgettext("clinic", "back wall of the throat"),
    }[name]


def side(words: Catalog, name: str) -> str:
    """The side as clinicians name it: the patient's own."""
    return {
        "left": words.pgettext("clinic", "left"),
        "right": words.pgettext("clinic", "right"),
        "middle": words.pgettext("clinic", "middle"),
    }[name]


def ordinary(words: Catalog, name: str) -> str:
    """Whether an area shows in ordinary light."""
    return {"seen": words.gettext("seen"), "not seen": words.gettext("not seen")}[name]


def cause(words: Catalog, name: str) -> str:
    """What most likely made an area look dark."""
    return {
        "rubbing or biting": words.gettext("rubbing or biting"),
        "denture": words.gettext("denture"),
        "spot of colour": words.gettext("spot of color"),
        "blood vessel or bruise": words.gettext("blood vessel or bruise"),
        "infection": words.gettext("infection"),
        "mouth ulcer": words.gettext("mouth ulcer"),
        "none found": words.gettext("none found"),
    }[name]


def photograph(words: Catalog, name: str) -> str:
    """In which light a photograph was taken."""
    return {
        "ordinary": words.gettext("in ordinary light"),
        "filtered": words.gettext("with the light and the filter"),
    }[name]


def decision(words: Catalog, name: str) -> str:
    """What somebody decided about the light look."""
    return {
        "agreed": words.gettext("yes to the light look"),
        "declined": words.gettext("no to the light look"),
        "wants time": words.gettext("wants more time"),
    }[name]


def plan(words: Catalog, name: str) -> str:
    """What comes next for an area."""
    return {
        "re-check": words.gettext("look again"),
        "refer now": words.gettext("refer now"),
    }[name]


def outcome(words: Catalog, name: str) -> str:
    """What the second look showed."""
    return {
        "gone": words.gettext("gone"),
        "smaller": words.gettext("smaller"),
        "still there": words.gettext("still there"),
    }[name]


def relationship(words: Catalog, name: str) -> str:
    """Who somebody is to the person for whom they decide."""
    return {
        "parent": words.gettext("parent"),
        "legal guardian": words.gettext("legal guardian"),
        "other relative": words.gettext("other relative"),
        "carer": words.gettext("carer"),
        "power of attorney": words.gettext("power of attorney"),
    }[name]
