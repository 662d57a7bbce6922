"""Claims that the papers do not carry, each with its verdict."""

import re
from pathlib import Path

import pytest

from plainleaf import paths
from plainleaf.errors import EvidenceProblem
from plainleaf.evidence.claims import VERDICTS, Claim, read_claims
from plainleaf.evidence.tables import Figure, Tables

CLAIM = """# a line above
[sample-claim]
claim = "A third of something is 33."
known = "Some of it."
not_known = "The rest."
verdict = "not carried"
figures = ["a-figure"]
"""


def claims(folder: Path, text: str) -> tuple[Claim, ...]:
    file = folder / "claims.toml"
    file.write_text(text, "utf-8")
    return read_claims(file, {"a-figure"})


def test_the_claims_as_they_stand_are_sound(evidence: Tables) -> None:
    ids = {figure.id for figure in evidence.figures}
    found = read_claims(paths.evidence() / "claims.toml", ids)
    assert len(found) >= 18
    assert {claim.verdict for claim in found} == set(VERDICTS)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"not carried"', '"false"', "'false' is no verdict"),
        ('"not carried"', "[1]", "'[1]' is no verdict"),
        ('"a-figure"', '"b-figure"', "there is no figure 'b-figure'"),
        ('["a-figure"]', '"a-figure"', "'figures' is not a list of ids"),
        ('["a-figure"]', "[1]", "'figures' is not a list of ids"),
        ('known = "Some of it."\n', "", "'known' is missing"),
        ('"Some of it."', '"Some 40 of it."', "a digit is typed into 'known'"),
        ('"The rest."', '"The other ½."', "a digit is typed into 'not_known'"),
        ('"The rest."', '" "', "'not_known' is not a sentence"),
        ('"The rest."', "3", "'not_known' is not a sentence"),
        ("[sample-claim]\n", '[sample-claim]\nvalue = "1"\n', "'value' is no known field"),
    ],
)
def test_a_bad_claim_is_told_with_file_line_and_id(
    tmp_path: Path, old: str, new: str, says: str
) -> None:
    assert CLAIM.count(old) == 1 or old.startswith("known")
    with pytest.raises(EvidenceProblem, match=re.escape(says)) as caught:
        claims(tmp_path, CLAIM.replace(old, new, 1))
    assert caught.value.found.startswith("claims.toml line 2 (sample-claim): ")


def test_a_claims_file_that_cannot_be_read_is_a_known_problem(tmp_path: Path) -> None:
    for text in ("[x", 'x = "1"\n', CLAIM + CLAIM):
        with pytest.raises(EvidenceProblem, match=r"claims\.toml"):
            claims(tmp_path, text)
    with pytest.raises(EvidenceProblem, match="none.toml"):
        read_claims(tmp_path / "none.toml", ())


def test_a_claim_offers_nothing_to_print_as_a_fact(tmp_path: Path) -> None:
    (claim,) = claims(tmp_path, CLAIM)
    offered = {name for name in dir(claim) if not name.startswith("_")}
    assert offered == {"id", "claim", "known", "not_known", "verdict", "figures"}
    assert not isinstance(claim, Figure)
