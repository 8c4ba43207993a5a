"""Start posting again and again in children that are killed at random instants, then let one finish.

Run as a program of its own, without threads, so that forking is safe: python -m tests.letters.kill_loop
FOLDER PORT KILLS SEED. Prints, as JSON, what the last, whole run said.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
from pathlib import Path

from sitegen.letters.folder import Letter, open_letter
from sitegen.letters.gate import Gate, Security
from sitegen.letters.office import SmtpOffice
from sitegen.letters.posting import Manner, RunResult, send
from sitegen.studio.person import address_key
from tests.letters.studio import room


def post(letter: Letter, folder: Path, port: int) -> RunResult:
    """Post to whoever hasn't got it."""
    allowed = frozenset(address_key(f"p{n}@example.com") for n in range(1000))
    office = SmtpOffice(Gate("127.0.0.1", port, Security.NONE))
    return send(letter, room(folder), office, lambda: allowed, Manner(pace=0))


def main() -> None:
    """Kill, and kill again; then finish."""
    folder, port, kills, seed = Path(sys.argv[1]), *map(int, sys.argv[2:5])
    luck = random.Random(seed)
    letter = open_letter(folder / "out" / "letters" / "commissions-winter-2027")
    killed = 0
    for _ in range(kills):
        child = os.fork()
        if child == 0:
            post(letter, folder, port)
            os._exit(0)
        time.sleep(luck.uniform(0.0, 0.06))  # the random instant itself, not a wait for anything
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        killed += os.WIFSIGNALED(status)
    result = post(letter, folder, port)
    print(json.dumps({"posted": result.posted, "already": result.already, "in_doubt": result.in_doubt,
                      "left_over": result.left_over, "stopped": result.stopped, "killed": killed}))  # fmt: skip


if __name__ == "__main__":
    main()
