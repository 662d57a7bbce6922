"""What the program imports is what it asks for, and the checks run with versions that are known."""

import re
import sys
import tomllib
from importlib.metadata import packages_distributions

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from conftest import ROOT
from test_layers import MODULES, imported_from_anywhere

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
DECLARED = [Requirement(one) for one in PROJECT["dependencies"]]
OPTIONAL = [Requirement(one) for some in PROJECT["optional-dependencies"].values() for one in some]


def pins() -> dict[str, str]:
    lines = (ROOT / "tests" / "constraints.txt").read_text("utf-8").splitlines()
    return dict(line.split("==") for line in lines if not line.startswith("#"))


def test_every_library_that_is_imported_is_declared() -> None:
    known = {canonicalize_name(one.name) for one in (*DECLARED, *OPTIONAL)}
    # An extra such as dask[distributed] brings the library of its name.
    known |= {extra for one in OPTIONAL for extra in one.extras}
    homes = packages_distributions()
    names = {name.split(".")[0] for file in MODULES for name in imported_from_anywhere(file)}
    outside = names - set(sys.stdlib_module_names) - {"plainleaf"}
    assert {"markupsafe", "babel", "typst"} <= outside
    for name in outside:
        assert any(canonicalize_name(home) in known for home in homes.get(name, ())), name


def test_the_versions_of_the_checks_are_within_what_is_declared() -> None:
    pinned = pins()
    for one in DECLARED:
        if one.marker is None or one.marker.evaluate():
            assert one.specifier.contains(pinned[canonicalize_name(one.name)]), one.name
    for name, version in pinned.items():
        assert name == canonicalize_name(name)
        assert re.fullmatch(r"[0-9][\w.]*", version), name
    assert "-c tests/constraints.txt" in (ROOT / "tests" / "all").read_text("utf-8")


def test_a_new_typesetter_is_not_taken_by_itself() -> None:
    (typst,) = (one for one in DECLARED if one.name == "typst")
    assert any(one.operator == "<" for one in typst.specifier)
