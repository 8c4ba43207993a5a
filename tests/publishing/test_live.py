"""After publishing the site is fetched and compared: `live` is as built, or what differs."""

from __future__ import annotations

import shutil
import socket
import threading
from pathlib import Path

import pytest

from sitegen.publishing import live
from sitegen.studio.settings import uri
from tests import makers
from tests.cli.runner import run
from tests.publishing.conftest import lives
from tests.publishing.servers import certificate, web
from tests.publishing.test_publish import retitle


def asked(root: Path) -> dict[str, str]:
    """Return the headers that the built site asks for."""
    lines = (root / "headers.txt").read_text().splitlines() if (root / "headers.txt").exists() else []
    return dict(tuple(line.split(": ", 1)) for line in lines)  # type: ignore[misc]


def test_live_is_as_built_or_what_differs_is_said(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also over TLS; a host that serves something else in between is found out, at once or later."""
    studio, root = shutil.copytree(made, tmp_path / "studio"), tmp_path / "web"
    root.mkdir()
    pem = certificate(tmp_path / "host.pem")
    monkeypatch.setenv("SSL_CERT_FILE", str(pem))
    with web(root, pem, headers=lambda path: asked(root)) as address:
        lives(studio, site=address, way="folder", folder=str(root))
        result = run(studio, "publish")
        assert result.exit_code == 0, result.output
        assert "live is as built" in result.output
        assert "the web" not in run(studio, "check", "--live").output

        page = root / "pieces/piece-0/index.html"
        offered = page.read_bytes()
        marked = run(studio, "piece", "mark", "piece-0", "sold", "--yes", "--publish")
        assert marked.exit_code == 0, marked.output
        assert "live is as built" in marked.output
        assert b'"Offer"' not in page.read_bytes()
        page.write_bytes(offered)
        (root / "style.css").unlink()
        told = run(studio, "check", "--live").output
        assert f"{address}pieces/piece-0/ still offers a piece" in told
        assert f"{address}style.css answers 404" in told
        assert "piece-1" not in told


def test_what_a_host_does_otherwise_is_said(made: Path, tmp_path: Path) -> None:
    studio, root = shutil.copytree(made, tmp_path / "studio"), tmp_path / "web"
    root.mkdir()
    with web(root) as address:
        lives(studio, site=address, way="folder", folder=str(root))
        result = run(studio, "publish")
    assert result.exit_code == 1
    assert "43 files put" in result.output or "files put" in result.output
    assert "without Content-Security-Policy and X-Content-Type-Options" in result.output
    lives(studio, site=address, way="folder", folder=str(root))
    retitle(studio, "piece-1", "Owl")
    gone = run(studio, "publish")
    assert gone.exit_code == 1
    assert "nothing could be compared" in gone.output


@pytest.mark.parametrize(("days", "said"), [(5, "ends in"), (-1, "expired")])
def test_a_certificate_near_its_end_or_behind_it(
    days: int, said: str, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    studio, root = shutil.copytree(made, tmp_path / "studio"), tmp_path / "web"
    root.mkdir()
    pem = certificate(tmp_path / "host.pem", days)
    monkeypatch.setenv("SSL_CERT_FILE", str(pem))
    with web(root, pem, headers=lambda path: asked(root)) as address:
        lives(studio, site=address, way="folder", folder=str(root))
        run(studio, "publish")
        told = run(studio, "check", "--live").output
    assert said in told


def test_a_link_that_died_is_named_with_its_page(made: Path, tmp_path: Path) -> None:
    studio, root, other = shutil.copytree(made, tmp_path / "studio"), tmp_path / "web", tmp_path / "other"
    root.mkdir()
    makers.write(other / "here.html", "<p>here</p>")
    with web(root, headers=lambda path: asked(root)) as address, web(other) as elsewhere:
        about = studio / "pages/about.md"
        about.write_text(f"# About\n\n[one]({elsewhere}here.html) [two]({elsewhere}gone.html)\n", "utf-8")
        lives(studio, site=address, way="folder", folder=str(root))
        run(studio, "publish")
        told = run(studio, "check", "--live").output
    assert f"about/index.html: the link to {elsewhere}gone.html is dead (404)" in told
    assert "here.html" not in told


def test_links_are_asked_for_as_a_browser_does(tmp_path: Path) -> None:
    """RFC 3987, 3.1: signs beyond ASCII are sent as percent signs of UTF-8; HTML, 13.5: `&#39;` is an apostrophe."""
    for name in ("Käthe.html", "it's.html"):
        makers.write(tmp_path / "other" / name, "here")
    with web(tmp_path / "other") as address:
        names = ("Käthe.html", "K%C3%A4the.html#top", "it&#39;s.html", "gone.html")
        links = "".join(f'<a href="{address}{name}">x</a>' for name in names)
        makers.write(tmp_path / "site/index.html", f'{links}<a href="http://[/">x</a>')
        told = [*live.dead_links(tmp_path / "site", "https://lantern.example/")]

    assert told[0] == f"index.html: the link to {address}gone.html is dead (404)."
    assert [said.partition(" is dead")[0] for said in told[1:]] == ["index.html: the link to http://[/"]


def test_hosts_are_named_by_one_rule_with_their_port() -> None:
    """UTS 46, non-transitional as browsers have it: faß is xn--fa-hia, and not fass (from memory)."""
    assert uri("https://faß.example:8080/ä?q=1#top") == "https://xn--fa-hia.example:8080/%C3%A4?q=1#top"
    assert uri("http://[::1]:80/") == "http://[::1]:80/"


def test_a_link_to_a_stream_without_end_is_alive() -> None:
    """Whoever asks takes no more than it needs."""
    door, enough = socket.create_server(("127.0.0.1", 0)), threading.Event()

    def serve() -> None:
        for answer in (b"HTTP/1.1 405 Not\r\nContent-Length: 0\r\n\r\n", b"HTTP/1.1 200 OK\r\n\r\nbegin"):
            line, _ = door.accept()
            with line:
                line.recv(4096)
                line.sendall(answer)
                if b"200" in answer:
                    enough.wait(60)

    thread = threading.Thread(target=serve)
    thread.start()
    got = live._asked(f"http://127.0.0.1:{door.getsockname()[1]}/")
    enough.set()
    thread.join()
    door.close()
    assert (got.status, got.body) == (200, b"")
