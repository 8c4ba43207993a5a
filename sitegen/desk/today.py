"""Today: what is lost by waiting, from the studio as it is and what lies beside its files.

Nothing is worked out here that another answer tells too: offers and payments are the order book's, chances
those of `slots`, sales those that the books miss.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Protocol

from sitegen.desk import errands, words
from sitegen.desk.books import standing_of_buyer, unnoted_sales
from sitegen.desk.errands import Errand, ErrandKind, Target, Today, by_loss
from sitegen.desk.order_book import lines_of
from sitegen.desk.slots import Outlook
from sitegen.desk.turns import named
from sitegen.studio import terms
from sitegen.studio.asked import Fault
from sitegen.studio.fields import is_placeholder, placeholders
from sitegen.studio.mailing import CONSENT_DAYS, lapsing
from sitegen.studio.offers import free_slots
from sitegen.studio.prices import due_steps
from sitegen.studio.show import Attendance
from sitegen.studio.text import counted
from sitegen.studio.whole import Studio

# A letter takes a few days to write and people take a few more to read it; a sheet is printed and packed
# (common practice, no source, as the days of all three).
ROUND_DAYS, INVITATION_DAYS, SHEET_DAYS = 14, 21, 30


class LetterMade(Protocol):
    """A letter of the list, as far as it has gone out."""

    @property
    def ident(self) -> str: ...  # the name of its folder
    @property
    def subject(self) -> str: ...
    @property
    def about(self) -> Sequence[tuple[str, str]]: ...  # kind (round, show, piece) and name in addresses
    @property
    def chosen(self) -> int: ...  # to how many it was made
    @property
    def left(self) -> int: ...  # how many can still be sent it
    @property
    def untrue(self) -> str: ...  # why it can't be posted any more
    @property
    def in_doubt(self) -> Sequence[str]: ...  # who may have it or not
    @property
    def refused_still(self) -> int: ...  # how many were refused and are on the list as before


@dataclass(frozen=True)
class Beside:
    """What lies beside the studio's files."""

    outlook: Outlook = field(default_factory=Outlook)
    letters: Sequence[LetterMade] = ()
    drafted: errands.Drafted = lambda code, matter: None
    sheets: frozenset[str] = frozenset()  # slugs of the shows whose sign-up sheet is printed
    site: str = ""  # why the site isn't what the files say, if so
    web: str = ""  # why what visitors get isn't the site as it was built, if so
    backup: str = ""  # why a backup is due, if one is
    books: int = 0  # how many things in the books are worth a look beside missing sales


def today(studio: Studio, beside: Beside, moment: datetime) -> Today:
    """Say what is lost by waiting, the first to be lost first."""
    day = moment.date()
    parts = (
        _of_orders(studio, beside, moment),
        errands.of_none_promised(studio, beside.outlook, day),
        _of_buyers(studio, day),
        _of_pieces(studio, day),
        _of_rounds(studio, beside.letters, moment),
        _of_shows(studio, beside, day),
        _of_letters(studio, beside.letters, moment),
        _of_people(studio, day),
        _of_the_checklist(studio, day),
        _of_terms(studio),
        _of_the_house(studio, beside),
    )
    return by_loss(day, (errand for part in parts for errand in _told(part, Target("files"))))


def _told(part: Iterator[Errand], about: Target) -> Iterator[Errand]:
    """Yield what a part has to say; what its files lack is an errand of its own."""
    try:
        yield from part
    except Fault as fault:
        yield Errand(ErrandKind.FILES, f"{fault}.", None, "Mend that in the file.", about)


def _of_orders(studio: Studio, beside: Beside, moment: datetime) -> Iterator[Errand]:
    day = moment.date()
    lines = lines_of(studio, day)
    for line in lines:
        of_promise = errands.of_promise(line.order, beside.outlook, beside.drafted, day)
        for part in (errands.of_line(studio, line, beside.drafted, day), of_promise):
            yield from _told(part, Target("order", line.order.code))
    yield from errands.of_requests(studio, moment)
    yield from errands.of_the_bench({line.order.code: line for line in lines}, beside.outlook)


def _of_buyers(studio: Studio, day: date) -> Iterator[Errand]:
    for piece in studio.pieces:
        standing = standing_of_buyer(studio, piece, day)
        if standing is not None and standing.late_parts:
            sentence, since = errands.late_part(studio, standing, piece.title, day)
            target = Target("piece", piece.slug)
            yield Errand(ErrandKind.PAYMENT, sentence, since, "Remind the buyer.", target)


