"""The elements of FHIR R4 that we read, and of these only what a paper needs.

Element names and codes are those of FHIR R4 (4.0.1), from memory.
"""

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StrictBool


class Element(BaseModel):
    """What all elements share: whatever else a sender adds is passed over."""

    # FHIR lets a sender add more than we read, so other keys are passed over.
    model_config = ConfigDict(extra="ignore", frozen=True)


Strings = tuple[str | None, ...]  # an entry is null where only an extension stands


class Coding(Element):
    """A code of some system."""

    system: str | None = None
    code: str | None = None


class Concept(Element):
    """Something that is meant, by codes, in words, or both."""

    coding: tuple[Coding, ...] = ()
    text: str | None = None

    @property
    def codes(self) -> tuple[str, ...]:
        """All codes that are given."""
        return tuple(one.code for one in self.coding if one.code)


class HumanName(Element):
    """One of the names of a person."""

    use: str | None = None
    text: str | None = None
    family: str | None = None
    given: Strings = ()

    @property
    def whole(self) -> str:
        """The name as the sender wrote it, else given names before the family name."""
        parts = (*self.given, self.family)
        return (self.text or "").strip() or " ".join(part.strip() for part in parts if part)


class ContactPoint(Element):
    """A phone, an e-mail address, or the like."""

    system: str | None = None
    value: str | None = None
    use: str | None = None
    rank: int | None = None


class Identifier(Element):
    """A number or the like by which somebody is known."""

    use: str | None = None
    type: Concept = Concept()
    value: str | None = None


class Communication(Element):
    """A language, and whether it is the one that is preferred."""

    language: Concept
    preferred: StrictBool = False


class Contact(Element):
    """Somebody who belongs to the patient."""

    relationship: tuple[Concept, ...] = ()
    name: HumanName = HumanName()


class Address(Element):
    """One of the addresses of a person."""

    use: str | None = None
    type: str | None = None
    text: str | None = None
    line: Strings = ()
    city: str | None = None
    state: str | None = None
    postalCode: str | None = None
    country: str | None = None


class Patient(Element):
    """Who somebody is, as far as a paper needs it."""

    id: str | None = None
    active: StrictBool = True
    name: tuple[HumanName, ...] = ()
    birthDate: str | None = None
    deceasedBoolean: StrictBool = False
    deceasedDateTime: str | None = None
    communication: tuple[Communication, ...] = ()
    telecom: tuple[ContactPoint, ...] = ()
    address: tuple[Address, ...] = ()
    contact: tuple[Contact, ...] = ()
    identifier: tuple[Identifier, ...] = ()


class Reference(Element):
    """Another resource, by its address."""

    reference: str | None = None
    type: str | None = None


class Participant(Element):
    """Who takes part in an appointment."""

    actor: Reference = Reference()


class Appointment(Element):
    """When somebody is booked, and whether that still holds."""

    status: Literal[
        "proposed",
        "pending",
        "booked",
        "arrived",
        "fulfilled",
        "cancelled",
        "noshow",
        "entered-in-error",
        "checked-in",
        "waitlist",
    ]
    start: str | None = None
    participant: tuple[Participant, ...] = ()


class Entry(Element):
    """One resource of the bundle, with the address by which others call it."""

    fullUrl: str | None = None
    resource: dict[str, Any] = Field(min_length=1)
