"""Post letters: read the studio again, open the post office, hand in what is still true."""

from __future__ import annotations

import re
import signal
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path

from sitegen.jobs.letters import desk_of, leave_key, letters_of
from sitegen.jobs.reading import PEOPLE, reading_of, sit
from sitegen.jobs.where import pen
from sitegen.letters.folder import Letter, open_letter, sweep
from sitegen.letters.gate import INCOMING, OUTGOING, gate_from, messages_at, messages_in
from sitegen.letters.gate import ServerKind as ServerKind  # noqa: PLC0414 (likewise)
from sitegen.letters.office import SmtpOffice
from sitegen.letters.posting import Manner, RunResult, send_to_me, settle, still_allowed, write_mbox
from sitegen.letters.posting import WallClock as WallClock  # noqa: PLC0414 (whoever stops a posting hands one in)
from sitegen.letters.posting import send as post
from sitegen.letters.record import Allowed, doubt_lines, note_temporary, refused_lines
from sitegen.letters.replies import Meaning, Reader, Reply
from sitegen.sources.people_rows import set_confirmed, set_left
from sitegen.studio.asked import Fault, Progress, Said, WishFault, ask, wish
from sitegen.studio.person import Left, Person, Why, address_key
from sitegen.studio.text import counted
from sitegen.voice.theme_files import find_theme
from sitegen.voice.words import read_words


@wish
class SendWish:
    ident: str = ask(word=True, like="ID")
    to_me: bool = ask("Post only the trial copy, to your own address.", default=False)
    limit: int | None = ask("At most so many people in this run.", default=None, least=1)
    pace: float = ask("Letters a minute; 0: no limit.", default=20.0, least=0)
    mbox: Path | None = ask("Write one mailbox file instead.", default=None)
    has: str | None = ask("Someone in doubt has the letter.", default=None, like="ADDRESS")
    has_not: str | None = ask("Someone in doubt hasn't got it.", default=None, like="ADDRESS")

    @property
    def is_for_all(self) -> bool:
        return not self.to_me and (self.mbox, self.has, self.has_not) == (None, None, None)


def send(  # noqa: PLR0913, PLR0917 (who watches, who stops, and who is told are three)
    folder: Path, wish: SendWish, today: str | None, settings: Callable[[ServerKind], Mapping[str, str]],
    progress: Progress, clock: WallClock | None = None,
    waits: Callable[[str], None] = lambda said: None,
) -> Said:  # fmt: skip
    """Post a letter; or note who has it, box its messages, or post the trial copy.

    `settings` are the post office's, as the environment names them. Whoever hands in a clock may stop it from
    any thread: posting then ends after the letter in hand, as at a limit. Without one, Ctrl-C does.
    `waits` is told why nothing goes out for a while. It isn't well where posting couldn't go on, or nobody
    knows whether someone has the letter.
    """
    letter, noted = letter_of(folder, wish.ident), list[str]()
    for address, has_it in ((wish.has, True), (wish.has_not, False)):
        if address is not None:
            settle(letter, desk_of(folder, None).room, address, has_it=has_it)
            told = "has it" if has_it else "has not got it; the next send posts it"
            noted.append(f"Noted: {address} {told}.")
    if noted:
        return Said(tuple(noted))
    allowed = _allowed(folder, letter, today)
    if wish.mbox is not None:
        boxed = write_mbox(letter, desk_of(folder, None).room, allowed, wish.mbox)
        return Said((f"{counted(boxed, 'letter', 'letters')} in {wish.mbox}",))
    if not wish.to_me:
        allowed()  # what can't go out is said before anybody is asked for a password
    office = SmtpOffice(gate_from(settings(OUTGOING), OUTGOING))
    if wish.to_me:
        return Said((f"The trial copy went to {send_to_me(letter, office)}.",))
    manner = Manner(wish.pace, wish.limit, progress, waits)
    with _stoppable(clock) as until:
        desk = desk_of(folder, today)
        done = post(letter, desk.room, office, allowed, manner, until)
    return _said(done, _note_gone(folder, done, desk.front.moment.date()))


def refuse_settings(settings: Mapping[str, str]) -> None:
    """Raise Fault, with the cure, for a post office's settings that can't be right; nobody is asked."""
    gate_from(settings, OUTGOING)


