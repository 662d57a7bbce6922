"""Known problems: each says what was found, why we stop and what to do, and has an exit code.

A known problem is never shown as a traceback; only a fault of our own is.
"""

from enum import IntEnum


class ExitCode(IntEnum):
    """What the command returns to the shell; zero is success, one is left to unknown faults."""

    SETTINGS = 3
    EVIDENCE = 4
    LANGUAGE = 5
    FACTS = 6
    PAPER = 7
    OUTPUT = 8
    LEFT_OUT = 10
    """Done, and files were written, but somebody on the list got nothing, or lacks a paper."""
    CHANGED = 20


class Problem(Exception):
    """Something known went wrong: one sentence each of *found*, *why* and *do*."""

    exit_code = ExitCode.PAPER

    def __init__(self, found: str, why: str, do: str) -> None:
        super().__init__(f"{found} {why} {do}")
        self.found = found
        self.why = why
        self.do = do

    def __reduce__(self) -> tuple[type["Problem"], tuple[str, str, str]]:
        """A problem met by another process arrives with its sentences apart."""
        return type(self), (self.found, self.why, self.do)


class SettingsProblem(Problem):
    """practice.toml is missing, misspelt or holds a value that cannot be used."""

    exit_code = ExitCode.SETTINGS


class EvidenceProblem(Problem):
    """A row of the evidence tables cannot be read, trusted or found."""

    exit_code = ExitCode.EVIDENCE


class LanguageProblem(Problem):
    """A language, a translation or a glyph is missing or wrong."""

    exit_code = ExitCode.LANGUAGE


class FactsProblem(Problem):
    """What we were told about a person or a visit is missing or cannot be used."""

    exit_code = ExitCode.FACTS


class PaperProblem(Problem):
    """A paper could not be composed, or did not pass the checks before it may leave."""

    exit_code = ExitCode.PAPER


class OutputProblem(Problem):
    """The finished paper could not be written."""

    exit_code = ExitCode.OUTPUT


class ChangedProblem(Problem):
    """A paper that was to be made again would not be the same paper now."""

    exit_code = ExitCode.CHANGED
