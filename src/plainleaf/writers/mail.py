"""A paper as one mail: plain text, the same in HTML, and the appointment if there is one.

RFC 5322 for the message, RFC 2046 for its parts. Nothing is loaded from elsewhere when it is read,
so nobody learns that it was. The same page makes the same bytes.
"""

import hashlib
import re
from datetime import UTC, date, datetime, time
from email.errors import ObsoleteHeaderDefect
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP

from plainleaf.errors import FactsProblem
from plainleaf.papers.blocks import Page
from plainleaf.writers import html, text

CALENDAR_FILE = "appointment.ics"
# Seven bits throughout, so that no server on the way has to rewrite the message.
_POLICY = SMTP.clone(cte_type="7bit")


def write(page: Page, sender: str, to: str, calendar: bytes | None = None) -> bytes:
    """The mail that carries a page, with CRLF line ends.

    ``sender`` and ``to`` are mail addresses, with or without a name before them. Raises
    FactsProblem when one of them is not exactly one address.
    """
    plain, rich = text.write([page]), html.write([page])
    origin, reader = _address(sender, "sender"), _address(to, "reader")
    seal = _digest(page.title, page.day, str(origin), str(reader), plain, rich, calendar or b"")
    message = EmailMessage(_POLICY)
    message["From"] = origin
    message["To"] = reader
    message["Subject"] = " ".join(page.title.split())
    message["Date"] = datetime.combine(date.fromisoformat(page.day), time(12), UTC)
    message["Message-ID"] = f"<{seal}@{origin.domain}>"
    # The last part is the best one that a program can show (RFC 2046, 5.1.4).
    message.set_content(plain.decode())
    message.add_alternative(rich.decode(), subtype="html")
    if calendar is not None:
        _attach(message, calendar)
    # Only now: headers of content move into the first part whenever a part is added.
    message["Content-Language"] = page.language
    _fix_boundaries(message, seal)
    return message.as_bytes()


def _digest(*contents: str | bytes) -> str:
    """Thirty-two hexadecimal digits that only this content has."""
    digest = hashlib.sha256()
    for content in contents:
        data = content.encode() if isinstance(content, str) else content
        digest.update(len(data).to_bytes(8, "big") + data)
    return digest.hexdigest()[:32]


def _address(given: str, whose: str) -> Address:
    """The one address in a header's text; an address of other letters than ASCII is refused."""
    found = _only_address(given)
    if found is None or not (found.username and found.domain and found.addr_spec.isascii()):
        raise FactsProblem(
            f"The {whose}'s mail address '{given}' cannot be used.",
            "The mail would come back, or reach somebody else.",
            "Write one address, as in 'Juniper Lane Dental <desk@example.org>'.",
        )
    return found


def _only_address(given: str) -> Address | None:
    """What the library reads in a text when it finds nothing wrong, nobody else and no group."""
    parsed = EmailMessage(_POLICY)
    try:
        parsed["To"] = given
        ((group,), defects) = parsed["To"].groups, parsed["To"].defects
        (found,) = group.addresses
    except (ValueError, IndexError):
        return None
    # A full stop in a name ("Dr. Roe") is only old-fashioned; it is written quoted.
    wrong = any(not isinstance(one, ObsoleteHeaderDefect) for one in defects)
    if wrong or group.display_name is not None:
        return None
    return Address(found.display_name, found.username, found.domain)


def _attach(message: EmailMessage, calendar: bytes) -> None:
    """The calendar file byte for byte; its method is said twice and must agree (RFC 6047, 2.4)."""
    method = re.search(rb"^METHOD:([A-Z]+)\r?$", calendar, re.MULTILINE)
    message.add_attachment(
        calendar,
        maintype="text",
        subtype="calendar",
        filename=CALENDAR_FILE,
        params={"charset": "utf-8"} | ({"method": method[1].decode()} if method else {}),
    )


def _fix_boundaries(message: EmailMessage, seal: str) -> None:
    """Boundaries that cannot stand in a part: neither encoding of a body makes ``=_``."""
    for number, part in enumerate(message.walk()):
        if part.is_multipart():
            part.set_boundary(f"=_{number}_{seal}")
