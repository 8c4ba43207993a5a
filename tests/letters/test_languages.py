"""Letters of the list in German: every sentence a reader sees comes from the words, none stays English."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from sitegen.letters.announce import Announcement, Writing
from sitegen.letters.kinds import announce_commissions, announce_head_start, announce_pieces, announce_show
from sitegen.studio.person import Consent, address_key
from tests.letters.studio import ADA, NAMELESS, PEOPLE, THEME, ZOE, front, messages, room, text_of
from tests.letters.test_pieces import house

# Words of English letters that no German sentence holds; what the artist typed in these studios is English.
ENGLISH = re.compile(
    r"\b(?:Dear|Hello,|You get|because you|To get no more|That is all it takes|send this mail|Places|Opens|Opened"
    r"|Closes|How to ask|What you can ask for|All about commissions|What is still to be had|There is one of it"
    r"|When|Where|The dates are attached|On the site|[cC]ommissions are open|By your clock|Dublin time|available,)"
)


def made_in(tmp_path: Path, kind: str) -> Announcement:
    german = {"language": "de"}
    people = [*PEOPLE, *(replace(ADA, email=f"{how.name}@example.com", consent=how) for how in Consent)]
    there = room(tmp_path)
    if kind == "commissions":
        return announce_commissions(Writing(front(tmp_path / "s", settings=german), people, there))
    if kind == "pieces":
        inside = house(tmp_path / "s")
        inside = replace(inside, card=replace(inside.card, language="de"))
        return announce_pieces(Writing(inside, people, there), ("tea-smuggler",))
    return announce_show(Writing(front(tmp_path / "s", settings=german), people, there), "quayside-2027")


@pytest.mark.parametrize("kind", ["commissions", "pieces", "show"])
def test_a_german_letter_holds_no_english_of_ours(tmp_path: Path, kind: str) -> None:
    """The greeting, each reason for getting it, labels, way out, and the files that travel with it."""
    made = made_in(tmp_path, kind)

    mails = [mail for _, mail in messages(made.folder)]
    assert len(mails) >= 3
    for mail in mails:
        html = re.sub(r"<style>.*?</style>", "", text_of(mail, "html"), flags=re.DOTALL)
        for said in (text_of(mail), re.sub(r"<[^>]+>", " ", html)):
            assert ENGLISH.findall(said) == []
            assert "Guten Tag" in said
            assert "Wenn Sie keine Briefe mehr möchten" in said
    reasons = re.compile(r"Sie bekommen diesen Brief, weil Sie (.{12})")
    assert len({reasons.findall(text_of(mail).replace("\n", " "))[0] for mail in mails}) >= 3


def test_the_head_start_is_told_in_german(tmp_path: Path) -> None:
    inside = front(tmp_path / "s", settings={"language": "de"})
    early = (1, frozenset({address_key(ADA.email)}))
    first_come = replace(
        inside, rounds=tuple(replace(held, way=type(held.way)("first come")) for held in inside.rounds)
    )

    waiting, _ = announce_head_start(Writing(first_come, [ADA, ZOE, NAMELESS], room(tmp_path)), *early)

    assert waiting is not None
    _, mail = next(messages(waiting.folder))
    assert "1 Stunde früher als für alle anderen" in text_of(mail).replace("\n", " ")
    assert ENGLISH.findall(text_of(mail)) == []


def test_both_languages_have_the_same_words_with_the_same_places() -> None:
    """Every sentence of the letters, with what it names; plural forms are the language's own."""
    words = THEME.file("words/en.yaml").parent
    shapes = [
        _shape(yaml.safe_load((words / f"{one}.yaml").read_text("utf-8"))["mail"]) for one in ("en", "de")
    ]
    assert shapes[0] == shapes[1]
    assert len(shapes[0]) > 60


def _shape(written: object, path: str = "") -> dict[str, frozenset[str]]:
    if not isinstance(written, dict):
        return {path: frozenset(re.findall(r"\{\w+\}", str(written)))}
    return {
        where: what
        for key, value in written.items()
        for where, what in _shape(value, f"{path}/{key}").items()
    }
