"""Mail addresses as a sign-up list should take them.

The library decides; a plain pattern, stricter than the library, lets the usual address through
without asking it, because it takes some 30 µs an address and a list has thousands.
"""

from __future__ import annotations

import re

# RFC 5321 4.5.3.1.1: a local part of at most 64 octets; RFC 3696 erratum 1690: 254 characters in all;
# RFC 1035 2.3.4: a label of at most 63. Dot-atom local part, letters-digits-hyphens domain.
_PLAIN = re.compile(
    r"(?=.{1,64}@)(?=.{3,254}\Z)[A-Za-z0-9_+-]+(?:\.[A-Za-z0-9_+-]+)*"
    r"@(?:[A-Za-z0-9](?:[A-Za-z0-9]|-(?!-)){0,61}[A-Za-z0-9]?\.)+[A-Za-z]{2,63}\Z"
)


# RFC 6761, RFC 6762, RFC 7686: no mail from outside reaches these.
_NOWHERE = ("arpa", "local", "localhost", "onion")
# RFC 2606's example domains are taken: the demo and everyone's first tries live there.
_EXAMPLE = re.compile(r"(?:[.@]example\.(?:com|net|org)|\.(?:example|test|invalid))\Z", re.IGNORECASE)


def fault_of(address: str) -> str | None:
    """Say what is wrong with an address, in a few words; None when it can be written to."""
    if _PLAIN.match(address) and "-." not in address and "-@" not in address:
        top = address.rpartition(".")[2].lower()
        if top not in _NOWHERE:
            return None
    from email_validator import EmailNotValidError, validate_email  # noqa: PLC0415 (slow to import, rarely needed)

    example = bool(_EXAMPLE.search(address))
    try:
        validate_email(address, check_deliverability=False, globally_deliverable=not example, strict=True)
    except EmailNotValidError as fault:
        return str(fault).rstrip(".")
    return None


def as_kept(address: str) -> str:
    """Return the address as it is stored: local part as typed, domain in lower case (RFC 5321 §2.4)."""
    local, _, domain = address.strip().rpartition("@")
    return f"{local}@{domain.lower()}"


WELL_KNOWN = frozenset(
    {
        "aol.com", "att.net", "bigpond.com", "bluewin.ch", "btinternet.com", "comcast.net",
        "email.com", "fastmail.com", "free.fr", "gmail.com", "gmx.at", "gmx.ch", "gmx.com",
        "gmx.de", "gmx.net", "googlemail.com", "hotmail.co.uk", "hotmail.com", "hotmail.de",
        "hotmail.fr", "hotmail.it", "icloud.com", "laposte.net", "libero.it", "live.co.uk",
        "live.com", "mac.com", "mail.com", "mailbox.org", "me.com", "msn.com", "orange.fr",
        "outlook.com", "outlook.de", "outlook.fr", "posteo.de", "proton.me", "protonmail.com",
        "rocketmail.com", "sbcglobal.net", "seznam.cz", "sky.com", "t-online.de", "telenet.be",
        "tiscali.it", "verizon.net", "virgilio.it", "wanadoo.fr", "web.de", "yahoo.ca",
        "yahoo.co.jp", "yahoo.co.uk", "yahoo.com", "yahoo.com.au", "yahoo.de", "yahoo.fr",
        "yahoo.it", "ymail.com", "ziggo.nl",
    }
)  # fmt: skip
