"""Who and where the studio is, and what of it lies on other hosts: studio.yaml."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from enum import StrEnum
from functools import lru_cache
from typing import Annotated, Any
from urllib.parse import quote, urlsplit

from pydantic import Field, model_validator

from sitegen.studio import fields, money
from sitegen.studio.fields import Entry
from sitegen.studio.plan import USUAL_TERMS, PaymentPlan, months_after
from sitegen.studio.text import ascii_domain, quoted

# Letters, digits, dots and hyphens: a content policy names a host in ASCII (CSP 3, host-part).
_HOST = re.compile(r"[A-Za-z0-9-]+(\.[A-Za-z0-9-]+)+")
# What an address may hold as it is (RFC 3986, section 2), braces for the piece's place apart.
_ADDRESS = re.compile(r"https://[A-Za-z0-9._~:/?#\[\]@!$&'()*+,;=%-]+")
SLUG = "{slug}"
"""Stands for the name of the piece's folder."""


def _read_secure(text: str) -> str:
    address = text.strip()
    web = _ADDRESS.fullmatch(address) and fields.is_web_address(address)
    if not (web and _HOST.fullmatch(host(address))):
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


@lru_cache(maxsize=64)
def uri(address: str) -> str:
    """Write an address in the characters that programs are promised (RFC 3986), its host as IDNA does."""
    parts = urlsplit(address)
    name, colon, port = parts.netloc.partition(":")
    whole = parts._replace(netloc=f"{ascii_domain(name) or name}{colon}{port}").geturl()
    return quote(whole, safe=":/?#[]@!$&'()*+,;=%")


# Characters that an address may hold and that a mailto link may carry as they are (RFC 6068, section 2).
_SAFE_IN_ADDRESS = "@!$*+-._~"


def mailto(address: str, subject: str = "", body: str = "") -> str:
    """Return a mailto address with its subject and body filled in (RFC 6068; lines end in CRLF)."""
    fields = {"subject": subject, "body": body.replace("\n", "\r\n")}
    query = "&".join(f"{name}={quote(value, safe='')}" for name, value in fields.items() if value)
    return f"mailto:{quote(address, safe=_SAFE_IN_ADDRESS)}" + (f"?{query}" if query else "")


SecureAddress = Annotated[str, fields.typed(_read_secure)]
"""An https address."""
BuyPattern = Annotated[str, fields.typed(_read_pattern)]
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
    return fields.one_of(Carriage)(text)


class Publishing(Entry):
    """Where `publish` brings the site. The password never stands here."""

    way: Annotated[Carriage | None, fields.typed(_read_way)] = Field(default=None, examples=["sftp"])
    """sftp; ftps (FTP over TLS); folder (a mounted share); version control (a working copy of git)."""
    host: str = Field(default="", examples=["files.studio.example"])
    """The server's name, as the host tells it: for sftp and ftps."""
    port: fields.PortNumber | None = None
    """Where the host names another one than 22 (sftp) or 21 (ftps)."""
    user: str = Field(default="", examples=["quarter-tide"])
    folder: str = Field(default="", examples=["public_html"])
    """The folder that is on the web: on the server, or on this machine."""

    @model_validator(mode="after")
    def _is_whole(self) -> Publishing:
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


def _read_currency(text: str) -> str:
    money.minor_digits(text.strip())
    return text.strip()


def _read_paper(text: str) -> str:
    if (paper := text.strip().lower()) not in {"a4", "letter"}:
        raise ValueError(fields.not_one_of(text, ["a4", "letter"]))
    return paper


# Where sheets of paper are Letter: CLDR's supplemental data, paperSize (from memory).
_LETTER = frozenset(["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"])


def usual_paper(read: Mapping[str, Any]) -> str:
    """Return the size of paper that is usual where the studio's language, such as `en-US`, is spoken."""
    tags = str(read.get("language", "")).upper().replace("_", "-").split("-")
    return "letter" if _LETTER & set(tags[1:]) else "a4"


class Series(Entry):
    """A room of the gallery, with a paragraph at the door."""

    name: fields.Name = Field(examples=["Night Market"])
    about: str = ""


class DaysAway(Entry):
    """Days without bench work: rest counts as much as shows."""

    first_day: fields.Day = Field(alias="from", examples=["2026-12-20"])
    last_day: fields.Day = Field(alias="to", examples=["2027-01-03"])
    why: str = ""

    @model_validator(mode="after")
    def _ends_after_it_starts(self) -> DaysAway:
        if self.last_day < self.first_day:
            raise ValueError(f"these days away end ({self.last_day}) before they start ({self.first_day})")
        return self


class OtherStream(StrEnum):
    """Where money comes from that no piece, commission or show brought in."""

    CLASSES = "classes"
    SUPPORTERS = "supporters"
    OTHER = "other"


class Taking(Entry):
    """Income that no piece, commission or show brought in."""

    on: fields.Day = Field(examples=["2026-05-14"])
    what: str = Field(examples=["Saturday class, six people"])
    stream: Annotated[OtherStream, fields.choice(OtherStream)] = OtherStream.OTHER
    amount: fields.Money = Field(examples=["240"])
    hours: fields.Hours = Decimal(0)
    """What it took, preparation included."""


class Expense(Entry):
    """What the studio paid for that is no supply of a piece, no show and no overhead: a kiln, a course."""

    on: fields.Day = Field(examples=["2026-03-02"])
    what: str = Field(examples=["kiln repair"])
    amount: fields.Money = Field(examples=["180"])


