"""Letters that go out while the desk is open: each in a thread of its own, whatever windows are open."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sitegen.jobs.pen import named
from sitegen.jobs.posting import SendWish, WallClock, refuse_settings, send
from sitegen.jobs.report import report
from sitegen.studio.fault import Fault

# The fields of the form, as the environment names the same things. The password is not among what is kept.
_KEPT = {"host": "HOST", "port": "PORT", "security": "SECURITY", "user": "USER"}


@dataclass
class Outgoing:
    """One letter going out, or how that ended."""

    ident: str
    total: int
    done: int = 0
    answer: Mapping[str, Any] = field(default_factory=dict)
    fault: str = ""
    waits: str = ""
    """Why nothing goes out for a while."""
    ended: bool = False
    clock: WallClock = field(default_factory=WallClock)
    thread: threading.Thread | None = None

    @property
    def stopping(self) -> bool:
        """True once it was asked to stop."""
        return self.clock.stopping

    def count(self, done: int, total: int) -> None:
        """Note how far it is."""
        self.done, self.total, self.waits = done, total, ""

    def wait(self, said: str) -> None:
        """Note why nothing goes out for a while."""
        self.waits = said


class Outbox:
    """The letters that go out, or went out, from this desk."""

    def __init__(self, folder: Path, today: str | None) -> None:
        self._folder, self._today = folder, today
        self._lock = threading.Lock()
        self._of: dict[str, Outgoing] = {}
        self._typed: dict[str, str] = {}

    def of(self, ident: str) -> Outgoing | None:
        """Return the latest posting of a letter."""
        return self._of.get(ident)

    def runs(self, ident: str) -> bool:
        """Tell whether a letter is going out just now."""
        found = self._of.get(ident)
        return found is not None and not found.ended

    def known(self) -> dict[str, str]:
        """Return what of the post office is known already, as the form asks for it: never a password."""
        of_environment = {
            name: os.environ.get(f"SITEGEN_SMTP_{word}", "").strip() for name, word in _KEPT.items()
        }
        return of_environment | self._typed

    def settings(self, values: Mapping[str, str]) -> dict[str, str]:
        """Return a form's post office as the environment would name it. Raises Fault for what can't be right.

        A password that was left out is the environment's, if it's for the same server and name.
        """
        typed = {name: values.get(name, "").strip() for name in _KEPT}
        found = {f"SITEGEN_SMTP_{word}": typed[name] for name, word in _KEPT.items()}
        same = all(
            os.environ.get(f"SITEGEN_SMTP_{_KEPT[name]}", "") == typed[name] for name in ("host", "user")
        )
        given = values.get("password", "") or (os.environ.get("SITEGEN_SMTP_PASSWORD", "") if same else "")
        found["SITEGEN_SMTP_PASSWORD"] = given
        refuse_settings(found)
        self._typed = typed
        return found

    def post(self, wish: SendWish, total: int, settings: Mapping[str, str]) -> bool:
        """Begin to post a letter; return False if it's being posted already."""
        with self._lock:
            if self.runs(wish.ident):
                return False
            made = Outgoing(wish.ident, min(total, wish.limit or total))
            # The settings go to the thread alone, so that they are gone when it ends.
            made.thread = threading.Thread(target=self._through, args=(made, wish, settings), daemon=True)
            self._of[wish.ident] = made
            made.thread.start()
            return True

    def stop(self, ident: str) -> None:
        """Ask a posting to stop after the letter in hand."""
        if (found := self._of.get(ident)) is not None:
            found.clock.stop()

    def close(self, tell: Callable[[str], None]) -> None:
        """Stop all that goes out between two letters, and say how far it came. It takes a letter's time."""
        running = [one for one in self._of.values() if not one.ended]
        for one in running:
            one.clock.stop()
            tell(f"“{one.ident}” is going out; the letter in hand is finished first.")
        for one in running:
            if one.thread is not None:
                one.thread.join()
            ended = one.fault or "{posted} posted, {left} to go. Nobody gets it twice.".format_map(one.answer)
            tell(f"“{one.ident}” stopped: {ended}")

    def _through(self, made: Outgoing, wish: SendWish, settings: Mapping[str, str]) -> None:
        named("post a letter")
        try:
            answer = send(
                self._folder, wish, self._today, lambda _: settings, made.count, made.clock, made.wait
            )
            made.answer = answer.as_answer()
        except (Fault, OSError) as fault:
            made.fault = str(fault)
        except Exception as fault:  # noqa: BLE001 (the last resort: whoever looks is told)
            made.fault = report(fault)
        finally:
            made.ended = True
