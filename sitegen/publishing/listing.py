"""What lies on the web by our hand: a list beside the site there, a copy of it at home, and what is going on.

The list is in the form that `sha256sum --check` reads (a digest, two spaces, a path). What a run is about to
put is claimed before its first file goes, there and at home, so whatever a killed run left is known as ours;
what arrived is noted at home file by file. A list may have been tampered with: every path is looked at.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import IO, NamedTuple

from sitegen.disk import open_own, own_folder, write_whole
from sitegen.studio.asked import Fault
from sitegen.studio.text import quoted

LIST, CLAIM = "published.sha256", "publishing.sha256"
"""Names there, and the endings of the copies at home."""
_LINE = re.compile(r"([0-9a-f]{64})  (.+)")


class Noted(NamedTuple):
    """A file of ours."""

    digest: str  # SHA-256 of its bytes
    sure: bool = True  # False where a run was stopped at it: it may be there, in part, or not


Stock = dict[str, Noted]
"""Our files there, by path."""


def is_safe(path: str) -> bool:
    """Tell whether a path stays within the site, is no hidden file, and means the same on every system."""
    parts = path.split("/")
    return path.isprintable() and not re.search(r'[\\:*?"<>|]', path) and all(
        part and not part.startswith(".") and not part.endswith((".", " ")) for part in parts
    )  # fmt: skip


def read(text: bytes | None, where: str) -> dict[str, str]:
    """Return digest by path of a list; nothing where there's none. Raises Fault for one that isn't ours."""
    found = {}
    for line in (text or b"").decode("utf-8", "replace").splitlines():
        match = _LINE.fullmatch(line)
        if match is None or not is_safe(match[2]):
            raise Fault(
                f"the list of the site's files on {where} has been changed by something else: {quoted(line)} "
                "doesn't belong there. Nothing was changed. Find out who else can write there and change "
                f"your password; then take {LIST} away there, and the next `sitegen publish` makes it anew"
            )
        found[match[2]] = match[1]
    return found


def written(files: Mapping[str, str]) -> bytes:
    """Write a list."""
    return "".join(f"{digest}  {path}\n" for path, digest in sorted(files.items())).encode()


@dataclass
class Home:
    """What is kept of one place in the studio's own files."""

    folder: Path
    name: str  # of the place: user, host and folder tell it apart from others
    _log: IO[bytes] | None = None

    def _file(self, kind: str) -> Path:
        ident = hashlib.sha256(self.name.encode()).hexdigest()[:12]
        return self.folder / f"{ident}.{kind}"

    def _text(self, kind: str) -> bytes | None:
        file = self._file(kind)
        return file.read_bytes() if file.exists() else None

    def stock(self, there: bytes | None, claim: bytes | None, where: str) -> Stock:
        """Say what is ours there, of the list and the claim found there and what is kept here.

        Where the list there is lost, all that was ours is doubtful; what is kept here counts for nothing once
        another machine has published since.
        """
        kept, begun = self._text("list"), self._text("claim") or b""
        head, _, rest = begun.partition(b"\n\n")
        mine = there is None or kept == there
        doubtful = read(claim, where) | (read(head, where) if mine else {})
        listed = read(kept if there is None else there, where)
        known = {path: Noted(digest, there is not None) for path, digest in listed.items()}
        known |= {path: Noted(digest, sure=False) for path, digest in doubtful.items()}
        if mine and (claim is None or claim.strip() == head):
            # A line that was cut short by a power cut says nothing.
            arrived = read(rest[: rest.rfind(b"\n") + 1], where)
            known |= {path: Noted(digest) for path, digest in arrived.items() if path in doubtful}
        return known

    def begin(self, there: bytes | None, claim: bytes) -> None:
        """Note what a run is about to put, and after which list."""
        own_folder(self.folder)
        self._keep("list", there)
        write_whole(self._file("claim"), claim + b"\n", private=True)
        self._log = open_own(self._file("claim"))

    def arrived(self, path: str, digest: str) -> None:
        """Note that a file is there."""
        if self._log is not None:
            self._log.write(f"{digest}  {path}\n".encode())
            self._log.flush()

    def end(self, text: bytes | None) -> None:
        """Keep the list as it is there now; without one the run goes on another time."""
        if self._log is not None:
            self._log.close()
            self._log = None
        if text is not None:
            self._keep("list", text)
            self._file("claim").unlink(missing_ok=True)

    def _keep(self, kind: str, text: bytes | None) -> None:
        if text is not None and text != self._text(kind):
            own_folder(self.folder)
            write_whole(self._file(kind), text, private=True)


def survey(site: Path, known: Stock) -> dict[str, str]:
    """Return digest by path of all files of a site, but for hidden ones and links.

    A picture's name ends in a hash of its bytes, so one that is known needn't be read again.
    """
    found: dict[str, str] = {}
    for place, folders, files in os.walk(site):
        folders[:] = [name for name in folders if not name.startswith(".")]
        for name in files:
            file = Path(place) / name
            path = file.relative_to(site).as_posix()
            if path in (LIST, CLAIM) or name.startswith(".") or file.is_symlink():
                continue
            if not is_safe(path):
                raise Fault(f"out/site/{path}: this name can't be brought to every host; give it another one")
            noted = known.get(path) if path.startswith("pictures/") else None
            found[path] = noted.digest if noted else hashlib.sha256(file.read_bytes()).hexdigest()
    return found
