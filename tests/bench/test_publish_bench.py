"""Speed of publishing, as ratios against the protocol's bare copy of the same files in the same run; figures with -s."""

from __future__ import annotations

import asyncio
import ftplib
import os
import shutil
import ssl
import time
from collections.abc import Callable
from pathlib import Path

import asyncssh
import pytest

from sitegen.jobs import publish as jobs
from tests.bench import catalogue
from tests.cli.runner import TODAY, run
from tests.publishing.conftest import lives
from tests.publishing.servers import PASSWORD, USER, apart, certificate

pytestmark = pytest.mark.bench
# A thousand by `SITEGEN_PIECES=1000`, as measured in MEASUREMENTS.md.
PIECES = int(os.environ.get("SITEGEN_PIECES", "200"))


@pytest.fixture(scope="module")
def big(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a studio of many pieces with a small photograph each, built."""
    home = tmp_path_factory.mktemp("big")
    studio = catalogue.studio(home / "studio", PIECES, catalogue.album(home / "album", (600, 800), 1))
    assert run(studio, "build").exit_code == 0
    return studio


def _bare_sftp(site: Path, port: int) -> None:
    """Copy a folder as asyncssh does it by itself."""

    async def copy() -> None:
        async with (
            asyncssh.connect(
                "127.0.0.1", port, username=USER, password=PASSWORD, known_hosts=None, config=None
            ) as line,
            line.start_sftp_client() as door,
        ):
            for path in sorted(site.iterdir()):
                await door.put(str(path), path.name, recurse=True)

    asyncio.run(copy())


def _bare_ftps(site: Path, port: int) -> None:
    """Copy a folder as the standard library does it by itself."""
    with ftplib.FTP_TLS(context=ssl.create_default_context()) as line:  # noqa: S321
        line.connect("127.0.0.1", port)
        line.login(USER, PASSWORD)
        line.prot_p()
        for file in sorted(site.rglob("*")):
            path = file.relative_to(site).as_posix()
            if file.is_dir():
                line.mkd(path)
            else:
                with file.open("rb") as stream:
                    line.storbinary(f"STOR {path}", stream)


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


@pytest.mark.parametrize("way", ["sftp", pytest.param("ftps", marks=pytest.mark.long)])
def test_a_first_publishing_costs_little_more_than_the_bare_copy(
    way: str, big: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All of it at 1.3 times the bare copy; then one piece sold: at most ten files, and a small part of that time.

    The host is a process of its own: within one, both would wait for each other.
    """
    pem = certificate(tmp_path / "host.pem")
    monkeypatch.setenv("SSL_CERT_FILE", str(pem))
    monkeypatch.setenv("SITEGEN_PUBLISH_PASSWORD", PASSWORD)
    site, bare, root = big / "out/site", tmp_path / "bare", tmp_path / "web"
    bare.mkdir()
    root.mkdir()
    shutil.rmtree(big / "sent/published", ignore_errors=True)
    with apart(way, bare, pem) as port:
        floor = _timed(lambda: (_bare_sftp if way == "sftp" else _bare_ftps)(site, port))
    with apart(way, root, pem) as port:
        lives(big, way=way, host="127.0.0.1", port=port, user=USER)
        assert run(big, "build").exit_code == 0

        def publish() -> jobs.Published:
            return jobs.publish(big, jobs.PublishWish(sure=True), TODAY, lambda answer: True)

        ours = _timed(publish)
        slug = next(
            path.parent.name
            for path in sorted(big.glob("pieces/*/piece.yaml"))
            if "available" in path.read_text("utf-8")
        )
        assert run(big, "piece", "mark", slug, "sold", "--yes").exit_code == 0
        assert run(big, "build").exit_code == 0
        start = time.perf_counter()
        done = publish()
        one = time.perf_counter() - start
        files = sum(1 for path in site.rglob("*") if path.is_file())
    print(
        f"\n{way}, {files} files: bare {floor:.1f} s, first {ours:.1f} s ({ours / floor:.2f} x); "
        f"one piece sold: {len(done.course.put)} files, {one:.2f} s"
    )

    assert len(done.course.put) + 1 <= 10
    assert ours <= 1.3 * floor
    assert one <= max(0.25 * floor, floor / 30 + 2)
