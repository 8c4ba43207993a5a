"""The whole desk killed, or closed, in mid-deed: nobody gets two letters, nothing is half, doubt is named."""

from __future__ import annotations

import os
import re
import signal
import socket
import subprocess
import sys
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import urlsplit

import pytest

from sitegen.browser.desk import Workplace
from tests.browser.conftest import TODAY, Visitor
from tests.browser.test_letters import Counting, made, post, recipients, with_crowd
from tests.browser.test_pieces import with_files
from tests.cli.runner import contents
from tests.letters.office import serving

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(os.name == "nt", reason="kill -9 and Ctrl-C to one process are POSIX"),
]


@contextmanager
def a_desk(folder: Path) -> Iterator[tuple[subprocess.Popen[str], Visitor]]:
    """Open the desk as the artist does, in a process of its own."""
    command = [
        sys.executable,
        "-m",
        "sitegen",
        "--studio",
        str(folder),
        "--today",
        TODAY,
        "desk",
        "--no-open",
    ]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, encoding="utf-8"
    )
    try:
        assert process.stdout is not None
        said = process.stdout.readline()
        found = re.search(r"(http://\S+)/in/(\S+)", said)
        assert found is not None, said
        # The forms' word is worked out of the key, so that a stand-in for that desk knows it too.
        desk = Workplace(folder, TODAY, key=found[2])
        yield process, Visitor(f"http://{urlsplit(found[1]).netloc}", desk)
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate(timeout=60)


def look_until_ended(visitor: Visitor, ident: str) -> str:
    """Ask as an open page does, until nothing goes out any more; return what the page says."""
    while '"ended":false' in visitor.get(f"/letters/{ident}/now").text:
        threading.Event().wait(0.05)
    return visitor.get(f"/letters/{ident}").words


@pytest.mark.parametrize("at", [4, *(pytest.param(at, marks=pytest.mark.long) for at in (1, 13))])
def test_killed_in_mid_post(studio: Path, at: int) -> None:
    """The letter in hand is in doubt and named; each other one is had once, or goes out next time."""
    office = Counting(at=at)
    with serving(office) as door:
        with a_desk(with_crowd(studio)) as (process, visitor):
            ident = made(visitor)
            everybody = recipients(visitor, ident)
            office.then = lambda: os.kill(process.pid, signal.SIGKILL)
            assert post(visitor, ident, door).status == 303
            assert process.wait(60) == -signal.SIGKILL
        with a_desk(studio) as (_, visitor):
            before = visitor.get(f"/letters/{ident}")
            (doubtful,) = before.page.xpath(
                "//form[contains(@action, 'settle')]/input[@name='address']/@value"
            )[::2]
            assert "Whether 1 person got it, nobody knows." in before.words
            if len(everybody) > at:
                post(visitor, ident, door)
            after = look_until_ended(visitor, ident)

    taken = Counter(address.casefold() for address, _ in office.taken)
    assert len(everybody) == 13
    assert max(taken.values()) == 1
    assert set(everybody) - {doubtful.casefold()} <= set(taken)
    assert taken[doubtful.casefold()] == 1  # this office took it, and nobody here can know that
    assert f"{len(everybody) - 1} have it" in after.replace("All ", "")


@pytest.mark.parametrize("how", [signal.SIGINT, pytest.param(signal.SIGTERM, marks=pytest.mark.long)])
def test_closed_while_a_letter_goes_out(studio: Path, how: signal.Signals) -> None:
    """Ctrl-C: the letter in hand is finished, the next isn't begun, and the terminal says how far it is."""
    office = Counting(at=4)
    with serving(office) as door, a_desk(with_crowd(studio)) as (process, visitor):
        ident = made(visitor)

        said = threading.Event()

        def close() -> None:
            os.kill(process.pid, how)
            said.wait(60)

        office.then = close
        post(visitor, ident, door)
        assert process.stdout is not None
        first = process.stdout.readline()
        said.set()
        rest, _ = process.communicate(timeout=60)

    assert process.returncode == 0
    assert len(office.taken) == 4
    assert ident in first
    assert "4 posted, 9 to go" in rest
    assert "Traceback" not in rest
    with serving(office) as door, a_desk(studio) as (_, visitor):
        post(visitor, ident, door)
        after = look_until_ended(visitor, ident)
    taken = Counter(address for address, _ in office.taken)
    assert max(taken.values()) == 1
    assert len(taken) == 13
    assert "All 13 have it." in after
    assert "in doubt" not in after.casefold()


def test_killed_with_half_a_photo_brought(studio: Path) -> None:
    """What had come is gone, the piece is as it was; the next desk takes the photo and keeps nothing beside it."""
    piece = studio / "pieces" / "ferry-ghost"
    before, photo = contents(piece), contents(piece)["front.jpg"]
    with a_desk(studio) as (process, visitor):
        head, tail = b'--x\r\nContent-Disposition: form-data; name="', b"\r\n--x--\r\n"
        body = head + b'mark"\r\n\r\n' + visitor.desk.mark.encode() + b"\r\n"
        body += head + b'photos"; filename="side.jpg"\r\n\r\n' + photo
        with socket.create_connection(("127.0.0.1", int(visitor.host.partition(":")[2]))) as door:
            door.sendall(
                f"POST /pieces/ferry-ghost/photos HTTP/1.1\r\nHost: {visitor.host}\r\nCookie: {visitor.cookie}\r\n"
                f"Origin: {visitor.address}\r\nContent-Type: multipart/form-data; boundary=x\r\n"
                f"Content-Length: {len(body) + len(tail)}\r\n\r\n".encode()
                + body
            )
            assert visitor.get("/pieces/ferry-ghost").status == 200  # so it has come in, and is waited for
            process.kill()
            process.wait(60)
    assert contents(piece) == before

    with a_desk(studio) as (_, visitor):
        got = with_files(
            visitor, "/pieces/ferry-ghost/photos", {"mark": visitor.desk.mark}, [("side.jpg", photo)]
        )
        assert "side.jpg" in visitor.after(got).words
        assert contents(piece)["side.jpg"] == photo
        assert contents(studio / "out" / ".incoming") == {}
