"""Two invented languages that show what is hard-coded, clipped or in the wrong direction.

``en-XA`` is English with accents on every letter and two fifths longer; ``ar-XB`` is English in
Arabic letters, from right to left. Their tags are those that CLDR uses for such pseudo-locales.
"""

import re
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog as Messages
from babel.messages.pofile import write_po

from plainleaf import paths
from plainleaf.evidence.tables import load
from plainleaf.language.extraction import wanted

_KEPT = re.compile(r"(%\(\w+\)s|</?\w+[^>]*>)")
_ACCENTS = str.maketrans(
    "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ",
    "åbçdéfĝĥîĵķļmñöþqŕšţûvŵxýžÅBÇĐÉFĜĤÎĴĶĻMÑÖÞQŔŠŢÛVŴXÝŽ",
)
_ARABIC = str.maketrans("abcdefghijklmnopqrstuvwxyz", "ابجدهفغحيجكلمنوبقرستعوشخيز")
_PADDING = "öñé ţŵö ţĥŕéé föûŕ fîvé šîx šévéñ éîĝĥţ ñîñé ţéñ"

LOCALE = """
reviewed = false
name = "{tag}"
own_name = "{own}"
script = "{script}"
direction = "{direction}"
numbers_like = "en"
like = "en"
months = [{months}]
weekdays = [{weekdays}]
and = "{also}"
[territories]
US = "{place}"
001 = "{place}"
"""


def longer(text: str) -> str:
    """Accented and two fifths longer; what a translator must keep stays as it is."""
    told = _each(text, lambda part: part.translate(_ACCENTS))
    letters = len(_KEPT.sub("", text))
    return told if letters < 4 else f"{told} {_PADDING[: max(2, letters * 2 // 5)].strip()}"


def mirrored(text: str) -> str:
    """The same in Arabic letters."""
    return _each(text, lambda part: part.lower().translate(_ARABIC))


def _each(text: str, change: Callable[[str], str]) -> str:
    return "".join(part if _KEPT.fullmatch(part) else change(part) for part in _KEPT.split(text))


PSEUDO: dict[str, Callable[[str], str]] = {"en-XA": longer, "ar-XB": mirrored}


def write_pseudo(folder: Path) -> None:
    """Both languages as folders that an office could have."""
    needed = list(wanted(paths.templates() / "papers", load().positions))
    for tag, say in PSEUDO.items():
        own = folder / tag.replace("-", "_")
        (own / "LC_MESSAGES").mkdir(parents=True)
        catalog = Messages(locale="en")
        for context, message, _ in needed:
            said = say(message) if isinstance(message, str) else tuple(map(say, message))
            catalog.add(message, string=said, context=context)
        written = BytesIO()
        write_po(written, catalog)
        (own / "LC_MESSAGES" / "plainleaf.po").write_bytes(written.getvalue())
        for file in (paths.locales() / "en").glob("*.txt"):
            (own / file.name).write_text("# none\n", "utf-8")
        names = ", ".join(f'"{say(chr(97 + place))}"' for place in range(12))
        rtl = tag == "ar-XB"
        (own / "locale.toml").write_text(
            LOCALE.format(
                tag=tag,
                own=say("own"),
                script="Arab" if rtl else "Latn",
                direction="rtl" if rtl else "ltr",
                months=names,
                weekdays=", ".join(names.split(", ")[:7]),
                also=say("and"),
                place=say("place"),
            ),
            "utf-8",
        )
