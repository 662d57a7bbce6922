"""The lists of words that stop a paper: every line is alive, and a good sentence passes."""

from pathlib import Path

import pytest

from conftest import LANGUAGES, SIXTEEN
from plainleaf import paths
from plainleaf.errors import PaperProblem
from plainleaf.papers.phrasing import Phrase, folded, phrases

LISTS = ("waiver_words", "value_words", "banned_claims", "selling_words", "one_in")


@pytest.mark.parametrize("name", LISTS)
@pytest.mark.parametrize("tag", SIXTEEN)
def test_every_line_of_a_list_is_alive(tag: str, name: str) -> None:
    listed = phrases(paths.locales(), tag, name)
    assert len(listed) >= (3 if name == "one_in" else 15)
    assert len({phrase.text for phrase in listed}) == len(listed)
    for phrase in listed:
        assert phrase.found(filled(phrase.text, tag)), phrase
        for right in phrase.right:
            assert not phrase.found(filled(right, tag)), (phrase, right)


def filled(phrase: str, tag: str) -> str:
    """A sentence in which a phrase of a list stands, with something for its wildcards."""
    said = phrase.replace("...", "xyz").replace(" *", " 7").replace("*", "a")
    return f"w {said.replace(' ', '') if tag in ('zh-Hans', 'ja') else said}. w"


@pytest.mark.parametrize("tag", LANGUAGES)
def test_a_text_is_stopped_for_the_bad_sentence_and_not_for_the_good_one(tag: str) -> None:
    def hits(name: str, text: str) -> list[str]:
        return [
            one
            for phrase in phrases(paths.locales(), tag, name)
            for one in phrase.found(folded(text, tag))
        ]

    good, bad = SENTENCES[tag]
    for name, text in good:
        assert not hits(name, text), text
    for name, text in bad:
        assert hits(name, text), text


SENTENCES = {
    "en": (
        [
            ("waiver_words", "This form takes away none of your rights."),
            ("banned_claims", "If nothing looks dark, that does not rule disease out."),
            ("banned_claims", "It does not mean that you have cancer."),
            ("banned_claims", "This light cannot find mouth cancer."),
            ("value_words", "Unsafe and justice are other words."),
        ],
        [
            ("waiver_words", "I RELEASE the practice from all liability."),
            ("waiver_words", "We will not treat you if you say no."),
            ("banned_claims", "It rules disease out."),
            ("banned_claims", "Early detection saves lives."),
            ("banned_claims", "Don\u2019t worry."),
            ("value_words", "You have a good chance."),
        ],
    ),
    "es": (
        [
            ("waiver_words", "Este formulario no le quita ningún derecho."),
            ("banned_claims", "Si nada se ve oscuro, eso no descarta una enfermedad."),
            ("value_words", "La zona desaparece por sí sola."),
        ],
        [
            ("waiver_words", "Libera a la clínica de toda responsabilidad."),
            ("banned_claims", "Una luz normal descarta la enfermedad."),
            ("banned_claims", "La detección precoz salva vidas."),
            ("value_words", "Sólo puede doler un poco."),
            ("value_words", "Es un método seguro y rápido."),
        ],
    ),
    "ar": (
        [
            ("waiver_words", "هذا النموذج لا يلغي أي حق من حقوقكم."),
            ("banned_claims", "وإذا لم يظهر أي شيء داكن، فهذا لا ينفي وجود مرض."),
            ("banned_claims", "لا يعرف أحد هل يكشف الضوء أكثر من الفحص المعتاد."),
        ],
        [
            ("waiver_words", "لا تتحمل العيادة أي مسؤولية."),
            ("banned_claims", "وهذا ينفي وجود مرض."),
            ("banned_claims", "الاكتشاف المبكر ينقذ الحياة."),
            ("value_words", "وهو فحص آمِن وبسيط."),
        ],
    ),
}


def test_a_phrase_stays_in_its_sentence_and_in_whole_words() -> None:
    phrase = Phrase("finds ... cancer")
    assert phrase.found("it finds mouth cancer")
    assert phrase.found("it finds cancer")
    assert not phrase.found("it finds an area. cancer is rare")
    assert not phrase.found("it finds an area\ncancer")
    assert not phrase.found("it finds one two three four cancer")
    assert Phrase("safe").found("it is safe.") == ["safe"]
    assert not Phrase("safe").found("unsafe safety")
    assert Phrase("saf*").found("safety") == ["safety"]
    assert folded("S\u00d3LO \u00abآمِنٌ\u00bb don\u2019t") == folded("solo \u00abامن\u00bb don't")


@pytest.mark.parametrize("name", LISTS)
def test_a_language_without_a_list_stops(name: str, tmp_path: Path) -> None:
    with pytest.raises(PaperProblem, match=name) as caught:
        phrases(tmp_path, "sw", name)
    assert f"locales/sw/{name}.txt" in caught.value.do
