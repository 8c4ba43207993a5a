"""people import: any table in, a plan first, nobody brought back who left."""

from __future__ import annotations

import io
import zipfile
from datetime import date
from pathlib import Path

import pytest

from sitegen.sources import StudioFault, read
from sitegen.sources.people_import import Agreement, ImportPlan, headings_of, plan_import, read_table
from sitegen.studio.person import Consent, Interest
from tests import makers

TODAY = date(2027, 1, 9)
SHEET = Agreement(Consent.SHOW_SHEET, "sheet QDF26-2", date(2026, 10, 4), frozenset({Interest.SHOWS}))


def planned(folder: Path, table: bytes, source: Agreement = SHEET) -> ImportPlan:
    people = read(folder).sound().people
    return plan_import(people, read_table(table, source), TODAY)


def test_a_table_is_taken_over_once(tmp_path: Path) -> None:
    """Added the first time, there the second; the rest of the file stays byte for byte."""
    folder = makers.studio(tmp_path)
    before = (folder / "people.csv").read_bytes()
    table = "Email Address,First Name,Last name,Row\nnew@post.example,Nora,Ný,7\n".encode()

    first = planned(folder, table)
    assert first.write(folder / "people.csv") == 1
    second = planned(folder, table)

    assert [person.email for person in first.added] == ["new@post.example"]
    assert second.added == second.changed == []
    assert len(second.there) == 1
    assert (folder / "people.csv").read_bytes() == before + (
        "new@post.example,Nora Ný,shows,2026-10-04,show sheet,sheet QDF26-2 row 7,\r\n".encode()
    )


@pytest.mark.parametrize(
    "table",
    [
        "\ufeffE-Mail;Name\r\nzoe@post.example;Zoë Müller\r\n".encode(),
        "E-Mail;Name\r\nzoe@post.example;Zoë Müller\r\n".encode("cp1252"),
        "e-mail\tname\nzoe@post.example\tZoë Müller\n".encode("utf-16"),
        "e-mail;name\r\nzoe@post.example;Zoë Müller\r\n".encode("utf-16-le"),
        "e-mail|name\nzoe@post.example|Zoë Müller\n".encode("utf-16-be"),
        "Имя;e-mail;name\nЗоя;zoe@post.example;Zoë Müller\n".encode("utf-16-le"),
        "e-mail|name\nzoe@post.example|Zoë Müller\n".encode(),
        '"What, in words, would you see?";E-Mail;Name\n;zoe@post.example;Zoë Müller\n'.encode(),
        'name,"E-mail"\n"Zoe\u0308 Mu\u0308ller",zoe@POST.example\n'.encode(),
    ],
)
def test_tables_of_any_common_make(table: bytes) -> None:
    """With a byte-order mark or without, any separator in use, CP1252, UTF-16 (RFC 2781), letters in parts."""
    ((line, person),), refused = read_table(table, SHEET)

    assert (line, person.email, person.name, refused) == (2, "zoe@post.example", "Zoë Müller", [])


