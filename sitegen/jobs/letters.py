"""Write letters: read the studio, choose who gets one, compile each message."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from sitegen.desk import find
from sitegen.desk.find import read_day
from sitegen.disk import own_folder, put, take_away
from sitegen.jobs.photos import picture_sets
from sitegen.jobs.reading import sit
from sitegen.jobs.where import pen, writes
from sitegen.letters import kinds
from sitegen.letters.announce import Announcement, Writing
from sitegen.letters.cautions import NOT_ADVICE, own_links
from sitegen.letters.folder import Room, open_letter, refuse_if_posted
from sitegen.letters.note import Hanging, Showing, shows_pieces
from sitegen.letters.record import held
from sitegen.sources import StudioFault
from sitegen.sources.people_rows import forgotten_in
from sitegen.studio.asked import Fault, Progress, Said, WishFault, ask, silent, wish
from sitegen.studio.front import front_of_house
from sitegen.studio.order_steps import early_people
from sitegen.studio.person import Interest, address_key
from sitegen.studio.public import FrontOfHouse
from sitegen.studio.show import ShowKind
from sitegen.studio.text import counted, slug
from sitegen.studio.whole import Studio
from sitegen.voice.theme_files import find_theme

NOT_BUILT = "`sitegen build` and publish before you post"


def letters_of(folder: Path) -> Path:
    return folder / "out" / "letters"


@dataclass(frozen=True)
class WritingDesk:
    """What a letter needs beside its own words."""

    studio: Studio
    front: FrontOfHouse
    room: Room

    def writing(self, wish: LetterWish, progress: Progress, *, always: bool = False) -> Writing:
        """Return what a letter is made from, its photos made ready if it shows any."""
        showing = Showing(wish.pictures)
        needed = showing is not Showing.NONE and (always or shows_pieces(wish.words))
        out = Path(self.studio.folder) / "out"
        hanging = Hanging(picture_sets(self.studio, self.front, out) if needed else {}, showing)
        return Writing(self.front, self.studio.people, self.room, wish.words, hanging, progress)


def desk_of(folder: Path, today: str | None, second: str = "") -> WritingDesk:
    """Read the studio and return what a letter needs of it; `second` names a second letter on one thing."""
    sitting = sit(folder, today)
    return desk_with(folder, sitting.studio, front_of_house(sitting.studio, sitting.moment), second)


def desk_with(folder: Path, studio: Studio, front: FrontOfHouse, second: str = "") -> WritingDesk:
    """Return what a letter needs of a studio that was read, and of its front."""
    sent = folder / "sent"
    room = Room(
        theme=find_theme(folder, front.card.theme), out=letters_of(folder), sent=sent,
        secret=leave_key(sent), forgotten=forgotten_in(folder), leave_address=studio.settings.leave_address,
        second=slug(second),
    )  # fmt: skip
    return WritingDesk(studio, front, room)


_NOTE = "Your own words, a Markdown file; ![](moth-usher) shows a piece."


@wish
class LetterWish:
    words: str = ask(_NOTE, default="", name="note", file=True)
    pictures: str = ask(
        "Inside the letter, from your site, or not at all.",
        default="carried", choices=("carried", "linked", "none"),
    )  # fmt: skip
    name: str = ask("Sets a second letter on the same thing apart.", default="", like="WORD")


@wish
class AnnounceCommissions(LetterWish):
    round_name: str | None = ask(default=None, word=True, like="[ROUND]")
    head_start: int | None = ask(
        "The waiting list may ask earlier.", default=None, least=0, most=336, like="HOURS"
    )


@writes
def commissions(
    folder: Path, wish: AnnounceCommissions, today: str | None, progress: Progress = silent
) -> Said:
    """Write the letter for a round of commissions: the named one, else the open or next one.

    With a head start of so many hours there are two: for the waiting list, and for everyone else.
    """
    desk = desk_of(folder, today, wish.name)
    front, book, name, hours = desk.front, desk.studio.commissions, wish.round_name, wish.head_start
    writing, shown = desk.writing(wish, progress), kinds.find_round(front, name)
    round_ = next((round_ for round_ in book.rounds if round_.name == shown.name), None)
    gives = round_.head_start if round_ is not None else 0
    if hours is None and front.moment.timestamp() < shown.opens.timestamp() - gives * 3600:
        name, hours = shown.name, gives
    if not hours:
        return _said(desk, kinds.announce_commissions(writing, name))
    keys = frozenset(address_key(waiting.email) for waiting in early_people(book) if waiting.email)
    cautions = () if round_ is None or gives == hours else (
        f"Write `head_start: {hours}` under {shown.name} in commissions.yaml: it says {gives} "
        "there, and whoever asks in the hours between would count as too early.",
    )  # fmt: skip
    return _said(desk, *kinds.announce_head_start(writing, hours, keys, name, cautions))


@wish
class AnnouncePieces(LetterWish):
    slugs: tuple[str, ...] = ask(default=(), word=True, like="[SLUG…]")
    since: str | None = ask("All available pieces finished since that day.", default=None, like="DATE")

    def __post_init__(self) -> None:
        if not self.slugs and self.since is None:
            raise WishFault("name the pieces, or give --since DATE")


@writes
def pieces(folder: Path, wish: AnnouncePieces, today: str | None, progress: Progress = silent) -> Said:
    """Write the letter for available pieces: the named ones, else all finished since a day."""
    since = read_day(wish.since, "--since")
    desk = desk_of(folder, today, wish.name)
    for name in wish.slugs:
        find.piece(desk.studio, name)  # a slip is told before the pictures are made
    return _said(desk, kinds.announce_pieces(desk.writing(wish, progress, always=True), wish.slugs, since))


@wish
class AnnounceShow(LetterWish):
    slug: str = ask(word=True, like="SHOW")


@wish
class AnnounceClass(AnnounceShow):
    slug: str = ask(word=True, like="CLASS")


@writes
def show(folder: Path, wish: AnnounceShow, today: str | None, progress: Progress = silent) -> Said:
    """Write the letter for a coming show, or for a coming class."""
    desk, kind = desk_of(folder, today, wish.name), ShowKind.SHOW
    if isinstance(wish, AnnounceClass):
        kind = ShowKind.CLASS
    found = desk.front.show(wish.slug)
    if found is not None and found.kind is not kind:
        other = f"`sitegen announce {found.kind} {found.slug}` writes of it"
        raise Fault(f"'{found.name}' is a {found.kind}; {other}")
    return _said(desk, kinds.announce_show(desk.writing(wish, progress), wish.slug))


def lesson(folder: Path, wish: AnnounceClass, today: str | None, progress: Progress = silent) -> Said:
    return show(folder, wish, today, progress)


@wish
class AnnounceNotice(LetterWish):
    words: str = ask(_NOTE, default="", name="note", file=True, must=True)
    subject: str = ask("Its subject line.")
    about: str = ask("It goes to those who asked to hear of that.", choices=tuple(map(str, Interest)))
    slugs: tuple[str, ...] = ask(default=(), word=True, like="[SLUG…]")


@writes
def notice(folder: Path, wish: AnnounceNotice, today: str | None, progress: Progress = silent) -> Said:
    """Write a letter in the artist's own words."""
    desk = desk_of(folder, today, wish.name)
    writing, about = desk.writing(wish, progress, always=bool(wish.slugs)), Interest(wish.about)
    return _said(desk, kinds.announce_notice(writing, wish.subject, about, wish.slugs))


