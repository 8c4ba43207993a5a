"""What machines write takes nobody off but by a letter of ours that failed for good; what people write is heard.

Reports in the forms that RFC 3464, RFC 6533 and RFC 5965 allow, and some that they don't; notices of absence after
RFC 3834; answers as people write them in several languages (common practice, no source).
"""

from __future__ import annotations

import base64
from email.header import Header

import pytest

from sitegen.letters.folder import message_name
from sitegen.letters.replies import Meaning
from tests.letters.studio import SECRET
from tests.letters.test_replies import IDENT, KEY, TOKEN, complaint, mail, our_headers, read_one, report

FAILED = report("failed", "5.1.1", our_headers())
STATUS, RETURNED = b"message/delivery-status", b"message/rfc822"
GLOBAL = FAILED.replace(STATUS, b"message/global-delivery-status").replace(RETURNED, b"message/global")


def coded(raw: bytes, kind: bytes) -> bytes:
    """Return a report with one part in base64, which RFC 2046 forbids for some and programs do."""
    head, _, rest = raw.partition(b"content-type: " + kind + b"\r\n\r\n")
    body, _, tail = rest.partition(b"\r\n--RAA")
    field = b"content-type: " + kind + b"\r\nContent-Transfer-Encoding: base64\r\n\r\n"
    return head + field + base64.encodebytes(body) + b"\r\n--RAA" + tail


def with_text(charset: str, text: str) -> bytes:
    """Return a report whose part for people is in some charset."""
    field = f"Content-Type: text/plain; charset={charset}\r\nContent-Transfer-Encoding: 8bit\r\n\r\n"
    part = field.encode() + text.encode(charset) + b"\r\n"
    return FAILED.replace(
        b"CS.EXAMPLE\r\n\r\nThe original message", b"CS.EXAMPLE\r\n" + part + b"The original message"
    )


FORMS = {
    "RFC 6533": GLOBAL,
    "RFC 6533, headers alone": GLOBAL.replace(b"message/global\r\n", b"message/global-headers\r\n"),
    "RFC 6533 section 3.1, coded": coded(GLOBAL, b"message/global-delivery-status"),
    "its address beyond ASCII": GLOBAL.replace(b"rfc822;ada@example.com", "utf-8; ädä@example.com".encode()),
    "status in base64": coded(FAILED, STATUS),
    "letter in base64": coded(FAILED, RETURNED),
    "headers as a message": FAILED.replace(RETURNED, b"message/rfc822-headers"),
    "no report-type": FAILED.replace(b" report-type=delivery-status;", b""),
    "no multipart/report": FAILED.replace(
        b"multipart/report; report-type=delivery-status;", b"multipart/mixed;"
    ),
    "cut short": FAILED[:-60],
    "bare line feeds": FAILED.replace(b"\r\n", b"\n"),
    "a status of the older kind": FAILED.replace(b"Status: 5.1.1", b"Status: 550 5.1.1 unknown"),
    "UTF-7": with_text("utf-7", "Nicht zugestellt: ädä"),
    "ISO-2022-JP": with_text("iso-2022-jp", "配信できませんでした"),
    "GB18030": with_text("gb18030", "邮件无法送达"),
    "8-bit headers": "X-Grund: Unzustellbar für ädä\r\n".encode("latin-1") + FAILED,
}


@pytest.mark.parametrize("raw", FORMS.values(), ids=FORMS)
def test_a_failure_for_good_is_understood_in_every_form(raw: bytes) -> None:
    assert (read_one(raw).meaning, read_one(raw).key) == (Meaning.BOUNCED, KEY)
    delayed = raw.replace(b"Action: failed", b"Action: delayed")
    if delayed != raw:
        assert (read_one(delayed).meaning, read_one(delayed).key) == (Meaning.WAITING, None)


