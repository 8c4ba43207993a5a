"""What lies in a studio and beside it, as far as a command is answerable for it."""

from __future__ import annotations

import json
import re
from pathlib import Path

from tests.cli.runner import contents

Bytes = dict[str, bytes]
# Rebuilt by any build, named by a clock, or a lock that stays.
_NOT_COMPARED = ("out/site", "out/.", ".kept/", "sent/commissions-winter-2027.")
LEFTOVERS = (
    ".part",
    ".making-",
    ".whole-",
    ".aside-",
    ".site-new",
    ".site-before",
    ".site-change",
    ".site-part",
)
PRIVATE = {
    "people.csv", "sent", ".kept", "out/letters", "again/people.csv", "again/sent", "stick/studio-2026-11-25.zip",
    ".making-studio/people.csv", "closed",
}  # fmt: skip


def state(folder: Path) -> Bytes:
    """Return all that a command is answerable for: the artist's files, what was sent, letters and papers, the folder beside."""
    inside = {
        path: _settled(path, body)
        for path, body in contents(folder).items()
        if not path.startswith(_NOT_COMPARED) and not _hidden(path)
    }
    inside = {path: body for path, body in inside.items() if body or not path.endswith(".jsonl")}
    beside = contents(folder.parent / "home")
    return {**inside, **{f"home/{path}": body for path, body in beside.items() if not _hidden(path)}}


def _settled(path: str, body: bytes) -> bytes:
    """Return what counts of a file: hashes are salted anew each time, a torn last line of a record says nothing."""
    if path == "sent/forgotten.json":
        return str(len(json.loads(body))).encode()
    return body[: body.rfind(b"\n") + 1] if path.endswith(".jsonl") else body


def _hidden(path: str) -> bool:
    return any(part.startswith(".") and part != ".gitignore" for part in path.split("/"))


def site(folder: Path) -> Bytes:
    """Return the built site but for pictures, which may be there before and after their pages."""
    built = contents(folder / "out" / "site")
    return {path: body for path, body in built.items() if not path.startswith("pictures/")}


def modes(place: Path) -> list[str]:
    """Return what is private and can be read by others: its own rights allow it, and those of each folder above."""
    found = []
    for path in place.iterdir():
        name = path.name if place.name == "studio" else f"{place.name}/{path.name}"
        open_ = not path.is_symlink() and path.stat().st_mode & 0o077
        if open_ and name in PRIVATE:
            found.append(name)
        if open_ and path.is_dir():
            found += modes(path)
    return found


def words(body: bytes) -> set[bytes]:
    """Return what stands between spaces and the signs of YAML and CSV."""
    return set(re.findall(rb"[^\s,;{}]+", body))


def leftovers(folder: Path) -> list[str]:
    """Return what no finished command leaves behind."""
    names = (file.relative_to(folder.parent).as_posix() for file in folder.parent.rglob("*"))
    return [
        name for name in names if any(word in Path(name).name for word in LEFTOVERS) or "/.kept/parts" in name
    ]
