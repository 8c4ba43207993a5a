"""What came back: leaving, bounces after RFC 3464's own examples, complaints after RFC 5965's."""

from __future__ import annotations

import mailbox
from dataclasses import replace
from datetime import date
from email.message import EmailMessage
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.letters.folder import make_token, message_name
from sitegen.letters.gate import messages_in
from sitegen.letters.record import PostingEvent, note_temporary, opened, postings
from sitegen.letters.replies import Meaning, Reply
from sitegen.studio.asked import LetterFault
from sitegen.studio.person import Left, Why, address_key
from tests.letters.studio import ADA, MOMENT, PEOPLE, SECRET, read_all

KEY = address_key(ADA.email)
TOKEN = make_token(SECRET, KEY)
IDENT = "commissions-winter-2027"


def our_headers(key: str = KEY, secret: bytes = SECRET, letter: str = IDENT) -> str:
    """Return what a report brings back of one of our letters."""
    return (
        f"Message-ID: <{letter}.{message_name(secret, letter, key)}@lantern.example>\r\n"
        f"List-Unsubscribe: <mailto:hello@lantern.example?subject=leave%20{make_token(secret, key)}>\r\n"
        "Subject: Commissions open\r\n"
    )


def report(action: str, status: str, returned: str, kind: str = "delivery-status") -> bytes:
    """Return a delivery report in the form of RFC 3464 appendix E's examples."""
    return (
        "From: Mail Delivery Subsystem <MAILER-DAEMON@post.example>\r\nTo: hello@lantern.example\r\n"
        "Subject: Returned mail: Cannot send message for 5 days\r\nMIME-Version: 1.0\r\n"
        f'Content-Type: multipart/report; report-type={kind}; boundary="RAA14128.773615765/CS.EXAMPLE"\r\n\r\n'
        "--RAA14128.773615765/CS.EXAMPLE\r\n\r\nThe original message was received at Sat, 2 Jul 1994.\r\n\r\n"
        f"--RAA14128.773615765/CS.EXAMPLE\r\ncontent-type: message/{kind}\r\n\r\n"
        "Reporting-MTA: dns; cs.post.example\r\n\r\n"
        f"Original-Recipient: rfc822;ada@example.com\r\nFinal-Recipient: rfc822;ada@example.com\r\n"
        f"Action: {action}\r\nStatus: {status}\r\nDiagnostic-Code: smtp; 426 connection timed out\r\n\r\n"
        f"--RAA14128.773615765/CS.EXAMPLE\r\ncontent-type: message/rfc822\r\n\r\n{returned}\r\nDear Ada,\r\n"
        "--RAA14128.773615765/CS.EXAMPLE--\r\n"
    ).encode()


def complaint(returned: str, kind: str = "abuse") -> bytes:
    """Return a complaint in the form of RFC 5965 appendix B.1's example."""
    return (
        "From: <abusedesk@post.example>\r\nTo: <hello@lantern.example>\r\nSubject: FW: Earn money\r\n"
        "MIME-Version: 1.0\r\nContent-Type: multipart/report; report-type=feedback-report; "
        'boundary="part1_13d.2e68ed54_boundary"\r\n\r\n--part1_13d.2e68ed54_boundary\r\n'
        "Content-Type: text/plain\r\n\r\nThis is an email abuse report.\r\n\r\n--part1_13d.2e68ed54_boundary\r\n"
        f"Content-Type: message/feedback-report\r\n\r\nFeedback-Type: {kind}\r\nUser-Agent: SomeGenerator/1.0\r\n"
        "Version: 1\r\n\r\n--part1_13d.2e68ed54_boundary\r\nContent-Type: message/rfc822\r\n"
        f"Content-Disposition: inline\r\n\r\n{returned}\r\nDear Ada,\r\n--part1_13d.2e68ed54_boundary--\r\n"
    ).encode()


def mail(
    subject: str = "Re: Commissions open", body: str = "", sender: str = "ADA@example.com", **more: str
) -> bytes:
    """Return an ordinary mail."""
    message = EmailMessage()
    message["From"], message["To"], message["Subject"] = sender, "hello@lantern.example", subject
    for name, value in more.items():
        message[name.replace("_", "-")] = value
    message.set_content(body)
    return message.as_bytes()