def _of_pieces(studio: Studio, day: date) -> Iterator[Errand]:
    for piece in studio.pieces:
        sale = piece.private.sold
        if sale is not None and sale.due is not None and sale.paid is None and sale.due < day:
            its = studio.settings.said(sale.price - (sale.fee or 0))
            who = f" from {sale.at}" * bool(sale.at)
            said = f"{its} for {piece.title} should have come{who} {words.at_day(sale.due, day)}."
            do = "Ask for it, or note the day it came."
            yield Errand(ErrandKind.PAYMENT, said, sale.due, do, Target("sale", piece.slug))
        if (stay := piece.overdue(day)) and stay.until:
            what = f"was due back from {stay.place}" if stay.place else "was to rest until"
            do = "Ask for it, or name a new day." if stay.place else "Show it again, or name a new day."
            said = f"{piece.title} {what} {words.at_day(stay.until, day)}."
            yield Errand(ErrandKind.RETURN, said, stay.until, do, Target("piece", piece.slug))
    if due := due_steps(studio, day):
        since, (_, first) = min(on for on, _ in due), due[0]
        were, more = counted(len(due), "price was", "prices were"), " and others" * (len(due) > 1)
        to = f"{first.title} to {studio.settings.said(first.steps[0])}{more}"
        said = f"{were} to change {words.at_day(since, day)}: {to}."
        do = "Look at them, and write them or take them out."
        yield Errand(ErrandKind.PRICE, said, since, do, Target("prices"))
    gone, sent = unnoted_sales(studio)
    for piece in gone:
        said = f"{piece.title} is {piece.status}, and nothing says for how much; the books count nothing."
        yield Errand(ErrandKind.SALE, said, None, "Note the sale.", Target("piece", piece.slug))
    for order in sent:
        said, about = "is shipped, and no piece says that it was sold for it.", Target("order", order.code)
        yield Errand(ErrandKind.SALE, f"{named(order)} {said}", None, "Note the sale with its piece.", about)


def _of_rounds(studio: Studio, letters: Sequence[LetterMade], moment: datetime) -> Iterator[Errand]:
    written, day = _written(letters), moment.date()
    for one in studio.commissions.rounds:
        opens = one.opens.date()
        if ("round", one.slug) in written or one.is_over(moment) or not free_slots(studio.commissions, one):
            continue
        if moment >= one.taken_from():
            until = f" until {words.on_day(one.closes.date(), day)}" if one.closes else ""
            when = f"is open{until}"
        elif opens <= day + timedelta(days=ROUND_DAYS):
            when = f"opens {words.at_day(opens, day)}"
        else:
            continue
        said, do = (
            f"{one.name} {when}, and no letter says so yet.",
            "Write the letter, look at it, and post it.",
        )
        yield Errand(ErrandKind.ROUND, said, max(opens, day), do, Target("round", one.name))


def _written(letters: Sequence[LetterMade]) -> frozenset[tuple[str, str]]:
    return frozenset(about for letter in letters for about in letter.about)


def _of_shows(studio: Studio, beside: Beside, day: date) -> Iterator[Errand]:
    written = _written(beside.letters)
    for show in studio.shows:
        days, target = (show.first_day - day).days, Target(show.kind, show.slug)
        if show.attendance is Attendance.CANCELLED:
            continue
        when = f"begins {words.at_day(show.first_day, day)}" if days >= 0 else "is on"
        invited = show.attendance is Attendance.FULL or target in written
        if 0 <= days <= INVITATION_DAYS and not invited:
            said, do = f"{show.name} {when}, and nobody is invited yet.", "Write the invitation, look at it,"
            yield Errand(ErrandKind.INVITATION, said, show.first_day, f"{do} and post it.", target)
        met = not show.is_class and show.ends >= day
        if days <= SHEET_DAYS and met and show.slug not in beside.sheets:
            said = f"{show.name} {when}, and its sign-up sheet isn't printed: whom you meet there you can't"
            by = max(show.first_day, day)
            yield Errand(ErrandKind.SHEET, f"{said} write to.", by, "Print the sheet.", target)


def _of_letters(studio: Studio, letters: Sequence[LetterMade], moment: datetime) -> Iterator[Errand]:
    days, live = _days_of(studio), _live(studio, moment)
    for letter in letters:
        target, name = Target("letter", letter.ident), f"“{letter.subject}”"
        if letter.in_doubt:
            people = counted(len(letter.in_doubt), "person", "people")
            said, do = f"Whether {people} got {name}, nobody knows.", "Look in your provider's sent mail, and"
            yield Errand(ErrandKind.DOUBT, said, None, f"{do} note who has it.", target)
        if letter.left and not letter.untrue:
            coming = [day for about in letter.about for day in days.get(about, ()) if day >= moment.date()]
            by, do = min(coming, default=None), "Post the rest."
            people = counted(letter.left, "person hasn't", "people haven't")
            said = f"{people} got {name} yet, of {letter.chosen}."
            if letter.left == letter.chosen:
                people, do = counted(letter.left, "person gets", "people get"), "Post it."
                said = f"{name} is made and not posted; {people} it."
            yield Errand(ErrandKind.LETTER, said, by, do, target)
        elif letter.left and live.intersection(letter.about):
            said = f"{name} can't be posted any more: what it tells of has changed since it was made."
            yield Errand(ErrandKind.LETTER, said, None, "See what changed, and make it again.", target)
        live.difference_update(letter.about)  # a later letter tells of it
        if letter.refused_still:
            people = counted(letter.refused_still, "person", "people")
            said = f"The post office refused {name} for {people} on your list."
            do = "See why; mend the address, or take it off the list."
            yield Errand(ErrandKind.REFUSED, said, None, do, target)


