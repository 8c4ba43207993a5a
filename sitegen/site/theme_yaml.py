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
