"""How the desk is opened: by a double click, once a studio, by this user alone."""

from __future__ import annotations

import http.client
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from sitegen.browser.desk import Workplace
from sitegen.browser.preview import preview_of
from sitegen.browser.serving import served
from sitegen.jobs import preview as jobs
from sitegen.jobs.begin import NAME, put_starters
from sitegen.jobs.preview import Preview, base_of
from tests import makers
from tests.browser.conftest import Visitor, opened

pytestmark = pytest.mark.slow


@contextmanager
def running(*words: str) -> Iterator[str]:
    """Start a program that opens a desk; give its opening address, and stop it as Ctrl-C would."""
    with subprocess.Popen(
        words, stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONUNBUFFERED": "1"}
    ) as desk:
        assert desk.stdout is not None
        said = desk.stdout.readline()
        try:
            yield re.search(r"http://\S+", said)[0]  # type: ignore[index]
        finally:
            desk.send_signal(signal.SIGINT)
            rest = desk.stdout.read()
    assert "Traceback" not in rest
    assert desk.returncode == 0


def at(address: str) -> Visitor:
    parts = urlsplit(address)
    return Visitor(f"http://{parts.netloc}", Workplace(Path(), key=parts.path.removeprefix("/in/")))


@pytest.mark.skipif(sys.platform == "win32", reason="a shell's file")
def test_a_double_click_opens_the_desk_from_anywhere(tmp_path: Path) -> None:
    studio = makers.studio(tmp_path / "my studio's folder")
    put_starters(studio)
    moved = studio.rename(tmp_path / "moved, with 'quotes'")

    with running("sh", str(moved / f"{NAME}.command"), "--no-open") as address:
        assert "The order book" in at(address).get("/orders").words
        note = moved / "out" / ".desk"
        assert note.stat().st_mode & 0o077 == 0

        again = subprocess.run(
            [sys.executable, "-m", "sitegen", "--studio", moved, "desk", "--no-open"],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        assert address in again.stdout
        assert "already" in again.stdout


def test_a_starter_that_was_changed_by_hand_stays(tmp_path: Path) -> None:
    (tmp_path / f"{NAME}.bat").write_text("mine", "utf-8")
    put_starters(tmp_path)

    assert (tmp_path / f"{NAME}.bat").read_text("utf-8") == "mine"
    assert (tmp_path / f"{NAME}.command").stat().st_mode & 0o111


def test_the_desktop_entry_is_one(tmp_path: Path) -> None:
    """Keys that the Desktop Entry Specification 1.5 requires: Type, Name, Exec for an application."""
    put_starters(tmp_path)
    lines = (tmp_path / f"{NAME}.desktop").read_text("utf-8").splitlines()

    assert lines[0] == "[Desktop Entry]"
    assert {"Type", "Name", "Exec"} <= {line.partition("=")[0] for line in lines[1:]}


def test_a_desk_opens_before_the_site_is_built(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A first build may take minutes; she isn't to wait for it."""
    folder, built, found = makers.studio(tmp_path / "s"), threading.Event(), list[bool]()
    build = Preview.build

    def noted(showing: Preview) -> None:
        build(showing)
        built.set()

    def serve(showing: Preview, port: int) -> None:
        found.append((folder / "out" / "site").exists())
        assert built.wait(60)

    monkeypatch.setattr(Preview, "build", noted)
    jobs.desk(folder, jobs.DeskWish(), "2026-11-24", serve, print)

    assert found == [False]
    assert (folder / "out" / "site" / "index.html").is_file()


def test_a_page_as_written_makes_its_own_photos_ready_where_no_site_was_built(tmp_path: Path) -> None:
    own, other = makers.piece_yaml(), makers.piece_yaml("The Lamp Lighter", number="2026-02")
    folder = makers.studio(tmp_path / "s", {"ferry-ghost": own, "lamp-lighter": other})
    makers.photo(folder / "pieces" / "lamp-lighter" / "front.jpg", (10, 90, 60))
    with opened(folder) as visitor:
        slug = "ferry-ghost"
        fields = visitor.filled(f"/pieces/{slug}", "/sheet/story") | {"story": "As it is written."}
        said = json.loads(visitor.send(f"/pieces/{slug}/as-written", fields).text)
        page = visitor.desk.trials[f"pieces/{slug}/index.html"].decode()
        photos = len(visitor.desk.read().piece(slug).photos)  # type: ignore[union-attr]

    assert "seen" in said
    assert "As it is written." in page
    assert (
        len([pack for pack in (folder / "out" / ".pictures").rglob("*") if pack.suffix == ".pack"]) == photos
    )


def test_the_site_is_seen_in_another_theme_and_stays_as_it_is(tmp_path: Path) -> None:
    folder = makers.studio(tmp_path / "s")
    showing = Preview(folder, lambda _: None, base=base_of(folder), today="2026-11-24")
    showing.build()
    before = {file: file.read_bytes() for file in (folder / "out" / "site").rglob("*") if file.is_file()}
    with served(preview_of(showing)) as beside, opened(folder) as visitor:
        visitor.desk.preview = f"{beside}{showing.base}"
        own = visitor.get("/site").page.xpath("//iframe/@src")[0]
        other = visitor.get("/site?theme=handbill&page=gallery%2F").page.xpath("//iframe/@src")[0]

        (case, hand) = (at_once(own), at_once(other))
    assert other.endswith("/-/in/handbill/gallery/")
    assert case != hand
    assert b"Ferry Ghost" in hand
    assert {
        file: file.read_bytes() for file in (folder / "out" / "site").rglob("*") if file.is_file()
    } == before
    shutil.rmtree(folder / "out" / ".in")


def at_once(address: str) -> bytes:
    door = http.client.HTTPConnection(urlsplit(address).netloc, timeout=20)
    door.request("GET", urlsplit(address).path)
    found = door.getresponse().read()
    door.close()
    return found