def _live(studio: Studio, moment: datetime) -> set[tuple[str, str]]:
    """Return what a letter can still tell of."""
    open_ = [show for show in studio.shows if show.attendance is Attendance.OPEN]
    return {
        *(("round", held.slug) for held in studio.commissions.rounds if not held.is_over(moment)),
        *((str(show.kind), show.slug) for show in open_ if show.ends >= moment.date()),
        *(("piece", piece.slug) for piece in studio.pieces if piece.status.offered),
    }


def _days_of(studio: Studio) -> dict[tuple[str, str], list[date]]:
    """Return the days by which a letter should be out, by what it tells of."""
    rounds = {
        ("round", held.slug): [turn.date() for turn in (held.opens, held.closes) if turn is not None]
        for held in studio.commissions.rounds
    }
    return rounds | {(str(show.kind), show.slug): [show.first_day] for show in studio.shows}


def _of_people(studio: Studio, day: date) -> Iterator[Errand]:
    if ending := lapsing(studio.people, day, CONSENT_DAYS):
        first, whose = ending[0][0], "One person's consent ends"
        if len(ending) > 1:
            whose = f"The consent of {len(ending)} people ends within {CONSENT_DAYS} days, the first"
        ends = f"{words.at_day(first, day)}, two years after a purchase; then you may not write to them."
        do = "Ask them for a plain yes before that day."
        yield Errand(ErrandKind.CONSENT, f"{whose} {ends}", first, do, Target("people"))


def _has_a_piece(studio: Studio) -> bool:
    return any(not is_placeholder(piece.title) for piece in studio.pieces)


def _of_the_checklist(studio: Studio, day: date) -> Iterator[Errand]:
    listed, about = studio.settings.private.checklist, Target("checklist")
    for listing in listed:
        if told := listing.reminder(day):
            said, do = (
                f"{told[0].upper()}{told[1:].partition(';')[0]}.",
                "See to it, then write its next day.",
            )
            yield Errand(ErrandKind.CHECKLIST, said, listing.due, do, about)
    open_still = [duty for duty in listed if duty.due is None]
    if open_still and _has_a_piece(studio):
        things, do = (
            counted(len(open_still), "thing", "things"),
            "Write when each is next due, or take it out.",
        )
        said = f"{things} of your checklist without a day, the first: {open_still[0].what}."
        yield Errand(ErrandKind.CHECKLIST, said, None, do, about)


def _of_terms(studio: Studio) -> Iterator[Errand]:
    unfinished = any(placeholders(page.text) for page in studio.pages if page.name in terms.PAGES)
    if terms.changed(studio) and not unfinished:
        there = terms.versions(studio)
        since = f"have changed since version {there[-1]}" if there else "are kept as no version yet"
        said = f"Your terms {since}: what somebody agrees to now, you couldn't show later."
        yield Errand(ErrandKind.TERMS, said, None, "Keep them.", Target("terms"))


def _of_the_house(studio: Studio, beside: Beside) -> Iterator[Errand]:
    own = studio.settings
    if any(is_placeholder(text or "") for text in (own.studio, own.maker, own.contact, own.postal_address)):
        said = "Your studio has no name or address of its own yet."
        yield Errand(ErrandKind.BEGINNING, said, None, "Fill in who you are.", Target("studio"))
    elif not _has_a_piece(studio):
        said, do = "No piece of yours is in the studio yet.", "Add the first one, with its photos."
        yield Errand(ErrandKind.BEGINNING, said, None, do, Target("pieces"))
    books = f"{counted(beside.books, 'thing', 'things')} in the books can't be quite right."
    for kind, sentence, do in (
        (ErrandKind.BOOKS, books if beside.books else "", "Look at them."),
        (ErrandKind.SITE, beside.site, "Build the site."),
        (ErrandKind.WEB, "" if beside.site else beside.web, "Publish it."),
        (ErrandKind.BACKUP, beside.backup, "Make a backup, best on another disk."),
    ):
        if sentence:
            yield Errand(kind, sentence, None, do, Target(str(kind)))
