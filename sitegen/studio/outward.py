"""What lies on other hosts: a shop, a form's receiver, the place that the site is brought to."""

import re
from enum import StrEnum
from typing import Annotated
from urllib.parse import quote, urlsplit

from pydantic import Field, model_validator

from sitegen.studio.fields import Entry, PortNumber, is_web_address, one_of, typed
from sitegen.studio.text import quoted

# Letters, digits, dots and hyphens: a content policy names a host in ASCII (CSP 3, host-part).
_HOST = re.compile(r"[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+")
# What an address may hold as it is (RFC 3986, section 2), braces for the piece's place apart.
_ADDRESS = re.compile(r"https://[A-Za-z0-9._~:/?#\[\]@!$&'()*+,;=%-]+")
SLUG = "{slug}"
"""Stands for the name of the piece's folder."""


def _read_secure(text: str) -> str:
    address = text.strip()
    if not (_ADDRESS.fullmatch(address) and is_web_address(address) and _HOST.fullmatch(host(address))):
        raise ValueError(
            f"{quoted(text)} is not a safe web address; write it whole and with https, like https://forms.example/a1"
        )
    return address


def _read_pattern(text: str) -> str:
    if re.search(r"[{}]", text.replace(SLUG, "")):
        raise ValueError(
            f"{quoted(text)} has a place that nothing fills; only {SLUG} (the piece's folder) is filled in"
        )
    _read_secure(text.replace(SLUG, "piece"))
    return text.strip()


def origin(address: str) -> str:
    """Return scheme, host and port of an address, as a content policy names it."""
    parts = urlsplit(address)
    return f"{parts.scheme}://{parts.netloc.lower()}"


def host(address: str) -> str:
    """Return the host of an address, to be named to people."""
    return urlsplit(address).hostname or ""


# Characters that an address may hold and that a mailto link may carry as they are (RFC 6068, section 2).
_SAFE_IN_ADDRESS = "@!$*+-._~"


def mailto(address: str, subject: str = "", body: str = "") -> str:
    """Return a mailto address with its subject and body filled in (RFC 6068; lines end in CRLF)."""
    fields = {"subject": subject, "body": body.replace("\n", "\r\n")}
    query = "&".join(f"{name}={quote(value, safe='')}" for name, value in fields.items() if value)
    return f"mailto:{quote(address, safe=_SAFE_IN_ADDRESS)}" + (f"?{query}" if query else "")


SecureAddress = Annotated[str, typed(_read_secure)]
"""An https address."""
BuyPattern = Annotated[str, typed(_read_pattern)]
"""An https address in which {slug} stands for a piece."""


class Carriage(StrEnum):
    """How the site gets to where it lives."""

    SFTP = "sftp"
    FTPS = "ftps"
    FOLDER = "folder"
    VERSIONS = "version control"


def _read_way(text: str) -> Carriage:
    if text.strip().lower() == "ftp":
        raise ValueError(
            "plain ftp sends your password readable over the net, and isn't used; your host most likely "
            "offers sftp or ftps as well: look it up there and write that"
        )
    return one_of(Carriage)(text)


class Publishing(Entry):
    """Where `publish` brings the site. The password never stands here."""

    way: Annotated[Carriage | None, typed(_read_way)] = Field(default=None, examples=["sftp"])
    """sftp; ftps (FTP over TLS); folder (a mounted share); version control (a working copy of git)."""
    host: str = Field(default="", examples=["files.studio.example"])
    """The server's name, as the host tells it: for sftp and ftps."""
    port: PortNumber | None = None
    """Where the host names another one than 22 (sftp) or 21 (ftps)."""
    user: str = Field(default="", examples=["quarter-tide"])
    folder: str = Field(default="", examples=["public_html"])
    """The folder that is on the web: on the server, or on this machine."""

    @model_validator(mode="after")
    def _is_whole(self) -> "Publishing":
        if self.way is None:
            raise ValueError(f"say the way the site goes: `way:` with {' or '.join(Carriage)}")
        remote = self.way in {Carriage.SFTP, Carriage.FTPS}
        needed = {"host": self.host, "user": self.user} if remote else {"folder": self.folder}
        if missing := [name for name, value in needed.items() if not value.strip()]:
            raise ValueError(f"{self.way} needs a line `{missing[0]}:` in this block")
        if remote and not _HOST.fullmatch(self.host):
            raise ValueError(f"{quoted(self.host)} is no server's name; write it like files.studio.example")
        return self

    @property
    def named(self) -> str:
        """The place, as messages and records name it."""
        at = f"{self.user}@{self.host}:{self.port or ''}/" if self.host else ""
        return f"{self.way} {at}{self.folder}"
