"""Run writing commands and let accidents happen to them: kills, collisions, a full disk, a closed folder, a wrong clock.

Run as a program of its own, without threads, so that forking is safe: python -m tests.accidents.machine FOLDER TIMES
SEED. Prints, as JSON, how often each accident happened to each command, and every promise that was broken.
"""

from __future__ import annotations

import json
import os
import random
import resource
import shutil
import signal
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

from tests import makers
from tests.cli.runner import TODAY, contents, on
from tests.cli.runner import own as files

Bytes = dict[str, bytes]
NOBODY = 65534
# What each command writes, as (words, file, what stands there once it is done).
COMMANDS: dict[str, tuple[tuple[str, ...], str, bytes]] = {
    "people add": (
        ("people", "add", "zoe@mail.example", "--source", "web", "--evidence", "form"),
        "people.csv",
        b"zoe@mail.example",
    ),
    "people leave": (("people", "leave", "ana@mail.example"), "people.csv", b"2026-11-25 asked"),
    "people forget": (("people", "forget", "ben@post.example", "--yes"), "people.csv", b"!ben@post.example"),
    "order promise": (("order", "promise", "A-1", "2027-03-01"), "commissions.yaml", b"2027-03-01"),
    "order paid": (("order", "paid", "A-1", "10"), "commissions.yaml", b"2026-11-25"),
    "order hours": (("order", "hours", "A-1", "painting", "3.5"), "commissions.yaml", b"3.5"),
    "piece add": (("piece", "add", "PHOTO", "--title", "Owl"), "pieces/owl/piece.yaml", b"title: Owl"),
    "piece mark": (
        ("piece", "mark", "ferry-ghost", "not for sale"),
        "pieces/ferry-ghost/piece.yaml",
        b"not for sale",
    ),
    "announce": (("announce", "commissions"), "", b""),
    "build": (("build",), "out/site/index.html", b"<html"),
    "undo": (("undo",), "", b""),
}
LEFTOVERS = (".part", ".making-", ".aside-", ".site-new", ".site-before", ".site-change", ".site-part")


def site(folder: Path) -> Bytes:
    """Return the built site but for pictures, which may be there before and after their pages."""
    built = contents(folder / "out" / "site")
    return {path: body for path, body in built.items() if not path.startswith("pictures/")}


def leftovers(folder: Path) -> list[str]:
    """Return what no finished command leaves behind."""
    names = (file.relative_to(folder).as_posix() for file in folder.rglob("*"))
    return [
        name
        for name in names
        if any(word in Path(name).name for word in LEFTOVERS) or name.startswith(".kept/parts")
    ]


def run(folder: Path, name: str) -> tuple[int, str]:
    """Run a command to its end."""
    photo = str(next(folder.glob("pieces/*/*.jpg")))
    words = [photo if word == "PHOTO" else word for word in COMMANDS[name][0]]
    result = on(TODAY, folder, *words)
    return result.exit_code, result.output


def child(folder: Path, name: str, said: Path, before: Callable[[], None] = lambda: None) -> int:
    """Run a command in a process of its own; what it said, and its status, go into a file."""
    said.write_bytes(b"")  # what an earlier one said isn't this one's answer
    number = os.fork()
    if number == 0:
        before()
        status, output = run(folder, name)
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        os.write(
            os.open(said, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o666), json.dumps([status, output]).encode()
        )
        os._exit(0)
    return number


def heard(said: Path) -> tuple[int, str] | None:
    """Return status and words of a child; None if it was killed before it had said them."""
    try:
        status, output = json.loads(said.read_text("utf-8"))
    except (OSError, ValueError):
        return None
    return status, output


def count(folder: Path, name: str) -> int:
    """Count how often a command's mark stands in its file; a mark after `!` must be gone."""
    _, file, mark = COMMANDS[name]
    text = (folder / file).read_bytes() if file and (folder / file).is_file() else b""
    return int(mark[1:] not in text) if mark.startswith(b"!") else text.count(mark)


