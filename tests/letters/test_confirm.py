"""Double opt-in: who came by a sheet is asked once, and only who reads that mailbox can say yes."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from email.message import EmailMessage
from pathlib import Path
from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sitegen.letters.folder import confirm_token, make_token
from sitegen.letters.record import PostingEvent, opened
from sitegen.letters.replies import Meaning, Reader
from sitegen.studio.mailing import choose
from sitegen.studio.person import Consent, Interest, Left, Why
from tests.cli.runner import on
from tests.letters.studio import ADA, GONE, MOMENT, PEOPLE, SECRET, messages, read_all, text_of
from tests.makers import studio

DAY = "2027-03-02"
ANN = replace(ADA, email="ann@mail.example", consent=Consent.NOT_CONFIRMED, evidence="sheet QDF27-1 row 1")
TYPE = ("people", "type", "QDF27-1", "--row", "1 | Ann | ann@mail.example | 1 3", "--confirm")


def answer(subject: str, sender: str = "ann@mail.example", body: str = "", on_day: str = DAY) -> bytes:
    """Write the mail that somebody sends back."""
    mail = EmailMessage()
    mail["From"], mail["To"], mail["Subject"] = sender, "hello@lantern.example", subject
    mail["Date"] = f"Tue, {on_day[8:]} Mar 2027 10:00:00 +0000"
    mail.set_content(body)
    return bytes(mail)


def hear(folder: Path, *mails: bytes, day: str = "2027-03-05") -> str:
    """Read mails from a mailbox file."""
    box = folder.parent / "in.mbox"
    box.write_bytes(b"".join(b"From x Tue Mar  2 10:00:00 2027\n" + mail + b"\n" for mail in mails))
    result = on(day, folder, "people", "replies", str(box))
    assert result.exit_code == 0, result.output
    return result.output


def row(folder: Path, name: str = "ann@") -> str:
    """Return a person's line of the list."""
    lines = (folder / "people.csv").read_text("utf-8").splitlines()
    return next(line for line in lines if line.startswith(name))


def asked(folder: Path) -> tuple[EmailMessage, str]:
    """Have the letter made; return the message and the subject that its own link sends."""
    made = on(DAY, folder, "announce", "confirm")
    assert made.exit_code == 0, made.output
    ((_, mail),) = messages(folder / "out/letters" / f"confirm-{DAY}")
    links = re.findall(r'href="(mailto:[^"]+)"', text_of(mail, "html"))
    (subject,) = (
        parse_qs(urlsplit(link.replace("&amp;", "&")).query)["subject"][0] for link in links if "yes" in link
    )
    assert subject in " ".join(text_of(mail).split()), "the text says it too"
    return mail, subject


def test_from_the_sheet_to_a_yes_that_can_be_shown(tmp_path: Path) -> None:
    """Typed: not confirmed, no other letter. Answered: her row says by what and on which day, and letters come."""
    folder = studio(tmp_path / "s")
    book = folder / "commissions.yaml"
    book.write_text(book.read_text().replace("2027-01-", "2027-03-"))
    assert on(DAY, folder, *TYPE).exit_code == 0
    assert ",2027-02-27,not confirmed,sheet QDF27-1 row 1," in row(folder)

    on(DAY, folder, "announce", "commissions")
    assert (
        "ann@mail.example" not in (folder / "out/letters/commissions-winter-2027/recipients.csv").read_text()
    )
    mail, subject = asked(folder)
    assert mail["To"].addresses[0].addr_spec == "ann@mail.example"
    assert "(sheet QDF27-1, no. 1; " in " ".join(text_of(mail).split())
    said = hear(folder, answer(subject))

    assert "1 confirmed that they want letters" in said
    assert "confirmed by mail,sheet QDF27-1 row 1; confirmed by mail on 2027-03-02," in row(folder)
    again = hear(folder, answer(subject), day="2027-03-09")
    assert "0 rows of people.csv changed" in again, "read twice, noted once"
    on("2027-03-05", folder, "announce", "commissions", "--name", "two")
    assert "ann@" in (folder / "out/letters/commissions-winter-2027-two/recipients.csv").read_text()
    # Typed again, the row is the same one, and what was confirmed stays.
    assert on(DAY, folder, *TYPE).exit_code == 0
    assert "sheet QDF27-1 row 1; confirmed by mail on 2027-03-02" in row(folder)


