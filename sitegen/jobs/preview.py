"""Show the built site at a local address and build again whenever a file changes.

A bad file shows its complaints in the terminal and on top of every page; the last good site stays.
"""

from __future__ import annotations

import http.client
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from sitegen.disk import write_whole
from sitegen.jobs.build import build
from sitegen.jobs.report import report
from sitegen.jobs.unchanged import studio_key_of
from sitegen.sources import read
from sitegen.studio.asked import Fault, ask, wish

# How long between two looks at the files, in seconds: short enough to feel at once.
PAUSE = 0.4


@dataclass
class Preview:
    """What the preview shows at present."""

    folder: Path
    say: Callable[[str], None]  # prints a line in the terminal
    complaint: str = ""
    version: int = 0  # counts builds, so that an open page knows when to load again
    seen: str = ""
    base: str = "/"
    today: str | None = None
    stopped: threading.Event = field(default_factory=threading.Event)

    def build(self) -> None:
        """Build once; keep the last good site and remember the complaint when the files are at fault."""
        self.seen, complaint = studio_key_of(self.folder), ""
        try:
            done = build(self.folder, self.today)
            self.say(f"Built: {len(done.written)} files written, {done.unchanged} unchanged.")
        except (Fault, OSError) as fault:
            complaint = str(fault)
        except Exception as fault:  # noqa: BLE001 (the last resort: the preview goes on)
            complaint = report(fault)
        if complaint:
            self.say(f"{complaint}\nThe last good site stays.")
        self.complaint = complaint
        self.version += 1

    def watch(self) -> None:
        """Build again whenever the files differ from the last look, until stopped."""
        while not self.stopped.wait(PAUSE):
            if studio_key_of(self.folder) != self.seen:
                self.build()


def base_of(folder: Path) -> str:
    """Return the path at which the site will live; the root for a studio that can't be read."""
    studio = read(folder, only=frozenset()).studio
    return urlsplit(studio.settings.address).path if studio else "/"


@wish
class PreviewWish:
    port: int = ask("0 takes a free one.", default=8017, least=0, most=65535)


@wish
class DeskWish:
    port: int = ask("0 takes a free one.", default=0, least=0, most=65535)


Serve = Callable[[Preview, int], None]


def preview(
    folder: Path, wish: PreviewWish, today: str | None, say: Callable[[str], None], serve: Serve
) -> None:
    """Build, show and watch while `serve` serves; `say` prints a line. Raises Fault if none can be shown."""
    showing = Preview(folder, say, base=base_of(folder), today=today)
    showing.build()
    _shown(showing, wish.port, serve)


def desk(folder: Path, wish: DeskWish, today: str | None, serve: Serve, again: Callable[[str], None]) -> None:
    """Open the desk for as long as `serve` serves; the site is built meanwhile, and whenever a file changes.

    `again` is told the opening address of a desk of this studio that is open already; then that's all.
    """
    if (address := open_desk(folder)) is not None:
        again(address)
        return
    _shown(Preview(folder, lambda _: None, base=base_of(folder), today=today), wish.port, serve)


def _shown(showing: Preview, port: int, serve: Serve) -> None:
    threading.Thread(target=showing.watch, daemon=True).start()
    try:
        serve(showing, port)
    finally:
        showing.stopped.set()


# Below out/: where the desk of this studio is open, for whoever opens it once more.
_OPEN = ".desk"


def note_desk(folder: Path, address: str) -> None:
    """Note the opening address of a desk, for this user alone."""
    (folder / "out").mkdir(exist_ok=True)
    write_whole(folder / "out" / _OPEN, address.encode(), private=True)


def open_desk(folder: Path) -> str | None:
    """Return the opening address of a desk that answers; None where none is open."""
    try:
        address = (folder / "out" / _OPEN).read_text("ascii").strip()
        parts = urlsplit(address)
        if parts.hostname != "127.0.0.1":
            return None
        door = http.client.HTTPConnection("127.0.0.1", parts.port, timeout=5)
        door.request("GET", parts.path)
        status = door.getresponse().status
        door.close()
        return address if status == 303 else None  # it let this address in
    except (OSError, ValueError, http.client.HTTPException):
        return None
