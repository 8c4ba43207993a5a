"""Templates and leaves into pages, and a template's fault into a sentence with its file and line."""

from __future__ import annotations

import re
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from decimal import Decimal
from functools import partial
from itertools import cycle, groupby, islice, pairwise
from pathlib import Path
from typing import Any

from jinja2 import TemplateNotFound, TemplateSyntaxError
from markupsafe import Markup, escape

from sitegen.site import addresses
from sitegen.site.addresses import NOT_YET, Known, LinkFault, Links
from sitegen.site.house import KINDS, Exhibit, House, Leaf, MadeSheet, Shot
from sitegen.site.machines import TELLERS, about, block, page_policy, preview
from sitegen.site.theme import TEMPLATES
from sitegen.studio import plan
from sitegen.studio.asked import Fault
from sitegen.studio.picture import Rendition
from sitegen.studio.piece import Status
from sitegen.studio.settings import host, mailto
from sitegen.voice.prose import html
from sitegen.voice.templates import open_templates
from sitegen.voice.theme_files import ThemeFiles

# Text between tags, and in it a number before what it counts or measures; not a year;
# a day before its month and, in English, after its weekday. They stay on one line.
_IN_TEXT = re.compile(r">[^<]*\d[^<]*(?=<)")
_COUNTED = re.compile(
    r"(?<!\b(?:19|20)\d\d)(?:(?<=[\d¼½¾])|(?<=\b\d\.)|(?<=\b\d\d\.)) (?=[^\W\d_])|(?<=day) (?=\d{1,2} [A-Z])"
)


class Press:
    """Sets pages with the templates of one theme. Everything is escaped unless it is markup by type."""

    def __init__(self, theme: ThemeFiles, fixed: Mapping[str, Any]) -> None:
        """Open a theme's templates, each compiled when it's asked for; every page may use `fixed`."""
        self.theme = theme
        self.environment = open_templates(theme.below(TEMPLATES), "site")
        self.environment.globals.update(fixed)

    def page(self, template: str, values: Mapping[str, Any]) -> bytes:
        """Set one page. Raises Fault for anything wrong in the template."""
        head, mark, body = self.part(template, values).strip().partition("<body")
        kept = _IN_TEXT.sub(lambda text: _COUNTED.sub("\N{NO-BREAK SPACE}", text[0]), body)
        return f"{head}{mark}{kept}\n".encode()

    def part(self, template: str, values: Mapping[str, Any]) -> str:
        """Set a page or a part of one. Raises Fault for anything wrong in the template."""
        try:
            return self.environment.get_template(template).render(values)
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

    def _place(self, error: BaseException, template: str) -> str:
        homes = tuple(str(folder) for folder in self.theme.below(TEMPLATES))
        frames = traceback.extract_tb(error.__traceback__)
        last = next((frame for frame in reversed(frames) if frame.filename.startswith(homes)), None)
        return (
            f"{self.theme.shown(Path(last.filename))}, line {last.lineno}" if last else self._named(template)
        )

    def _named(self, template: str) -> str:
        found = self.theme.find(f"{TEMPLATES}/{template}")
        return self.theme.shown(found) if found else f"{self.theme.name}/{TEMPLATES}/{template}"


# Pages that the foot of every page leads to, where the artist wrote them.
_FOOT = ("commission-terms", "payment-terms", "shipping", "care", "privacy")
_SPOKEN = (
    "money", "priced", "number", "day", "full_day", "month", "days", "moment", "clock", "length", "both",
    "deposit",
)  # fmt: skip


def set_leaf(house: House, press: Press, known: Known, leaf: Leaf) -> MadeSheet:
    """Set one page; its bytes depend on nothing but the arguments."""
    links = Links(known, leaf.path)
    facts = [TELLERS[kind](house, subject) for kind, subject in leaf.facts]
    values = {**_of_page(house, links, leaf), **leaf.parts}
    data = block(facts) if facts else ""
    about_it = {
        "policy": page_policy(leaf.posts_to, data),
        "facts": data,
        "preview": preview(house, leaf) if leaf.listed else {},
        "theme": house.theme,
        "icons": dict(house.icons),
    }
    head = Markup(press.part("head.html", values | about_it).strip())  # noqa: S704 (a template escapes)
    return MadeSheet(press.page(leaf.template, {**values, "head": head}), links.asked)


