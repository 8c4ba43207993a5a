"""Killed at any instant, cut off at any request: a visitor meets no broken page, and the next run goes on."""

from __future__ import annotations

import json
import os
import random
import shutil
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from sitegen.publishing.hosts import FolderHost
from sitegen.publishing.listing import Home
from sitegen.publishing.moving import Mover
from sitegen.studio.asked import Fault
from tests import makers
from tests.cli.runner import contents, run
from tests.publishing.servers import Crawler
from tests.publishing.test_publish import abroad, retitle

ROOT = Path(__file__).parents[2]
SHORT, LONG = 4, 200


@pytest.fixture(scope="session")
def states(made: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return three sites that one studio had: with other titles, other photographs, a piece more or fewer."""
    home = tmp_path_factory.mktemp("states")
    studio, found = shutil.copytree(made, home / "studio"), home / "states"
    shutil.copytree(studio / "out/site", found / "a")
    retitle(studio, "piece-1", "Owl")
    makers.photo(studio / "pieces/piece-0/front.jpg", (10, 90, 200))
    assert run(studio, "build").exit_code == 0
    shutil.copytree(studio / "out/site", found / "b")
    shutil.rmtree(studio / "pieces/piece-2")
    makers.photo(studio / "pieces/piece-0/front.jpg", (200, 90, 10))
    assert run(studio, "build").exit_code == 0
    shutil.copytree(studio / "out/site", found / "c")
    return found


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="kill -9 and fork are POSIX")
@pytest.mark.parametrize(
    ("way", "kills"),
    [
        ("sftp", SHORT), ("folder", SHORT),
        *(pytest.param(way, LONG, marks=pytest.mark.long) for way in ("sftp", "ftps", "folder")),
    ],
)  # fmt: skip
def test_killed_at_any_instant_no_visitor_meets_a_broken_page(
    way: str, kills: int, made: Path, states: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with abroad(way, made, tmp_path, monkeypatch) as place:
        makers.write(place.root / "pieces" / "notes.txt", "not ours")
        visitor = Crawler(place.root)
        visitor.start()
        try:
            words = [
                sys.executable,
                "-m",
                "tests.publishing.kill_loop",
                str(place.studio),
                str(kills),
                "1",
                str(states),
            ]
            ended = subprocess.run(words, cwd=ROOT, capture_output=True, text=True, check=False)
        finally:
            visitor.stop()
        assert ended.returncode == 0, ended.stderr
        told = json.loads(ended.stdout)
        print(f"\n{way}: {told['killed']} killed, {visitor.rounds} rounds, {visitor.pages} pages read")
        assert visitor.broken == []
        assert visitor.rounds > kills // 2
        if kills > 10:  # few may all come too late on a quick disk
            assert told["killed"] >= kills // 2
        there, built = place.there(), {**contents(states / told["last"]), "pieces/notes.txt": b"not ours"}
        assert sorted(there.keys() ^ built.keys()) == []
        assert there == built


@pytest.mark.parametrize(
    ("way", "times"),
    [
        ("sftp", 2),
        pytest.param("ftps", 2, marks=pytest.mark.long),
        *(pytest.param(way, LONG, marks=pytest.mark.long) for way in ("sftp", "ftps")),
    ],
)
def test_a_line_that_is_cut_again_and_again(
    way: str, times: int, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is knit again while anything arrives; else there's a sentence, and the next run goes on."""
    luck = random.Random(7)
    with abroad(way, made, tmp_path, monkeypatch) as place:
        visitor = Crawler(place.root)
        visitor.start()
        try:
            for number in range(times):
                makers.photo(
                    place.studio / "pieces/piece-0/front.jpg", (number % 250, 90, luck.randint(0, 255))
                )
                place.manners.cut_every = luck.randint(20, 90)
                result = place.publish()
                assert result.exit_code in {0, 1}
                assert result.exit_code == 0 or "the line to the host is cut" in result.output, result.output
        finally:
            visitor.stop()
        place.manners.cut_every = 0
        assert place.publish().exit_code == 0
        assert place.manners.cuts >= times
        assert visitor.broken == []
        assert place.there() == place.built()


def test_a_stopped_run_goes_on_with_new_pages_before_those_that_lead_there(
    made: Path, tmp_path: Path
) -> None:
    root, site = tmp_path / "web", shutil.copytree(made / "out/site", tmp_path / "site")
    root.mkdir()

    class Stopped(Exception):
        pass

    def stop() -> None:
        raise Stopped

    with closing(FolderHost(root)) as host:
        first = Mover(host, Home(tmp_path / "home", "here"), site)
        first.carry_out(first.plan())
        makers.write(site / "more.css", "")
        makers.write(site / "pieces/new/index.html", "")
        makers.write(site / "index.html", '<a href="pieces/new/">new</a>')
        second = Mover(host, Home(tmp_path / "home", "here"), site, stop=stop)
        with pytest.raises(Stopped):
            second.carry_out(second.plan())
        third = Mover(host, Home(tmp_path / "home", "here"), site).plan()

    assert third.puts == ([], ["pieces/new/index.html"], ["index.html"], [])


def test_a_site_that_is_built_anew_meanwhile_is_told_of(made: Path, tmp_path: Path) -> None:
    root, site = tmp_path / "web", shutil.copytree(made / "out/site", tmp_path / "site")
    root.mkdir()
    with closing(FolderHost(root)) as host:
        mover = Mover(host, Home(tmp_path / "home", "here"), site)
        course = mover.plan()
        (site / "index.html").unlink()
        with pytest.raises(Fault, match="the site was built anew while it was being published"):
            mover.carry_out(course)


def test_what_was_being_taken_away_is_put_again_where_it_is_wanted_again(
    made: Path, states: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A run that is stopped after a removal leaves no page that a list wrongly says is there."""

    class Killed(BaseException):
        pass

    def killed(*_: object) -> None:
        raise Killed

    home, root, site = tmp_path / "home", tmp_path / "web", tmp_path / "site"
    root.mkdir()

    def run_to(state: str, **more: Any) -> None:
        shutil.rmtree(site, ignore_errors=True)
        shutil.copytree(states / state, site)
        with closing(FolderHost(root)) as host:
            mover = Mover(host, Home(home, "here"), site, **more)
            mover.carry_out(mover.plan())

    run_to("a")
    # Pages are gone by then, and pictures about to go.
    with pytest.raises(Killed):
        run_to("c", wait=killed)
    assert not (root / "pieces/piece-2").exists()
    run_to("a")

    assert contents(root).keys() - {"published.sha256"} == contents(states / "a").keys()
