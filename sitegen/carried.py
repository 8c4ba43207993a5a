"""What the program carries with it: themes, the starter studio and the demo."""

from __future__ import annotations

from pathlib import Path


def carried(name: str) -> Path:
    """Return the folder `themes`, `content` or `demo`: inside an installed copy, else in the checkout."""
    package = Path(__file__).resolve().parent
    installed = package / "carried" / name
    return installed if installed.is_dir() else package.parent / name
