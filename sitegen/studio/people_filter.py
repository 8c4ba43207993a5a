"""Pick people by plain words: `commissions and not buyer`, `shows or classes`, `left`."""

import re
from collections.abc import Callable, Mapping
from types import MappingProxyType

from sitegen.studio.fields import not_one_of
from sitegen.studio.person import Consent, Interest, Person, Why

Test = Callable[[Person], bool]


def _said(word: Interest | Consent | Why) -> Test:
    return lambda one: word in {*one.interests, one.consent, one.left.why if one.left else None}


_WORDS: dict[str, Test] = {
    **{str(one): _said(one) for one in (*Interest, *Consent, *Why)},
    "buyer": _said(Consent.PURCHASE),
    "no consent": lambda person: person.consent is None,
    "left": lambda person: person.left is not None,
    "nameless": lambda person: not person.name,
    "everyone": lambda person: True,
}
_LINKS = {"and", "or", "not", "(", ")"}


def picker(words: str, more: Mapping[str, Test] = MappingProxyType({})) -> Test:
    """Turn words into a test of a person; `not` binds closest, then `and`, then `or`.

    `more` are words that rest on the whole list. Raises ValueError with a sentence for a word that isn't
    known or a phrase that isn't whole.
    """
    test, rest = _either(_tokens(words), {**_WORDS, **more})
    if rest:
        raise ValueError(f"'{' '.join(rest)}' is too much in '{words}'; join words with and, or, not")
    return test


def _tokens(words: str) -> list[str]:
    parts = [part for part in re.split(r"(\(|\)|\band\b|\bor\b|\bnot\b)", words.lower()) if part.strip()]
    tokens = [" ".join(part.split()) for part in parts]
    # `not confirmed` is a word of the list, not the opposite of one.
    joined: list[str] = []
    for token in tokens:
        if token == "confirmed" and joined and joined[-1] == "not":  # noqa: S105 (a word, no secret)
            joined[-1] = "not confirmed"
        else:
            joined.append(token)
    return joined


def _either(tokens: list[str], known: Mapping[str, Test]) -> tuple[Test, list[str]]:
    test, rest = _both(tokens, known)
    while rest[:1] == ["or"]:
        other, rest = _both(rest[1:], known)
        test = _join(test, other, any)
    return test, rest


def _both(tokens: list[str], known: Mapping[str, Test]) -> tuple[Test, list[str]]:
    test, rest = _single(tokens, known)
    while rest[:1] == ["and"]:
        other, rest = _single(rest[1:], known)
        test = _join(test, other, all)
    return test, rest


def _join(one: Test, other: Test, how: Callable[[list[bool]], bool]) -> Test:
    return lambda person: how([one(person), other(person)])


def _single(tokens: list[str], known: Mapping[str, Test]) -> tuple[Test, list[str]]:
    if not tokens:
        raise ValueError(f"a word is missing; use {', '.join(known)}")
    first, rest = tokens[0], tokens[1:]
    if first == "not":
        test, rest = _single(rest, known)
        return lambda person: not test(person), rest
    if first == "(":
        test, rest = _either(rest, known)
        if rest[:1] != [")"]:
            raise ValueError("a bracket isn't closed; add ')'")
        return test, rest[1:]
    if first in _LINKS or first not in known:
        raise ValueError(not_one_of(first, list(known)))
    return known[first], rest