def test_the_setting_asks_everyone_from_sheets_and_tables(tmp_path: Path) -> None:
    """With `confirm: yes` no option is needed; a table that says who confirmed elsewhere is believed."""
    folder = studio(tmp_path / "s")
    with (folder / "studio.yaml").open("a") as stream:
        stream.write("confirm: yes\n")
    table = tmp_path / "t.csv"
    table.write_text("email,joined,confirmed\na@mail.example,2027-02-27,\nb@mail.example,2027-02-27,yes\n")
    assert on(DAY, folder, *TYPE[:-1]).exit_code == 0
    assert on(DAY, folder, "people", "import", str(table), "--source", "web").exit_code == 0

    assert "not confirmed" in row(folder)
    assert "not confirmed" in row(folder, "a@")
    assert ",web," in row(folder, "b@")


def test_nobody_is_asked_twice(tmp_path: Path) -> None:
    """A second letter leaves out whom the first reached; both made before, posting the second withholds them."""
    folder = studio(tmp_path / "s")
    with (folder / "people.csv").open(
        "a", newline=""
    ) as stream:  # long ago: the record has the machine's day
        stream.write("ann@mail.example,Ann,,2020-02-27,not confirmed,sheet QDF20-1 row 1,\r\n")
    asked(folder)
    on(DAY, folder, "announce", "confirm", "--name", "b")
    box = on(DAY, folder, "send", f"confirm-{DAY}", "--mbox", str(tmp_path / "one.mbox"))
    assert "1 letter in" in box.output

    other = on(DAY, folder, "send", f"confirm-{DAY}-b", "--mbox", str(tmp_path / "two.mbox"))
    assert "0 letters in" in other.output
    third = on("2069-03-20", folder, "announce", "confirm")
    assert third.exit_code == 1
    assert "nobody in people.csv is to be asked to confirm" in third.output
    # Who signs at a later show gave the address anew, and is asked anew.
    file = folder / "people.csv"
    file.write_text(file.read_text().replace("2020-02-27,not confirmed", "2069-03-15,not confirmed"))
    assert on("2069-03-20", folder, "announce", "confirm").exit_code == 0


def test_who_left_isn_t_asked_and_an_old_yes_brings_nobody_back(tmp_path: Path) -> None:
    """Leaving outweighs; a yes from before it, read again, changes nothing."""
    folder = studio(tmp_path / "s")
    on(DAY, folder, *TYPE)
    _, subject = asked(folder)
    leave = answer("leave " + make_token(bytes.fromhex((folder / "sent/leave-key").read_text()), ANN.key))
    hear(folder, answer(subject), leave)
    assert row(folder).endswith("2027-03-05 asked")

    with (folder / "people.csv").open("a", newline="") as stream:
        stream.write("ann@mail.example,Ann,,2027-03-10,not confirmed,sheet X-1 row 2,\r\n")
    hear(folder, answer(subject), day="2027-03-12")
    assert "2027-03-10,not confirmed" in (folder / "people.csv").read_text()


FORGED = [
    lambda: answer("yes"),
    lambda: answer("Re: Do you want letters from Lantern & Loam?", body="yes\n"),
    lambda: answer(
        "yes " + make_token(SECRET, ANN.key)
    ),  # the token by which one leaves, as in a forwarded letter
    lambda: answer("yes " + confirm_token(b"another key", ANN)),
    lambda: answer("yes " + confirm_token(SECRET, replace(ANN, joined=date(2026, 3, 3)))),
    lambda: answer("yes " + confirm_token(SECRET, replace(ANN, email="ann2@mail.example"))),
    lambda: answer("yes " + "a" * 16),
]


