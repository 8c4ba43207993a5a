"""What takes its time at the desk, each in a thread of its own, whatever windows are open."""

from __future__ import annotations

import os
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sitegen.jobs.posting import SendWish, WallClock, refuse_settings, send
from sitegen.jobs.report import report
from sitegen.jobs.where import named
from sitegen.studio.fault import Fault

# The fields of the form, as the environment names the same things. The password is not among what is kept.
_KEPT = {"host": "HOST", "port": "PORT", "security": "SECURITY", "user": "USER"}


@dataclass
class LongJob:
    """One long job, how far it is, or how it ended."""

    total: int = 0
    done: int = 0
    answer: Any = None
    fault: str = ""
    waits: str = ""  # why nothing goes on for a while
    ended: bool = False
    clock: WallClock = field(default_factory=WallClock)
    thread: threading.Thread | None = None

    def count(self, done: int, total: int) -> None:
        """Note how far it is."""
        self.done, self.total, self.waits = done, total, ""

    def wait(self, said: str) -> None:
        """Note why nothing goes on for a while."""
        self.waits = said

    def now(self) -> dict[str, Any]:
        """Say how far it is, for a page that is open."""
        return {"done": self.done, "total": self.total, "waits": self.waits, "ended": self.ended}

    def begin(self, called: str, job: Callable[[], Any]) -> None:
        """Do a job under this name, and keep what it answers or what went wrong."""

        def through() -> None:
            named(called)
            try:
                self.answer = job()
            except (Fault, OSError) as fault:
                self.fault = str(fault)
            except Exception as fault:  # noqa: BLE001 (the last resort: whoever looks is told)
                self.fault = report(fault)
            finally:
                self.ended = True

        self.thread = threading.Thread(target=through, daemon=True)
        self.thread.start()


class Outbox:
    """The letters that go out, or went out, from this desk."""

    def __init__(self, folder: Path, today: str | None) -> None:
        self._folder, self._today = folder, today
        self._lock = threading.Lock()
        self._of: dict[str, LongJob] = {}
        self._typed: dict[str, str] = {}

    def of(self, ident: str) -> LongJob | None:
        """Return the latest posting of a letter."""
        return self._of.get(ident)

    def runs(self, ident: str) -> bool:
        """Tell whether a letter is going out just now."""
        return ident in self._of and not self._of[ident].ended

    def known(self) -> dict[str, str]:
        """Return what of the post office is known already, as the form asks for it: never a password."""
        found = {name: os.environ.get(f"SITEGEN_SMTP_{word}", "").strip() for name, word in _KEPT.items()}
        return found | self._typed

    def settings(self, values: Mapping[str, str]) -> dict[str, str]:
        """Return a form's post office as the environment would name it. Raises Fault for what can't be right.

        A password that was left out is the environment's, if it's for the same server and name.
        """
        typed = {name: values.get(name, "").strip() for name in _KEPT}
        found = {f"SITEGEN_SMTP_{word}": typed[name] for name, word in _KEPT.items()}
        there = os.environ.get
        same = all(there(f"SITEGEN_SMTP_{_KEPT[one]}", "") == typed[one] for one in ("host", "user"))
        given = values.get("password", "") or (there("SITEGEN_SMTP_PASSWORD", "") if same else "")
        found["SITEGEN_SMTP_PASSWORD"] = given
        refuse_settings(found)
        self._typed = typed
        return found

    def post(self, wish: SendWish, total: int, settings: Mapping[str, str]) -> bool:
        """Begin to post a letter; return False if it's being posted already."""
        with self._lock:
            if self.runs(wish.ident):
                return False
            made = self._of[wish.ident] = LongJob(min(total, wish.limit or total))
            # The settings go to the thread alone, so that they are gone when it ends.
            rest = (lambda _: settings, made.count, made.clock, made.wait)
            made.begin("post a letter", lambda: send(self._folder, wish, self._today, *rest).as_answer())
            return True

    def close(self, tell: Callable[[str], None]) -> None:
        """Stop all that goes out between two letters, and say how far it came. It takes a letter's time."""
        running = {ident: one for ident, one in self._of.items() if not one.ended}
        for ident, one in running.items():
            one.clock.stop()
            tell(f"“{ident}” is going out; the letter in hand is finished first.")
        for ident, one in running.items():
            if one.thread is not None:
                one.thread.join()
            ended = one.fault or "{posted} posted, {left} to go. Nobody gets it twice.".format_map(one.answer)
            tell(f"“{ident}” stopped: {ended}")