def read_one(raw: bytes) -> Reply:
    (reply,) = read_all([raw], PEOPLE, SECRET)
    return reply


@pytest.mark.parametrize(
    "raw",
    [
        mail(f"leave {TOKEN}", sender="another@example.org"),
        mail(f"LEAVE  {TOKEN.upper()}"),
        mail(f"Re: leave {TOKEN}"),
        mail("Re: Commissions open", f"leave {TOKEN}\n\n> quoted"),
        mail("Re: Commissions open", "leave\n\n> reply with the one word"),
        mail("Re: Commissions open", "Leave."),
        mail("unsubscribe"),
        mail("Re: Commissions open", "Please remove me from your list, thanks!"),
    ],
)
def test_a_wish_to_leave_is_heard(raw: bytes) -> None:
    """By token from any address, or by plain words from one's own."""
    assert (read_one(raw).meaning, read_one(raw).key) == (Meaning.LEAVE, KEY)


@pytest.mark.parametrize(
    ("raw", "meaning"),
    [
        (mail("Re: Commissions open", f"I'd love one!\n\n> leave {TOKEN}"), Meaning.OTHER),
        (
            mail("Re: Commissions open", f'I\'d love one!\n\nreply with the one word "leave {TOKEN}"'),
            Meaning.OTHER,
        ),
        (mail("leave it to me", "I'll write on Monday."), Meaning.OTHER),
        (mail("Out of office", "stop", Auto_Submitted="auto-replied"), Meaning.OTHER),
        (mail("leave aaaaaaaaaaaaaaaa"), Meaning.LOOK),
        (mail("unsubscribe", sender="stranger@example.org"), Meaning.LOOK),
        (mail("", ""), Meaning.OTHER),
    ],
)
def test_what_is_no_wish_changes_nothing(raw: bytes, meaning: Meaning) -> None:
    """A quoted footer, an automatic answer, a made-up token, a stranger."""
    assert (read_one(raw).meaning, read_one(raw).key) == (meaning, None)


@pytest.mark.parametrize(
    ("action", "status", "meaning"),
    [
        ("failed", "5.1.1", Meaning.BOUNCED),
        ("Failed", "5.0.0 (permanent failure)", Meaning.BOUNCED),
        ("failed", "5.2.1", Meaning.BOUNCED),
        ("failed", "4.0.0", Meaning.TEMPORARY),  # RFC 3464 appendix E.1: given up, though of class 4
        ("failed", "5.2.2", Meaning.TEMPORARY),  # RFC 3463 section 3.3: a full mailbox is meant as 4
        ("failed", "5.7.1", Meaning.TEMPORARY),  # RFC 3463 section 3.8: policy, not the mailbox
        ("failed", "5.1.7", Meaning.TEMPORARY),  # RFC 3463 section 3.2: the sender's own address
        ("failed", "5.1.8", Meaning.TEMPORARY),  # likewise
        ("failed", "5.1.10", Meaning.BOUNCED),  # RFC 7505 section 4.1: a domain that takes no mail
        ("failed", "5.2.3", Meaning.TEMPORARY),  # RFC 3463 section 3.3: the letter is too long for it
        ("failed", "5.3.4", Meaning.TEMPORARY),  # RFC 3463 section 3.4: likewise
        ("failed", "5.4.7", Meaning.TEMPORARY),  # RFC 3463 section 3.5: tried for too long
        ("failed", "5.6.1", Meaning.TEMPORARY),  # RFC 3463 section 3.7: what the letter holds
        ("failed (given up)", "5.1.1", Meaning.BOUNCED),  # RFC 3464 section 2.1.1: comments are allowed
    ],
)
def test_failed_deliveries(action: str, status: str, meaning: Meaning) -> None:
    """For good, or this time (RFC 3463 section 2, RFC 3464 section 2.3.3)."""
    reply = read_one(report(action, status, our_headers()))

    assert (reply.meaning, reply.key, reply.letter) == (meaning, KEY, IDENT)


