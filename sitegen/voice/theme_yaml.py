"""Read the YAML files of a theme, which hold text, lists and names with values."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml

# A few builds of PyYAML come without the C parser, which takes a tenth of the time.
_LOADER: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)


def tree_of(file: Path) -> Any:
    """Return what a file says. Raises OSError, UnicodeDecodeError or yaml.YAMLError."""
    return yaml.load(file.read_text("utf-8"), Loader=_LOADER)  # noqa: S506 (a base loader makes only text)


def said_in(file: Path, key: str) -> str:
    """Return one line of a theme's file, or nothing where it's missing or the file can't be read."""
    try:
        tree = tree_of(file)
    except (OSError, UnicodeDecodeError, yaml.YAMLError):
        return ""
    value = tree.get(key) if isinstance(tree, dict) else None
    return value if isinstance(value, str) else ""
