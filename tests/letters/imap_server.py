"""A mailbox on loopback, served by Twisted's IMAP4rev1 server (RFC 3501), which shares nothing with imaplib.

Run as a program of its own, since a reactor can't be started twice: python -m tests.letters.imap_server FOLDER
[CERTIFICATE]. Serves the .eml files of FOLDER as INBOX and as "Entwürfe & Spam"; prints its port; ends when its
standard input does. Writes what it was told to FOLDER/heard.json.

Twisted leaves marking a message as seen to its user; here a fetch without PEEK marks, as RFC 3501 section 6.4.5 has it.
"""

from __future__ import annotations

import io
import json
import sys
from datetime import datetime
from email import message_from_bytes
from email.message import Message
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Any

from twisted.cred import checkers, portal
from twisted.internet import protocol, reactor, ssl, stdio
from twisted.mail import imap4
from zope.interface import implementer

HEARD: dict[str, Any] = {"commands": [], "seen": [], "read_only": []}


@implementer(imap4.IMessage, imap4.IMessageFile)
class Stored:
    """One message."""

    def __init__(self, number: int, content: bytes) -> None:
        self.number, self.content = number, content
        self.message: Message = message_from_bytes(content)
        self.flags: list[str] = []

    def open(self) -> io.BytesIO:
        return io.BytesIO(self.content)

    def getUID(self) -> int:  # noqa: N802 (the library's names, here and below)
        return self.number + 100

    def getFlags(self) -> list[str]:  # noqa: N802
        return self.flags

    def getInternalDate(self) -> str:  # noqa: N802
        return str(self.message["Date"])

    def getHeaders(self, negate: bool, *names: str) -> dict[str, str]:  # noqa: N802
        return {name.lower(): str(value) for name, value in self.message.items()}

    def getBodyFile(self) -> io.BytesIO:  # noqa: N802
        return io.BytesIO(self.content.partition(b"\r\n\r\n")[2])

    def getSize(self) -> int:  # noqa: N802
        return len(self.content)

    def isMultipart(self) -> bool:  # noqa: N802
        return False


@implementer(imap4.IMailbox, imap4.ISearchableMailbox)
class Box:
    """A folder."""

    def __init__(self, messages: list[Stored], writeable: bool = True) -> None:
        self.messages, self.writeable = messages, writeable

    def isWriteable(self) -> bool:  # noqa: N802
        return self.writeable

    def getFlags(self) -> list[str]:  # noqa: N802
        return ["\\Seen"]

    def getUIDValidity(self) -> int:  # noqa: N802
        return 1

    def getUIDNext(self) -> int:  # noqa: N802
        return 1000

    def getUID(self, place: int) -> int:  # noqa: N802
        return self.messages[place - 1].getUID()

    def getMessageCount(self) -> int:  # noqa: N802
        return len(self.messages)

    def getRecentCount(self) -> int:  # noqa: N802
        return 0

    def addListener(self, listener: object) -> None:  # noqa: N802
        """Nothing changes here."""

    def removeListener(self, listener: object) -> None:  # noqa: N802
        """Nothing changes here."""

    def search(self, query: list[bytes], uid: bool) -> list[int]:
        """Twisted's own search for SINCE fails on Python 3: it looks for text in octets."""
        word, day = query
        assert word == b"SINCE"
        first = datetime.strptime(day.decode("ascii"), "%d-%b-%Y").date()  # noqa: DTZ007 (a day, no moment)
        return [
            place
            for place, stored in enumerate(self.messages, start=1)
            if parsedate_to_datetime(str(stored.message["Date"])).date() >= first
        ]

    def fetch(self, messages: imap4.MessageSet, uid: bool) -> list[tuple[int, Stored]]:
        messages.last = 10_000
        return [
            (place, stored)
            for place, stored in enumerate(self.messages, start=1)
            if (stored.getUID() if uid else place) in messages
        ]


class Account(imap4.MemoryAccountWithoutNamespaces):  # type: ignore[misc]
    """Whoever logs in."""

    def select(self, name: str, rw: bool = True) -> Box | None:
        box = self.mailboxes.get(imap4._parseMbox(name.upper()))
        HEARD["read_only"].append(not rw)
        return Box(box.messages, rw) if box else None


class Server(imap4.IMAP4Server):  # type: ignore[misc]
    """Notes what it is told."""

    def lineReceived(self, line: bytes) -> None:  # noqa: N802
        HEARD["commands"].append(line.decode("latin-1"))
        super().lineReceived(line)

    def spew_body(self, part: Any, number: int, message: Stored, *rest: Any) -> Any:
        if not part.peek:
            HEARD["seen"].append(message.getUID())
        return super().spew_body(part, number, message, *rest)


def main() -> None:
    """Serve until standard input ends."""
    folder = Path(sys.argv[1])
    messages = [Stored(n, file.read_bytes()) for n, file in enumerate(sorted(folder.glob("*.eml")), start=1)]
    account = Account("ada")
    account.addMailbox("INBOX", Box(messages))
    account.addMailbox("Entwürfe & Spam", Box(messages[:1]))

    @implementer(portal.IRealm)
    class Realm:
        def requestAvatar(self, who: object, mind: object, *kinds: object) -> tuple[object, Account, object]:  # noqa: N802
            return imap4.IAccount, account, lambda: None

    door = portal.Portal(Realm())
    door.registerChecker(checkers.InMemoryUsernamePasswordDatabaseDontUse(ada=b"geheim"))
    context = ssl.DefaultOpenSSLContextFactory(sys.argv[2], sys.argv[2]) if len(sys.argv) > 2 else None

    class Factory(protocol.ServerFactory):  # type: ignore[misc]
        def buildProtocol(self, address: object) -> Server:  # noqa: N802
            server = Server(contextFactory=context)
            server.portal = door
            return server

    class Door(protocol.Protocol):  # type: ignore[misc]
        def connectionLost(self, reason: object = None) -> None:  # noqa: N802
            (folder / "heard.json").write_text(json.dumps(HEARD), encoding="utf-8")
            reactor.callFromThread(reactor.stop)

    port = reactor.listenTCP(0, Factory(), interface="127.0.0.1")
    stdio.StandardIO(Door())
    print(port.getHost().port, flush=True)
    reactor.run()


if __name__ == "__main__":
    main()
