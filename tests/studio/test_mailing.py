"""Who gets a letter: each reason alone, then any list at all."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sitegen.studio.mailing import EXPLICIT, Choice, Reason, choose, lapsing, standing, why_not
from sitegen.studio.person import (
    Consent,
    Interest,
    Left,
    Person,
    Why,
    address_key,
    deliverable,
    last_day_of_consent,
)

TODAY = date(2027, 1, 10)
JOINED = date(2026, 3, 2)


def person(email: str = "ada@example.com", **changes: Any) -> Person:
    values: dict[str, Any] = {
        "email": email, "name": "Ada", "interests": frozenset({Interest.COMMISSIONS}),
        "joined": JOINED, "consent": Consent.WEB, "line": 2,
    }  # fmt: skip
    return Person(**{**values, **changes})


def choice(*people: Person) -> Choice:
    return choose(people, Interest.COMMISSIONS, TODAY)


def only_reason(*people: Person) -> tuple[Reason, str]:
    answer = choice(*people)
    assert answer.chosen == ()
    return answer.skipped[0].reason, answer.skipped[0].why


def test_who_said_yes_is_written_to_with_the_proof() -> None:
    """The artist sees how, where and when each recipient agreed."""
    (chosen,) = choice(person(evidence="form on the site, confirmed 2026-03-02")).chosen

    assert chosen.address == "ada@example.com"
    assert chosen.why == "web; form on the site, confirmed 2026-03-02; joined 2026-03-02; about commissions"


@pytest.mark.parametrize(
    ("changes", "reason", "why"),
    [
        ({"left": Left(TODAY, Why.ASKED)}, Reason.LEFT, "asked to leave on 2027-01-10"),
        ({"left": Left(TODAY, Why.BOUNCED)}, Reason.LEFT, "could no longer be reached on 2027-01-10"),
        ({"left": Left(TODAY, Why.COMPLAINED)}, Reason.LEFT, "complained on 2027-01-10"),
        ({"consent": None}, Reason.NO_CONSENT, "no consent noted"),
        ({"consent": Consent.NOT_CONFIRMED}, Reason.NOT_CONFIRMED, "never confirmed"),
        ({"joined": date(2027, 1, 11)}, Reason.NOT_YET, "joined 2027-01-11, which is still to come"),
        (
            {"consent": Consent.PURCHASE, "joined": None},
            Reason.LAPSED,
            "bought something, but no date says when; a purchase counts for two years",
        ),
        (
            {"interests": frozenset({Interest.SHOWS, Interest.CLASSES})},
            Reason.OTHER_INTERESTS,
            "asked for classes, shows; not for commissions",
        ),
        (
            {"interests": frozenset(), "consent": Consent.PURCHASE},
            Reason.OTHER_INTERESTS,
            "bought something, but never asked for letters on commissions",
        ),
        (
            {"email": "żółw@example.com"},
            Reason.UNREACHABLE,
            "few mail servers take letters beyond a–z before the @; write to this person by hand",
        ),
    ],
)
def test_each_reason_to_be_left_out(changes: dict[str, Any], reason: Reason, why: str) -> None:
    """Every reason is told apart and put into words."""
    assert only_reason(person(**changes)) == (reason, why)


def test_no_interest_named_means_all_after_a_plain_yes() -> None:
    """Someone who ticked no box but signed hears of everything."""
    assert len(choice(person(interests=frozenset())).chosen) == 1


def test_a_purchase_counts_through_its_second_anniversary() -> None:
    """S.C. 2010 c. 23 s. 10(10)(a): within two years before the letter is sent."""
    bought: dict[str, Any] = {"consent": Consent.PURCHASE}

    assert len(choice(person(joined=date(2025, 1, 10), **bought)).chosen) == 1
    assert only_reason(person(joined=date(2025, 1, 9), **bought)) == (
        Reason.LAPSED,
        "bought something on 2025-01-09; a purchase counts for two years",
    )


def test_one_row_that_left_keeps_the_address_out() -> None:
    """The same mailbox in other capitals doesn't slip past an unsubscription."""
    left = person("Ada@Example.com", left=Left(date(2026, 9, 14), Why.ASKED), line=7)

    assert only_reason(person(line=2), left) == (
        Reason.LEFT,
        "line 7 has the same address and asked to leave on 2026-09-14",
    )


