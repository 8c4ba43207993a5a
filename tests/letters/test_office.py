"""The post office over real SMTP on loopback (aiosmtpd), with every fault it can have."""

from __future__ import annotations

import mailbox
import re
import socket
import ssl
import threading
from email import message_from_bytes, policy
from pathlib import Path

import pytest
from aiosmtpd.smtp import AuthResult

from sitegen.letters.folder import Letter
from sitegen.letters.gate import OUTGOING, Gate, Security, gate_from
from sitegen.letters.office import OfficeShut, SmtpOffice
from sitegen.letters.posting import Manner, RunResult, send, send_to_me, write_mbox
from sitegen.studio.asked import LetterFault
from tests.letters.office import CROWD, Desk, FakeClock, ScriptedOffice, everybody, letter, serving
from tests.letters.studio import room

P0, P1, P2, P3, P4, P5 = (person.email for person in CROWD)
FAST = Manner(pace=0)
# Made for this test alone, for localhost, with its key beside it: it protects nothing.
CERTIFICATE = Path(__file__).with_name("loopback.pem")


def posted(one: Letter, folder: Path, submission: Gate) -> RunResult:
    return send(one, room(folder), SmtpOffice(submission, patience=5), everybody, FAST, FakeClock())


def undated(message: bytes) -> bytes:
    """Take the date out: a message bears the one on which it's posted."""
    return re.sub(rb"(?m)^Date: [^\r]*", b"", message)


def test_what_arrives_is_what_was_written(tmp_path: Path) -> None:
    """Octet for octet, dots at the start of a line and all, from and to the right envelope."""
    one = letter(tmp_path)
    file = one.folder / "eml" / "0001.eml"
    file.write_bytes(file.read_bytes().replace(b"Hello", b"Hello") + b".\r\n..a dot\r\n")
    desk = Desk()

    with serving(desk) as submission:
        result = posted(one, tmp_path, submission)

    assert sorted(result.posted) == [P0, P1, P2, P3, P4, P5]
    for number, (address, content) in enumerate(desk.taken, start=1):
        made = (one.folder / "eml" / f"{number:04}.eml").read_bytes()
        assert undated(content) == undated(made)
        assert message_from_bytes(content, policy=policy.default)["To"].addresses[0].addr_spec == address


def test_every_fault_ends_in_one_letter_or_in_doubt(tmp_path: Path) -> None:
    """4xx and 5xx at recipient and at data, a line dropped before and after the message was taken."""
    one = letter(tmp_path)
    desk = Desk(
        at_recipient={P0: ["450 4.2.1 try later"], P1: ["550 5.1.1 no such mailbox"]},
        after_data={
            P2: ["451 4.3.0 try later"],
            P3: ["554 5.7.1 refused"],
            P4: ["drop after taking"],
            P5: ["drop"],
        },
    )

    with serving(desk) as submission:
        first = posted(one, tmp_path, submission)
        second = posted(one, tmp_path, submission)

    assert sorted(first.posted) == [P0, P2]
    assert first.refused == [(P1, "550 5.1.1 no such mailbox"), (P3, "554 5.7.1 refused")]
    assert first.in_doubt == [P4, P5] == second.in_doubt
    assert second.posted == []
    assert sorted(address for address, _ in desk.taken) == [P0, P2, P4]


def test_421_closes_the_line_and_the_next_try_opens_it_again(tmp_path: Path) -> None:
    """RFC 5321 section 3.8."""
    one = letter(tmp_path)
    desk = Desk(at_recipient={P1: ["421 4.3.2 closing"]})

    with serving(desk) as submission:
        result = posted(one, tmp_path, submission)

    assert sorted(result.posted) == [P0, P1, P2, P3, P4, P5]


def test_nobody_there(tmp_path: Path) -> None:
    """A port that nobody listens on: the run ends with the reason, nothing is recorded as had."""
    one = letter(tmp_path)
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]

    result = posted(one, tmp_path, Gate("127.0.0.1", port, Security.NONE))

    assert "can't be reached" in result.stopped
    assert result.left_over == 6


