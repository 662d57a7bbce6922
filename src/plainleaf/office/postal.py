"""The lines of a postal address out of its parts, as the country writes them (from memory)."""

from collections.abc import Iterable

_CODE_LAST = {"US": "{city}, {state} {code}", "CA": "{city} {state} {code}"}
_CODE_LAST["AU"] = _CODE_LAST["CA"]
_CODE_BELOW = ("GB", "IE")


def address_lines(
    streets: Iterable[str], city: str = "", state: str = "", code: str = "", country: str = ""
) -> list[str]:
    """Lines as on an envelope, without the name; parts that are empty leave no trace.

    A street may have several lines, parted by ``|`` or by line ends. ``country`` is that of the
    practice: where it is unknown, or has no rule here, the code stands before the city.
    """
    lines = [line for street in streets for line in street.replace("|", "\n").splitlines()]
    if country in _CODE_LAST:
        last = _CODE_LAST[country].format(city=city, state=state, code=code)
        lines.append(" ".join(last.split()).strip(", "))
    elif country in _CODE_BELOW:
        lines += [city, state, code]
    else:
        lines += [f"{code} {city}", state]
    return [" ".join(line.split()) for line in lines if line.strip()]
