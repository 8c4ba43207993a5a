"""people import: any table in, a plan first, nobody brought back who left."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from sitegen.sources import StudioFault, read
from sitegen.sources.people_import import Agreement, ImportPlan, plan_import, read_table
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
        'name,"E-mail"\n"Zoe\u0308 Mu\u0308ller",zoe@POST.example\n'.encode(),
    ],
)
def test_tables_of_any_common_make(table: bytes) -> None:
    """Byte-order mark, semicolons, CP1252, UTF-16, tabs, letters in parts."""
    ((line, person),), refused = read_table(table, SHEET)

    assert (line, person.email, person.name, refused) == (2, "zoe@post.example", "Zoë Müller", [])


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
            "'03/04/2026' isn't year-month-day, like 2026-05-14, so it could mean two days",
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
        ("consent", "no", "the table's column on consent says 'no'"),
        ("Opt-in", "", "the table's column on consent is empty"),
        ("confirmed", "no", Consent.NOT_CONFIRMED),
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