@pytest.mark.parametrize(
    ("action", "meaning"),
    [("delayed", Meaning.WAITING), ("delivered", Meaning.OTHER), ("relayed", Meaning.OTHER),
     ("expanded", Meaning.OTHER), ("failure", Meaning.LOOK)],
)  # fmt: skip
def test_other_actions_are_no_failure(action: str, meaning: Meaning) -> None:
    """RFC 3464 section 2.3.3, which knows no others; appendix E.4 has `delayed`, its status of class 4."""
    for status in ("4.4.7", "5.1.1"):
        assert read_one(report(action, status, our_headers())).meaning is meaning


def test_a_complaint_is_heard_and_other_reports_are_shown() -> None:
    """RFC 5965 section 7.3: only `abuse` is a complaint."""
    reply = read_one(complaint(our_headers()))

    assert (reply.meaning, reply.key, reply.letter) == (Meaning.COMPLAINED, KEY, IDENT)
    assert read_one(complaint(our_headers(), "fraud")).meaning is Meaning.LOOK


@pytest.mark.parametrize(
    "forge",
    [report("failed", "5.1.1", our_headers(secret=b"guess")), complaint(our_headers(secret=b"guess"))],
)
def test_forged_reports_change_nothing(forge: bytes) -> None:
    """Whoever hasn't seen the letter can't have someone taken off the list."""
    assert (read_one(forge).meaning, read_one(forge).key) == (Meaning.LOOK, None)
    assert read_one(report("failed", "5.1.1", "Subject: hello\r\n")).key is None


def test_a_redacted_message_id_leaves_the_way_out() -> None:
    """Either of the two is enough."""
    way_out = our_headers().split("\r\n")[1] + "\r\n"

    assert read_one(complaint(way_out)).key == KEY


def test_what_was_written_before_a_later_sign_up_no_longer_holds() -> None:
    """A mailbox is read again after someone came back: their old request and an old bounce change nothing."""
    left = replace(ADA, left=Left(date(2026, 9, 14), Why.ASKED))
    people = [left, replace(ADA, joined=date(2026, 10, 4))]
    request = mail("leave", Date="Mon, 14 Sep 2026 10:00:00 +0100")
    bounce = b"Date: Mon, 14 Sep 2026 10:00:00 +0100\r\n" + report("failed", "5.1.1", our_headers())

    old = read_all([request, bounce], people, SECRET)
    new = read_all([request.replace(b"14 Sep", b"05 Oct")], people, SECRET)
    undated = read_all([mail("leave", Date="soon")], people, SECRET)

    assert [(reply.meaning, reply.key) for reply in old] == [(Meaning.PAST, None)] * 2
    assert [(reply.meaning, reply.key) for reply in new + undated] == [(Meaning.LEAVE, KEY)] * 2


@given(
    st.binary(max_size=300)
    | st.text(max_size=300).map(lambda text: f"Subject: leave\r\nFrom: {text}\r\n\r\n".encode())
)
def test_any_bytes_are_read_without_harm(raw: bytes) -> None:
    """Nothing that arrives can stop the reading, or make anyone leave by accident."""
    assert read_one(raw).meaning in {Meaning.OTHER, Meaning.LOOK}


