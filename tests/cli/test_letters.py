"""Letters from the outside: written, looked at, posted to a real server on this machine."""

from __future__ import annotations

import csv
import email
import email.policy
import mailbox
import re
import shutil
import socket
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.handlers import Message

from sitegen.jobs import letters as jobs
from tests import makers
from tests.cli.runner import TODAY, contents, run
from tests.letters.test_inbox import serving


class Inbox(Message):
    """Keeps what arrives."""

    def __init__(self) -> None:
        super().__init__()
        self.arrived: list[tuple[str, str]] = []

    def handle_message(self, message: email.message.Message) -> None:
        self.arrived.append((str(message["X-RcptTo"]), str(message["Subject"])))


@contextmanager
def served(handler: Inbox, monkeypatch: pytest.MonkeyPatch) -> Iterator[Inbox]:
    """Run a real SMTP server on the loopback address, named to the program by its environment."""
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    controller = Controller(handler, hostname="127.0.0.1", port=port, ready_timeout=20)
    controller.start()
    for name, value in (("HOST", "127.0.0.1"), ("PORT", str(port)), ("SECURITY", "none")):
        monkeypatch.setenv(f"SITEGEN_SMTP_{name}", value)
    try:
        yield handler
    finally:
        controller.stop()


@pytest.fixture
def inbox(monkeypatch: pytest.MonkeyPatch) -> Iterator[Inbox]:
    """A server that takes everything."""
    with served(Inbox(), monkeypatch) as handler:
        yield handler


def test_a_letter_is_posted_once_however_often_send_runs(tmp_path: Path, inbox: Inbox) -> None:
    folder = makers.studio(tmp_path / "s")
    run(folder, "announce", "commissions")

    first = run(folder, "send", "commissions-winter-2027", "--pace", "0", "--yes")
    second = run(folder, "send", "commissions-winter-2027", "--pace", "0", "--yes")

    assert first.exit_code == second.exit_code == 0, first.output + second.output
    assert [one for one, _ in inbox.arrived] == ["ana@mail.example"]
    assert "1 posted now" in first.output
    assert "1 had it already" in second.output


def test_whoever_leaves_between_writing_and_posting_gets_nothing(tmp_path: Path, inbox: Inbox) -> None:
    folder = makers.studio(tmp_path / "s")
    run(folder, "announce", "commissions")
    assert run(folder, "people", "leave", "Ana@MAIL.example").exit_code == 0

    result = run(folder, "send", "commissions-winter-2027", "--pace", "0", "--yes")

    assert inbox.arrived == []
    assert "1 withheld" in result.output


def test_a_piece_sold_between_writing_and_posting_stops_the_letter(tmp_path: Path, inbox: Inbox) -> None:
    """Promise 1, at posting time."""
    folder = makers.studio(tmp_path / "s")
    made = run(folder, "announce", "pieces", "ferry-ghost", "--pictures", "none")
    assert made.exit_code == 0, made.output
    ident = made.output.rsplit("sitegen send ", 1)[1].strip()
    run(folder, "piece", "mark", "ferry-ghost", "sold")

    result = run(folder, "send", ident, "--pace", "0", "--yes")

    assert result.exit_code == 1
    assert inbox.arrived == []
    assert "ferry-ghost" in result.output


def test_the_trial_copy_goes_to_the_studio_alone(tmp_path: Path, inbox: Inbox) -> None:
    folder = makers.studio(tmp_path / "s")
    run(folder, "announce", "commissions")

    result = run(folder, "send", "commissions-winter-2027", "--to-me")

    assert result.output == "The trial copy went to hello@lantern.example.\n"
    assert [one for one, _ in inbox.arrived] == ["hello@lantern.example"]


def test_a_mailbox_file_holds_each_message_once(tmp_path: Path) -> None:
    """Python's own mailbox reader counts."""
    folder = makers.studio(tmp_path / "s")
    run(folder, "announce", "commissions")

    result = run(folder, "send", "commissions-winter-2027", "--mbox", str(tmp_path / "a.mbox"))

    assert result.output.startswith("1 letter in ")
    box = mailbox.mbox(tmp_path / "a.mbox")
    assert [str(one["Subject"]) for one in box] == ["Commissions open on Saturday 16 January 2027"]
    box.close()