class Machine:
    """A studio, what each command makes of it, and what happened."""

    def __init__(self, home: Path, seed: int) -> None:
        self.home, self.luck = home, random.Random(seed)
        self.happened: Counter[str] = Counter()
        self.broken: list[str] = []
        self.studio = makers.studio(home / "studio")
        run(self.studio, "build")
        run(self.studio, "piece mark")  # something to take back
        self.after: dict[str, tuple[Bytes, Bytes]] = {}
        self.took: dict[str, float] = {}
        for name in COMMANDS:
            copy = self.fresh(name)
            start = time.perf_counter()
            status, output = run(copy, name)
            self.took[name] = time.perf_counter() - start
            if status:
                raise SystemExit(f"{name}: {output}")
            self.after[name] = files(copy), site(copy)

    def fresh(self, name: str) -> Path:
        """Return a copy of the studio as it is before a command."""
        copy = self.home / "copy"
        shutil.rmtree(copy, ignore_errors=True)
        shutil.copytree(self.studio, copy)
        if name == "piece mark":
            run(copy, "undo")
        if name == "build":
            file = copy / "studio.yaml"
            file.write_text(file.read_text("utf-8").replace("tagline:", "tagline: Once.\n#"), "utf-8")
        return copy

    def check(
        self, happened: str, told: tuple[int, str] | None, name: str, folder: Path, before: Bytes
    ) -> None:
        """Look whether the promises are kept: old or new, done is done, nothing shows its inside."""
        self.happened[happened] += 1
        now, after = files(folder), self.after[name][0]
        odd = [
            path
            for path in {*now, *before, *after}
            if now.get(path) not in (before.get(path), after.get(path))
        ]
        if odd:
            self.broken.append(f"{happened}, {name}: neither old nor new: {odd}")
        if told is None and happened != "killed":
            self.broken.append(f"{happened}, {name}: ended without a word")
        if told and told[0] == 0 and now != after:
            self.broken.append(f"{happened}, {name}: said done and isn't")
        if told and told[0] not in {0, 1}:
            self.broken.append(f"{happened}, {name}: ended with {told[0]}: {told[1]}")
        if told and "Traceback" in told[1]:
            self.broken.append(f"{happened}, {name}: a traceback")

    def again(self, happened: str, name: str, folder: Path) -> None:
        """Run the command once more: it ends well or says that it's done, and nothing is left or stands twice."""
        run(folder, name)
        for other in ("people leave", "announce", "build"):
            run(folder, other)
        if found := leftovers(folder):
            self.broken.append(f"{happened}, {name}: left behind: {found}")
        if (
            name in {"people add", "people forget", "people leave", "order promise", "piece add"}
            and count(folder, name) < 1
        ):
            self.broken.append(f"{happened}, {name}: not done by the next run")
        if name == "people add" and count(folder, name) > 1:
            self.broken.append(f"{happened}, {name}: stands twice")

    def killed(self, name: str) -> None:
        """Kill it at a random instant, mostly near its end, where it writes."""
        folder = self.fresh(name)
        before, said = files(folder), self.home / "said"
        number = child(folder, name, said)
        time.sleep(self.luck.betavariate(2, 1.2) * self.took[name] * 1.6)  # the random instant itself
        os.kill(number, signal.SIGKILL)
        os.waitpid(number, 0)
        told = heard(said)
        self.check("killed" if told is None else "killed too late", told, name, folder, before)
        if name == "build" and told is None:
            run(folder, name)
            if site(folder) != self.after[name][1]:
                self.broken.append("killed, build: the next build doesn't finish it")
        self.again("killed", name, folder)

    def full(self, name: str) -> None:
        """No file may grow beyond a random size."""
        folder, size = self.fresh(name), int(2 ** self.luck.uniform(0, 14))
        before, said = files(folder), self.home / "said"

        def limit() -> None:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (size, resource.RLIM_INFINITY))

        os.waitpid(child(folder, name, said, limit), 0)
        self.check("full disk", heard(said), name, folder, before)
        self.again("full disk", name, folder)

    def closed(self, name: str) -> None:
        """The folder may be read and not written: another user runs the command."""
        folder = self.fresh(name)
        for one in (folder, *folder.rglob("*")):
            one.chmod(0o555 if one.is_dir() else 0o444)
        self.home.chmod(0o755)
        before, said = files(folder), self.home / "said"
        said.touch(mode=0o666)
        said.chmod(0o666)

        def other() -> None:
            if os.geteuid() == 0:
                os.setgroups([])
                os.setgid(NOBODY)
                os.setuid(NOBODY)

        os.waitpid(child(folder, name, said, other), 0)
        told = heard(said)
        self.check("read only", told, name, folder, before)
        if files(folder) != before or (told and told[0] == 0 and name != "build"):
            self.broken.append(f"read only, {name}: said {told}")
        for one in (folder, *folder.rglob("*")):
            one.chmod(0o755 if one.is_dir() else 0o644)

    def set_back(self, name: str) -> None:
        """Every file of the studio is a year younger than the clock: it was set back."""
        folder = self.fresh(name)
        late = time.time() + 365 * 86400
        for one in folder.rglob("*"):
            os.utime(one, (late, late))
        before, said = files(folder), self.home / "said"
        os.waitpid(child(folder, name, said), 0)
        self.check("clock set back", heard(said), name, folder, before)
        if name != "undo":
            self.again("clock set back", name, folder)

    def collided(self, name: str) -> None:
        """Another command at the same time: what either says is done is there."""
        folder = self.fresh(name)
        other = self.luck.choice([one for one in COMMANDS if one not in {name, "undo"}])
        if name == "undo":
            other = "announce"  # what is the latest edit would be a matter of luck
        told = [self.home / "said-1", self.home / "said-2"]
        both = [child(folder, one, said) for one, said in zip((name, other), told, strict=True)]
        for number in both:
            os.waitpid(number, 0)
        self.happened["collided"] += 1
        for one, said in zip((name, other), told, strict=True):
            answer = heard(said)
            done = count(folder, one) >= 1 or not COMMANDS[one][1]
            if (
                answer is None
                or answer[0] not in {0, 1}
                or (answer[0] == 0 and not done)
                or "Traceback" in answer[1]
            ):
                self.broken.append(f"collided, {name} with {other}: {one} said {answer}")
        self.again("collided", name, folder)

    def everything(self, times: int) -> None:
        """Let each accident happen so often to each command."""
        for name in COMMANDS:
            for _ in range(times):
                for accident in (self.killed, self.full, self.closed, self.set_back, self.collided):
                    accident(name)


def main() -> None:
    """Let accidents happen; print what came of it."""
    machine = Machine(Path(sys.argv[1]), int(sys.argv[3]))
    machine.everything(int(sys.argv[2]))
    print(json.dumps({"happened": machine.happened, "broken": machine.broken}))


if __name__ == "__main__":
    main()
