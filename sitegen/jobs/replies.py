"""Read what came back: who left, who bounced, what needs the artist's own eyes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, timedelta
from pathlib import Path

from sitegen import letters as mail
from sitegen.jobs.letters import leave_key
from sitegen.jobs.pen import pen
from sitegen.jobs.reading import PEOPLE, sit
from sitegen.letters import Meaning, Reply
from sitegen.letters.gate import INCOMING, ServerKind, gate_from
from sitegen.letters.inbox import messages_at
from sitegen.sources.people_rows import set_confirmed, set_left
from sitegen.studio.fault import Fault
from sitegen.studio.person import Left, Why
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
    folder: Path, wish: RepliesWish, today: str | None,
    settings: Callable[[ServerKind], Mapping[str, str]], progress: Callable[[int, int], None],
) -> Said:  # fmt: skip
    """Read what came back and note who left; a server's mailbox, named by `settings`, isn't changed."""
    given = settings(INCOMING) if wish.imap else {}

    def messages(day: date) -> Iterable[bytes]:
        if wish.post_bag is not None:
            return mail.messages_in(wish.post_bag, progress)
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
        replies, broken_off = _read_all(messages(day), mail.Reader(sitting.studio.people, secret, *words))
        with pen(folder):
            if _bytes(file) != before:
                continue
            failing = mail.note_temporary(folder / "sent", secret, replies)
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


def _read_all(messages: Iterable[bytes], reader: mail.Reader) -> tuple[list[Reply], Fault | None]:
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