def moved(house: House, press: Press) -> Iterator[tuple[str, bytes]]:
    """Yield path and page of each earlier address that no piece has now."""
    taken = {exhibit.piece.slug for exhibit in house.every}
    for exhibit in house.every:
        for earlier in exhibit.piece.was:
            if earlier not in taken:
                taken.add(earlier)
                path = addresses.piece(earlier)
                values = {
                    "title": house.voice.typographic(exhibit.piece.title),
                    "link": addresses.relative(path, exhibit.path),
                    "address": house.address(exhibit.path),
                }
                yield path, press.page("moved.html", values)


def shared(house: House) -> dict[str, Any]:
    """Return what every template may use, on every page alike.

    A value here is part of every page's key, so whatever changes with each piece has no place here.
    """
    card, words, voice = house.front.card, house.voice.words, house.voice
    main = {name: getattr(addresses, name.upper()) for name in ("gallery", "commissions", "shows", "letters")}
    main["about"] = addresses.page("about")
    order = ("gallery", "commissions", "shows", *(["about"] if house.front.page("about") else []), "letters")
    return {
        "card": card,
        "options": house.theme.options,
        "say": words.say,
        "plain": house.say,
        "typo": house.voice.typographic,
        "height": lambda piece: voice.height(piece.size, piece.height_mm),
        "where": voice.where,
        "mail": partial(mail_link, card.contact),
        "status": lambda status: words.say(f"status.{Status(status).name.lower()}"),
        "ratio_class": ratio_class,
        "hang": hang,
        "payments_of": lambda piece: () if piece.bought_there else payments(house, piece.price),
        "parts_of": lambda price: [part.amount for _, part in payments(house, price)],
        "runs": lambda amounts: [(len(tuple(run)), amount) for amount, run in groupby(amounts)],
        "paths": addresses,
        "host": host,
        "nav": tuple((words.plain(f"nav.{name}"), main[name]) for name in order),
        # Not the pages themselves, or each page would change with their words.
        "foot": tuple({"name": page.name, "title": page.title} for page in house.pages(*_FOOT)),
        **{name: getattr(house.voice.tongue, name) for name in _SPOKEN},
    }


def _of_page(house: House, links: Links, leaf: Leaf) -> dict[str, Any]:
    point: Callable[[str], str] = partial(addresses.relative, leaf.path)
    if leaf.path == addresses.LOST:
        point = partial(addresses.from_root, house.front.card.address)
    exhibit = leaf.parts.get("exhibit")

    def resolve(target: str) -> str:
        if target.startswith("#"):
            return target
        path = links.find(target)
        return point(path) if path else NOT_YET

    def show(shot: Shot, sizes: str, *, card: bool = False, first: bool = False) -> Markup:
        alt = shot.photo.alt or house.say("picture.of", title=shot.title)
        return picture(shot, point, alt, sizes, card=card, first=first)

    def hung(named: str, words: str) -> Mapping[str, str] | str:
        shot = leaf.parts.get("shots", {}).get(named)
        return _in_words(shot, point, words or shot.photo.alt) if shot else words

    return {
        "path": leaf.path,
        "title": leaf.title,
        "description": about(house, leaf),
        "piece": exhibit and exhibit.piece,
        "link": point,
        "picture": show,
        "prose": lambda text, base=2: html(text, house.voice.quotes, resolve, base, hung),
    }


def payments(house: House, price: Decimal | None) -> list[tuple[int, plan.Part]]:
    """Lay out the studio's usual plan for a price: each part with its month after the order, 0 for at once.

    Nothing where there is no plan or no price.
    """
    front, usual = house.front, house.front.card.payment_plan
    if usual is None or not price:
        return []
    start, digits = front.plan_start, front.card.digits
    try:
        parts = plan.make(price, start, digits, usual).parts
    except ValueError:
        # A price that the artist's bands don't reach, or too small to split: no plan is offered for it.
        return []
    if len(parts) == 1:  # all at once is no plan
        return []
    year, month = start.year, start.month
    return [((part.anchor.year - year) * 12 + part.anchor.month - month, part) for part in parts]


# Width of the picture that a browser without srcset, or a mail program, gets.
_PLAIN_WIDTH = 800
# A piece without a picture takes the room of an upright one.
_UPRIGHT = 0.75


def ratio_class(ratio: float) -> str:
    """Name the style class that tells a grid how wide a picture is for its height."""
    return f"r{round(ratio * 1000)}"


