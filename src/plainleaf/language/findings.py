"""What was recorded about an area, in the words of one language: one name a closed set."""

from plainleaf.language.messages import N_, NC_, NN_, Counted, OneOf, Phrase

urgency = OneOf(
    {
        "routine": N_("Routine."),
        "prompt": N_("As soon as you can."),
        "urgent": N_("Urgent."),
    }
)
"""How soon somebody should be seen, as the first words of a referral."""

colour = OneOf(
    {
        "white": N_("white"),
        "red": N_("red"),
        "red and white": N_("red and white"),
        "brown or black": N_("brown or black"),
        "blue or purple": N_("blue or purple"),
        "as around": N_("same color as around it"),
    }
)
"""The color of an area."""

surface = OneOf(
    {
        "smooth": N_("smooth surface"),
        "rough": N_("rough surface"),
        "wart-like": N_("wart-like surface"),
        "cracked": N_("cracked surface"),
        "ulcer": N_("ulcer"),
    }
)
"""The surface of an area."""

edge = OneOf(
    {
        "sharp": N_("sharp edge"),
        "fading": N_("fading edge"),
        "raised": N_("raised edge"),
    }
)
"""The edge of an area."""

feel = OneOf(
    {
        "soft": N_("soft"),
        "firm": N_("firm"),
        "hard": N_("hard"),
        "fixed": N_("fixed to what lies below"),
        "hard and fixed": N_("hard, and fixed to what lies below"),
    }
)
"""How an area feels to the finger."""

symptom = OneOf(
    {
        "pain": N_("pain"),
        "burning": N_("burning"),
        "numbness": N_("numbness"),
        "bleeding": N_("bleeding"),
        "trouble swallowing": N_("trouble swallowing"),
        "trouble opening": N_("trouble opening the mouth"),
        "earache": N_("earache"),
        "loose tooth": N_("loose tooth"),
        "neck lump": N_("lump in the neck"),
        "weight loss": N_("weight loss"),
    }
)
"""What somebody feels."""

no_symptoms = Phrase(N_("none"))
"""When somebody was asked and feels nothing."""

light = OneOf(
    {
        "dark": N_("dark"),
        "not dark": N_("not dark"),
        "unsure": N_("unsure"),
    }
)
"""How an area looks under the light."""

pressure = OneOf(
    {
        "colour comes back": N_("the color comes back"),
        "partly": N_("the color comes back in part"),
        "does not": N_("the color does not come back"),
        "not tried": N_("not tried"),
    }
)
"""What an area does under gentle pressure."""

days = Counted(NN_("%(n)s day", "%(n)s days"))
"""A number of days; the message takes ``%(n)s``."""

weeks = Counted(NN_("%(n)s week", "%(n)s weeks"))
"""A number of weeks; the message takes ``%(n)s``."""

millimetres = Phrase(N_("%(length)s by %(width)s"))
"""A length and a width; the message takes both."""

joined = Phrase(N_("%(first)s, %(following)s"))
"""Two things of a list without 'and', one after the other."""

interpreter_needed = Phrase(N_("interpreter needed"))
"""When an interpreter is needed."""

interpreted = OneOf(
    {
        "in the room": N_("In the room"),
        "by phone": N_("By phone"),
        "by video": N_("By video"),
    }
)
"""How an interpreter takes part in a talk."""

large_print = Phrase(N_("large print"))
"""When large print is needed."""

place = OneOf(
    {
        "upper lip": NC_("clinic", "red part of the upper lip"),
        "lower lip": NC_("clinic", "red part of the lower lip"),
        "inside upper lip": NC_("clinic", "inside of the upper lip"),
        "inside lower lip": NC_("clinic", "inside of the lower lip"),
        "corner of mouth": NC_("clinic", "corner of the mouth"),
        "cheek": NC_("clinic", "cheek lining"),
        "upper groove": NC_("clinic", "upper groove (vestibule)"),
        "lower groove": NC_("clinic", "lower groove (vestibule)"),
        "upper gum": NC_("clinic", "upper gum"),
        "lower gum": NC_("clinic", "lower gum"),
        "behind last molar": NC_("clinic", "behind the last molar"),
        "hard palate": NC_("clinic", "hard palate"),
        "soft palate": NC_("clinic", "soft palate"),
        "uvula": NC_("clinic", "uvula"),
        "top of tongue": NC_("clinic", "top of the tongue"),
        "side of tongue": NC_("clinic", "side of the tongue"),
        "under tongue": NC_("clinic", "underside of the tongue"),
        "back of tongue": NC_("clinic", "back of the tongue"),
        "floor of mouth": NC_("clinic", "floor of the mouth"),
        "tonsil": NC_("clinic", "tonsil"),
        "throat": NC_("clinic", "back wall of the throat"),
    }
)
"""A place in the mouth as clinicians name it to each other."""

side = OneOf(
    {
        "left": NC_("clinic", "left"),
        "right": NC_("clinic", "right"),
        "middle": NC_("clinic", "middle"),
    }
)
"""The side as clinicians name it: the patient's own."""

ordinary = OneOf({"seen": N_("seen"), "not seen": N_("not seen")})
"""Whether an area shows in ordinary light."""

cause = OneOf(
    {
        "rubbing or biting": N_("rubbing or biting"),
        "denture": N_("denture"),
        "spot of colour": N_("spot of color"),
        "blood vessel or bruise": N_("blood vessel or bruise"),
        "infection": N_("infection"),
        "mouth ulcer": N_("mouth ulcer"),
        "none found": N_("none found"),
    }
)
"""What most likely made an area look dark."""

photograph = OneOf(
    {
        "ordinary": N_("in ordinary light"),
        "filtered": N_("with the light and the filter"),
    }
)
"""In which light a photograph was taken."""

decision = OneOf(
    {
        "agreed": N_("yes to the light look"),
        "declined": N_("no to the light look"),
        "wants time": N_("wants more time"),
    }
)
"""What somebody decided about the light look."""

plan = OneOf(
    {
        "re-check": N_("look again"),
        "refer now": N_("refer now"),
    }
)
"""What comes next for an area."""

outcome = OneOf(
    {
        "gone": N_("gone"),
        "smaller": N_("smaller"),
        "still there": N_("still there"),
    }
)
"""What the second look showed."""

relationship = OneOf(
    {
        "parent": N_("parent"),
        "legal guardian": N_("legal guardian"),
        "other relative": N_("other relative"),
        "carer": N_("carer"),
        "power of attorney": N_("power of attorney"),
    }
)
"""Who somebody is to the person for whom they decide."""
