"""Templates and leaves into pages, and a template's fault into a sentence with its file and line."""

from __future__ import annotations

import re
import traceback
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import quote

from jinja2 import Environment, FileSystemLoader, StrictUndefined, TemplateNotFound, TemplateSyntaxError
from markupsafe import Markup, escape

from sitegen.site import addresses
from sitegen.site.addresses import NOT_YET, Known, LinkFault, Links
from sitegen.site.content import Later, Leaf, MadeSheet
from sitegen.site.head import head
from sitegen.site.house import House
from sitegen.site.shown import Shot, hang, picture, ratio_class
from sitegen.site.theme import TEMPLATES
from sitegen.studio.fault import Fault
from sitegen.studio.outward import host
from sitegen.studio.piece import Status
from sitegen.voice.prose import html
from sitegen.voice.theme_files import ThemeFiles

# Text between tags, and in it a number before what it counts or measures: the two stay on one line.
_IN_TEXT = re.compile(r">[^<]*\d[^<]*(?=<)")
_COUNTED = re.compile(r"(?<=\d|[¼½¾]) (?=[^\W\d_])")


def _kept_whole(text: re.Match[str]) -> str:
    return _COUNTED.sub("\N{NO-BREAK SPACE}", text[0])


class Press:
    """Sets pages with the templates of one theme. Everything is escaped unless it is markup by type."""

    def __init__(self, theme: ThemeFiles) -> None:
        """Open a theme's templates; each is compiled when it's asked for."""
        self.theme = theme
        self.environment = Environment(
            loader=FileSystemLoader(theme.below(TEMPLATES)),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
        )

    def lay_out(self, fixed: Mapping[str, Any]) -> Press:
        """Give every page `fixed` to use."""
        self.environment.globals.update(fixed)
        return self

    def page(self, template: str, values: Mapping[str, Any]) -> bytes:
        """Set one page. Raises Fault for anything wrong in the template."""
        try:
            text = self.environment.get_template(template).render(values)
        except TemplateNotFound as error:
            raise Fault(f"{self._named(template)}: the theme has no template '{error.message}'") from error
        except TemplateSyntaxError as error:
            name = self.theme.shown(Path(error.filename)) if error.filename else self._named(template)
            raise Fault(f"{name}, line {error.lineno}: {error.message}") from error
        except LinkFault:
            raise  # of the artist's words: where the template shows them doesn't matter
        except Fault as error:
            raise Fault(f"{error} ({self._place(error, template)})") from error
        except Exception as error:
            raise Fault(f"{self._place(error, template)}: {error}") from error
        head, mark, body = text.strip().partition("<body")
        return (head + mark + _IN_TEXT.sub(_kept_whole, body) + "\n").encode("utf-8")

    def _place(self, error: BaseException, template: str) -> str:
        homes = tuple(str(folder) for folder in self.theme.below(TEMPLATES))
        frames = [
            frame for frame in traceback.extract_tb(error.__traceback__) if frame.filename.startswith(homes)
        ]
        if not frames:
            return self._named(template)
        return f"{self.theme.shown(Path(frames[-1].filename))}, line {frames[-1].lineno}"

    def _named(self, template: str) -> str:
        found = self.theme.find(f"{TEMPLATES}/{template}")
        return self.theme.shown(found) if found else f"{self.theme.name}/{TEMPLATES}/{template}"


# Pages that the foot of every page leads to, where the artist wrote them.
_FOOT = ("commission-terms", "payment-terms", "shipping", "care", "privacy")


@dataclass(frozen=True, slots=True)
class FootLine:
    """A page that the foot of every page leads to: not its words, or each page would change with them."""

    name: str
    title: str


def set_leaf(house: House, press: Press, known: Known, page: Leaf | Later) -> MadeSheet:
    """Set one page; its bytes depend on nothing but the arguments."""
    leaf = page.write() if isinstance(page, Later) else page
    links = Links(known, leaf.path)
    content = press.page(leaf.template, {**_of_page(house, links, leaf), **leaf.parts})
    return MadeSheet(content, links.asked)