@pytest.mark.parametrize(
    ("changes", "back"),
    [
        ({"joined": date(2026, 9, 15)}, True),
        ({"joined": date(2026, 9, 14)}, False),
        ({"joined": None}, False),
        ({"joined": date(2026, 9, 15), "consent": Consent.PURCHASE}, False),
        ({"joined": date(2026, 9, 15), "consent": Consent.NOT_CONFIRMED}, False),
    ],
)
def test_only_a_later_signature_brings_someone_back(changes: dict[str, Any], back: bool) -> None:
    """15 U.S.C. 7704(a)(4)(B): after opting out, only a later plain yes counts; a purchase isn't one."""
    left = person(left=Left(date(2026, 9, 14), Why.ASKED))

    assert bool(choice(left, person(**changes)).chosen) is back


def test_the_same_address_twice_gets_one_letter() -> None:
    """The latest plain yes is the row that counts."""
    rows = [
        person("ada@example.com", line=2),
        person("ADA@example.com", joined=date(2026, 8, 1), line=3),
        person("ada@EXAMPLE.com", joined=date(2026, 12, 1), consent=Consent.PURCHASE, line=4),
    ]

    answer = choice(*rows)

    assert [reader.person.line for reader in answer.chosen] == [3]
    assert [skipped.why for skipped in answer.skipped] == ["same address as line 3"] * 2


def test_the_forgotten_stay_out() -> None:
    """Someone erased on request isn't written to even if a row comes back."""
    answer = choose([person()], Interest.COMMISSIONS, TODAY, lambda key: key == "ada@example.com")

    assert answer.skipped[0].why == "asked to be forgotten"


# Check values of UTS 46 non-transitional processing as IDNA 2008 wants it (computed with the idna package);
# the pair with and without composed letters is RFC 6532 section 3.1's normal form.
@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("Ada@EXAMPLE.com", "ada@example.com"),
        ("ada@bücher.example", "ada@xn--bcher-kva.example"),
        ("ada@bu\u0308cher.example", "ada@BÜCHER.example"),
        ("zo\u00eb@example.com", "Zoe\u0308@example.com"),
        (" ada@example.com ", "ada@example.com"),
    ],
)
def test_addresses_that_are_the_same(one: str, other: str) -> None:
    """Case, composition and IDNA don't make two people of one."""
    assert address_key(one) == address_key(other)


def test_sharp_s_is_not_double_s_in_a_domain() -> None:
    """IDNA 2008 tells faß.example from fass.example: they may belong to two people."""
    assert address_key("a@faß.example") == "a@xn--fa-hia.example"
    assert address_key("a@faß.example") != address_key("a@fass.example")


def test_an_international_domain_goes_on_the_envelope_in_ascii() -> None:
    """The local part is kept as typed (RFC 5321 section 2.4)."""
    assert deliverable("Ada@Bücher.example") == "Ada@xn--bcher-kva.example"


@pytest.mark.parametrize(
    "address",
    ["ada", "ada@", "@example.com", "ada@localhost", "ada@example.com\n", "ada@a.example\r\nBcc: b@c.example",
     "a b@example.com", "ada@exa mple.com", "ada@-example.com", "ada@example..com", "ada@[192.0.2.1]",
     "ada@example.com,b@example.com", '"ada"@example.com', "ada@exam<ple.com", f"{'a' * 65}@example.com",
     f"{'a' * 64}@{'b' * 63}.{'c' * 63}.{'d' * 62}"],
)  # fmt: skip
def test_what_cant_go_on_an_envelope_is_refused(address: str) -> None:
    """No address that could change a header or reach a stranger gets through."""
    with pytest.raises(ValueError, match="address"):
        deliverable(address)


def test_an_address_of_the_greatest_length_is_taken() -> None:
    """254 characters (RFC 3696 erratum 1690)."""
    longest = f"{'a' * 64}@{'b' * 63}.{'c' * 63}.{'d' * 61}"

    assert len(longest) == 254
    assert deliverable(longest) == longest


