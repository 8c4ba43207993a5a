"""A mailbox on its server: read whole, left as it was; served by Twisted's IMAP4rev1 server."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from sitegen.letters.gate import INCOMING, Gate, Security, gate_from, mailbox_name, messages_at
from sitegen.studio.asked import LetterFault

ROOT = Path(__file__).parents[2]
CERTIFICATE = Path(__file__).with_name("loopback.pem")
SINCE = date(2026, 10, 1)


def mail(day: str, subject: str) -> bytes:
    return (
        f"From: Ana <ana@mail.example>\r\nTo: hello@lantern.example\r\nDate: {day} 2026 10:00:00 +0000\r\n"
        f"Subject: {subject}\r\n\r\nHello.\r\n"
    ).encode()


MAILS = [mail("Mon, 1 Jun", "old"), mail("Thu, 1 Oct", "first"), mail("Tue, 24 Nov", "leave")]


@contextmanager
def serving(folder: Path, mails: list[bytes], *more: str) -> Iterator[Gate]:
    """Run the server for a while; yield the way in."""
    for number, content in enumerate(mails):
        (folder / f"{number}.eml").write_bytes(content)
    server = subprocess.Popen(
        [sys.executable, "-m", "tests.letters.imap_server", str(folder), *more],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT,
    )  # fmt: skip
    assert server.stdin
    assert server.stdout
    try:
        yield Gate("127.0.0.1", int(server.stdout.readline()), Security.NONE, "ada", "geheim")
    finally:
        server.stdin.close()
        server.wait(20)
        server.stdout.close()


def heard(folder: Path) -> dict[str, list[Any]]:
    found = json.loads((folder / "heard.json").read_text(encoding="utf-8"))
    assert isinstance(found, dict)
    return found


def test_messages_of_the_last_weeks_are_read_and_none_is_marked(tmp_path: Path) -> None:
    """EXAMINE and BODY.PEEK (RFC 3501 sections 6.3.2 and 6.4.5); no STORE, no COPY, no EXPUNGE."""
    told: list[tuple[int, int]] = []

    with serving(tmp_path, MAILS) as gate:
        found = list(messages_at(gate, SINCE, progress=lambda done, total: told.append((done, total))))

    assert found == MAILS[1:]
    assert told == [(1, 2), (2, 2)]
    server = heard(tmp_path)
    assert server["read_only"] == [True]
    assert server["seen"] == []
    verbs = [line.split()[1].upper() for line in server["commands"] if len(line.split()) > 1]
    assert set(verbs) <= {"CAPABILITY", "AUTHENTICATE", "LOGIN", "EXAMINE", "UID", "LOGOUT"}
    assert not any("STORE" in line.upper() for line in server["commands"])


def test_another_folder_by_its_own_name(tmp_path: Path) -> None:
    """Letters beyond ASCII, a blank and an ampersand; a folder that isn't there is named."""
    with serving(tmp_path, MAILS) as gate:
        found = list(messages_at(gate, date(2026, 1, 1), "Entwürfe & Spam"))
        with pytest.raises(LetterFault, match=r"^127\.0\.0\.1 has no folder 'Reports': "):
            list(messages_at(gate, date(2026, 1, 1), "Reports"))

    assert found == MAILS[:1]


def test_a_wrong_password_is_said_and_not_shown(tmp_path: Path) -> None:
    """Nothing of it is in the sentence."""
    with serving(tmp_path, MAILS) as gate:
        wrong = Gate(gate.host, gate.port, gate.security, "ada", "hunter2-ž")
        with pytest.raises(LetterFault, match="doesn't take the name 'ada' with that password") as told:
            list(messages_at(wrong, SINCE))

    assert "hunter2" not in str(told.value)
    assert heard(tmp_path)["read_only"] == []


def test_a_connection_is_private_or_nothing_is_asked(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """STARTTLS: a certificate that this machine trusts, or no password goes out; nor where none is offered."""
    with serving(tmp_path, MAILS, str(CERTIFICATE)) as gate:
        way_in = Gate("localhost", gate.port, Security.STARTTLS, "ada", "geheim")
        with pytest.raises(LetterFault, match=r"can't be made private: CERTIFICATE_VERIFY_FAILED"):
            list(messages_at(way_in, SINCE))
        monkeypatch.setenv("SSL_CERT_FILE", str(CERTIFICATE))
        assert list(messages_at(way_in, SINCE)) == MAILS[1:]
    (tmp_path / "bare").mkdir()
    with serving(tmp_path / "bare", MAILS) as gate:
        bare = Gate(gate.host, gate.port, Security.STARTTLS, "ada", "geheim")
        with pytest.raises(LetterFault, match=r"offers no STARTTLS; nothing was sent in the clear\."):
            list(messages_at(bare, SINCE))

    assert "geheim" not in str(heard(tmp_path / "bare"))


def test_nobody_there() -> None:
    """A sentence, no traceback."""
    with pytest.raises(LetterFault, match=r"the mailbox at 127\.0\.0\.1 can't be reached or hangs up: "):
        list(messages_at(Gate("127.0.0.1", 1, Security.NONE, "a", "b"), SINCE))


# RFC 3501 section 5.1.3's own example, and its rule on "&".
@pytest.mark.parametrize(
    ("folder", "name"),
    [("~peter/mail/台北/日本語", "~peter/mail/&U,BTFw-/&ZeVnLIqe-"), ("A & B", "A &- B"), ("INBOX", "INBOX")],
)
def test_folder_names_in_the_servers_alphabet(folder: str, name: str) -> None:
    """Modified UTF-7."""
    assert mailbox_name(folder) == name


@pytest.mark.parametrize(
    ("security", "port"), [("tls", 993), ("starttls", 143)]
)  # RFC 8314 section 3.2, RFC 3501 section 2.1
def test_ports_where_none_is_given(security: str, port: int) -> None:
    """The standards' own."""
    given = {"SITEGEN_IMAP_HOST": "mail.example.com", "SITEGEN_IMAP_SECURITY": security}

    assert gate_from(given, INCOMING) == Gate("mail.example.com", port, Security(security))


@pytest.mark.parametrize(
    ("given", "sentence"),
    [
        ({}, "no mailbox is set: give SITEGEN_IMAP_HOST, and SITEGEN_IMAP_USER and SITEGEN_IMAP_PASSWORD"),
        ({"SITEGEN_IMAP_HOST": "mail.example.com", "SITEGEN_IMAP_SECURITY": "none"}, "SITEGEN_IMAP_SECURITY is 'none'"),
        ({"SITEGEN_IMAP_HOST": "mail.example.com", "SITEGEN_IMAP_PORT": "x"}, "write a number, as 993 or 143"),
    ],
)  # fmt: skip
def test_settings_that_cant_be(given: dict[str, str], sentence: str) -> None:
    """Each with its cure."""
    with pytest.raises(LetterFault, match=sentence):
        gate_from(given, INCOMING)
