"""Where templates, locales, fonts and data stand, in a wheel or in a checkout."""

from functools import cache
from importlib.util import find_spec
from pathlib import Path

from plainleaf.errors import OutputProblem

_PACKAGE = Path(__file__).resolve().parent
_CHECKOUT = _PACKAGE.parents[1]


def _room(name: str) -> Path:
    """A top-level folder: inside the package when installed, beside ``src`` in a checkout."""
    for candidate in (_PACKAGE / name, _CHECKOUT / name):
        if candidate.is_dir():
            return candidate
    raise OutputProblem(
        f"The folder '{name}' that belongs to Plainleaf is not there.",
        "Without it no paper can be made.",
        "Install Plainleaf again, or run it from a whole checkout.",
    )


OWN_LANGUAGES = "locales"
"""The folder beside practice.toml for languages that an office adds."""


@cache
def templates() -> Path:
    """The folder of papers, print layouts, fonts and the starting settings."""
    return _room("templates")


@cache
def locales() -> Path:
    """The folder of translation catalogs, one folder a language."""
    return _room("locales")


def own_languages(office: Path | None) -> Path | None:
    """An office's own languages, a folder each, beside its settings; None when it has none."""
    own = office / OWN_LANGUAGES if office else None
    return own if own and own.is_dir() else None


def language_folder(tag: str, extra: Path | None = None) -> Path:
    """The folder of one language: in the office's own folder of languages if it is there."""
    name = tag.replace("-", "_")
    if extra is not None and (extra / name).is_dir():
        return extra / name
    return locales() / name


def language_file(tag: str, name: str, extra: Path | None = None) -> Path:
    """One file of a language: the office's own if there is one, else ours."""
    own = extra / tag.replace("-", "_") / name if extra is not None else None
    return own if own and own.is_file() else locales() / tag.replace("-", "_") / name


def is_checkout() -> bool:
    """Whether Plainleaf runs from a checkout, whose catalogs are there to be worked on."""
    return locales().parent == _CHECKOUT


@cache
def evidence() -> Path:
    """The folder of the evidence tables."""
    return _PACKAGE / "evidence" / "data"


@cache
def fonts() -> Path:
    """The folder of the fonts that travel with Plainleaf: Latin, Greek, Cyrillic, Arabic, Hindi."""
    return templates() / "fonts"


@cache
def cjk_fonts() -> Path | None:
    """The folder of the Chinese, Japanese and Korean fonts, or None without the extra ``cjk``."""
    spec = find_spec("manimgx_fonts_cjk")
    if spec is None or not spec.submodule_search_locations:
        return None
    return Path(next(iter(spec.submodule_search_locations)))