MAILBOXES = [
    "ada@example.com",
    "ADA@Example.com",
    "bo@bücher.example",
    "Bo@xn--bcher-kva.example",
    "cy@example.org",
]
# Days about today, that decide most, come up often.
DAYS = (st.integers(-1200, 30) | st.integers(-3, 30)).map(lambda days: TODAY + timedelta(days=days))
PEOPLE = st.lists(
    st.builds(
        Person,
        email=st.sampled_from(MAILBOXES) | st.emails(),
        interests=st.frozensets(st.sampled_from(Interest)),
        joined=st.none() | DAYS,
        consent=st.none() | st.sampled_from(Consent),
        left=st.none() | st.builds(Left, on=DAYS, why=st.sampled_from(Why)),
    ),
    max_size=12,
)


@given(PEOPLE, st.sampled_from(Interest))
def test_nobody_who_left_or_never_agreed_and_nobody_twice(people: list[Person], interest: Interest) -> None:
    """For any list: recipients have consent, didn't leave, get one letter; everyone is in one list."""
    answer = choose(people, interest, TODAY)

    keys = [reader.key for reader in answer.chosen]
    assert len(keys) == len(set(keys))
    assert sorted(
        [id(reader.person) for reader in answer.chosen] + [id(skipped.person) for skipped in answer.skipped]
    ) == sorted(id(one) for one in people)
    for reader in answer.chosen:
        assert reader.person.left is None
        assert reader.person.consent in EXPLICIT | {Consent.PURCHASE}
        assert (last_day_of_consent(reader.person) or TODAY) >= TODAY
        assert interest in reader.person.interests or not reader.person.interests
        exits = [p.left.on for p in people if p.left and p.key == reader.key]
        if exits:
            assert reader.person.consent in EXPLICIT
            assert reader.person.joined is not None
            assert reader.person.joined > max(exits)


