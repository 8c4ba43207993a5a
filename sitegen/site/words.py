"""The theme's own words: one catalogue a language, and no sentence anywhere else."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml
from markupsafe import Markup, escape

from sitegen.site.faults import SiteFault
from sitegen.site.theme_yaml import tree_of

_PLACE = re.compile(r"\{([a-z_]+)\}")


@dataclass(frozen=True)
class Words:
    """A catalogue of sentences by dotted key."""

    file: str
    """Name shown in messages, like themes/case/words/en.yaml."""
    sentences: Mapping[str, str]
    plural: Callable[[int], str]
    """Which plural form a count takes (CLDR: one, other, few …)."""

    def has(self, key: str) -> bool:
        """Tell whether the catalogue has a sentence under `key`."""
        return key in self.sentences

    def say(self, key: str, **values: object) -> Markup:
        """Return the sentence under `key`, its {places} filled in and everything escaped for HTML.

        A `count` among the values picks the plural form. Raises SiteFault for a missing key or value.
        """
        sentence = str(escape(self._find(key, values)))
        text = _PLACE.sub(lambda place: self._fill(key, place[1], values), sentence)
        return Markup(text)  # noqa: S704 (sentence and values are both escaped)

    def plain(self, key: str, **values: object) -> str:
        """Return the same sentence as plain text, for feeds, calendars and mail."""
        return _PLACE.sub(lambda place: str(self._value(key, place[1], values)), self._find(key, values))

    def _find(self, key: str, values: Mapping[str, object]) -> str:
        count = values.get("count")
        form = f"{key}.{self.plural(count)}" if isinstance(count, int) else key
        for name in (form, f"{key}.other", key):
            if name in self.sentences:
                return self.sentences[name]
        raise SiteFault(f"{self.file}: the words for '{key}' are missing; add a line for them")

    def _value(self, key: str, place: str, values: Mapping[str, object]) -> object:
        if place not in values:
            known = ", ".join("{" + name + "}" for name in sorted(values)) or "nothing"
            raise SiteFault(f"{self.file}: '{key}' asks for {{{place}}}, but there is only {known}")
        return values[place]

    def _fill(self, key: str, place: str, values: Mapping[str, object]) -> str:
        return str(escape(self._value(key, place, values)))


def read_words(theme: Path, language: str, plural: Callable[[int], str]) -> Words:
    """Read the catalogue for a language such as `en` or `de-AT`; raises SiteFault if there is none."""
    folder = theme / "words"
    names = [language.replace("_", "-"), re.split("[-_]", language)[0]]
    file = next((folder / f"{name}.yaml" for name in names if (folder / f"{name}.yaml").is_file()), None)
    if file is None:
        there = ", ".join(sorted(found.stem for found in folder.glob("*.yaml"))) or "none"
        raise SiteFault(
            f"studio.yaml: the theme {theme.name} has no words for the language '{language}' "
            f"(it has {there}); choose one of them, "
            f"or copy {theme.name}/words/en.yaml to {names[-1]}.yaml and translate it"
        )
    shown = f"{theme.name}/words/{file.name}"
    return Words(shown, dict(_flat(_load(file, shown), shown)), plural)


def _load(file: Path, shown: str) -> Any:
    try:
        return tree_of(file)
    except (yaml.YAMLError, UnicodeDecodeError) as error:
        mark = getattr(error, "problem_mark", None)
        line = f", line {mark.line + 1}" if mark else ""
        raise SiteFault(
            f"{shown}{line}: this isn't readable YAML; put sentences with a colon in quotes"
        ) from error


def _flat(tree: Any, shown: str, prefix: str = "") -> Iterator[tuple[str, str]]:
    if not isinstance(tree, Mapping):
        raise SiteFault(f"{shown}: '{prefix or 'the file'}' must be a list of name: words")
    for key, value in tree.items():
        name = f"{prefix}.{key}" if prefix else str(key)
        if isinstance(value, str):
            yield name, value
        else:
            yield from _flat(value, shown, name)