@pytest.mark.parametrize("after", ["DATA", "half"])
def test_a_server_that_hangs_up_around_the_text(tmp_path: Path, after: str) -> None:
    """Before the text: tried again. In the middle of it: tried again or in doubt, never guessed."""
    one = letter(tmp_path, CROWD[:1])
    server = socket.create_server(("127.0.0.1", 0))
    received: list[bytes] = []

    def serve() -> None:
        for _ in range(5):
            connection, _ = server.accept()
            with connection, connection.makefile("rb") as lines:
                connection.sendall(b"220 test\r\n")
                for line in lines:
                    if line.startswith(b"DATA") and after == "DATA":
                        break
                    if line.startswith(b"DATA"):
                        connection.sendall(b"354 go\r\n")
                        received.append(lines.read(200))
                        break
                    connection.sendall(b"250 ok\r\n")

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    result = posted(one, tmp_path, Gate("127.0.0.1", server.getsockname()[1], Security.NONE))
    server.close()

    assert result.posted == []
    if after == "DATA":
        assert result.in_doubt == []
        assert "hangs up" in result.stopped
    else:
        assert result.in_doubt == [P0] or "hangs up" in result.stopped


def test_an_answer_that_never_comes_is_doubt(tmp_path: Path) -> None:
    """Patience ends; what the server did with the message is unknown."""
    one = letter(tmp_path, CROWD[:1])
    server = socket.create_server(("127.0.0.1", 0))
    over = threading.Event()

    def serve() -> None:
        connection, _ = server.accept()
        with connection, connection.makefile("rb") as lines:
            connection.sendall(b"220 test\r\n")
            for line in lines:
                if line.lower().startswith((b"ehlo", b"mail", b"rcpt")):
                    connection.sendall(b"250 ok\r\n")
                elif line.startswith(b"DATA"):
                    connection.sendall(b"354 go\r\n")
                    break
            over.wait(10)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    office = SmtpOffice(Gate("127.0.0.1", server.getsockname()[1], Security.NONE), patience=0.3)
    result = send(one, room(tmp_path), office, everybody, FAST, FakeClock())
    over.set()
    thread.join(5)
    server.close()

    assert result.in_doubt == [P0]


def test_a_server_without_starttls_gets_nothing(tmp_path: Path) -> None:
    """Asked for privacy, no letter and no password goes out in the clear."""
    one = letter(tmp_path)
    desk = Desk()

    with serving(desk) as submission:
        secure = Gate(submission.host, submission.port, Security.STARTTLS, "ada", "secret")
        result = posted(one, tmp_path, secure)

    assert result.stopped.startswith("127.0.0.1 offers no STARTTLS; nothing was sent in the clear.")
    assert desk.taken == []


def test_a_wrong_password_stops_at_once(tmp_path: Path) -> None:
    """It isn't tried again, and isn't shown."""
    one = letter(tmp_path)
    desk = Desk()
    asked = []

    def authenticate(
        server: object, session: object, envelope: object, mechanism: str, given: object
    ) -> AuthResult:
        asked.append(mechanism)
        return AuthResult(success=False, handled=False)

    options = {"authenticator": authenticate, "auth_require_tls": False}
    with serving(desk, **options) as submission:
        result = posted(
            one, tmp_path, Gate(submission.host, submission.port, Security.NONE, "ada", "hunter2")
        )

    assert "doesn't take the name 'ada' with that password" in result.stopped
    assert "hunter2" not in result.stopped
    assert result.posted == []
    assert desk.taken == []


def test_a_password_is_never_shown() -> None:
    """Not in a traceback, not in a log."""
    assert "hunter2" not in repr(Gate("h", 1, Security.TLS, "ada", "hunter2"))


def test_the_trial_copy_goes_to_the_artist_and_isnt_recorded(tmp_path: Path) -> None:
    """It names nobody on the list."""
    one = letter(tmp_path)
    desk = Desk()

    with serving(desk) as submission:
        address = send_to_me(one, SmtpOffice(submission))

    assert address == "hello@lantern.example"
    ((recipient, content),) = desk.taken
    assert recipient == "hello@lantern.example"
    assert b"p0@" not in content
    assert not [*(tmp_path / "sent").glob("*.jsonl")]


@pytest.mark.parametrize(
    ("answer", "sentence"),
    [
        ("550 5.7.1 no", r"the trial copy to hello@lantern\.example wasn't taken: 550 5\.7\.1 no"),
        ("451 later", r"the trial copy to hello@lantern\.example wasn't taken: 451 later"),
        ("unsure", r"the trial copy to hello@lantern\.example wasn't taken: unsure"),
        ("shut", "the post office can't be reached: nobody there"),
    ],
)
def test_a_trial_copy_that_isnt_taken_is_told(tmp_path: Path, answer: str, sentence: str) -> None:
    office = ScriptedOffice({"hello@lantern.example": [answer]})

    with pytest.raises(LetterFault, match=f"^{sentence}$"):
        send_to_me(letter(tmp_path), office)
    assert office.closed == 1