class InHand(Entry):
    """What there is to live on, in all accounts together."""

    on: fields.Day = Field(examples=["2026-11-25"])
    amount: fields.Money = Field(examples=["3200"])


class SalesTax(Entry):
    """What prices contain: VAT, sales tax. Whether it's taken, and what is said, is your country's law."""

    name: fields.Name = Field(examples=["VAT"])
    rate: fields.Percent = Decimal(0)
    """Per cent that a price contains; 0 where you aren't registered for it."""
    says: str = ""
    """What stands beside prices instead of the theme's words, as the law of your place asks."""


# So many days before it is due, it is reminded of (common practice, no source).
_AHEAD = 30


class Duty(Entry):
    """Something to be seen to by a day: a licence, a return, a policy. What is asked, local rules say."""

    what: fields.Name = Field(examples=["insurance of the stock, in transit and at shows"])
    due: fields.Day | None = Field(default=None, examples=["2027-01-31"])
    """The day it's next due; without one, nothing is reminded of."""
    every: fields.Count = 12
    """After how many months it comes again."""

    def reminder(self, day: date) -> str:
        """Say that it is due within a month, or was, and what to write once it's done; else nothing."""
        if self.due is None or (self.due - day).days > _AHEAD:
            return ""
        again = months_after(self.due, self.every)
        tense = "is" if self.due >= day else "was"
        return f"{self.what} {tense} due on {self.due}; once it's seen to, write `due: {again}`"


class Desk(Entry):
    """The artist's own numbers: never shown in public, and they never print themselves."""

    rate: fields.Money | None = None
    """What an hour at the bench must earn."""
    overhead: fields.Money | None = None
    """What the studio costs in a month, whether or not anything sells."""
    fees: fields.Percent = Decimal(0)
    """Share of the price that selling costs."""
    weekly_hours: fields.WeekHours | None = None
    """Bench hours in a usual week."""
    days_away: tuple[DaysAway, ...] = ()
    margin: fields.Percent = Decimal(20)
    """What the fair price adds to the cost, for what no hour sheet shows."""
    weeks: fields.Weeks | None = None
    """Weeks worked in a year; without it, 52 less the days away."""
    checklist: tuple[Duty, ...] = ()
    """What must be seen to by a day: licence, tax, insurance, terms."""
    takings: tuple[Taking, ...] = ()
    expenses: tuple[Expense, ...] = ()
    """What was paid beside overhead, supplies and shows."""
    set_aside: fields.Percent = Decimal(0)
    """Share of what comes in, less sales tax, that you put by for tax; an accountant decides how much."""
    budget: fields.Money | None = None
    """What you live on in a month."""
    in_hand: InHand | None = None
    """What there was on a day, in all accounts together: how long it lasts is worked out from it."""

    def __repr_args__(self) -> tuple[()]:
        return ()


class Settings(Entry):
    """The whole of studio.yaml."""

    studio: fields.Name = Field(examples=["Saltglass Studio"])
    maker: fields.Name = Field(examples=["Ada Example"])
    tagline: str = ""
    site: fields.HomeAddress = Field(examples=["https://studio.example/"])
    contact: fields.Name = Field(examples=["hello@studio.example"])
    leave_address: fields.LeaveAddress = ""
    """Web address that takes requests to leave (RFC 8058); each letter's token is added at its end."""
    postal_address: str = ""
    currency: Annotated[str, fields.typed(_read_currency)] = Field(examples=["EUR"])
    time_zone: fields.Zone = Field(examples=["Europe/Dublin"])
    language: fields.Name = "en"
    theme: fields.Name = "case"
    accent: fields.Colour | None = None
    theme_options: dict[str, str] = Field(default_factory=dict)
    """The theme's options by name, where the artist wants another choice than the theme's own."""
    paper: Annotated[str, fields.typed(_read_paper)] = Field(default_factory=usual_paper)
    consent: str = ""
    privacy_note: str = ""
    """What happens to an address, in a sentence or two: on the site's page and on the sheet."""
    confirm: fields.YesNo = False
    """Who comes by a sheet or a table is asked by mail first; no other letter goes out before their yes."""
    sign_up: SecureAddress | None = None
    """Where the mailing-list form posts to; without it the page opens a letter."""
    buy_at: BuyPattern | None = None
    """Where pieces are bought; without it a piece's page opens a letter."""
    publish: Publishing | None = Field(default=None, repr=False)
    """Where the site is brought to; never shown on it."""
    payment_plan: PaymentPlan | None = None
    sales_tax: SalesTax | None = None
    """What prices contain, and what stands beside them."""
    series: tuple[Series, ...] = ()
    shipping: str = ""
    care: str = ""
    how_to_ask: str = ""
    how_to_pay: str = ""
    """The ways a client can pay: in letters about their order only, never on the site."""
    declined: tuple[str, ...] = ()
    private: Desk = Field(default_factory=Desk, repr=False)

    @property
    def paying(self) -> PaymentPlan:
        """The terms of payment: as written, else the usual ones."""
        return self.payment_plan or USUAL_TERMS

    @property
    def digits(self) -> int:
        """Digits after the point in the studio's currency (ISO 4217)."""
        return money.minor_digits(self.currency)

    def plain(self, amount: Decimal) -> str:
        """Write an amount for machines, to the last coin."""
        return money.plain(amount, self.digits)

    def said(self, amount: Decimal) -> str:
        """Write an amount with its currency's letters, to the last coin: `1,000.01 EUR`."""
        return money.in_currency(amount, self.currency, self.digits)

    @property
    def address(self) -> str:
        """The site's address, ending in one slash."""
        return self.site.rstrip("/") + "/"
