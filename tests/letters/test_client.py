"""A letter to one client: what its theme's words may say, and where it lies."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from sitegen.letters.client import ClientLetter, Draft, Matter, write_to_client
from sitegen.letters.folder import Room
from sitegen.studio.asked import Fault, LetterFault
from sitegen.studio.commission import Order
from sitegen.studio.plan import Standing
from sitegen.voice.theme_files import ThemeFiles
from tests import makers
from tests.letters.studio import THEME, front, parsed, room
from tests.letters.studio import text_of as text_of_part

ANA = Order.model_validate({
    "code": "W-1", "tier": "Small figure", "step": "request", "private": {"name": "Ana Å", "email": "ana@mail.example"},
})  # fmt: skip
NOTHING = (
    "brief", "deposit", "height", "how_to_pay", "includes", "postage", "promised", "terms", "terms_address",
)  # fmt: skip
OFFER = ClientLetter(
    Matter.OFFER,
    {"until": date(2027, 1, 30), "price": Decimal("440"), **dict.fromkeys(NOTHING)},
    parts=((date(2027, 2, 1), Decimal("132"), Standing.TO_COME),),
)


def written(folder: Path, letter: ClientLetter, words: str = "", client: Order = ANA) -> Draft:
    """Write a letter with a theme whose words are laid over those of the theme `case`."""
    return write_to_client(front(folder / "s"), client, letter, with_words(folder, words))


def told(**private: str) -> Order:
    """Return the same order of somebody else."""
    return ANA.model_copy(update={"private": ANA.private.model_copy(update=private)})


def with_words(folder: Path, words: str) -> Room:
    makers.write(folder / "theme" / "words" / "en.yaml", words or "title: T\n")
    return replace(room(folder), theme=ThemeFiles((folder / "theme", *THEME.folders)))


def text_of(draft: Draft) -> str:
    return (draft.folder / "letter.txt").read_text("utf-8").replace("\u00a0", " ")


def test_an_offer_says_what_there_is_and_leaves_out_what_there_isnt(tmp_path: Path) -> None:
    """No line for a height, a deposit or a day that the order doesn't have."""
    draft = written(tmp_path, OFFER)

    assert draft.subject == "A place on the bench for you (W-1)"
    assert text_of(draft).startswith("""\
Dear Ana Å,

There is a place on my bench for you: Small figure, order W-1. Here is
what I offer. If it suits you, please answer by Saturday 30 January
2027.

The offer:
Size          Small figure
Price         €440
Answer by     Saturday 30 January 2027

The payments:
- Monday 1 February 2027: €132, to come

A short yes is enough.""")
    assert "Ana" not in repr(ANA)
    assert "mail.example" not in repr(draft)


def test_a_draft_can_be_posted_by_any_program(tmp_path: Path) -> None:
    """CRLF alone ends a line, of 7-bit characters only (RFC 5322 section 2.1); every part reads back."""
    draft = written(tmp_path, OFFER)
    raw = (draft.folder / "letter.eml").read_bytes()

    assert raw.isascii()
    assert b"\n" not in raw.replace(b"\r\n", b"")
    message = parsed(raw)
    assert {
        part.get_content_type(): part["Content-Transfer-Encoding"]
        for part in message.walk()
        if not part.is_multipart()
    } == {"text/plain": "quoted-printable", "text/html": "quoted-printable"}
    assert text_of_part(message).replace("\r\n", "\n").strip() == text_of(draft).strip()
    assert (message["From"].addresses[0].display_name, message["To"].addresses[0].display_name) == (
        "Ottoline Example, Lantern & Loam", "Ana Å",
    )  # fmt: skip
    assert message["Reply-To"].addresses[0].addr_spec == message["From"].addresses[0].addr_spec
    assert message["Message-ID"] == "<order-w-1-offer.20270109093000@lantern.example>"


@pytest.mark.parametrize(
    ("name", "opening"), [("", "Hello,"), ("ana@mail.example", "Hello,"), ("Ana", "Dear Ana,")]
)
def test_a_client_is_greeted_by_a_name(tmp_path: Path, name: str, opening: str) -> None:
    draft = written(tmp_path, OFFER, client=told(name=name))

    assert text_of(draft).splitlines()[0] == opening


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (
            'client: {offer: {subject: "For {nobody}"}}',
            r"theme/words/en\.yaml: 'client.offer.subject' asks for {nobody}, but there is only {code}, {maker}, "
            r"{name}, {price}, {studio}, {tier}, {until}, {until_month}",
        ),
        (
            "client: {standing_to_come: {a: b}}",
            "the words for 'client.standing_to_come' are missing; add a line",
        ),
        ("client: {offer: ~}", "the words for 'client.offer.subject' are missing; add a line"),
        ("client: {facts: {size: Small}}", "the words for 'client.facts.size.label' are missing; add a"),
        ("client: {facts: {hat: {say: Small}}}", "the words for 'client.facts.hat.label' are missing; add a"),
        ("client: ~", "the words for 'client.offer.subject' are missing"),
        (
            "client: {offer: {opening: {first: {when: raining, say: Hello}}}}",
            "`when: raining` is none of by_client, by_maker, ",
        ),
    ],
)
def test_words_of_a_theme_that_cant_be_said_are_told(tmp_path: Path, words: str, sentence: str) -> None:
    """With the file, and what there is instead; nothing is written."""
    with pytest.raises(Fault, match=sentence):
        written(tmp_path, OFFER, words)
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("holds", "said"), [(set(), False), ({"late"}, False), ({"late", "due"}, True), ({"due"}, False)]
)
def test_a_paragraph_is_said_when_all_that_it_waits_for_holds(
    tmp_path: Path, holds: set[str], said: bool
) -> None:
    words = "client: {offer: {opening: {first: {when: late due, say: Only then.}}}}"

    draft = written(tmp_path, replace(OFFER, holds=frozenset(holds)), words)

    assert ("Only then." in text_of(draft)) is said


@pytest.mark.parametrize(
    ("email", "sentence"),
    [
        (" ", r"commissions\.yaml: W-1 has no address to write to; add `email:` to its `private:`"),
        ("ana", r"commissions\.yaml: the address of W-1 can't be written to: "),
    ],
)
def test_without_an_address_nothing_is_written(tmp_path: Path, email: str, sentence: str) -> None:
    with pytest.raises(LetterFault, match=sentence):
        written(tmp_path, OFFER, client=told(email=email))
    assert not (tmp_path / "out").exists()


def test_no_draft_is_written_over(tmp_path: Path) -> None:
    """The same letter stays where it is; another, or one that was changed by hand, is left alone beside a new one."""
    first = written(tmp_path, OFFER)
    assert written(tmp_path, OFFER).folder == first.folder

    other = replace(OFFER, tells={**OFFER.tells, "price": Decimal("450")})
    second = written(tmp_path, other)
    (first.folder / "letter.txt").write_bytes(b"\xff my own words")
    third = written(tmp_path, OFFER)
    (second.folder / "letter.html").write_text("mine")
    fourth = written(tmp_path, other)

    assert [draft.folder.name for draft in (first, second, third, fourth)] == [
        "order-w-1-offer", "order-w-1-offer-2", "order-w-1-offer-3", "order-w-1-offer-4",
    ]  # fmt: skip
    assert (first.folder / "letter.txt").read_bytes() == b"\xff my own words"