@pytest.mark.parametrize(
    ("environment", "submission"),
    [
        ({"HOST": "mail.example.com"}, Gate("mail.example.com", 465, Security.TLS)),
        (
            {"HOST": "mail.example.com", "SECURITY": "starttls", "USER": "ada", "PASSWORD": "p"},
            Gate("mail.example.com", 587, Security.STARTTLS, "ada", "p"),
        ),
        ({"HOST": "127.0.0.1", "PORT": "2525", "SECURITY": "none"}, Gate("127.0.0.1", 2525, Security.NONE)),
        ({"HOST": "::1", "SECURITY": "none"}, Gate("::1", 587, Security.NONE)),
    ],
)
def test_settings_from_the_environment(environment: dict[str, str], submission: Gate) -> None:
    """Ports by RFC 8314 section 3.3 and RFC 6409 section 3.1 where none is given."""
    assert (
        gate_from({f"SITEGEN_SMTP_{name}": value for name, value in environment.items()}, OUTGOING)
        == submission
    )


@pytest.mark.parametrize(
    ("environment", "sentence"),
    [
        ({}, "no post office is set: give SITEGEN_SMTP_HOST"),
        (
            {"HOST": "mail.example.com", "SECURITY": "none"},
            "SITEGEN_SMTP_SECURITY is 'none', which would show",
        ),
        (
            {"HOST": "mail.example.com", "SECURITY": "ssl"},
            "SITEGEN_SMTP_SECURITY is 'ssl'; use tls, starttls or none",
        ),
        ({"HOST": "mail.example.com", "PORT": "smtp"}, "SITEGEN_SMTP_PORT is 'smtp'; write a number"),
        ({"HOST": "mail.example.com", "PORT": "70000"}, "SITEGEN_SMTP_PORT is '70000'; write a number"),
    ],
)
def test_settings_that_cant_be(environment: dict[str, str], sentence: str) -> None:
    """Each with its cure; nothing goes in the clear to a machine that isn't this one."""
    with pytest.raises(LetterFault, match=sentence):
        gate_from({f"SITEGEN_SMTP_{name}": value for name, value in environment.items()}, OUTGOING)


def test_a_mailbox_file_holds_the_rest_and_counts_as_posted(tmp_path: Path) -> None:
    """Read by the standard library; a second file, or a send, has nothing more to do."""
    one = letter(tmp_path)
    send(
        one, room(tmp_path), ScriptedOffice({P1: ["unsure"]}), everybody, Manner(pace=0, limit=2), FakeClock()
    )

    count = write_mbox(one, room(tmp_path), everybody, tmp_path / "letters.mbox")

    box = mailbox.mbox(tmp_path / "letters.mbox", create=False)
    assert sorted(str(message["To"]).split("<")[1] for message in box) == [f"{p}>" for p in (P2, P3, P4, P5)]
    box.close()
    assert count == 4
    office = ScriptedOffice()
    assert send(one, room(tmp_path), office, everybody, FAST, FakeClock()).in_doubt == [P1]
    assert office.taken == []
    with pytest.raises(LetterFault, match="is there already"):
        write_mbox(one, room(tmp_path), everybody, tmp_path / "letters.mbox")


def test_an_office_shut_is_told_apart_from_a_refusal() -> None:
    """Both are exceptions of their own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]

    with pytest.raises(OfficeShut):
        SmtpOffice(Gate("127.0.0.1", port, Security.NONE)).post(
            "a@b.example", "c@d.example", b"x", lambda: None
        )


@pytest.mark.parametrize("security", [Security.TLS, Security.STARTTLS])
def test_a_connection_is_private_or_nothing_goes_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, security: Security
) -> None:
    """A certificate that this machine trusts: posted. One that it doesn't: not a word."""
    one = letter(tmp_path)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(CERTIFICATE)
    desk = Desk()
    options = {"tls_context": context} if security is Security.STARTTLS else {"ssl_context": context}

    with serving(desk, **options) as submission:
        way_in = Gate("localhost", submission.port, security)
        strange = posted(one, tmp_path, way_in)
        nothing = list(desk.taken)
        monkeypatch.setenv("SSL_CERT_FILE", str(CERTIFICATE))
        trusted = posted(one, tmp_path, way_in)

    assert strange.stopped.startswith(
        "the connection to localhost can't be made private: CERTIFICATE_VERIFY_FAILED"
    )
    assert nothing == []
    assert len(trusted.posted) == len(desk.taken) == 6
