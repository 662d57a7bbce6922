"""What phrases are made of: a message, one of a closed set, one that counts.

Each knows its messages and words only the one that is wanted, so that a message that is missing
stops who asks for it and nobody else. ``N_``, ``NC_`` and ``NN_`` mark a text for Babel's reading.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from plainleaf.language.catalogs import Catalog, Key


def N_(message: str) -> Key:
    """A message."""
    return None, message, None


def NC_(context: str, message: str) -> Key:
    """A message that needs a context to be clear."""
    return context, message, None


def NN_(singular: str, plural: str) -> Key:
    """A message in the two forms of English."""
    return None, singular, plural


@dataclass(frozen=True)
class Phrase:
    """One message. Called with values, it has them set into its ``fields`` in their order."""

    key: Key
    fields: tuple[str, ...] = ()

    def __call__(self, words: Catalog, *values: str) -> str:
        """The phrase in the words of a language; without values its placeholders stay."""
        text = words.say(self.key)
        return text % dict(zip(self.fields, values, strict=True)) if values else text

    @property
    def messages(self) -> tuple[Key, ...]:
        """All that it may say."""
        return (self.key,)


@dataclass(frozen=True)
class Counted:
    """One message in the form that a number takes."""

    key: Key

    def __call__(self, words: Catalog, count: int) -> str:
        """The phrase for a count; its placeholders stay."""
        return words.say(self.key, count)

    @property
    def messages(self) -> tuple[Key, ...]:
        """All that it may say."""
        return (self.key,)


@dataclass(frozen=True)
class OneOf:
    """A closed set of messages by name."""

    table: Mapping[str, Key]

    def __call__(self, words: Catalog, name: str) -> str:
        """The message with this name in the words of a language."""
        return words.say(self.table[name])

    def only(self, *names: str) -> "OneOf":
        """The part of the set with these names."""
        return OneOf({name: self.table[name] for name in names})

    @property
    def messages(self) -> tuple[Key, ...]:
        """All that it may say."""
        return tuple(self.table.values())


Said = Phrase | Counted | OneOf