@wish
class AnnounceConfirm:
    name: str = ask("Sets a second letter of one day apart.", default="", like="WORD")


@writes
def confirm(folder: Path, wish: AnnounceConfirm, today: str | None, progress: Progress = silent) -> Said:
    """Write the letter that asks who hasn't confirmed yet and wasn't asked before."""
    desk = desk_of(folder, today, wish.name)
    return _said(
        desk, kinds.announce_confirm(Writing(desk.front, desk.studio.people, desk.room, progress=progress))
    )


def _said(desk: WritingDesk, *letters: Announcement | None) -> Said:
    made = [letter for letter in letters if letter is not None]
    facts = [
        {"letter": announcement.ident, "subject": announcement.subject, "to": len(announcement.choice.chosen),
         "left_out": len(announcement.choice.skipped), "folder": str(announcement.folder)}
        for announcement in made
    ]  # fmt: skip
    lines = tuple(line for letter in made for line in _told(desk, letter))
    return Said(lines, {"letters": facts}, opens=tuple(letter.folder / "letter.html" for letter in made))


def _told(desk: WritingDesk, made: Announcement) -> list[str]:
    site = Path(desk.studio.folder) / "out" / "site"
    links, missing = own_links(made.folder / "letter.html", desk.front.card.address, site)
    return [
        f"Letter:   {made.ident}",
        f"Subject:  {made.subject}",
        f"To:       {counted(len(made.choice.chosen), 'person', 'people')} (recipients.csv says why)",
        f"Left out: {counted(len(made.choice.skipped), 'person', 'people')} (skipped.csv says why)",
        *(f"            {count} {reason}" for reason, count in made.choice.reasons.items()),
        f"Size:     {-(-made.largest // 1024)} KB at most",
        f"Links:    {counted(len(links), 'link', 'links')} into your site, "
        + (f"{len(missing)} not in out/site" if missing else "all of them in out/site"),
        f"Look at:  {made.folder / 'letter.html'} and {made.folder / 'letter.txt'}",
        "Checked:",
        *(f"  [x] {kept}" for kept in made.kept),
        "For you to check:",
        *(f"  [ ] {link} isn't in out/site; {NOT_BUILT}" for link in missing),
        *(f"  [ ] {caution}" for caution in made.cautions),
        NOT_ADVICE,
        f"Post it with:  sitegen send {made.ident}",
    ]


