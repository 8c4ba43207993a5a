"""Read the words of a theme: those all themes share, with what the theme says otherwise laid over them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import yaml

from sitegen.studio.fault import Fault
from sitegen.voice.theme_files import ThemeFiles, tree_of

Tree = Mapping[str, Any]


def read_tree(theme: ThemeFiles, language: str) -> tuple[str, Tree]:
    """Return the name of the nearest file of words for a language such as `en` or `de-AT`, and all its words.

    Words for `de-AT` are laid over those for `de`. Raises Fault if no file has the language.
    """
    names = _names(language)
    files = [folder / f"{name}.yaml" for name in names for folder in theme.below("words")]
    files = [file for file in files if file.is_file()]
    if not files:
        raise Fault(
            f"studio.yaml: the theme {theme.name} has no words for the language '{language}' (it has "
            f"{', '.join(languages(theme)) or 'none'}); choose one of them, or copy "
            f"{theme.file('words/en.yaml')} to themes/{theme.name}/words/{names[-1]}.yaml in your studio "
            "and translate it"
        )
    words: Tree = {}
    for file in reversed(files):
        words = laid_over(words, _load(theme, file))
    return theme.shown(files[0]), words


def languages(theme: ThemeFiles) -> list[str]:
    """Return the languages that a theme has words for."""
    return sorted({file.stem for folder in theme.below("words") for file in folder.glob("*.yaml")})


def _names(language: str) -> list[str]:
    whole = language.replace("_", "-")
    return list(dict.fromkeys([whole, whole.partition("-")[0]]))


def _load(theme: ThemeFiles, file: Path) -> Tree:
    shown = theme.shown(file)
    try:
        tree = tree_of(file)
    except (yaml.YAMLError, UnicodeDecodeError) as error:
        mark = getattr(error, "problem_mark", None)
        line = f", line {mark.line + 1}" if mark else ""
        raise Fault(
            f"{shown}{line}: this isn't readable YAML; put sentences with a colon in quotes"
        ) from error
    if not isinstance(tree, Mapping):
        raise Fault(f"{shown}: this should be a list of name: words")
    return tree


def laid_over(under: Tree, over: Tree) -> Tree:
    """Return what `under` says, with what `over` says otherwise."""
    return dict(_merged(under, over))


def _merged(under: Tree, over: Tree) -> Iterator[tuple[str, Any]]:
    for key in (*under, *(key for key in over if key not in under)):
        below, above = under.get(key), over.get(key)
        if isinstance(below, Mapping) and isinstance(above, Mapping):
            yield key, laid_over(below, above)
        else:
            yield key, below if key not in over else above
