"""Publish again and again in children that are killed at random instants, the site another one each time; then to the end.

Run as a program of its own, without threads, so that forking is safe: python -m tests.publishing.kill_loop STUDIO
KILLS SEED STATES, where STATES holds built sites. Prints, as JSON, how many were killed, and which site was the last.
"""

from __future__ import annotations

import json
import os
import random
import shutil
import signal
import sys
import time
from pathlib import Path
from typing import Any

from sitegen.jobs import publish as jobs
from sitegen.publishing import ftps, moving, sftp, versions
from tests.cli.runner import TODAY

# So that each is loaded before the first child.
LOADED = (ftps, sftp, versions)


def publish(folder: Path) -> jobs.Published:
    return jobs.publish(folder, jobs.PublishWish(sure=True), TODAY, lambda answer: True)


def main() -> None:
    """Kill, and kill again; then finish."""
    folder, kills, seed, states = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]), Path(sys.argv[4])
    luck, site = random.Random(seed), folder / "out" / "site"
    names = sorted(path.name for path in states.iterdir())

    class Built:
        asides = ()

    def built(*_: Any) -> Any:
        return Built()

    jobs.__dict__["build"] = built
    moving.LINGER = 0.6
    killed, took, last = 0, 1.0, ""
    for number in range(kills):
        last = luck.choice(names)
        shutil.rmtree(site)
        shutil.copytree(states / last, site)
        start = time.perf_counter()
        child = os.fork()
        if child == 0:
            os.close(1)
            publish(folder)
            os._exit(0)
        if number:
            time.sleep(luck.uniform(0.05, took))  # the random instant itself, not a wait for anything
            os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        killed += os.WIFSIGNALED(status)
        took = took if number else max((time.perf_counter() - start) * 0.9, 0.2)
    done = publish(folder)
    print(json.dumps({"killed": killed, "last": last, "differs": done.differs, "left": done.left}))


if __name__ == "__main__":
    main()