BOUNDARY = b'; boundary="RAA14128.773615765/CS.EXAMPLE"'
UNREADABLE = {
    "no boundary": FAILED.replace(BOUNDARY, b""),
    "another boundary": FAILED.replace(b'boundary="RAA', b'boundary="BAA'),
    "in words alone": b"From: <MAILER-DAEMON@post.example>\r\nSubject: stop\r\n\r\nunsubscribe\r\n\r\n"
    + FAILED[-300:],
    "of no known kind": FAILED.replace(b"delivery-status", b"delivery-news").replace(
        b"MAILER-DAEMON", b"postmaster"
    ),
}


@pytest.mark.parametrize("raw", UNREADABLE.values(), ids=UNREADABLE)
def test_a_notice_that_cant_be_read_is_shown_with_what_it_is(raw: bytes) -> None:
    """The artist finds it in their own mail program by sender and subject."""
    reply = read_one(raw)

    assert (reply.meaning, reply.key) == (Meaning.LOOK, None)
    assert reply.said.startswith("a mail server's notice, in no form that can be read: from ")
    assert "with the subject" in reply.said


AWAY = [
    ("Abwesenheitsnotiz: Commissions open", "stop"), ("Réponse automatique : stop", "Je suis absente."),
    ("不在のお知らせ", "配信停止"), ("Re: unsubscribe", "unsubscribe"), (f"Re: yes {TOKEN}", "yes"),
]  # fmt: skip


@pytest.mark.parametrize(
    "by_itself",
    [
        {"Auto_Submitted": "auto-replied"}, {"Auto_Submitted": "auto-generated (vacation)"},  # RFC 3834 section 5
        {"Return_Path": "<>"},  # RFC 3834 section 3.3
        {"Precedence": "bulk"}, {"X_Autoreply": "yes"},  # common practice, no source
        {"List_Unsubscribe": "<mailto:leave@post.example>"},  # RFC 2369
    ],
)  # fmt: skip
@pytest.mark.parametrize(("subject", "body"), AWAY)
def test_a_notice_of_absence_takes_nobody_off(subject: str, body: str, by_itself: dict[str, str]) -> None:
    reply = read_one(mail(subject, body, **by_itself))

    assert (reply.meaning, reply.key, reply.said) == (Meaning.OTHER, None, "an automatic answer")


def test_a_receipt_of_reading_says_nothing() -> None:
    """RFC 8098."""
    raw = FAILED.replace(b"delivery-status", b"disposition-notification").replace(b"MAILER-DAEMON", b"ada")

    assert read_one(raw).meaning is Meaning.OTHER


def test_a_way_out_that_a_mail_program_presses_is_heard() -> None:
    """What RFC 2369 has it do may say of itself that no person wrote it."""
    assert read_one(mail(f"leave {TOKEN}", "", Auto_Submitted="auto-generated")).key == KEY


@pytest.mark.parametrize(
    "kind", ["not-spam", "opt-out", "auth-failure", "virus", "miscategorized"]
)  # RFC 5965 section 7.3, RFC 6591
def test_a_report_that_is_no_complaint_takes_nobody_off(kind: str) -> None:
    assert (read_one(complaint(our_headers(), kind)).meaning) is Meaning.LOOK


WISHES = [
    "Abmelden", "Bitte abmelden!", "Newsletter abbestellen", "Ich möchte mich abmelden.", "Keine Post mehr, bitte",
    "Bitte nehmen Sie mich von der Liste.", "Bitte tragen Sie mich aus dem Verteiler aus", "Désinscription",
    "Merci de me désinscrire.", "me désabonner svp", "Je ne souhaite plus recevoir vos lettres", "Uitschrijven graag",
    "Por favor, darme de baja", "disiscrivimi", "odhlásiť", "配信停止希望", "退订", "I'd like to unsubscribe, thank you.",
    "Please stop sending me your letters", "Unsubscribe from list",
]  # fmt: skip