def shared(house: House) -> dict[str, Any]:
    """Return what every template may use, on every page alike.

    A value here is part of every page's key, so whatever changes with each piece has no place here.
    """
    card, tongue, words = house.front.card, house.tongue, house.words
    return {
        "card": card,
        "options": house.theme.options,
        "say": words.say,
        "plain": words.plain,
        "typo": house.typographic,
        "height": lambda piece: house.voice.height(piece.size, piece.height_mm),
        "where": house.voice.where,
        "mail": partial(mail_link, card.contact),
        "status": lambda status: words.say(f"status.{Status(status).name.lower()}"),
        "ratio_class": ratio_class,
        "hang": hang,
        "paths": addresses,
        "host": host,
        "nav": _nav(house),
        "foot": tuple(FootLine(page.name, page.title) for page in house.pages(*_FOOT)),
        **{name: getattr(tongue, name) for name in _SPOKEN},
    }


_SPOKEN = (
    "money", "priced", "number", "day", "full_day", "month", "days", "moment", "clock", "length", "both",
    "deposit",
)  # fmt: skip


def _nav(house: House) -> tuple[tuple[str, str], ...]:
    """Return name and path of the pages that the head of every page leads to."""
    say = house.say
    about = [(say("nav.about"), addresses.page("about"))] if house.front.page("about") else []
    return (
        (say("nav.gallery"), addresses.GALLERY),
        (say("nav.commissions"), addresses.COMMISSIONS),
        (say("nav.shows"), addresses.SHOWS),
        *about,
        (say("nav.letters"), addresses.LETTERS),
    )


def _of_page(house: House, links: Links, leaf: Leaf) -> Mapping[str, Any]:
    point = pointer(house, leaf.path)

    def resolve(target: str) -> str:
        if target.startswith("#"):
            return target
        path = links.find(target)
        return point(path) if path else NOT_YET

    def show(shot: Shot, sizes: str, *, card: bool = False, first: bool = False) -> Markup:
        alt = shot.photo.alt or house.say("picture.of", title=shot.title)
        return picture(shot, point, alt, sizes, card=card, first=first)

    return {
        "path": leaf.path,
        "title": leaf.title,
        "description": leaf.description,
        "head": head(house, leaf, point),
        "link": point,
        "picture": show,
        "prose": lambda text, base=2: html(text, house.voice.quotes, resolve, base),
    }


def pointer(house: House, path: str) -> Callable[[str], str]:
    """Return what turns a path into a link from the page at `path`."""
    if path == addresses.LOST:
        return partial(addresses.from_root, house.front.card.address)
    return partial(addresses.relative, path)


# Characters that an address may hold and that a mailto link may carry as they are (RFC 6068, section 2).
_SAFE_IN_ADDRESS = "@!$*+-._~"


def veiled(text: str) -> Markup:
    """Write every character as a numeric reference: the same text to a browser, not to a plain search."""
    return Markup("".join(_reference(place, character) for place, character in enumerate(text)))  # noqa: S704


def _reference(place: int, character: str) -> str:
    return f"&#x{ord(character):x};" if place % 3 else f"&#{ord(character)};"


def mailto(address: str, subject: str = "", body: str = "") -> str:
    """Return a mailto address with its subject and body filled in (RFC 6068; lines end in CRLF)."""
    fields = {"subject": subject, "body": body.replace("\n", "\r\n")}
    query = "&".join(f"{name}={quote(value, safe='')}" for name, value in fields.items() if value)
    return f"mailto:{quote(address, safe=_SAFE_IN_ADDRESS)}" + (f"?{query}" if query else "")


def mail_link(address: str, words: str | Markup | None = None, subject: str = "", body: str = "") -> Markup:
    """Return a link that opens a letter; its text is `words`, or the address itself.

    Without an address the words stand alone.
    """
    if not address:
        return escape(words or "")
    start, _, query = mailto(address, subject, body).partition("?")
    rest = escape("?" + query) if query else Markup("")
    text = veiled(address) if words is None else escape(words)
    return Markup('<a class="mail" href="{}{}">{}</a>').format(veiled(start), rest, text)