def _said(done: RunResult, bounced: int) -> Said:
    """Say what a run of posting did; `bounced` are rows of people.csv that now say there's no mailbox."""
    rows = [
        (len(done.posted), "posted now"),
        (len(done.already), "had it already"),
        (len(done.later), "not taken yet; they get it when `send` is run again"),
        (len(done.refused), "refused for good"),
        (len(done.withheld), "withheld: they may no longer be written to"),
        (done.left_over, "not tried in this run"),
        (bounced, "noted as bounced in people.csv: there is no such mailbox"),
    ]
    lines = [
        *(f"{count:>6} {what}" for count, what in rows if count),
        *refused_lines(done.refused),
        *doubt_lines(done.in_doubt),
        *([f"Stopped: {done.stopped}"] if done.stopped else []),
    ]
    later, refused = (
        [{"address": address, "said": said} for address, said in each] for each in (done.later, done.refused)
    )
    facts = {
        "posted": len(done.posted), "already": len(done.already), "left": done.left_over + len(done.later),
        "later": later, "refused": refused, "in_doubt": list(done.in_doubt),
        "withheld": len(done.withheld), "bounced": bounced, "stopped": done.stopped,
    }  # fmt: skip
    return Said(tuple(lines), facts, is_well=not (done.stopped or done.in_doubt))


def letter_of(folder: Path, ident: str) -> Letter:
    """Find a letter that was made. Raises Fault."""
    place = letters_of(folder) / ident
    if not place.exists():
        with pen(folder):
            sweep(place.parent)  # a run that made it anew may have been stopped between two steps
    return open_letter(place)


def _allowed(folder: Path, letter: Letter, today: str | None) -> Allowed:
    def look() -> frozenset[str]:
        desk = desk_of(folder, today)
        return still_allowed(letter, desk.front, desk.studio.people, desk.room)

    return look


# RFC 3463 section 3.2: no such mailbox, no such system, bad syntax, moved without a new address.
_NO_SUCH = re.compile(r"^5\d\d 5\.1\.[1236](?!\d)")


@contextmanager
def _stoppable(clock: WallClock | None) -> Iterator[WallClock]:
    if clock is not None:
        yield clock
        return
    clock = WallClock()
    before = signal.signal(signal.SIGINT, lambda *_: clock.stop())
    try:
        yield clock
    finally:
        signal.signal(signal.SIGINT, before)


def _note_gone(folder: Path, result: RunResult, today: date) -> int:
    """Note whose mailbox doesn't exist; return how many rows of people.csv changed.

    The list may have changed while letters went out.
    """
    if not _gone(result, ()):
        return 0
    try:
        with pen(folder):
            gone = _gone(result, reading_of(folder).sound().people)
            return set_left(folder / "people.csv", dict.fromkeys(gone, Left(today, Why.BOUNCED)))
    except (Fault, OSError) as fault:
        result.stopped = f"{fault}\nWhat was posted is on record; the next `send` notes who bounced"
        return 0


def _gone(result: RunResult, people: Sequence[Person]) -> set[str]:
    """Return whose mailbox doesn't exist, as was learnt now, or in an earlier run that was killed too soon.

    Whoever has an exit in people.csv already was noted then, and may have come back since.
    """

    def without_mailbox(refused: Iterable[tuple[str, str]]) -> set[str]:
        return {address_key(address) for address, said in refused if _NO_SUCH.search(said)}

    noted = {person.key for person in people if person.left is not None}
    return without_mailbox(result.refused) | (without_mailbox(result.refused_before.items()) - noted)


@wish
class RepliesWish:
    """Where the messages that came back lie: in a file or folder here, or in a mailbox on a server."""

    post_bag: Path | None = ask(default=None, word=True, like="[MBOX|MAILDIR]", there=True, folder=True)
    imap: bool = ask("Look into the mailbox on your provider's server instead.", default=False)
    folder: str = ask("Which folder there.", default="INBOX")
    days: int = ask("How far back there.", default=60, least=1)

    def __post_init__(self) -> None:
        if (self.post_bag is None) != self.imap:
            raise WishFault("name a mailbox file or folder, or give --imap (not both)")