@pytest.mark.parametrize(
    ("raw", "meaning", "said"),
    [
        (mail(f"leave {TOKEN}"), Meaning.LEAVE, "by the way out of a letter"),
        (mail("unsubscribe"), Meaning.LEAVE, "in plain words"),
        (mail("leave aaaaaaaaaaaaaaaa"), Meaning.LOOK, "a request to leave with a way out that nobody was given (aaaaaaaaaaaaaaaa)"),
        (mail("leave", sender="x@example.org"), Meaning.LOOK, "a request to leave from an address that isn't on the list"),
        (mail("Away", "leave", Auto_Submitted="auto-replied"), Meaning.OTHER, "an automatic answer"),
        (mail("leave", Auto_Submitted="No"), Meaning.LEAVE, "in plain words"),
        (report("failed", "5.1.1 (no such)", our_headers()), Meaning.BOUNCED, "failed for good (5.1.1)"),
        (report("failed", "5.1.1", our_headers()).replace(b"type=delivery-status", b"type=Delivery-Status"), Meaning.BOUNCED, "failed for good (5.1.1)"),
        (report("delayed", "4.4.1", our_headers()), Meaning.WAITING, "delayed"),
        (report("failed", "5.1.1", our_headers()).replace(b"Action:", b"Acton:"), Meaning.LOOK, "a delivery report that names no recipient"),
        (report("failed", "5.1.1", ""), Meaning.LOOK, "failed for good (5.1.1), but it returns nothing that only a letter of yours holds"),
        (complaint(our_headers()), Meaning.COMPLAINED, "a report of abuse"),
        (complaint(our_headers(), "fraud"), Meaning.LOOK, "a report of the kind 'fraud'"),
        (complaint(our_headers(), ""), Meaning.LOOK, "a report of the kind 'unknown'"),
        (b"Content-Type: multipart/mixed; boundary=x\r\n\r\n" + b"Content-Type: message/rfc822\r\n\r\n" * 59, Meaning.OTHER, ""),
        (b"Content-Type: multipart/mixed; boundary=x\r\n\r\n" + b"Content-Type: message/rfc822\r\n\r\n" * 60, Meaning.UNREADABLE, "a mail without a sender (ValueError)"),
    ],
)  # fmt: skip
def test_the_artist_is_told_how_each_mail_was_understood(raw: bytes, meaning: Meaning, said: str) -> None:
    reply = read_one(raw)
    shown, _, mail_shown = reply.said.partition(": from ")

    assert (reply.meaning, shown, bool(mail_shown)) == (meaning, said, meaning is Meaning.LOOK)


def test_a_mail_is_read_as_its_reader_sees_it() -> None:
    """The plain part before the HTML, the first line that holds a word, what HTML shows of itself."""
    both = EmailMessage()
    both["From"], both["Subject"] = "ada@example.com", "Re: Commissions open"
    both.set_content("I'd love one!")
    both.add_alternative("<p>leave</p>", subtype="html")
    only = mail("Re: Commissions open", "<p> </p>\n<div>leave</div><br>quoted").replace(
        b"text/plain", b"text/html"
    )

    assert read_one(both.as_bytes()).meaning is Meaning.OTHER
    assert read_one(only).meaning is Meaning.LEAVE
    assert read_one(mail("", "\n  \nleave\n\n> quoted")).meaning is Meaning.LEAVE
    assert read_one(mail("", "").replace(b"text/plain", b"image/png")).meaning is Meaning.OTHER


def posted(sent: Path, *letters: str) -> None:
    for day, letter in enumerate(letters, start=1):
        with opened(letter, sent) as record:
            record.note(TOKEN, PostingEvent.HANDING, MOMENT.replace(day=day))
            record.note(TOKEN, PostingEvent.POSTED, MOMENT.replace(day=day), "250 ok")


def test_three_letters_in_a_row_that_fail_are_a_bounce(tmp_path: Path) -> None:
    """Two aren't, nor three reports on one letter, nor three with one that arrived in between."""
    posted(tmp_path, "a", "b", "c", "d")
    failing = {name: Reply(Meaning.TEMPORARY, KEY, name) for name in "abcd"}

    assert note_temporary(tmp_path, SECRET, [failing["a"], failing["a"], failing["b"]]) == frozenset()
    noted = (tmp_path / "failures.jsonl").read_text()
    assert note_temporary(tmp_path, SECRET, [failing["b"], failing["a"]]) == frozenset()
    assert (tmp_path / "failures.jsonl").read_text() == noted
    assert noted.count("\n") == 2
    assert note_temporary(tmp_path, SECRET, [failing["d"]]) == frozenset()
    assert note_temporary(tmp_path, SECRET, [failing["c"]]) == {KEY}


def test_a_note_of_failures_that_was_torn_off_harms_no_later_one(tmp_path: Path) -> None:
    """A run that was killed in the middle of its line noted nothing; the next one's lines stand by themselves."""
    posted(tmp_path, "a", "b", "c")
    failing = [Reply(Meaning.TEMPORARY, KEY, name) for name in "abc"]
    note_temporary(tmp_path, SECRET, failing[:1])
    file = tmp_path / "failures.jsonl"
    file.write_bytes(file.read_bytes() + b'{"person": "abc')

    note_temporary(tmp_path, SECRET, failing[1:2])
    assert note_temporary(tmp_path, SECRET, failing[2:]) == {KEY}