def picture(
    shot: Shot, point: Callable[[str], str], alt: str, sizes: str, *, card: bool = False, first: bool = False
) -> Markup:
    """Return a picture element: every kind and width, its size on record, lazy unless it comes `first`.

    `sizes` is the width at which the page shows it, as the HTML attribute says it.
    """
    *modern, plain = _kinds(shot.picture.card if card else shot.picture.full)
    loading = 'fetchpriority="high" decoding="sync"' if first else 'loading="lazy" decoding="async"'
    largest, usual = plain[-1], min(plain, key=lambda rendition: abs(rendition.width - _PLAIN_WIDTH))
    # Written by hand, since a gallery has hundreds and Markup's own format takes ten times as long.
    room, text = escape(sizes), escape(alt)
    sources = "".join(
        f'<source type="{kind[0].mime}" srcset="{escape(_srcset(shot, point, kind))}" sizes="{room}">'
        for kind in modern
    )
    image = (
        f'<img src="{escape(point(shot.path(usual)))}" srcset="{escape(_srcset(shot, point, plain))}" '
        f'sizes="{room}" '
        f'width="{largest.width}" height="{largest.height}" alt="{text}" {loading}>'
    )
    return Markup(f"<picture>{sources}{image}</picture>")  # noqa: S704 (every part is escaped above)


def _kinds(renditions: Sequence[Rendition]) -> list[list[Rendition]]:
    """Return them by kind, the one that all browsers know last, each from narrow to wide."""
    ordered = sorted(renditions, key=lambda rendition: (KINDS.index(rendition.mime), rendition.width))
    return [list(kind) for _, kind in groupby(ordered, key=lambda rendition: rendition.mime)]


def _srcset(shot: Shot, point: Callable[[str], str], kind: Sequence[Rendition]) -> str:
    return ", ".join(f"{point(shot.path(rendition))} {rendition.width}w" for rendition in kind)


def _in_words(shot: Shot, point: Callable[[str], str], alt: str) -> dict[str, str]:
    """Return the attributes of a picture among the artist's words, of the kind that all know."""
    *_, plain = _kinds(shot.picture.full)
    widest = plain[-1]
    return {
        "src": point(shot.path(widest)),
        "srcset": _srcset(shot, point, plain),
        "sizes": "(min-width: 48rem) 35rem, 92vw",
        "width": str(widest.width),
        "height": str(widest.height),
        "alt": alt,
        "loading": "lazy",
        "decoding": "async",
    }


def hang(exhibits: Sequence[Exhibit], pattern: str) -> list[list[list[dict[str, Any]]]]:
    """Lay pieces out in rows of pairs; `pattern` says how many hang in each row, in turn, like `3 2 3`.

    Each comes with its `share` of the row's width, 0 to 1, where the whole row hangs side by side, and its
    `pair_share`, where pairs hang above each other. Too few for a last row join those above.
    Raises Fault for a pattern that holds anything but whole numbers from 1.
    """
    counts = pattern.split()
    if not counts or not all(word.isdecimal() and int(word) > 0 for word in counts):
        raise Fault(f"the theme's rows are '{pattern}'; write whole numbers with spaces, like 3 2 3")
    wanted, sizes = cycle(map(int, counts)), list[int]()
    while left := len(exhibits) - sum(sizes):
        if left < (most := next(wanted)) and left <= len(sizes):
            sizes[-left:] = [size + 1 for size in sizes[-left:]]
        else:
            sizes.append(min(most, left))
    waiting = iter(exhibits)
    return [_row(list(islice(waiting, size))) for size in sizes]


def _row(row: Sequence[Exhibit]) -> list[list[dict[str, Any]]]:
    ratios = [exhibit.first.card_ratio if exhibit.first else _UPRIGHT for exhibit in row]
    starts = [0, *range(len(row) % 2 or 2, len(row), 2), len(row)]
    return [
        [
            {
                "exhibit": row[at],
                "share": round(ratios[at] / sum(ratios), 3),
                "pair_share": round(ratios[at] / sum(ratios[start:end]), 3),
            }
            for at in range(start, end)
        ]
        for start, end in pairwise(starts)
    ]


def mail_link(address: str, words: str | Markup | None = None, subject: str = "", body: str = "") -> Markup:
    """Return a link that opens a letter; its text is `words`, or the address itself.

    Without an address the words stand alone.
    """
    if not address:
        return escape(words or "")
    start, mark, query = mailto(address, subject, body).partition("?")
    text = _veiled(address) if words is None else escape(words)
    return Markup('<a class="mail" href="{}{}">{}</a>').format(_veiled(start), mark + query, text)


def _veiled(text: str) -> Markup:
    """Write every character as a numeric reference: the same text to a browser, not to a plain search."""
    veiled = (f"&#x{ord(sign):x};" if at % 3 else f"&#{ord(sign)};" for at, sign in enumerate(text))
    return Markup("".join(veiled))  # noqa: S704