def hear(
    folder: Path, wish: RepliesWish, today: str | None,
    settings: Callable[[ServerKind], Mapping[str, str]], progress: Progress,
) -> Said:  # fmt: skip
    """Read what came back and note who left; a server's mailbox, named by `settings`, isn't changed."""
    sit(folder, today, PEOPLE)  # a list that can't be read is said before a password is asked for
    given = settings(INCOMING) if wish.imap else {}

    def messages(day: date) -> Iterable[bytes]:
        if wish.post_bag is not None:
            return messages_in(wish.post_bag, progress)
        since = day - timedelta(days=wish.days)
        return messages_at(gate_from(given, INCOMING), since, wish.folder, progress)

    return heard(*_hear(folder, messages, today))


# So often a mailbox is read again because the list was changed meanwhile.
_TRIES = 5


def _hear(
    folder: Path, messages: Callable[[date], Iterable[bytes]], today: str | None
) -> tuple[list[Reply], int]:
    """Read what came back and note who left; return what each message meant, and how many rows changed.

    A server may take its time, so nothing is held while messages come in; if the list was changed meanwhile,
    they are fetched and read again. Raises Fault if that happens again and again.
    """
    file = folder / "people.csv"
    for _ in range(_TRIES):
        before, sitting = _bytes(file), sit(folder, today, PEOPLE)
        own, secret, day = sitting.studio.settings, leave_key(folder / "sent"), sitting.today
        said = read_words(find_theme(folder, own.theme), own.language)
        words = said.plain("mail.leave"), said.plain("mail.confirm.yes")
        replies, broken_off = _read_all(messages(day), Reader(sitting.studio.people, secret, *words))
        with pen(folder):
            if _bytes(file) != before:
                continue
            failing = note_temporary(folder / "sent", secret, replies)
            rows = set_confirmed(file, _confirmed(replies, day))
            rows += set_left(file, dict.fromkeys(failing, Left(day, Why.BOUNCED)) | exits(replies, day))
            break
    else:
        raise Fault(
            "people.csv was changed each time while the messages were read, so nothing is noted; run it again"
        )
    if broken_off is not None:
        raise Fault(
            f"{broken_off}\nBefore that, {counted(len(replies), 'message was', 'messages were')} read and "
            f"{counted(rows, 'row', 'rows')} of people.csv changed. Nothing read is lost; run it again"
        ) from broken_off
    return replies, rows


def _bytes(file: Path) -> bytes:
    return file.read_bytes() if file.exists() else b""


_SHOWN = frozenset({Meaning.LOOK, Meaning.UNREADABLE})


def heard(replies: Sequence[Reply], rows: int) -> Said:
    """Count the messages by meaning, and show those that need the artist's own eyes."""
    counts = Counter(reply.meaning for reply in replies).most_common()
    lines = [f"{count:>6} {meaning}" for meaning, count in counts]
    lines += [f"  - {reply.said}" for reply in replies if reply.meaning in _SHOWN and reply.said]
    facts = {"messages": {str(meaning): count for meaning, count in counts}, "rows": rows}
    return Said((*lines, f"{counted(rows, 'row', 'rows')} of people.csv changed."), facts)


def _confirmed(replies: Sequence[Reply], today: date) -> dict[str, date]:
    """Say on which day each confirmed: that of their mail, unless it claims to come from the future."""
    return {
        reply.key: min(reply.on or today, today)
        for reply in reversed(replies)
        if reply.meaning is Meaning.CONFIRMED and reply.key
    }


def _read_all(messages: Iterable[bytes], reader: Reader) -> tuple[list[Reply], Fault | None]:
    """Read messages to their end, or until the mailbox breaks off: what was read till then counts."""
    replies: list[Reply] = []
    try:
        for message in messages:
            replies.append(reader.read(message))
    except (Fault, OSError) as fault:
        if not replies:
            raise
        return replies, fault if isinstance(fault, Fault) else Fault(str(fault))
    return replies, None


_WHY: Mapping[Meaning, Why] = {
    Meaning.BOUNCED: Why.BOUNCED, Meaning.LEAVE: Why.ASKED, Meaning.COMPLAINED: Why.COMPLAINED,
}  # fmt: skip


def exits(replies: list[Reply], today: date) -> dict[str, Left]:
    """Note each exit once; a complaint outweighs a wish to leave, and that a bounce."""
    found: dict[str, Left] = {}
    for meaning, why in _WHY.items():
        found |= {reply.key: Left(today, why) for reply in replies if reply.meaning is meaning and reply.key}
    return found