def test_letters_stand_in_the_order_they_were_posted_in_whatever_they_are_called(tmp_path: Path) -> None:
    """So the last three are the latest; nothing is written where nothing failed."""
    posted(tmp_path, "z", "m", "a", "b")
    failing = [Reply(Meaning.TEMPORARY, KEY, name) for name in "zma"]

    assert [one.letter for one in postings(tmp_path, {TOKEN})[TOKEN]] == ["z", "m", "a", "b"]
    assert note_temporary(tmp_path, SECRET, [Reply(Meaning.WAITING, KEY, "b")]) == frozenset()
    assert not (tmp_path / "failures.jsonl").exists()
    assert note_temporary(tmp_path, SECRET, failing) == frozenset()
    assert note_temporary(tmp_path, SECRET, [Reply(Meaning.TEMPORARY, KEY, "b")]) == {KEY}


def test_what_a_person_was_sent(tmp_path: Path) -> None:
    """For the answer to someone who asks what is held on them."""
    posted(tmp_path, "a", "b")

    assert [(one.letter, one.event) for one in postings(tmp_path, {TOKEN})[TOKEN]] == [
        ("a", "posted"),
        ("b", "posted"),
    ]
    assert postings(tmp_path, {"nobody"}) == {"nobody": []}


def test_mailbox_files_and_folders_are_read(tmp_path: Path) -> None:
    """mbox, Maildir and a single file; anything else is named."""
    one, two = mail("leave"), mail("unsubscribe")
    box = mailbox.mbox(tmp_path / "box")
    box.add(one)
    box.add(two)
    box.close()
    folder = mailbox.Maildir(tmp_path / "dir")
    folder.add(one)
    read_already = folder.add(two)
    (tmp_path / "dir" / "new" / read_already).rename(tmp_path / "dir" / "cur" / f"{read_already}:2,S")
    (tmp_path / "plain").mkdir()
    (tmp_path / "x.eml").write_bytes(two)
    (tmp_path / "x.txt").write_text("hello")

    assert [read_one(raw).meaning for raw in messages_in(tmp_path / "box")] == [Meaning.LEAVE] * 2
    assert [read_one(raw).meaning for raw in messages_in(tmp_path / "dir")] == [Meaning.LEAVE] * 2
    assert list(messages_in(tmp_path / "x.eml")) == [two]
    with pytest.raises(LetterFault, match="isn't a mailbox file"):
        list(messages_in(tmp_path / "x.txt"))
    with pytest.raises(LetterFault, match="is neither a mailbox file"):
        list(messages_in(tmp_path / "nothing"))
    with pytest.raises(LetterFault, match="plain is neither a mailbox file"):
        list(messages_in(tmp_path / "plain"))


def test_of_a_report_on_several_only_our_reader_counts() -> None:
    """RFC 3464 section 2.3: one group of fields a recipient; a stranger's failure before ours is not ours."""
    stranger = (
        "Original-Recipient: rfc822;else@example.org\r\nFinal-Recipient: rfc822;else@example.org\r\n"
        "Action: failed\r\nStatus: 5.1.1\r\n\r\n"
    )
    raw = report("delayed", "4.4.1", our_headers()).decode()
    both = raw.replace(
        "Original-Recipient: rfc822;ada", f"{stranger}Original-Recipient: rfc822;ada", 1
    ).encode()

    (reply,) = read_all([both], PEOPLE, SECRET)

    assert (reply.meaning, reply.said) == (Meaning.WAITING, "delayed")


@pytest.mark.parametrize(
    ("status", "said"), [("4.2.2", "failed this time (4.2.2)"), ("", "failed this time (no status)")]
)
def test_a_failure_for_now_is_told_with_its_status(status: str, said: str) -> None:
    (reply,) = read_all([report("failed", status, our_headers())], PEOPLE, SECRET)

    assert (reply.meaning, reply.said) == (Meaning.TEMPORARY, said)
