"""Read what came back: who left, who bounced, what needs the artist's own eyes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path

from sitegen.jobs.letters import leave_key
from sitegen.jobs.pen import pen
from sitegen.jobs.reading import PEOPLE, sit
from sitegen.letters import Meaning, Reader, Reply, messages_in, note_temporary
from sitegen.letters.gate import INCOMING, ServerKind, gate_from
from sitegen.letters.inbox import Corner, messages_at
from sitegen.sources import StudioFault
from sitegen.sources.people_rows import set_confirmed, set_left
from sitegen.studio.fault import Fault
from sitegen.studio.person import Left, Why
from sitegen.studio.settings import Settings
from sitegen.studio.text import counted
from sitegen.studio.wish import Said, WishFault, ask, wish
from sitegen.voice.theme_files import find_theme
from sitegen.voice.words import read_words


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
    folder: Path,
    wish: RepliesWish,
    today: str | None,
    settings: Callable[[ServerKind], Mapping[str, str]],
    progress: Callable[[int, int], None],
) -> Said:
    """Read what came back and note who left. In a mailbox on a server nothing is changed.

    `settings` are that server's, as the environment names them.
    """

    def messages(day: date) -> Iterable[bytes]:
        if wish.post_bag is not None:
            return messages_in(wish.post_bag, progress)
        corner = Corner(day - timedelta(days=wish.days), wish.folder)
        return messages_at(gate_from(given, INCOMING), corner, progress)

    given = settings(INCOMING) if wish.imap else {}
    return heard(*_hear(folder, messages, today))


def _hear(
    folder: Path, messages: Callable[[date], Iterable[bytes]], today: str | None
) -> tuple[list[Reply], int]:
    """Read what came back and note who left; return what each message meant, and how many rows changed.

    A server may take its time, so nothing is held while messages come in; if the list was changed meanwhile,
    they are fetched and read again. Raises StudioFault if that happens again and again.
    """
    file = folder / "people.csv"
    for _ in range(_TRIES):
        before, sitting = _bytes(file), sit(folder, today, PEOPLE)
        secret = leave_key(folder / "sent")
        reader = Reader(sitting.studio.people, secret, *_words(folder, sitting.studio.settings))
        replies, broken_off = _read_all(messages(sitting.today), reader)
        with pen(folder):
            if _bytes(file) != before:
                continue
            leaving: dict[str, Left] = {
                key: Left(sitting.today, Why.BOUNCED)
                for key in note_temporary(folder / "sent", secret, replies)
            }
            rows = set_confirmed(file, _confirmed(replies, sitting.today))
            rows += set_left(file, leaving | exits(replies, sitting.today))
            break
    else:
        raise StudioFault(
            "people.csv was changed each time while the messages were read, so nothing is noted; run it again"
        )
    if broken_off is not None:
        raise StudioFault(
            f"{broken_off}\nBefore that, {counted(len(replies), 'message was', 'messages were')} read and "
            f"{counted(rows, 'row', 'rows')} of people.csv changed. Nothing read is lost; run it again"
        ) from broken_off
    return replies, rows


def _bytes(file: Path) -> bytes:
    return file.read_bytes() if file.exists() else b""


# So often a mailbox is read again because the list was changed meanwhile.
_TRIES = 5
_SHOWN = frozenset({Meaning.LOOK, Meaning.UNREADABLE})


def heard(replies: Sequence[Reply], rows: int) -> Said:
    """Count the messages by meaning, and show those that need the artist's own eyes."""
    counts = Counter(reply.meaning for reply in replies).most_common()
    lines = [f"{count:>6} {meaning}" for meaning, count in counts]
    lines += [f"  - {reply.said}" for reply in replies if reply.meaning in _SHOWN and reply.said]
    facts = {"messages": {str(meaning): count for meaning, count in counts}, "rows": rows}
    return Said((*lines, f"{counted(rows, 'row', 'rows')} of people.csv changed."), facts)


def _words(folder: Path, settings: Settings) -> tuple[str, str]:
    """Return the words by which the studio's letters say that one leaves, and that one confirms."""
    said = read_words(find_theme(folder, settings.theme), settings.language)
    return said.plain("mail.leave"), said.plain("mail.confirm.yes")


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
        return replies, fault if isinstance(fault, Fault) else StudioFault(str(fault))
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
