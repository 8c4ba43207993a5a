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
# What binds last comes first.
_JOINED = (("or", any), ("and", all))


def picker(words: str, more: Mapping[str, Test] = MappingProxyType({})) -> Test:
    """Turn words into a test of a person; `not` binds closest, then `and`, then `or`.

    `more` are words that rest on the whole list. Raises ValueError with a sentence for a word that isn't
    known or a phrase that isn't whole.
    """
    # `not confirmed` is a word of the list, not the opposite of one.
    parts = re.split(
        r"(\(|\)|\band\b|\bor\b|\bnot(?! confirmed\b(?! by))\b)", " ".join(words.lower().split())
    )
    left = [part.strip() for part in parts if part.strip()]
    test = _read(left, {**_WORDS, **more})
    if left:
        raise ValueError(f"'{' '.join(left)}' is too much in '{words}'; join words with and, or, not")
    return test


def _read(left: list[str], known: Mapping[str, Test], level: int = 0) -> Test:
    """Read a test off the words that are left, which it shortens."""
    if level == len(_JOINED):
        return _single(left, known)
    word, how = _JOINED[level]
    tests = [_read(left, known, level + 1)]
    while left[:1] == [word]:
        del left[0]
        tests.append(_read(left, known, level + 1))
    return lambda person: how(test(person) for test in tests)


def _single(left: list[str], known: Mapping[str, Test]) -> Test:
    if not left:
        raise ValueError(f"a word is missing; use {', '.join(known)}")
    first = left.pop(0)
    if first == "not":
        test = _single(left, known)
        return lambda person: not test(person)
    if first == "(":
        test = _read(left, known)
        if left[:1] != [")"]:
            raise ValueError("a bracket isn't closed; add ')'")
        del left[0]
        return test
    if first in _LINKS or first not in known:
        raise ValueError(not_one_of(first, list(known)))
    return known[first]