@pytest.mark.parametrize("wish", WISHES)
def test_a_wish_to_leave_is_heard_in_many_tongues(wish: str) -> None:
    """As a subject, after a greeting, above what is quoted or below it, as HTML, in an older charset."""
    quoted = "> Commissions open\n> from 5 January\n> Reply with the one word leave.\n"
    written = [
        mail(wish), mail(f"AW: {wish}"), mail(f"RE : {wish}"), mail(body=f"Hello Bríd,\n\n{wish}\n\nAda"),
        mail(body=f"{wish}\n\nAm 05.01.2027 um 10:00 schrieb Studio <hello@lantern.example>:\n{quoted}"),
        mail(body=f"Le 5 janvier 2027 à 10:00, Studio a écrit :\n\n{quoted}\n{wish}\n"), mail(body=quoted + wish),
        mail(body=f"On Tue, 5 Jan 2027 at 10:00, Studio wrote:\n{quoted}\n{wish}\n"),
        b"From: Ada <ada@example.com>\r\nSubject: " + wish.encode() + b"\r\n\r\n",  # RFC 6532
        f"From: ada@example.com\r\nSubject: {Header(wish, 'utf-8').encode()}\r\n\r\n".encode(),
        f"From: ada@example.com\r\nContent-Type: text/html\r\n\r\n<div>{wish}</div><blockquote>x".encode(),
    ]  # fmt: skip

    assert [read_one(raw).key for raw in written] == [KEY] * len(written)


@pytest.mark.parametrize(
    ("charset", "wish"),
    [("iso-2022-jp", "配信停止"), ("gb18030", "退订"), ("utf-7", "Désinscription"), ("utf-16", "Abmelden"),
     ("iso-8859-1", "désinscription"), ("shift_jis", "退会")],
)  # fmt: skip
def test_a_wish_is_heard_in_older_charsets(charset: str, wish: str) -> None:
    head = f"From: ada@example.com\r\nSubject: Re: x\r\nContent-Type: text/plain; charset={charset}\r\n\r\n"

    assert read_one(head.encode() + wish.encode(charset)).key == KEY


def test_octets_that_are_no_utf_8_stand_for_what_they_mostly_are() -> None:
    """Older programs write a field in their own set (common practice, no source)."""
    assert read_one("From: ada@example.com\r\nSubject: Désinscription\r\n\r\n".encode("latin-1")).key == KEY


@pytest.mark.parametrize(
    "said",
    [
        "Please don't unsubscribe me by accident!", "Do I have to unsubscribe to change my address?",
        "Ich muss mich vom Kurs abmelden", "I unsubscribed last year, and miss you",
    ],
)  # fmt: skip
def test_what_may_be_a_wish_is_shown_and_not_taken_for_one(said: str) -> None:
    reply = read_one(mail(body=f"Hello,\n{said}"))

    assert (reply.meaning, reply.key) == (Meaning.LOOK, None)
    assert reply.said.startswith(f"may ask to leave ('{said}'): from ADA@example.com, with the subject ")
    assert read_one(mail(body=said, sender="stranger@post.example")).meaning is Meaning.OTHER


@pytest.mark.parametrize(
    "said",
    [
        "I can't stop thinking of the moth queen!", "Leave it to me", "Please leave me on your list", "Stop by on Monday",
        "Thank you for your letter", "Dear Bríd", "Will you remove the wings?", "Keine Frage: wunderbar",
        "No more moths?", "I'd like one, please",
    ],
)  # fmt: skip
def test_what_is_no_wish_stays_one_among_other_mails(said: str) -> None:
    assert read_one(mail(body=f"{said}\n\n> Reply with the one word leave")).meaning is Meaning.OTHER


def test_a_wish_from_another_address_names_whose_letter_it_answers() -> None:
    """By RFC 5322's In-Reply-To; a letter may be sent on, so its reader stays until the artist has looked."""
    name = f"<{IDENT}.{message_name(SECRET, IDENT, KEY)}@lantern.example>"
    reply = read_one(mail("Re: Commissions open", "unsubscribe", "ada@other.example", In_Reply_To=name))

    assert (reply.meaning, reply.key) == (Meaning.LOOK, None)
    assert (
        "from an address that isn't on the list (it answers the letter to ada@example.com): from"
        in reply.said
    )
