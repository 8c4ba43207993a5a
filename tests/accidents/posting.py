"""Let accidents happen to `send`: kills, refused steps, a record that can't grow, two at once.

Run as a program of its own, without threads: python -m tests.accidents.posting FOLDER TIMES SEED, with the post
office named by the environment. Prints, as JSON, who is in doubt, who was to get a letter, and what was broken.
"""

from __future__ import annotations

import json
import random
import re
import sys
from pathlib import Path

from tests import makers
from tests.accidents import steps
from tests.accidents.machine import Machine, Told
from tests.accidents.wishes import WISHES, Wish

READERS = 5
NAME = "send"
SEND = Wish(("send", "commissions-winter-2027", "--pace", "0", "--yes"), (("announce", "commissions"),))
ROW = "{0}@example.com,,commissions,2026-02-01,web,form on the site,\r\n"


class Posting(Machine):
    """One studio a turn, each with readers of its own; one of them has no mailbox any more."""

    def __init__(self, home: Path, seed: int) -> None:
        WISHES[NAME] = SEND
        super().__init__(home, seed, ())
        self.readers: list[str] = []
        self.doubtful: list[str] = []
        self.turn = 0

    def fresh(self, name: str) -> Path:
        """Return a studio with a letter that nobody has."""
        self.turn += 1
        names = [f"gone-{self.turn}", *(f"reader-{self.turn}-{number}" for number in range(READERS))]
        head = makers.PEOPLE.split("\r\n")[0] + "\r\n"
        ready = self.home / "ready" / name / "studio"
        makers.studio(ready)
        (ready / "people.csv").write_bytes((head + "".join(map(ROW.format, names))).encode())
        folder = super().fresh(name)
        self.tell(folder, SEND.before[0])
        self.readers += [f"{name}@example.com" for name in names[1:]]
        return folder

    def accident(self) -> None:
        """Let one happen, then send until all is said."""
        folder = self.fresh(NAME)
        happened = self.luck.choice(["killed", "killed at a step", "refused", "full", "collided"])
        step = self.luck.randint(1, 30)
        if happened == "collided":
            both = [self.start(folder, SEND.words, answer=one) for one in ("said-1", "said-2")]
            self.ended(both)
            self.sane(happened, self.heard("said-1"))
        elif happened == "killed":
            self.kill(self.start(folder, SEND.words), 0.4)
        else:
            act = {"killed at a step": steps.killed, "refused": steps.refused, "full": steps.full}[happened]
            onwards = happened == "full"
            told = self.tell(folder, SEND.words, lambda: steps.at_step(step, act, onwards=onwards))
            if happened != "killed at a step":
                self.sane(happened, told)
        self.happened[happened] += 1
        self.finish(happened, folder)

    def sane(self, happened: str, told: Told) -> None:
        """A sentence and a status, whatever it was."""
        if told is None or told[0] not in {0, 1} or "Traceback" in told[1]:
            self.wrong(happened, NAME, told)

    def finish(self, happened: str, folder: Path) -> None:
        """Send again: all have it, but for those in doubt; who has no mailbox is noted."""
        told = self.tell(folder, SEND.words)
        self.sane(happened, told)
        said = told[1] if told else ""
        doubtful = re.findall(r"In doubt: (\S+@example\.com)\.", said)
        have = sum(map(int, re.findall(r"(\d+) (?:posted now|had it already)", said)))
        self.doubtful += doubtful
        if have + len(doubtful) != READERS + (f"gone-{self.turn}@example.com" in doubtful):
            self.wrong(happened, NAME, f"isn't finished: {said}")
        bounced = f"gone-{self.turn}@example.com" in doubtful or b" bounced\r\n" in self.people(folder)
        if not bounced:
            self.wrong(happened, NAME, f"a bounce was lost: {said}")

    def people(self, folder: Path) -> bytes:
        return (folder / "people.csv").read_bytes()


def main() -> None:
    """Let accidents happen; print what came of it."""
    machine = Posting(Path(sys.argv[1]), int(sys.argv[3]))
    for _ in range(int(sys.argv[2])):
        machine.accident()
    print(json.dumps({
        "happened": machine.happened, "broken": machine.broken, "readers": machine.readers,
        "doubtful": machine.doubtful,
    }))  # fmt: skip


if __name__ == "__main__":
    random.seed(0)
    main()
