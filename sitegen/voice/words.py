"""The theme's own words: one catalogue a language, and no sentence anywhere else."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from babel import Locale
from markupsafe import Markup, escape

from sitegen.studio import wording
from sitegen.studio.asked import Fault
from sitegen.voice.theme_files import ThemeFiles, Tree, shared

PLACE = re.compile(r"\{([a-z_]+)\}")


@dataclass(frozen=True)
class Words:
    """A catalogue of sentences by dotted key."""

    file: str  # name shown in messages, like themes/case/words/en.yaml
    sentences: Mapping[str, str]
    plural: Callable[[int], str]  # which plural form a count takes (CLDR: one, other, few …)

    def below(self, prefix: str) -> list[str]:
        """Return the keys below `prefix`, without it."""
        return [key.removeprefix(f"{prefix}.") for key in self.sentences if key.startswith(f"{prefix}.")]

    def say(self, key: str, /, **values: object) -> Markup:
        """Return the sentence under `key`, its {places} filled in and everything escaped for HTML.

        A `count` among the values picks the plural form. Raises Fault for a missing key or value.
        """
        sentence = str(escape(self._find(key, values)))
        text = PLACE.sub(lambda place: escape(self._value(key, place[1], values)), sentence)
        return Markup(text)  # noqa: S704 (sentence and values are both escaped)

    def plain(self, key: str, /, **values: object) -> str:
        """Return the same sentence as plain text, for feeds, calendars and mail."""
        return PLACE.sub(lambda place: str(self._value(key, place[1], values)), self._find(key, values))

    def _find(self, key: str, values: Mapping[str, object]) -> str:
        count = values.get("count")
        form = f"{key}.{self.plural(count)}" if isinstance(count, int) else key
        for name in (form, f"{key}.other", key):
            if name in self.sentences:
                return self.sentences[name]
        raise self.lacking(key)

    def lacking(self, key: str) -> Fault:
        """Return the fault of a sentence that isn't there."""
        return Fault(f"{self.file}: the words for '{key}' are missing; add a line for them")

    def _value(self, key: str, place: str, values: Mapping[str, object]) -> object:
        if place not in values:
            raise self.asking(key, place, values)
        return values[place]

    def asking(self, key: str, place: str, values: Mapping[str, object]) -> Fault:
        """Return the fault of a sentence that asks for what nobody fills in."""
        known = ", ".join("{" + name + "}" for name in sorted(values))
        there = f"there is only {known}" if known else "nothing is filled in there"
        return Fault(f"{self.file}: '{key}' asks for {{{place}}}, but {there}")


def read_locale(language: str) -> Locale:
    """Find the language in CLDR; raises Fault for a name it doesn't know."""
    if locale := wording.locale_of(language):
        return locale
    raise Fault(f"studio.yaml: language is '{language}'; write a language code such as en, de or en-IE")


def read_words(theme: ThemeFiles, language: str) -> Words:
    """Read the catalogue for a language such as `en` or `de-AT`; raises Fault if there is none."""
    locale = read_locale(language)
    shown, tree = read_tree(theme, language)
    return Words(shown, dict(_flat(tree, shown)), lambda count: str(locale.plural_form(count)))


# A language has plural forms of its own; `.other` is the one that each has, and stands in for the rest.
_FORMS = re.compile(r"\.(?:zero|one|two|few|many)$")


def faulty_words(theme: ThemeFiles, language: str) -> Iterator[Fault]:
    """Yield a fault for each sentence that English has and the language hasn't, or that asks for too much.

    What may stand in braces is what the shared English has there or in the sentences beside it, the month of
    a day, and who speaks.
    """
    words, english, carried = read_words(theme, language), read_words(theme, "en"), read_words(shared(), "en")
    known: dict[str, set[str]] = {}
    for key, sentence in carried.sentences.items():
        known.setdefault(key.partition(".")[0], set()).update(PLACE.findall(sentence))
    for key in carried.sentences.keys() & words.sentences.keys():
        there = dict.fromkeys({"maker", "studio", *known[key.partition(".")[0]]})
        for place in PLACE.findall(words.sentences[key]):
            if place.removesuffix("_month") not in there:
                yield words.asking(key, place, there)
    for key in english.sentences:
        # A paragraph of an order's letter may be {when: …, say: …}, or plainly its words.
        names = (key, key.removesuffix(".say"), f"{key}.say")
        if not _FORMS.search(key) and not key.endswith(".when") and words.sentences.keys().isdisjoint(names):
            yield words.lacking(key)


def _flat(tree: Any, shown: str, prefix: str = "") -> Iterator[tuple[str, str]]:
    if not isinstance(tree, Mapping):
        raise Fault(f"{shown}: '{prefix or 'the file'}' must be a list of name: words")
    for key, value in tree.items():
        name = f"{prefix}.{key}" if prefix else str(key)
        if isinstance(value, str):
            yield name, value
        else:
            yield from _flat(value, shown, name)


def read_tree(theme: ThemeFiles, language: str) -> tuple[str, Tree]:
    """Return the name of the nearest file of words for a language such as `en` or `de-AT`, and all its words.

    Words for `de-AT` are laid over those for `de`. Raises Fault if no file has the language.
    """
    whole = language.replace("_", "-")
    names = list(dict.fromkeys([whole, whole.partition("-")[0]]))
    files = [folder / f"{name}.yaml" for name in names for folder in theme.below("words")]
    files = [file for file in files if file.is_file()]
    if not files:
        there = sorted({file.stem for folder in theme.below("words") for file in folder.glob("*.yaml")})
        raise Fault(
            f"studio.yaml: the theme {theme.name} has no words for the language '{language}' (it has "
            f"{', '.join(there) or 'none'}); choose one of them, or copy "
            f"{theme.file('words/en.yaml')} to themes/{theme.name}/words/{names[-1]}.yaml in your studio "
            "and translate it"
        )
    return theme.shown(files[0]), theme.tree(files)