@given(PEOPLE, st.sampled_from(Interest), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nobodys_fate(
    people: list[Person], interest: Interest, luck: Random
) -> None:
    """The same addresses are written to, however the rows are sorted."""
    shuffled = list(people)
    luck.shuffle(shuffled)

    assert {reader.key for reader in choose(people, interest, TODAY).chosen} == {
        reader.key for reader in choose(shuffled, interest, TODAY).chosen
    }


def must_be_written_to(person: Person, people: list[Person], interest: Interest) -> bool:
    """Say by the rules in their plainest form that a row's mailbox has to get a letter, well within every limit."""
    if person.left is not None or person.email not in MAILBOXES:
        return False
    exits = [one.left.on for one in people if one.left and one.key == person.key]
    if person.consent in {Consent.WEB, Consent.SHOW_SHEET, Consent.IN_PERSON, Consent.CONFIRMED}:
        agreed = person.joined is None or person.joined <= TODAY
        again = not exits or (person.joined is not None and person.joined > max(exits))
        return agreed and again and (interest in person.interests or not person.interests)
    fresh = person.joined is not None and timedelta(0) <= TODAY - person.joined <= timedelta(days=729)
    return person.consent is Consent.PURCHASE and fresh and not exits and interest in person.interests


@given(PEOPLE, st.sampled_from(Interest))
def test_everybody_who_agreed_and_did_not_leave_is_written_to(
    people: list[Person], interest: Interest
) -> None:
    """The other half of the property above: a choice of nobody at all would keep that one too."""
    wanted = {one.key for one in people if must_be_written_to(one, people, interest)}

    assert wanted <= {reader.key for reader in choose(people, interest, TODAY).chosen}


@pytest.mark.slow
def test_the_lists_that_are_made_up_hold_people_of_every_kind() -> None:
    """Both properties would mean nothing on lists of one kind: each fate is met, most of them many times."""
    fates: Counter[str] = Counter()

    @settings(max_examples=400, derandomize=True, database=None)
    @given(PEOPLE, st.sampled_from(Interest))
    def look(people: list[Person], interest: Interest) -> None:
        answer = choose(people, interest, TODAY)
        fates.update(str(skipped.reason) for skipped in answer.skipped)
        fates["written to"] += len(answer.chosen)
        fates["must be written to"] += sum(must_be_written_to(one, people, interest) for one in people)

    look()

    assert min(fates["written to"], fates["must be written to"]) >= 10
    for reason in set(Reason) - {Reason.UNREACHABLE, Reason.FORGOTTEN, Reason.ELSEWHERE, Reason.NO_NEED}:
        assert fates[str(reason)] >= 1, reason


@pytest.mark.parametrize("erased", [True, False])
def test_only_whoever_asked_to_be_forgotten_is_left_out_for_it(erased: bool) -> None:
    """Forgotten is asked by the folded address, and of nobody else."""
    people = [person("ADA@example.com"), person("bo@example.com")]

    answer = choose(people, Interest.COMMISSIONS, TODAY, lambda key: erased and key == "ada@example.com")

    assert [reader.key for reader in answer.chosen] == (
        ["bo@example.com"] if erased else ["ada@example.com", "bo@example.com"]
    )
    assert [str(skipped.reason) for skipped in answer.skipped] == (["forgotten"] if erased else [])


def test_whoever_joined_today_is_written_to_and_tomorrow_is_not_yet() -> None:
    assert [reader.key for reader in choice(person(joined=TODAY)).chosen] == ["ada@example.com"]
    assert only_reason(person(joined=TODAY + timedelta(days=1)))[0] is Reason.NOT_YET


def test_of_two_equal_rows_the_first_stands() -> None:
    first, second = person(line=2), person(line=3)

    answer = choice(first, second)

    assert [reader.person for reader in answer.chosen] == [first]
    assert [(one.person, one.why) for one in answer.skipped] == [(second, "same address as line 2")]


@given(
    st.lists(
        st.builds(
            Person,
            st.sampled_from(["ada@mail.example", "ADA@mail.example", "ben@mail.example", "cy@mail.example"]),
            interests=st.just(frozenset({Interest.COMMISSIONS})),
            joined=st.dates(TODAY - timedelta(days=800), TODAY - timedelta(days=600)),
            consent=st.sampled_from([Consent.PURCHASE, Consent.PURCHASE, Consent.WEB]),
            left=st.none() | st.just(Left(TODAY, Why.ASKED)),
        ),
        max_size=5,
    ),
    st.integers(0, 90),
)
def test_whose_consent_lapses_is_who_gets_a_letter_now_and_none_after(
    people: list[Person], days: int
) -> None:
    """The choice of recipients, asked today and a day beyond the span, is the oracle."""
    now = {reader.key for reader in choose(people, Interest.COMMISSIONS, TODAY).chosen}
    after = choose(people, Interest.COMMISSIONS, TODAY + timedelta(days=days + 1)).chosen

    found = lapsing(people, TODAY, days)

    assert [one.key for _, one in found] == list(dict.fromkeys(one.key for _, one in found))
    assert {one.key for _, one in found} == now - {reader.key for reader in after}
    assert [last for last, _ in found] == sorted(last for last, _ in found)
    for last, one in found:
        until = choose(people, Interest.COMMISSIONS, last).chosen
        assert one.key in {chosen.key for chosen in until}


@given(PEOPLE)
def test_how_the_list_stands_is_what_letters_would_find(people: list[Person]) -> None:
    """Each address is in one place; who can be written to is who gets a letter on some subject."""
    stands = standing(people, TODAY)
    reached = {reader.key for interest in Interest for reader in choose(people, interest, TODAY).chosen}
    places = [stands.writable, stands.left, stands.bounced, stands.unproven]

    assert sum(map(len, places)) == len(frozenset().union(*places))
    assert frozenset().union(*places) == {one.key for one in people}
    assert reached <= stands.writable
    for key in stands.writable - reached:  # a purchase alone asks for no letter
        assert all(one.consent is Consent.PURCHASE or one.left for one in people if one.key == key)
    assert {key for key in stands.writable if why_not(people, key, TODAY)} == set()
    assert all(why_not(people, one.key, TODAY) for one in people if one.key not in stands.writable)
