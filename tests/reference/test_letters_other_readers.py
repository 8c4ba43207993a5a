"""Our messages read by a parser that shares nothing with Python's: Rust's mailparse, by fast-mail-parser."""

from __future__ import annotations

from pathlib import Path

import fast_mail_parser

from sitegen.letters.announce import Writing
from sitegen.letters.kinds import announce_show
from tests.letters.studio import PEOPLE, front, room


def test_another_parser_reads_the_same_letter(tmp_path: Path) -> None:
    """Subject, sender, both texts and the attachment, for ASCII and other names."""
    made = announce_show(
        Writing(front(tmp_path / "s"), PEOPLE, room(tmp_path), "Žofia sends a *ž*."), "quayside-2027"
    )

    files = sorted((made.folder / "eml").iterdir())
    assert len(files) == 3
    for file, greeting in zip(files, ["Dear Ada Lovelock,", "Dear Zoë Łabędź,", "Hello,"], strict=True):
        mail = fast_mail_parser.parse_email(file.read_bytes())
        assert mail.subject == made.subject
        assert "hello@lantern.example" in mail.headers["From"][0]
        (text,), (html,) = mail.text_plain, mail.text_html
        assert text.replace("\r\n", "\n").startswith(f"{greeting}\n\nŽofia sends a ž.\n")
        assert "<em>ž</em>" in html
        assert greeting in html
        (calendar,) = mail.attachments
        assert calendar.filename == "quayside-2027.ics"
        assert bytes(calendar.content).startswith(b"BEGIN:VCALENDAR\r\n")


def test_another_parser_reads_the_same_names(tmp_path: Path) -> None:
    """Encoded-words of RFC 2047 in To and From."""
    made = announce_show(Writing(front(tmp_path / "s"), PEOPLE, room(tmp_path)), "quayside-2027")

    second = fast_mail_parser.parse_email((made.folder / "eml" / "0002.eml").read_bytes())
    assert second.headers["To"][0].strip() == "Zoë Łabędź <zoe@xn--bcher-kva.example>"
    assert "subject=leave%20" in second.headers["List-Unsubscribe"][0]