@wish
class ThrowAway:
    ident: str = ask(word=True, like="ID")


@writes
def throw_away(folder: Path, wish: ThrowAway, today: str | None) -> Said:
    """Throw away a letter that nobody has. Raises Fault for one that was posted, even to one person."""
    room = desk_of(folder, None).room
    letter = open_letter(room.out / wish.ident)
    with held(letter.ident, room.sent):
        refuse_if_posted(letter.ident, room.sent, letter.folder)
        take_away(letter.folder)
    return Said((f"“{letter.subject}” is thrown away. Nobody had it.",))


# 64 hex digits; a shorter key could be guessed.
_KEY_BYTES = 32


def leave_key(sent: Path) -> bytes:
    """Return the secret by which a letter's way out knows its person; made once, kept in sent/.

    It must outlive every letter: without it, the way out of letters already posted stops working.
    """
    file = sent / "leave-key"
    if not file.exists():
        with pen(sent.parent):
            if not file.exists():  # another command may have been quicker
                own_folder(sent)
                put(file, f"{secrets.token_hex(_KEY_BYTES)}\n".encode(), kept=False, private=True)
    try:
        key = bytes.fromhex(file.read_text(encoding="ascii").strip())
    except ValueError:
        key = b""
    if len(key) != _KEY_BYTES:
        raise StudioFault(
            f"{file} is damaged: it must hold 64 hex digits. Put it back from a copy; without it, people who "
            "answer earlier letters with their way out can't be recognised"
        )
    return key


class LetterKind(NamedTuple):
    """One kind of letter to the list: the desk makes a form of it, as the terminal a command."""

    name: str  # the word of the command, and of the form's address
    job: str
    about: str  # what a letter's promises call the thing that it tells of
    asked: str  # the field of the wish that names the thing; empty where there's no such thing
    title: str


KINDS = (
    LetterKind(
        "commissions", "letters.commissions", "round", "round_name", "A letter on a round of commissions"
    ),
    LetterKind("pieces", "letters.pieces", "piece", "slugs", "A letter on new pieces"),
    LetterKind("show", "letters.show", "show", "slug", "An invitation to a show"),
    LetterKind("class", "letters.lesson", "class", "slug", "An invitation to a class"),
    LetterKind("confirm", "letters.confirm", "confirm", "", "One question to who hasn't confirmed yet"),
    LetterKind("notice", "letters.notice", "notice", "", "A notice in your own words"),
)
