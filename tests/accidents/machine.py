"""Run writing commands and let accidents happen to them.

Kills at random instants and between any two steps, a step that the disk refuses, a full disk (of a size, of a limit,
from a step on), a closed folder, a clock set back, another command at the same time. Run as a program of its own,
without threads, so that forking is safe: python -m tests.accidents.machine FOLDER TIMES SEED [COMMAND…]. Prints, as
JSON, how often each accident happened, and every promise that was broken.
"""

from __future__ import annotations

import codecs
import gc
import importlib
import json
import os
import pkgutil
import random
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import sitegen
from tests.accidents import steps
from tests.accidents.looking import Bytes, leftovers, modes, site, state, words
from tests.accidents.wishes import WISHES, base, said

NOBODY = 65534
# Seconds; what takes longer hangs.
_LONGEST = 90
_KINDS = (("people", "leave", "ben@post.example"), ("announce", "show", "quayside-2027"), ("build",))
Told = tuple[int, str] | None
"""What a command said in the end, and its status; None if it was killed before."""


class Machine:
    """A studio, what each command makes of it, and what happened."""

    def __init__(self, home: Path, seed: int, names: tuple[str, ...]) -> None:
        os.umask(0)  # nothing private may rest on it
        codecs.lookup("ascii")
        for module in pkgutil.walk_packages(sitegen.__path__, "sitegen."):
            if "__main__" not in module.name:
                importlib.import_module(
                    module.name
                )  # who may not read a folder may not import from it either
        self.home, self.luck, self.names = home, random.Random(seed), names
        self.happened: Counter[str] = Counter()
        self.by_command: Counter[str] = Counter()
        self.broken: list[str] = []
        self.skipped = ""
        self.place = home / "place"
        """Where the copies lie; another disk while that is to be small."""
        self.after: dict[str, tuple[Bytes, Bytes]] = {}
        self.before: dict[str, Bytes] = {}
        """Sites."""
        self.steps: dict[str, int] = {}
        self.took: dict[str, float] = {}
        self.turns: dict[str, list[int]] = {}
        studio = base(home / "base")
        # Each command is a child of this process: what is compiled and read here, none of them does again.
        said(shutil.copytree(studio, home / "warm" / "studio"), ("announce", "commissions"))
        gc.freeze()
        for name in names:
            self._try(name, studio)

    def _try(self, name: str, studio: Path) -> None:
        """Do all that comes before a command, and see what it makes of that."""
        ready = self.home / "ready" / name
        shutil.copytree(studio.parent, ready)
        wish = WISHES[name]
        for earlier in wish.before:
            told = self.tell(ready / "studio", earlier)
            if told is None or told[0]:
                raise SystemExit(f"{name}: {told}")
        wish.change(ready / "studio")
        copy = self.fresh(name)
        start = time.perf_counter()
        told = self.tell(copy, wish.words, count=True)
        self.took[name] = time.perf_counter() - start
        if told is None or told[0]:
            raise SystemExit(f"{name}: {told}")
        self.steps[name] = int(told[1].rpartition("\n")[2])
        self.after[name] = state(copy), site(copy)
        self.before[name] = site(ready / "studio")
        if self.after[name] == (state(ready / "studio"), site(ready / "studio")):
            raise SystemExit(f"{name} changes nothing")

    def fresh(self, name: str) -> Path:
        """Return a copy of the studio as it is before a command."""
        shutil.rmtree(self.place, ignore_errors=True)
        shutil.copytree(self.home / "ready" / name, self.place)
        return self.place / "studio"

    def start(
        self,
        folder: Path,
        words: tuple[str, ...],
        before: Callable[[], object] = lambda: None,
        answer: str = "said",
        *,
        count: bool = False,
    ) -> int:
        """Begin a command in a process of its own; what it said, and its status, go into a file."""
        file = self.home / answer
        file.write_bytes(b"")  # what an earlier one said isn't this one's answer
        file.chmod(0o666)
        number = os.fork()
        if number:
            return number
        signal.alarm(_LONGEST)
        counted = steps.at_step(0, steps.killed) if count else [0]
        answering = os.open(file, os.O_WRONLY)
        before()
        status, output = said(folder, words)
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        output += f"\n{counted[0]}" * count
        os.write(answering, json.dumps([status, output]).encode())
        os._exit(0)

    def heard(self, answer: str = "said") -> Told:
        """Return what a command said."""
        try:
            status, output = json.loads((self.home / answer).read_text("utf-8"))
        except (OSError, ValueError):
            return None
        return status, output

    def tell(
        self,
        folder: Path,
        words: tuple[str, ...],
        before: Callable[[], object] = lambda: None,
        *,
        count: bool = False,
    ) -> Told:
        """Run a command in a process of its own to its end."""
        self.ended([self.start(folder, words, before, count=count)])
        return self.heard()

    def wrong(self, happened: str, name: str, what: object) -> None:
        self.broken.append(f"{happened}, {name}: {what}")

    def check(self, happened: str, told: Told, name: str, folder: Path, before: Bytes) -> None:
        """Look whether the promises are kept: old or new, done is done, nothing shows its inside."""
        self.happened[happened] += 1
        self.by_command[name] += 1
        now, after = state(folder), self.after[name][0]
        odd = [
            path
            for path in sorted({*now, *before, *after})
            if now.get(path) not in (before.get(path), after.get(path))
            and not (happened.startswith("killed") and path.startswith("out/letters/") and path not in now)
        ]
        if odd:
            self.wrong(happened, name, f"neither old nor new: {odd}")
        if open_ := modes(self.place):
            self.wrong(happened, name, f"others can read {open_}")
        if (self.place / "home/again/studio.yaml").exists() and self.missing(now, after, "home/again/"):
            self.wrong(happened, name, "a studio that isn't whole")
        if told is None and not happened.startswith("killed"):
            self.wrong(happened, name, "ended without a word")
        if told is None:
            return
        if told[0] == 0 and now != after:
            self.wrong(happened, name, f"said done and isn't: {told[1]}")
        if told[0] == 1 and now == after and after != before and not WISHES[name].once:
            self.wrong(happened, name, f"said not done and is: {told[1]}")
        if told[0] not in {0, 1} or "Traceback" in told[1]:
            self.wrong(happened, name, f"ended with {told}")

    def missing(self, now: Bytes, after: Bytes, where: str) -> bool:
        return any(path not in now for path in after if path.startswith(where))

    def again(self, happened: str, name: str, folder: Path) -> None:
        """Run the command once more: then all is as if it had run once, nothing is left, the site is whole."""
        whole = (self.before[name], self.after[name][1])
        if site(folder) not in whole:
            self.tell(folder, ("people", "list"))
            if site(folder) not in whole:
                self.wrong(happened, name, "a mixed site after the next command")
        self.tell(folder, WISHES[name].words)
        if WISHES[name].once:
            now, after = state(folder), self.after[name][0]
            if odd := [one for one in sorted({*now, *after}) if now.get(one) != after.get(one)]:
                self.wrong(happened, name, f"run again, it isn't as after one run: {odd}")
        self.sweep(happened, name, folder)

    def sweep(self, happened: str, name: str, folder: Path) -> None:
        """See that nothing is left, at the latest after a command of each kind."""
        for other in _KINDS if leftovers(folder) else ():
            self.tell(folder, other)
        if found := leftovers(folder):
            self.wrong(happened, name, f"left behind: {found}")

    def kill(self, number: int, within: float) -> None:
        """End a process at a random instant within so many seconds, mostly late, where it writes."""
        time.sleep(
            self.luck.betavariate(2, 1.2) * within
        )  # the random instant itself, not a wait for anything
        os.kill(number, signal.SIGKILL)
        self.ended([number])

    def ended(self, numbers: list[int]) -> None:
        """Wait for processes to end."""
        for number in numbers:
            os.waitpid(number, 0)

    def killed(self, name: str) -> None:
        """Kill it at a random instant."""
        folder = self.fresh(name)
        before = state(folder)
        self.kill(self.start(folder, WISHES[name].words), self.took[name] * 1.6)
        told = self.heard()
        happened = "killed" if told is None else "killed too late"
        self.check(happened, told, name, folder, before)
        self.again(happened, name, folder)

    def killed_at_a_step(self, name: str) -> None:
        """Kill it between two of its steps; each has its turn before one comes again."""
        folder = self.fresh(name)
        self.turns[name] = self.turns.get(name) or self.luck.sample(
            range(1, self.steps[name] + 1), self.steps[name]
        )
        before, step = state(folder), self.turns[name].pop()
        told = self.tell(folder, WISHES[name].words, lambda: steps.at_step(step, steps.killed))
        happened = f"killed at step {step}"
        self.check(happened, told, name, folder, before)
        self.happened["killed at a step"] += 1
        del self.happened[happened]
        self.again(happened, name, folder)

    def refused(self, name: str) -> None:
        """One step is refused, or from one on all that need room."""
        folder = self.fresh(name)
        before, step = state(folder), self.luck.randint(1, self.steps[name])
        act, onwards = self.luck.choice([(steps.refused, False), (steps.full, True)])
        told = self.tell(folder, WISHES[name].words, lambda: steps.at_step(step, act, onwards=onwards))
        self.check("refused by the disk", told, name, folder, before)
        self.again(f"{act.__name__} at step {step}", name, folder)

    def limited(self, name: str) -> None:
        """No file may grow beyond a random size."""
        folder, size = self.fresh(name), int(2 ** self.luck.uniform(0, 14))
        before = state(folder)

        def limit() -> None:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))

        told = self.tell(folder, WISHES[name].words, limit)
        self.check("files limited", told, name, folder, before)
        self.again(f"files limited to {size}", name, folder)

    def small_disk(self, name: str) -> None:
        """A disk of its own, with room for a few more blocks only."""
        disk = self.home / "disk"
        disk.mkdir(exist_ok=True)
        size = sum(path.stat().st_size + 8192 for path in (self.home / "ready" / name).rglob("*"))
        mount = ["mount", "-t", "tmpfs", "-o", f"size={2 * size}", "tmpfs", str(disk)]
        mounted = subprocess.run(mount, check=False, capture_output=True, text=True)
        if mounted.returncode:
            self.skipped = f"no small disk: this user may not mount one ({mounted.stderr.strip()})"
            return
        usual, self.place = self.place, disk / "place"
        try:
            folder = self.fresh(name)
            before, filler = state(folder), disk / "filler"
            free = os.statvfs(disk)
            room = self.luck.choice([0, 4096, 8192, 16384, 32768, 65536])
            filler.write_bytes(bytes(max(0, free.f_bavail * free.f_frsize - room)))
            told = self.tell(folder, WISHES[name].words)
            filler.unlink()
            self.check("disk full", told, name, folder, before)
            self.again(f"disk full but for {room}", name, folder)
        finally:
            self.place = usual
            subprocess.run(["umount", "-l", str(disk)], check=True)

    def closed(self, name: str) -> None:
        """The folder may be read and not written: another user runs the command."""
        folder = self.fresh(name)
        for path in (self.place, *self.place.rglob("*")):
            path.chmod(0o555 if path.is_dir() else 0o444)
        self.home.chmod(0o755)
        before = state(folder)

        def other() -> None:
            if os.geteuid() == 0:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)

        told = self.tell(folder, WISHES[name].words, other)
        self.happened["read only"] += 1
        self.by_command[name] += 1
        if state(folder) != before or told is None or told[0] not in {0, 1} or "Traceback" in told[1]:
            self.wrong("read only", name, f"said {told}")
        elif told[0] == 0 and self.after[name][0] != before:
            self.wrong("read only", name, f"said done: {told[1]}")
        for path in (self.place, *self.place.rglob("*")):
            path.chmod(0o755 if path.is_dir() else 0o644)

    def set_back(self, name: str) -> None:
        """Every file of the studio is a year younger than the clock: it was set back."""
        folder = self.fresh(name)
        late = time.time() + 365 * 86400
        for path in folder.rglob("*"):
            os.utime(path, (late, late))
        before = state(folder)
        told = self.tell(folder, WISHES[name].words)
        self.check("clock set back", told, name, folder, before)
        self.again("clock set back", name, folder)

    def collided(self, name: str) -> None:
        """Another command of the list at the same time: what either says is done is there."""
        folder = self.fresh(name)
        other = self.luck.choice([one for one in WISHES if not one.startswith("undo") and one != name])
        if name.startswith("undo"):
            other = "announce"  # what is the latest edit would be a matter of luck
        both = [
            self.start(folder, WISHES[one].words, answer=answer)
            for one, answer in ((name, "said-1"), (other, "said-2"))
        ]
        self.ended(both)
        self.happened["collided"] += 1
        self.by_command[name] += 1
        now = state(folder)
        for one, told in ((name, self.heard("said-1")), (other, self.heard("said-2"))):
            if told is None or told[0] not in {0, 1} or "Traceback" in told[1]:
                self.wrong(f"collided with {other}", name, f"{one} said {told}")
        told = self.heard("said-1")
        if told and told[0] == 0 and not self.has_all(name, now):
            self.wrong(f"collided with {other}", name, f"said done and isn't: {told[1]}")
        self.sweep(f"collided with {other}", name, folder)

    def has_all(self, name: str, now: Bytes) -> bool:
        """Tell whether each word that a command brings is there; others may have come as well."""
        before, after = state(self.home / "ready" / name / "studio"), self.after[name][0]
        new = {path: words(body) - words(before.get(path, b"")) for path, body in after.items()}
        kept = ("out/", "home/", "pages/", ".kept")  # made again or anew by the other
        return all(path.startswith(kept) or more <= words(now.get(path, b"")) for path, more in new.items())

    def accidents(self) -> tuple[Callable[[str], None], ...]:
        """Return what can happen."""
        return (
            self.killed, self.killed_at_a_step, self.refused, self.limited, self.small_disk, self.closed,
            self.set_back, self.collided,
        )  # fmt: skip

    def everything(self, times: int) -> None:
        """Let each accident happen so often to each command; none at all means a kill for each, and others in turn."""
        some = self.accidents()
        for number, name in enumerate(self.names):
            turn = (self.killed_at_a_step, some[number // 3 % len(some)])[: 1 + (number % 3 == 0)]
            for _ in range(max(times, 1)):
                for accident in some if times else turn:
                    accident(name)


def main() -> None:
    """Let accidents happen; print what came of it."""
    home, times, seed = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    machine = Machine(home, seed, tuple(sys.argv[4:]) or tuple(WISHES))
    machine.everything(times)
    print(json.dumps({
        "happened": machine.happened, "commands": machine.by_command, "broken": machine.broken,
        "skipped": machine.skipped, "steps": machine.steps,
    }))  # fmt: skip


if __name__ == "__main__":
    main()