@pytest.mark.parametrize("mail", FORGED)
def test_whoever_doesn_t_read_the_mailbox_can_t_confirm(mail: object) -> None:
    """A forged sender, a plain word, another's sign, the sign to leave, a guess: none counts, none is lost."""
    assert callable(mail)
    (reply,) = read_all([mail()], [*PEOPLE, ANN], SECRET)

    assert reply.meaning in {Meaning.LOOK, Meaning.OTHER}
    assert reply.key is None


@given(st.text("abcdefghijklmnopqrstuvwxyz234567", min_size=16, max_size=16))
def test_no_guess_confirms(guess: str) -> None:
    """80 bits, keyed; the right one is found by nobody who hasn't the letter."""
    right = confirm_token(SECRET, ANN)
    (reply,) = read_all([answer(f"yes {guess}")], [ANN], SECRET)

    assert (reply.meaning is Meaning.CONFIRMED) == (guess == right)


@pytest.mark.parametrize("subject", ["yes {}", "Re: YES  {}", "AW: ja {}", "„Yes {}“", "Fwd: yes {}."])
def test_the_yes_is_read_as_people_send_it(subject: str) -> None:
    """Prefixes, capitals and quotes of mail programs; from whatever address, as the sign is what counts."""
    mail = answer(subject.format(confirm_token(SECRET, ANN)), sender="other@example.org")
    (reply,) = read_all([mail], [ANN], SECRET)

    assert (reply.meaning, reply.key, reply.on) == (Meaning.CONFIRMED, ANN.key, date(2027, 3, 2))


def test_a_machine_s_answer_confirms_nothing() -> None:
    """RFC 3834 section 5: Auto-Submitted marks what no person wrote."""
    mail = answer(f"yes {confirm_token(SECRET, ANN)}").replace(
        b"Subject:", b"Auto-Submitted: auto-replied\nSubject:"
    )
    (reply,) = read_all([mail], [ANN], SECRET)

    assert reply.meaning is Meaning.OTHER


def test_whom_the_question_goes_to() -> None:
    """Only who hasn't confirmed: not who agreed in another row, left, or isn't there yet; once an address."""
    people = [
        *PEOPLE, ANN, replace(ANN, email="ANN@mail.example", joined=date(2026, 2, 1)),
        replace(ANN, email=ADA.email), replace(ANN, email=GONE.email, joined=date(2026, 9, 1)),
        replace(ANN, email="late@mail.example", joined=date(2028, 1, 1)),
        replace(ANN, email="out@mail.example", left=Left(date(2026, 4, 1), Why.BOUNCED)),
    ]  # fmt: skip
    choice = choose(people, None, MOMENT.date())

    assert [reader.person for reader in choice.chosen] == [ANN]
    assert not {reader.key for reader in choose(people, Interest.SHOWS, MOMENT.date()).chosen} & {ANN.key}


def test_a_yes_on_doubtful_ground_is_no_yes(tmp_path: Path) -> None:
    """Of whom nobody knows whether they got the question, they aren't sent a second one."""
    folder = studio(tmp_path / "s")
    on(DAY, folder, *TYPE)
    asked(folder)
    secret = bytes.fromhex((folder / "sent/leave-key").read_text())
    with opened(f"confirm-{DAY}", folder / "sent") as record:
        record.note(make_token(secret, ANN.key), PostingEvent.HANDING, MOMENT.replace(month=3))

    assert on("2027-03-20", folder, "announce", "confirm").exit_code == 1
    assert Reader([ANN], secret)._asked


def test_in_german(tmp_path: Path) -> None:
    """The German letter asks in German, and its word works."""
    folder = studio(tmp_path / "s")
    file = folder / "studio.yaml"
    file.write_text(file.read_text().replace("language: en", "language: de"))
    on(DAY, folder, *TYPE)
    assert on(DAY, folder, "announce", "confirm").exit_code == 0
    ((_, mail),) = messages(folder / "out/letters" / f"confirm-{DAY}")
    words = " ".join(text_of(mail).split())

    assert "Möchten Sie Briefe von Lantern & Loam?" in mail["Subject"]
    subject = re.search(r"mit dem Betreff „(ja [a-z2-7]{16})“", words)
    assert subject is not None
    assert "1 confirmed" in hear(folder, answer(subject[1]))