@pytest.mark.parametrize("how", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
@pytest.mark.parametrize("sign", ";|,\t")
def test_a_first_line_may_name_the_separator(sign: str, how: str) -> None:
    """`sep=;`, as spreadsheets read it (common practice, no source); lines are counted with it."""
    table = f"sep={sign}\r\n\r\nE-Mail{sign}Name\r\nzoe@post.example{sign}Zoë\r\n".encode(how)

    ((line, person),), refused = read_table(table, SHEET)

    assert (line, person.email, person.name, refused) == (4, "zoe@post.example", "Zoë", [])
    assert headings_of(table) == {"E-Mail": "email", "Name": "name"}


def packed() -> bytes:
    """Return a workbook's beginning, made by the library that the format is named after."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as folder:
        folder.writestr("sheet.xml", "<sheet/>")
    return file.getvalue()


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (packed(), "a workbook"),
        (bytes.fromhex("D0CF11E0A1B11AE1") + bytes(512), "a workbook of an older make"),
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "a PDF"),
        (b"{\\rtf1\\ansi email}", "a text document"),
        (b"\r\n<!DOCTYPE html><table><tr><td>email", "a web page"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(60), "no text"),
    ],
)
def test_what_is_no_table_of_text_is_named_with_its_cure(content: bytes, kind: str) -> None:
    """By the signatures of ISO/IEC 21320-1, [MS-CFB] 2.2, ISO 32000-1 7.5.2 and W3C PNG 5.2."""
    said = rf"^this is {kind}, and no table that can be read: open it .* as CSV, and import that file$"
    with pytest.raises(StudioFault, match=said):
        read_table(content, SHEET)


@pytest.mark.parametrize(
    ("heading", "read_as"),
    [
        ("Timestamp", "joined"), ("Date submitted", "joined"), ("Zeitstempel", "joined"), ("Datum", "joined"),
        ("Consent date", "joined"), ("Your e-mail address (required)", "email"), ("Ihr Name", "name"),
        ("Ihre E-Mail-Adresse", "email"), ("What's your name?", "name"), ("Email status", "status"),
        ("Would you like letters from the workroom?", "consent"), ("Darf ich Ihnen schreiben?", "consent"),
        ("Souhaitez-vous recevoir mes lettres ?", "consent"), ("Newsletter", "consent"),
        ("What would you like to see in a letter?", ""), ("Date of last letter", ""), ("Postcode", ""),
        ("Phone", ""), ("Consent text", ""), ("Language of letters", ""),
    ],
)  # fmt: skip
def test_headings_as_forms_write_them(heading: str, read_as: str) -> None:
    """A question that isn't answered with yes or no is no question of consent (common practice, no source)."""
    assert headings_of(f'"{heading}",mail\n'.encode())[heading] == read_as


@pytest.mark.parametrize(
    ("cell", "taken"),
    [
        ("Yes, I'd like to get letters", True), ("Yes please!", True), ("Ja, ich möchte Post", True),
        ("JA", True), ("Oui, volontiers", True), ("Sí, gracias", True), ("A\u0301no, prosím", True), ("✓", True),
        ("Yes, I'd like you to write to me about the things I have ticked, until I ask you to stop.", True),
        ("", False), ("No", False), ("No thanks", False), ("Not yes", False), ("Yesterday", False), ("Yes?", False),
        ("Yes / No", False), ("Yes, but not too often", False), ("Yes, I don't mind", False), ("Ja nicht!", False),
        ("Ja, aber nur im Herbst", False), ("si possible", False), ("Oui, peut-être", False), ("Jain", False),
        ("maybe yes", False), ("1 letter a year", False), ("shows", False), ("да", False),
    ],
)  # fmt: skip
def test_an_answer_in_words_is_a_yes_only_without_doubt(cell: str, taken: bool) -> None:
    """Consent is unambiguous and shown (GDPR, articles 4(11) and 7(1)); what isn't is refused with the cell."""
    table = f'email,Would you like letters?\nnora@post.example,"{cell}"\nbo@post.example\n'.encode()
    found, refused = read_table(table, SHEET)

    assert [person.email for _, person in found] == ["nora@post.example"] * taken
    shown = f"says '{cell}'" if cell else "is empty"
    assert taken or refused[0].why.startswith(f"the column 'Would you like letters?' {shown}; ")
    assert refused[-1].why.startswith("the column 'Would you like letters?' is empty; ")


def test_of_two_columns_that_ask_both_are_heard() -> None:
    """One no is a no, and who left by any column has left; what else stands twice is read where it's filled."""
    table = (
        b"email,e-mail,consent,newsletter,status,email status\n"
        b",a@post.example,yes,yes,active,active\nb@post.example,,yes,no,active,active\n"
        b"c@post.example,,yes,yes,active,unsubscribed\n"
    )
    found, refused = read_table(table, SHEET)

    assert [person.email for _, person in found] == ["a@post.example"]
    assert [refusal.why.partition(";")[0] for refusal in refused] == [
        "the column 'newsletter' says 'no'",
        "the table itself says that they left: 'unsubscribed'",
    ]


@pytest.mark.parametrize(
    ("row", "why"),
    [
        (
            "gone@mail.example,,2025-12-31",
            "left on 2026-01-05; only a later signature, with its date, brings them back",
        ),
        ("x@mail.example,,2027-02-01", "joined on 2027-02-01, which is still to come"),
        (
            "x@mail.example,,03/04/2026",
            "'03/04/2026' could be 2026-04-03 or 2026-03-04; show that column as year-month-day, like "
            "2026-05-14, where the table was made",
        ),
        (
            "x@mail.example,knitting,2026-02-01",
            "'knitting' is no interest; use commissions, new pieces, shows, classes",
        ),
        (",,2026-02-01", "the address is missing"),
    ],
)
def test_what_is_refused_and_why(tmp_path: Path, row: str, why: str) -> None:
    """Each with its line."""
    plan = planned(makers.studio(tmp_path), f"email,interests,joined\n{row}\n".encode())

    assert [(refused.line, refused.why) for refused in plan.refused] == [(2, why)]
    assert plan.added == plan.changed == []


def test_a_later_signature_brings_someone_back_and_a_purchase_doesnt(tmp_path: Path) -> None:
    """Their old row stays as it is, a new one is added."""
    folder = makers.studio(tmp_path)

    assert [person.email for person in planned(folder, b"email\ngone@mail.example\n").added] == [
        "gone@mail.example"
    ]
    bought = Agreement(Consent.PURCHASE, "bought a piece", date(2026, 10, 4))
    assert planned(folder, b"email\ngone@mail.example\n", bought).added == []


def test_the_forgotten_are_refused(tmp_path: Path) -> None:
    """An old table doesn't bring back who was erased."""
    table = read_table(b"email\nx@mail.example\n", SHEET)

    plan = plan_import((), table, TODAY, lambda key: key == "x@mail.example")

    assert plan.added == []
    assert plan.refused[0].why.startswith("asked to be forgotten")


def test_the_same_person_twice_is_one(tmp_path: Path) -> None:
    """Capitals, and two rows of one table; a stronger consent changes the row that is there."""
    folder = makers.studio(tmp_path)
    table = b"email,name,interests\nNEW@post.example,,shows\nnew@POST.example,Nora,classes\nBEN@post.example,,classes\n"

    plan = planned(folder, table)

    (new,) = plan.added
    assert (new.email, new.name, new.interests) == (
        "NEW@post.example",
        "Nora",
        frozenset({Interest.SHOWS, Interest.CLASSES}),
    )
    assert [(person.email, person.interests) for person in plan.changed] == [
        ("ben@post.example", frozenset({Interest.SHOWS, Interest.CLASSES}))
    ]


def test_a_likely_slip_is_asked_about_and_not_changed(tmp_path: Path) -> None:
    """A domain that nearly is one that stands often on the list."""
    folder = makers.studio(tmp_path)
    rows = "".join(f"r{n}@letterbox.example,,,2026-02-01,web,form,\r\n" for n in range(5))
    with (folder / "people.csv").open("a", newline="") as file:
        file.write(rows)

    plan = planned(folder, b"email\nnora@leterbox.example\nnick@other.example\n")

    assert [(refused.address, refused.why) for refused in plan.questions] == [
        ("nora@leterbox.example", "did they mean @letterbox.example?")
    ]
    assert [person.email for person in plan.added] == ["nora@leterbox.example", "nick@other.example"]


@pytest.mark.parametrize(
    ("heading", "cell", "taken"),
    [
        ("consent", "yes", Consent.SHOW_SHEET),
        ("consent", "In person", Consent.IN_PERSON),
        ("consent", "no", "the column 'consent' says 'no'; if that column asks something else, take it out"),
        ("Opt-in", "", "the column 'Opt-in' is empty; if that column asks something else, take it out"),
        ("confirmed", "no", Consent.NOT_CONFIRMED),
        ("confirmed", "pending", Consent.NOT_CONFIRMED),
        ("confirmed", "Yes", Consent.SHOW_SHEET),
        ("confirmed", "2026-03-02", Consent.SHOW_SHEET),
        ("Unsubscribed", "2026-03-02", "the table itself says that they left: '2026-03-02'"),
        ("left", "bounced", "the table itself says that they left: 'bounced'"),
        ("left", "no", Consent.SHOW_SHEET),
    ],
)
def test_what_the_table_says_of_consent_is_heard(heading: str, cell: str, taken: Consent | str) -> None:
    """A source given for all can't outdo a row that says no, or that someone left."""
    found, refused = read_table(f"email,{heading}\nnora@post.example,{cell}\n".encode(), SHEET)

    assert [person.consent for _, person in found] + [refused.why for refused in refused] == [taken]


def test_a_table_taken_from_a_list_of_our_own_brings_nobody_back(tmp_path: Path) -> None:
    """people.csv of another folder: who left there, or never agreed, isn't taken over."""
    old = (
        b"email,name,interests,joined,consent,evidence,left\r\n"
        b"a@post.example,,shows,2026-02-01,web,form,\r\n"
        b"b@post.example,,shows,2026-02-01,web,form,2026-09-14 asked\r\n"
        b"c@post.example,,shows,2026-02-01,not confirmed,form,\r\n"
        b"d@post.example,,shows,2026-02-01,,,\r\n"
    )

    plan = planned(makers.studio(tmp_path), old)

    assert [(person.email, person.consent) for person in plan.added] == [
        ("a@post.example", Consent.WEB),
        ("c@post.example", Consent.NOT_CONFIRMED),
    ]
    assert [refused.address for refused in plan.refused] == ["b@post.example", "d@post.example"]


@pytest.mark.parametrize(
    ("cell", "name", "email"),
    [
        ("Nora Ný <Nora@POST.example>", "Nora Ný", "Nora@post.example"),
        ('"""Ný, Nora"" <nora@post.example>"', "Ný, Nora", "nora@post.example"),
        ("<nora@post.example>", "", "nora@post.example"),
    ],
)
def test_an_address_with_a_name_around_it_is_read(cell: str, name: str, email: str) -> None:
    """As mail programs export it (RFC 5322 section 3.4)."""
    ((_, person),), refused = read_table(f"email\n{cell}\n".encode(), SHEET)

    assert (person.name, person.email, refused) == (name, email, [])


@pytest.mark.parametrize(
    ("domain", "meant"),
    [("gmial.com", "gmail.com"), ("hotmial.com", "hotmail.com"), ("gmx.net", None), ("mail.com", None),
     ("example.com", None), ("ymail.com", None)],
)  # fmt: skip
def test_slips_in_well_known_domains(tmp_path: Path, domain: str, meant: str | None) -> None:
    """Asked about, taken as it stands; a domain that is one of them itself isn't questioned."""
    plan = planned(makers.studio(tmp_path), f"email\nnora@{domain}\n".encode())

    assert [refused.why for refused in plan.questions] == ([f"did they mean @{meant}?"] if meant else [])
    assert [person.email for person in plan.added] == [f"nora@{domain}"]
    for refused in list(plan.questions):
        plan.leave_out(refused)
        assert (plan.added, plan.questions) == ([], [])
        assert plan.refused[0].why == f"left out: did they mean @{meant}?"


def test_a_zone_comes_along_and_the_list_grows_a_column(tmp_path: Path) -> None:
    """Every older row stays byte for byte, but for one more comma; an unknown zone is refused."""
    folder = makers.studio(tmp_path)
    before = (folder / "people.csv").read_bytes()
    table = b"email,time zone\nnora@post.example,America/Halifax\nnick@post.example,Halifax\n"

    plan = planned(folder, table)
    plan.write(folder / "people.csv")

    assert [refused.why for refused in plan.refused] == [
        "'Halifax' is not a time zone of the IANA list; write it like Europe/Dublin or America/Halifax"
    ]
    header, *rows = before.decode().splitlines()
    assert (folder / "people.csv").read_bytes().decode().splitlines() == [
        f"{header},zone",
        *[f"{row}," for row in rows],
        "nora@post.example,,shows,2026-10-04,show sheet,sheet QDF26-2,,America/Halifax",
    ]
    assert [str(person.zone) for person in read(folder).sound().people] == [
        "None",
        "None",
        "None",
        "America/Halifax",
    ]
    assert planned(folder, table).added == []


def test_a_table_without_addresses_is_named() -> None:
    """The sentence shows the headings."""
    with pytest.raises(
        StudioFault, match="no column is headed 'email' in the table's first line: Name, Town"
    ):
        read_table(b"Name,Town\nNora,Dunmarrow\n", SHEET)


@pytest.mark.parametrize(
    ("typed", "day"),
    [
        ("2026-10-04", "2026-10-04"), ("2026-10-04 18:30", "2026-10-04"), ("4.10.2026", "2026-10-04"),
        ("04. 10. 2026", "2026-10-04"), ("23/10/2026", "2026-10-23"), ("10/23/2026", "2026-10-23"),
        ("10/10/2026", "2026-10-10"), ("03/04/2026", None), ("31.2.2026", None), ("soon", None),
        ("2026/05/14", "2026-05-14"), ("2026/5/4 9:12:03 AM GMT+2", "2026-05-04"), ("2026.05.14.", "2026-05-14"),
        ("14.05.2026 09:12:03", "2026-05-14"), ("2026-05-14T09:12:03Z", "2026-05-14"), ("14.05.26", None),
        ("03/04/2026 09:12:03", None), ("10.23.2026", None), ("2026-13-01", None),
    ],
)  # fmt: skip
def test_days_as_tables_write_them(typed: str, day: str | None) -> None:
    """Taken where they can mean one day only; points put the day first (common practice, no source)."""
    found, refused = read_table(f"email,date\nnora@post.example,{typed}\n".encode(), SHEET)

    assert [str(person.joined) for _, person in found] == ([day] if day else [])
    assert len(refused) == (0 if day else 1)


@pytest.mark.parametrize("status", ["unsubscribed", "Cleaned", "abgemeldet"])
def test_whose_status_says_they_left_stays_off(status: str) -> None:
    table = f"E-Mail;Status\nada@mail.example;{status}\nbo@mail.example;aktiv\n".encode()
    found, refused = read_table(table, Agreement(Consent.WEB, "form"))

    assert [person.email for _, person in found] == ["bo@mail.example"]
    assert refused[0].why == f"the table itself says that they left: '{status}'"


@pytest.mark.parametrize("status", ["pending", "Unconfirmed", "VIP"])
def test_a_status_that_is_no_yes_is_not_taken_for_one(status: str) -> None:
    """Consent is shown, never presumed (GDPR, article 7(1)): an unknown word is asked about, not believed."""
    table = (
        f"email,status\nada@mail.example,{status}\nbo@mail.example,Subscribed\ncy@mail.example,\n".encode()
    )
    found, refused = read_table(table, Agreement(Consent.WEB, "form"))

    assert [person.email for _, person in found] == ["bo@mail.example", "cy@mail.example"]
    assert refused[0].why.startswith(f"their status, '{status}', is no yes; ")
