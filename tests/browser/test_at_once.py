"""Several windows and an editor at once: nothing is lost, and nobody is answered with a fault of the program."""

from __future__ import annotations

import os
import re
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from sitegen.browser.desk import TRIED, Workplace, keep
from sitegen.studio.asked import Said
from tests import makers
from tests.browser.conftest import Visitor, opened

WINDOWS, EACH = 8, 1


def edit(file: Path, number: int) -> None:
    """Change a file as editors do: write a new one, put it in its place."""
    text = re.sub(r"tagline: .*", f"tagline: By hand {number}.", file.read_text("utf-8"))
    fresh = file.with_name(f"{file.name}~")
    fresh.write_text(text, "utf-8")
    os.replace(fresh, file)  # noqa: PTH105  (as editors do)


def test_eight_windows_and_an_editor(tmp_path: Path) -> None:
    studio = makers.studio(tmp_path / "studio")
    over, edits = threading.Event(), [0]
    failed: list[str] = []

    def by_hand() -> None:
        while not over.wait(0.02):  # as fast as nobody types
            edits[0] += 1
            edit(studio / "studio.yaml", edits[0])

    def window(visitor: Visitor, number: int) -> list[str]:
        noted = []
        for turn in range(EACH):
            name = f"Client {number}-{turn}"
            got = visitor.do("/do/orders.add", "/do/orders.add", tier="Small figure", name=name)
            person = {"address": f"p{number}-{turn}@mail.example", "evidence": "sheet row", "source": "web"}
            more = visitor.do("/do/people.add", "/do/people.add", **person)
            failed.extend(got.words for got in (got, more) if got.status >= 500)
            noted += [name] * (got.status == 303) + [person["address"]] * (more.status == 303)
        return noted

    with opened(studio) as visitor, ThreadPoolExecutor(WINDOWS) as crew:
        hand = threading.Thread(target=by_hand)
        hand.start()
        try:
            noted = [one for mine in crew.map(lambda n: window(visitor, n), range(WINDOWS)) for one in mine]
        finally:
            over.set()
            hand.join()

    held = (studio / "commissions.yaml").read_text("utf-8") + (studio / "people.csv").read_text("utf-8")
    assert not failed
    assert len(noted) >= WINDOWS * EACH, "most of what the windows did is to be done"
    assert [one for one in noted if held.count(f"{one}") != 1] == []
    assert f"By hand {edits[0]}." in (studio / "studio.yaml").read_text("utf-8")


def test_what_is_kept_between_pages_is_few(visitor: Visitor, studio: Path) -> None:
    desk: Workplace = visitor.desk
    for number in range(200):
        keep(desk.trials, f"pieces/p{number}/index.html", bytes(1000), TRIED)
        desk.speak(Said((f"Done {number}.",)))

    assert len(desk.trials) <= 8
    assert "pieces/p199/index.html" in desk.trials
    assert len(desk.spoken) <= 60


def test_a_full_disk_can_be_looked_at(visitor: Visitor, studio: Path) -> None:
    """What is only remembered of a reading can't be written; that is no reason to show nothing."""
    (studio / "out" / ".reading.json" / "in its place").mkdir(parents=True)

    for path in ("/", "/pieces/ferry-ghost", "/orders/A-1", "/people", "/money"):
        assert visitor.get(path).status == 200, path