def test_a_sold_piece_is_put_into_no_letter(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s", {"owl": makers.piece_yaml("Owl", "sold")})

    result = run(folder, "announce", "pieces", "owl")

    assert result.exit_code == 1
    assert "owl is sold" in result.output
    assert not (folder / "out" / "letters").exists()


def test_a_show_letter_goes_to_those_who_asked_for_shows(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "announce", "show", "quayside-2027")

    assert result.exit_code == 0, result.output
    with next((folder / "out" / "letters").glob("show-*/recipients.csv")).open(
        encoding="utf-8", newline=""
    ) as file:
        assert [row["email"] for row in csv.DictReader(file)] == ["ben@post.example"]


def test_a_head_start_makes_two_letters(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    text = makers.COMMISSIONS.replace("way: draw", "way: first come").replace(
        "waiting.client@mail", "ana@mail"
    )
    makers.write(folder / "commissions.yaml", text)
    more = "eve@mail.example,Eve,commissions,2026-02-01,web,form,\r\n"
    (folder / "people.csv").write_bytes((makers.PEOPLE + more).encode())

    result = run(folder, "announce", "commissions", "--head-start", "24")

    assert result.exit_code == 0, result.output
    found = {
        file.parent.name: [
            row["email"] for row in csv.DictReader(file.read_text(encoding="utf-8").splitlines())
        ]
        for file in sorted((folder / "out" / "letters").glob("*/recipients.csv"))
    }
    assert sorted(found.values()) == [["ana@mail.example"], ["eve@mail.example"]]


def test_a_letter_without_a_postal_address_is_refused(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    text = makers.STUDIO.replace("postal_address: |\n  Lantern & Loam\n  1 Example Lane\n  Sampletown\n", "")
    makers.write(folder / "studio.yaml", text)

    result = run(folder, "announce", "commissions")

    assert result.exit_code == 1
    assert "postal_address" in result.output


def test_an_import_is_shown_first_and_done_once(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    table = tmp_path / "sheet.csv"
    table.write_bytes(
        "E-Mail;Name\r\nnew@mail.example;Zoë\r\ngone@mail.example;Gone\r\nnot an address;X\r\n".encode(
            "cp1252"
        )
    )
    words = (
        "people",
        "import",
        str(table),
        "--source",
        "show sheet",
        "--evidence",
        "sheet QDF26-1",
        "--joined",
        "2025-10-04",
    )
    before = contents(folder)

    dry = run(folder, *words, "--dry-run")
    assert contents(folder) == before
    done = run(folder, *words)
    after = contents(folder)
    again = run(folder, *words)

    assert dry.exit_code == done.exit_code == 0, done.output
    assert "+ new@mail.example" in dry.output
    assert "not an address" in dry.output
    assert "new@mail.example,Zoë,,2025-10-04,show sheet," in after["people.csv"].decode()
    assert (
        "gone@mail.example,Gone,commissions,2025-03-01,web,form on the site,2026-01-05 asked"
        in after["people.csv"].decode()
    )
    assert "+ new@mail.example" not in again.output
    assert contents(folder) == after


def test_a_person_can_be_added_shown_and_forgotten(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")

    added = run(
        folder,
        "people",
        "add",
        "new@mail.example",
        "--name",
        "Zoë",
        "--source",
        "web",
        "--evidence",
        "form",
        "--about",
        "shows, commissions",
    )
    shown = run(folder, "people", "export", "New@mail.example")
    listed = run(folder, "people", "list", "--who", "shows and not left")
    forgotten = run(folder, "people", "forget", "new@mail.example", "--yes")
    held = run(folder, "people", "export", "NEW@mail.example")
    back = run(folder, "people", "add", "new@mail.example", "--source", "web", "--evidence", "form")

    assert added.exit_code == 0, added.output
    assert held.output == "No letter is sent: asked to be forgotten.\n"
    assert "  interests: commissions; shows\n" in shown.output
    assert "  name: Zoë" in shown.output
    assert "new@mail.example  Zoë" in listed.output
    assert "1 row erased." in forgotten.output
    assert b"new@mail.example" not in b"".join(contents(folder).values())
    assert back.exit_code == 1, back.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["add", "nobody", "--source", "web", "--evidence", "x"], "nobody"),
        (["add", "a@b.example", "--source", "wed", "--evidence", "x"], "did you mean 'web'?"),
        (["leave", "stranger@mail.example"], "isn't in people.csv"),
        (["list", "--who", "shows and"], "--who"),
    ],
)
def test_what_cannot_be_done_to_the_list_is_told(tmp_path: Path, words: list[str], said: str) -> None:
    folder = makers.studio(tmp_path / "s")
    before = contents(folder)

    result = run(folder, "people", *words)

    assert result.exit_code == 1
    assert said in result.output
    assert contents(folder) == before


def test_what_must_be_said_is_told_with_what_may_be_said(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "people", "add", "ada@mail.example")

    assert result.exit_code == 2
    assert "Missing option '--source'. How they agreed: web, show sheet, purchase, " in result.output


def test_a_likely_slip_is_told_where_nobody_can_answer(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")

    result = run(folder, "people", "add", "nora@gmial.com", "--source", "web", "--evidence", "form")

    assert result.output == (
        "nora@gmial.com is on the list now; did they mean @gmail.com? It is taken as written.\n"
    )


def test_a_request_to_leave_that_came_back_is_noted(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    run(folder, "announce", "commissions")
    letter = next((folder / "out" / "letters").glob("*/eml/*.eml"))
    way_out = str(
        email.message_from_bytes(letter.read_bytes(), policy=email.policy.default)["List-Unsubscribe"]
    )
    subject = way_out.split("subject=")[1].split(">", maxsplit=1)[0].replace("%20", " ")
    box = mailbox.mbox(tmp_path / "in.mbox")
    box.add(f"From: someone else <else@other.example>\nSubject: {subject}\n\n\n".encode())
    box.add(b"From: x <x@other.example>\nSubject: leave aaaaaaaaaaaaaaaa\n\n\n")
    box.close()

    result = run(folder, "people", "replies", str(tmp_path / "in.mbox"))

    assert result.exit_code == 0, result.output
    assert "1 row of people.csv changed." in result.output
    assert b"ana@mail.example" in (folder / "people.csv").read_bytes()
    assert b"form on the site,2026-11-25 asked\r\n" in (folder / "people.csv").read_bytes()


def test_replies_are_read_from_a_mailbox_on_its_server(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = makers.studio(tmp_path / "s")
    (tmp_path / "box").mkdir()
    asks = (
        b"From: ana@mail.example\r\nDate: Tue, 24 Nov 2026 10:00:00 +0000\r\nSubject: unsubscribe\r\n\r\n\r\n"
    )

    with serving(tmp_path / "box", [asks]) as gate:
        monkeypatch.setenv("SITEGEN_IMAP_HOST", gate.host)
        monkeypatch.setenv("SITEGEN_IMAP_PORT", str(gate.port))
        monkeypatch.setenv("SITEGEN_IMAP_SECURITY", "none")
        monkeypatch.setenv("SITEGEN_IMAP_USER", gate.user)
        monkeypatch.setenv("SITEGEN_IMAP_PASSWORD", gate.password)
        result = run(folder, "people", "replies", "--imap")
        again = run(folder, "people", "replies", "--imap")

    assert result.output == "     1 asked to leave\n1 row of people.csv changed.\n"
    assert again.output == "     1 asked to leave\n0 rows of people.csv changed.\n"
    assert b"geheim" not in b"".join(contents(folder).values())


def test_a_password_is_asked_for_and_kept_nowhere(
    tmp_path: Path, inbox: Inbox, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Typed unseen where there's a user and someone to ask; the server here takes none, and says so."""
    folder = makers.studio(tmp_path / "s")
    run(folder, "announce", "commissions")
    monkeypatch.setattr("sitegen.terminal.telling.someone_is_there", lambda: True)
    monkeypatch.setenv("SITEGEN_SMTP_USER", "ada")

    result = run(folder, "send", "commissions-winter-2027", "--to-me", typed="hunter2\n")

    assert "Password of ada at 127.0.0.1 (kept nowhere): \n" in result.output
    assert "takes no log-in" in result.output
    assert result.exit_code == 1
    assert "hunter2" not in result.output
    assert b"hunter2" not in b"".join(contents(folder).values())


def test_a_letter_there_is_none_of_is_told_before_anything_is_asked(tmp_path: Path) -> None:
    result = run(makers.studio(tmp_path / "s"), "send", "commissions-sumer")

    assert "there's no letter" in result.output
    assert "[y/N]" not in result.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("announce", "show", "quayside"), "there is no show 'quayside'"),
        (("announce", "commissions", "Sommer"), "has no round 'Sommer'"),
        (("announce", "pieces", "moth"), "there is no piece 'moth'"),
        (("announce", "pieces", "--since", "soon"), "--since"),
        (("announce", "confirm"), "nobody in people.csv is to be asked to confirm"),
        (("piece", "add", "no-photo.txt"), "no-photo.txt"),
    ],
)
def test_what_is_refused_without_words_is_told_before_words_are_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], said: str
) -> None:
    folder = makers.studio(tmp_path / "s")
    monkeypatch.setattr("sitegen.terminal.telling.someone_is_there", lambda: True)
    makers.write(tmp_path / "no-photo.txt", "words")
    monkeypatch.chdir(tmp_path)

    result = run(folder, *words, typed="n\n" * 5)

    assert said in result.output
    assert not re.search("Write a few words|Title", result.output)
    assert result.exit_code == 1
    assert not (folder / "out" / "letters").exists()


def test_a_notice_asks_for_its_words_until_there_are_some(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = makers.studio(tmp_path / "s")
    monkeypatch.setattr("sitegen.terminal.telling.someone_is_there", lambda: True)
    words = ("announce", "notice", "--about", "new pieces", "--subject", "A pause")

    result = run(folder, *words, typed=".\n \n.\nThe bench rests in March.\n.\n")

    assert result.exit_code == 0, result.output
    assert result.output.count("Write your words here") == 3
    assert "at the top?" not in result.output
    letter = next((folder / "out/letters").iterdir()) / "letter.txt"
    assert "The bench rests in March." in letter.read_text("utf-8")


def test_a_letter_no_longer_true_is_told_before_a_password_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = makers.studio(tmp_path / "s")
    run(folder, "announce", "pieces", "ferry-ghost", "--pictures", "none")
    file = folder / "pieces" / "ferry-ghost" / "piece.yaml"
    makers.write(file, file.read_text("utf-8").replace("480", "520"))
    monkeypatch.setattr("sitegen.terminal.telling.someone_is_there", lambda: True)

    result = run(folder, "send", next((folder / "out/letters").iterdir()).name, "--yes", typed="x\n" * 3)

    assert "was 'available, 480.00' when the letter was made and is now 'available, 520.00'" in result.output
    assert "Server" not in result.output


def test_a_long_list_is_counted_while_its_letter_is_made(tmp_path: Path) -> None:
    folder, told = makers.studio(tmp_path / "s"), list[tuple[int, int]]()

    jobs.commissions(folder, jobs.AnnounceCommissions(), TODAY, lambda *far: told.append(far))

    made = folder / "out/letters/commissions-winter-2027"
    people = len([*(made / "eml").iterdir()])
    assert told == [(number, people) for number in range(people + 1)]


@pytest.mark.parametrize(("answer", "taken"), [("n", False), ("y", True)])
def test_a_likely_slip_is_asked_about(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, answer: str, taken: bool
) -> None:
    folder = makers.studio(tmp_path / "s")
    monkeypatch.setattr("sitegen.terminal.telling.someone_is_there", lambda: True)

    words = ("people", "add", "nora@gmial.com", "--source", "web", "--evidence", "form")
    result = run(folder, *words, typed=f"{answer}\n")

    assert "nora@gmial.com: did they mean @gmail.com? Take it as it is written? [y/N]" in result.output
    assert (b"nora@gmial.com" in (folder / "people.csv").read_bytes()) == taken
    assert result.exit_code == (0 if taken else 1)


def test_who_left_by_the_web_address_is_noted(tmp_path: Path) -> None:
    """By the token in the letter's own header; a forged one changes nothing."""
    folder = makers.studio(tmp_path / "s")
    makers.write(folder / "studio.yaml", makers.STUDIO + "leave_address: https://lantern.example/leave/\n")
    run(folder, "announce", "commissions")
    letter = next((folder / "out" / "letters").glob("*/eml/*.eml"))
    header = str(
        email.message_from_bytes(letter.read_bytes(), policy=email.policy.default)["List-Unsubscribe"]
    )
    token = header.split(">", maxsplit=1)[0].rpartition("/")[2]
    (tmp_path / "log").write_text(
        f"POST /leave/{token} 200\nPOST /leave/aaaaaaaaaaaaaaaa 200\n", encoding="utf-8"
    )
    before = contents(folder)

    forged = run(folder, "people", "leave", "--token", "aaaaaaaaaaaaaaaa")
    assert contents(folder) == before
    result = run(folder, "people", "leave", "--tokens", str(tmp_path / "log"))

    assert forged.output.endswith("0 rows of people.csv changed.\n")
    assert result.output == "     1 asked to leave\n1 row of people.csv changed.\n"
    assert b"form on the site,2026-11-25 asked\r\n" in (folder / "people.csv").read_bytes()
    assert run(folder, "people", "leave").exit_code == 2


@pytest.mark.parametrize(
    ("words", "ident"),
    [
        (("commissions",), "commissions-winter-2027"),
        (("pieces", "ferry-ghost", "--pictures", "none"), "pieces-2026-11-25-ferry-ghost"),
        (("show", "quayside-2027"), "show-quayside-2027"),
    ],
)
def test_a_preview_opens_beside_a_checklist(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], ident: str
) -> None:
    """What, to how many, who is left out and why, size, links, the law's points; for each kind of letter."""
    folder = makers.studio(tmp_path / "s")
    opened: list[str] = []
    monkeypatch.setattr("click.launch", opened.append)

    result = run(folder, "announce", *words, "--show")

    assert result.exit_code == 0, result.output
    assert opened == [str(folder / "out" / "letters" / ident / "letter.html")]
    labels = [line.split(":")[0] for line in result.output.splitlines() if line[:1].isalpha()]
    assert labels[:7] == ["Letter", "Subject", "To", "Left out", "Size", "Links", "Look at"]
    assert "1 person" in result.output
    assert "1 left\n" in result.output
    assert "not in out/site\n" in result.output
    assert result.output.count("  [x] ") == 4
    assert "isn't in out/site; `sitegen build`" in result.output
    assert "  [ ] Subject and letter say the same (US, Canada); only you can judge that.\n" in result.output
    assert "This is a checklist, not legal advice" in result.output
    assert result.output.endswith(f"Post it with:  sitegen send {ident}\n")


def test_words_are_asked_for_where_someone_can_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Several paragraphs; in a pipe nothing is asked."""
    folder = makers.studio(tmp_path / "s")
    monkeypatch.setattr("sitegen.terminal.telling.someone_is_there", lambda: True)

    result = run(folder, "announce", "show", "quayside-2027", typed="y\nI'll bring *two*.\n\nAnd tea.\n.\n")

    assert result.exit_code == 0, result.output
    text = (folder / "out" / "letters" / "show-quayside-2027" / "letter.txt").read_text(encoding="utf-8")
    assert text.startswith("Hello,\n\nI’ll bring two.\n\nAnd tea.\n\n")


def test_a_second_letter_on_the_same_round_has_a_name_of_its_own(tmp_path: Path, inbox: Inbox) -> None:
    """What went out isn't made again; a reminder is another letter."""
    folder = makers.studio(tmp_path / "s")
    run(folder, "announce", "commissions")
    run(folder, "send", "commissions-winter-2027", "--pace", "0", "--yes")

    again = run(folder, "announce", "commissions")
    reminder = run(folder, "announce", "commissions", "--name", "Last day")
    posted = run(folder, "send", "commissions-winter-2027-last-day", "--pace", "0", "--yes")

    assert again.exit_code == 1
    assert "a second letter takes a name of its own, like --name reminder" in again.output
    assert reminder.exit_code == 0, reminder.output
    assert "1 posted now" in posted.output
    assert len(inbox.arrived) == 2


def test_a_letter_whose_folder_is_gone_is_made_again_for_the_rest(tmp_path: Path, inbox: Inbox) -> None:
    """out/ may be deleted at any time; whoever has the letter doesn't get it twice."""
    folder = makers.studio(tmp_path / "s")
    (folder / "people.csv").write_bytes(
        (makers.PEOPLE + "eve@mail.example,Eve,commissions,2026-02-01,web,form,\r\n").encode()
    )
    run(folder, "announce", "commissions")
    run(folder, "send", "commissions-winter-2027", "--pace", "0", "--yes", "--limit", "1")
    shutil.rmtree(folder / "out")

    made = run(folder, "announce", "commissions")
    sent = run(folder, "send", "commissions-winter-2027", "--pace", "0", "--yes")

    assert made.exit_code == 0, made.output
    assert "This letter was posted before and its folder is gone" in made.output
    assert "1 posted now" in sent.output
    assert [one for one, _ in inbox.arrived] == ["ana@mail.example", "eve@mail.example"]


def test_a_round_can_give_its_own_head_start(tmp_path: Path) -> None:
    """Two letters; after the earlier hour has come, one; with --head-start 0 none is given."""
    folder = makers.studio(tmp_path / "s")
    text = makers.COMMISSIONS.replace("way: draw", "way: first come\n    head_start: 24")
    makers.write(folder / "commissions.yaml", text.replace("waiting.client@mail", "ana@mail"))
    more = "eve@mail.example,Eve,commissions,2026-02-01,web,form,\r\n"
    (folder / "people.csv").write_bytes((makers.PEOPLE + more).encode())

    def made(*words: str) -> list[str]:
        shutil.rmtree(folder / "out", ignore_errors=True)
        result = run(folder, *words)
        assert result.exit_code == 0, result.output
        return sorted(file.name for file in (folder / "out" / "letters").iterdir())

    both = ["commissions-winter-2027", "commissions-winter-2027-waiting-list"]
    assert made("announce", "commissions") == both
    assert made("announce", "commissions", "--head-start", "0") == both[:1]
    assert made("--today", "2027-01-15 13:00", "announce", "commissions") == both[:1]


def test_the_forgotten_are_gone_from_letters_too_and_come_back_only_by_asking(
    tmp_path: Path, inbox: Inbox
) -> None:
    """Nothing of them is left but a salted hash; the others' messages keep their places."""
    folder = makers.studio(tmp_path / "s")
    more = "eve@mail.example,Eve,commissions,2026-02-01,web,form,\r\n"
    (folder / "people.csv").write_bytes((makers.PEOPLE + more).encode())
    run(folder, "announce", "commissions")

    result = run(folder, "people", "forget", "ANA@mail.example", "--yes")
    left = b"".join(contents(folder).values())
    sent = run(folder, "send", "commissions-winter-2027", "--pace", "0", "--yes")
    again = ("people", "add", "ana@mail.example", "--source", "web", "--evidence", "her mail of today")
    refused, back = run(folder, *again), run(folder, *again, "--asked-again")

    assert result.output == "1 row erased.\nErased from 1 letter in out/letters too.\n"
    assert b"ana@mail.example" not in left
    assert "the elder" not in left.decode("utf-8", "replace")
    assert "1 posted now" in sent.output
    assert [one for one, _ in inbox.arrived] == ["eve@mail.example"]
    assert refused.exit_code == 1
    assert "add them with --asked-again" in refused.output
    assert back.exit_code == 0, back.output
    assert b"ana@mail.example,,,2026-11-25,web,her mail of today,\r\n" in (folder / "people.csv").read_bytes()


class Strict(Inbox):
    """Knows some mailboxes only."""

    async def handle_RCPT(  # noqa: N802 (the library's name)
        self, server: object, session: object, envelope: object, address: str, options: object
    ) -> str:
        answers = {
            "ana@mail.example": "550 5.1.1 no such mailbox",
            "eve@mail.example": "550 5.7.1 not from you",
        }
        if address in answers:
            return answers[address]
        envelope.rcpt_tos.append(address)  # type: ignore[attr-defined]
        return "250 OK"


def test_a_mailbox_that_doesnt_exist_is_noted_as_bounced(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """RFC 3463 section 3.2; a refusal by policy (section 3.8) says nothing of the mailbox."""
    folder = makers.studio(tmp_path / "s")
    more = "eve@mail.example,Eve,commissions,2026-02-01,web,form,\r\n"
    (folder / "people.csv").write_bytes((makers.PEOPLE + more).encode())
    run(folder, "announce", "commissions")

    with served(Strict(), monkeypatch):
        result = run(folder, "send", "commissions-winter-2027", "--pace", "0", "--yes")

    assert "2 refused for good" in result.output
    assert "1 noted as bounced in people.csv: there is no such mailbox" in result.output
    people = (folder / "people.csv").read_bytes().decode()
    assert "form on the site,2026-11-25 bounced\r\n" in people
    assert people.endswith("form,\r\n")
