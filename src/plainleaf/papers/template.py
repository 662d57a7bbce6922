"""A template as it is read: strictly, with all its parts, and what it asks for by name."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined, TemplateError, meta, nodes

from plainleaf import paths
from plainleaf.errors import PaperProblem
from plainleaf.language.catalogs import Catalog

_KEPT = 64
"""How many templates are remembered by what they ask for."""

_FACTS = ("practice", "visit", "area", "figures", "results")
"""The values whose facts are known by their names."""

_WORDS: ContextVar[Catalog] = ContextVar("words")


@dataclass(frozen=True, eq=False)
class Template:
    """A template with its parts. Each is equal to itself only.

    ``sources`` are their texts by name. ``values`` are the names that it is rendered with, such as
    ``visit``. ``asked`` are the facts that it asks for, such as ``visit.place``; one of a value
    that the template named itself begins with a point, as ``.site``. ``topics`` are those of the
    expert positions, ``own_topics`` those on which a country is heard that has none on ``topics``,
    and ``families`` those of the cancer sites in its newest figures.
    """

    folder: Path
    sources: dict[str, str]
    values: frozenset[str]
    asked: frozenset[str]
    topics: frozenset[str]
    own_topics: frozenset[str]
    families: frozenset[str]

    @property
    def cites(self) -> bool:
        """Whether it may cite a source."""
        return not self.values.isdisjoint(("figures", "positions"))

    def holds(self, markup: str) -> bool:
        """Whether a piece of markup stands anywhere in it."""
        return any(markup in text for text in self.sources.values())


class _Strict(Environment):
    """Templates whose mistakes are told from those of the facts that they ask for."""

    def getattr(self, obj: Any, attribute: str) -> Any:
        """An attribute; a fact that breaks while it is worded is no fault of the template."""
        try:
            return getattr(obj, attribute)
        except AttributeError:
            if hasattr(type(obj), attribute):
                raise
        return self.undefined(obj=obj, name=attribute)


def folder_of_papers() -> Path:
    """Where our own templates lie."""
    return paths.templates() / "papers"


@cache
def environment(folder: Path) -> Environment:
    """Templates read strictly. One environment serves every language: words come per call."""
    made = _Strict(
        loader=FileSystemLoader(folder),
        autoescape=True,
        undefined=StrictUndefined,
        extensions=["jinja2.ext.i18n"],
    )
    made.policies["ext.i18n.trimmed"] = True
    made.install_gettext_callables(  # type: ignore[attr-defined]
        lambda message: _WORDS.get().gettext(message),
        lambda singular, plural, count: _WORDS.get().ngettext(singular, plural, count),
        newstyle=True,
        pgettext=lambda context, message: _WORDS.get().pgettext(context, message),
        npgettext=lambda c, s, p, n: _WORDS.get().npgettext(c, s, p, n),
    )
    return made


@contextmanager
def worded_in(words: Catalog) -> Iterator[None]:
    """Templates speak this language as long as the context lasts."""
    token = _WORDS.set(words)
    try:
        yield
    finally:
        _WORDS.reset(token)


def template(folder: Path, paper_id: str) -> Template:
    """The template of a paper with all its parts. Raises PaperProblem when one cannot be read."""
    try:
        return _read(environment(folder), folder, paper_id)
    except TemplateError as error:
        raise not_there(paper_id, error) from error


@lru_cache(maxsize=_KEPT)
def _read(made: Environment, folder: Path, paper_id: str) -> Template:
    sources: dict[str, str] = {}
    trees: list[nodes.Template] = []
    waiting: list[str | None] = [f"{paper_id}.xml"]
    while waiting:
        name = waiting.pop()
        if name is None:
            raise _nameless(paper_id)
        if name not in sources:
            assert made.loader is not None
            sources[name] = made.loader.get_source(made, name)[0]
            trees.append(made.parse(sources[name]))
            waiting += meta.find_referenced_templates(trees[-1])
    values = frozenset().union(*map(meta.find_undeclared_variables, trees))
    asked = {_named(one) for tree in trees for one in tree.find_all(nodes.Getattr)}
    calls = [one for tree in trees for one in tree.find_all(nodes.Call)]
    heard = [call for call in calls if _is_name(call.node, "positions")]
    topics = {str(one.as_const()) for call in heard for one in call.args}
    own = {str(one.value.as_const()) for call in heard for one in call.kwargs}
    newest = [call for call in calls if _is_fact(call.node, "figures", "newest")]
    # The second family, if there is one, is that beside which the first is told.
    families = {_said(call, 1) for call in newest}
    return Template(
        *(folder, sources, values, frozenset(asked)),
        *(frozenset(topics), frozenset(own), frozenset(families)),
    )


def _named(node: nodes.Getattr) -> str:
    """A fact by its name, after that of the value that has it if we gave it that value."""
    given = next((one for one in _FACTS if _is_name(node.node, one)), "")
    return f"{given}.{node.attr}"


def _is_name(node: nodes.Node, name: str) -> bool:
    return isinstance(node, nodes.Name) and node.name == name


def _is_fact(node: nodes.Node, value: str, name: str) -> bool:
    return isinstance(node, nodes.Getattr) and node.attr == name and _is_name(node.node, value)


def _said(call: nodes.Call, place: int) -> str:
    """An argument that is written out, as all are from which we tell what a paper may say."""
    return str(call.args[place].as_const())


def not_there(paper_id: str, error: TemplateError) -> PaperProblem:
    """The problem with a template that does not fit what it is given."""
    return PaperProblem(
        f"The template of '{paper_id}' asks for something that is not there: {error}.",
        "A gap in a sentence could change what it means.",
        "Correct the template; DEVELOPERS.md lists what a template may ask for.",
    )


def _nameless(paper_id: str) -> PaperProblem:
    return PaperProblem(
        f"The template of '{paper_id}' includes a part whose name is worked out.",
        "Nobody could tell what the paper may say, so nobody could sign for it.",
        "Include parts by their names.",
    )
