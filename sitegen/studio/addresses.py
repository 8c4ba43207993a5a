"""Mail addresses: when two are the same, and how one goes on an envelope."""

from __future__ import annotations

import re
import unicodedata

# RFC 5321 section 4.5.3.1 (local part, domain) and RFC 3696 erratum 1690 (the whole).
LONGEST_LOCAL, LONGEST_DOMAIN, LONGEST_ADDRESS = 64, 255, 254

# RFC 5322 section 3.2.3, dot-atom: what needs no quoting in front of the @.
_LOCAL = re.compile(r"[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+(?:\.[A-Za-z0-9!#$%&'*+/=?^_`{|}~-]+)*")
# RFC 1123 section 2.1 host names, with at least one dot: no letter goes to a bare machine name.
_LABEL = r"[A-Za-z0-9](?:[A-Za-z0-9-]{0,61}[A-Za-z0-9])?"
_DOMAIN = re.compile(rf"{_LABEL}(?:\.{_LABEL})+")


def address_key(address: str) -> str:
    """Fold an address for comparison: case, composed letters, and the domain in its ASCII form.

    RFC 5321 section 2.4 lets a server tell `Ada@` from `ada@`; no two people share one but for case,
    so the folded form is only ever compared, and the address is kept and written to as typed.
    """
    typed = address.strip()
    if typed.isascii():
        return typed.lower()
    local, _, domain = unicodedata.normalize("NFC", typed).rpartition("@")
    folded = unicodedata.normalize("NFC", local.casefold())
    return f"{folded}@{_ascii_domain(domain) or domain.casefold()}"


def deliverable(address: str) -> str:
    """Return the address in the form every mail server takes: ASCII, the domain as IDNA writes it.

    Raises ValueError, with a sentence, for an address that can't be put on an envelope.
    """
    local, at, domain = unicodedata.normalize("NFC", address).rpartition("@")
    if not at:
        raise ValueError("the address has no @")
    if not local.isascii():
        raise ValueError(
            "few mail servers take letters beyond a–z before the @; write to this person by hand"
        )
    host = _ascii_domain(domain)
    if not _LOCAL.fullmatch(local) or host is None or not _DOMAIN.fullmatch(host):
        raise ValueError("the address isn't one that mail can be sent to")
    if (
        len(local) > LONGEST_LOCAL
        or len(host) > LONGEST_DOMAIN
        or len(local) + 1 + len(host) > LONGEST_ADDRESS
    ):
        raise ValueError("the address is longer than any mail server takes")
    return f"{local}@{host}"


def _ascii_domain(domain: str) -> str | None:
    if domain.isascii():
        return domain.lower()
    import idna  # noqa: PLC0415 (its tables are large and few lists need them)

    try:
        return idna.encode(domain, uts46=True).decode("ascii")
    except idna.IDNAError:
        return None
