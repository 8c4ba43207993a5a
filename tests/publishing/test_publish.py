"""`publish`: what was built is there, byte for byte; what isn't ours is as it was."""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import asyncssh
import pytest
from click.testing import Result

from sitegen.publishing.hosts import FolderHost
from tests import makers
from tests.cli.runner import contents, run
from tests.publishing.conftest import lives
from tests.publishing.servers import PASSWORD, USER, Manners, certificate, ftps, sftp

WAYS = ["folder", "sftp", pytest.param("ftps", marks=pytest.mark.long)]


class Abroad:
    """A studio, and the place where its site lives."""

    def __init__(self, studio: Path, root: Path, manners: Manners) -> None:
        self.studio, self.root, self.manners = studio, root, manners

    def publish(self, *words: str) -> Result:
        return run(self.studio, "publish", "--yes", *words)

    def built(self) -> dict[str, bytes]:
        """Return what is to be there."""
        return contents(self.studio / "out/site")

    def there(self) -> dict[str, bytes]:
        """Return what is there, but for the list."""
        return {path: body for path, body in contents(self.root).items() if path != "published.sha256"}


@contextlib.contextmanager
def abroad(way: str, made: Path, place: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Abroad]:
    """Let a studio's site live at the end of a way."""
    studio, root, manners = place / "studio", place / "web", Manners()
    shutil.copytree(made, studio)
    root.mkdir()
    monkeypatch.setenv("SITEGEN_PUBLISH_PASSWORD", PASSWORD)
    at: dict[str, str | int] = {"way": way, "host": "127.0.0.1", "user": USER}
    with contextlib.ExitStack() as stack:
        if way == "folder":
            at = {"way": way, "folder": str(root)}
        elif way == "sftp":
            at["port"] = stack.enter_context(sftp(root, manners))
        else:
            pem = certificate(place / "host.pem")
            monkeypatch.setenv("SSL_CERT_FILE", str(pem))
            at["port"] = stack.enter_context(ftps(root, pem, manners))
        yield Abroad(lives(studio, **at), root, manners)


@pytest.fixture(params=WAYS)
def place(
    request: pytest.FixtureRequest, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Abroad]:
    with abroad(request.param, made, tmp_path, monkeypatch) as found:
        yield found


def retitle(studio: Path, slug: str, title: str) -> None:
    file = studio / "pieces" / slug / "piece.yaml"
    file.write_text(file.read_text("utf-8").replace("title: Piece", f"title: {title}"), "utf-8")


def test_the_site_is_there_and_then_only_what_changed(place: Abroad) -> None:
    """The list can be checked with coreutils' sha256sum; nothing else is left there."""
    notes = place.root / "pieces" / "notes.txt"
    makers.write(notes, "not ours")
    result = place.publish()

    assert result.exit_code == 0, result.output
    assert place.there() == {**place.built(), "pieces/notes.txt": b"not ours"}
    checked = subprocess.run(["sha256sum", "--check", "--strict", "published.sha256"], cwd=place.root, check=False, capture_output=True)  # fmt: skip
    assert checked.returncode == 0, checked.stdout

    retitle(place.studio, "piece-1", "Owl")
    looked = place.publish("--look")
    assert "pieces/piece-1/index.html" in looked.output
    assert "nothing was changed" in looked.output
    assert b"Owl" not in place.there()["pieces/piece-1/index.html"]

    again = place.publish()
    assert again.exit_code == 0, again.output
    assert "pieces/piece-0/index.html" not in looked.output
    assert place.there() == {**place.built(), "pieces/notes.txt": b"not ours"}
    assert "0 files put, 0 taken away" in place.publish().output


def test_what_is_no_longer_built_goes_and_nothing_else(place: Abroad) -> None:
    place.publish()
    notes = makers.write(place.root / "pieces" / "piece-2" / "notes.txt", "not ours")
    for slug in ("piece-1", "piece-2"):
        shutil.rmtree(place.studio / "pieces" / slug)
    result = place.publish()

    assert result.exit_code == 0, result.output
    assert place.there() == {**place.built(), "pieces/piece-2/notes.txt": b"not ours"}
    assert not (place.root / "pieces" / "piece-1").exists()
    assert notes.exists()


def test_what_lies_in_the_way_stays_until_it_is_given_up(place: Abroad) -> None:
    (place.root / "index.html").write_text("The host's own welcome.")
    result = place.publish()

    assert result.exit_code == 1
    assert "index.html" in result.output
    assert "Nothing was changed" in result.output
    assert place.there() == {"index.html": b"The host's own welcome."}
    assert place.publish("--replace").exit_code == 0
    assert place.there() == place.built()


def test_names_of_any_make_there_hide_nothing_of_anybody_elses(place: Abroad) -> None:
    """RFC 959 and the SFTP draft hand names on as octets; Latin-1's are no UTF-8 (ISO/IEC 8859-1)."""
    for folder in (place.root, place.root / "pieces/piece-0"):
        folder.mkdir(parents=True, exist_ok=True)
        Path(os.fsdecode(os.fsencode(folder) + b"/K\xfcnste.txt")).write_text("not ours")
    page = makers.write(place.root / "pieces/piece-0/index.html", "not ours")
    result = place.publish()

    assert "lies already: pieces/piece-0/index.html;" in " ".join(result.output.split())
    page.unlink()
    result = place.publish()
    assert result.exit_code == 0, result.output
    odd = {path: body for path, body in place.there().items() if body == b"not ours"}
    assert len(odd) == 2
    assert place.there() == {**place.built(), **odd}


def test_another_machine_goes_on_and_a_lost_list_forgets_nothing(place: Abroad, tmp_path: Path) -> None:
    """Without what is kept at home the list there tells all; without the list, what is kept at home does."""
    place.publish()
    shutil.rmtree(place.studio / "sent/published")
    shutil.rmtree(place.studio / "pieces/piece-2")
    assert place.publish().exit_code == 0
    assert place.there() == place.built()

    (place.root / "published.sha256").unlink()
    shutil.rmtree(place.studio / "pieces/piece-1")
    result = place.publish()
    assert result.exit_code == 0, result.output
    assert place.there() == place.built()


@pytest.mark.parametrize(
    "line", ["../../people.csv", "/etc/passwd", "a/../../b", ".htaccess", "a\\b", "pieces//x"]
)
def test_a_list_that_leads_elsewhere_is_not_followed(
    line: str, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with abroad("folder", made, tmp_path, monkeypatch) as place:
        place.publish()
        kept = makers.write(tmp_path / "people.csv", "kept")
        with (place.root / "published.sha256").open("a") as listed:
            listed.write(f"{'0' * 64}  {line}\n")
        before = contents(place.root)
        retitle(place.studio, "piece-1", "Owl")
        result = place.publish()

        assert result.exit_code == 1
        assert "has been changed by something else" in result.output
        assert contents(place.root) == before
        assert kept.read_text() == "kept"


def test_a_link_there_leads_nothing_out_of_the_site(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with abroad("folder", made, tmp_path, monkeypatch) as place:
        home = tmp_path / "home"
        home.mkdir()
        (place.root / "pictures").symlink_to(home)
        result = place.publish()

        assert result.exit_code == 1
        assert "outside of the site" in result.output
        assert list(home.iterdir()) == []


async def _no_right(_host: FolderHost, path: str, _content: bytes) -> None:
    raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), path)


@pytest.mark.parametrize(
    ("way", "lack", "said"),
    [
        ("sftp", "full", "No space left"),
        ("ftps", "denied", "Permission denied"), ("folder", "denied", "Permission denied"),
        pytest.param("ftps", "full", "Disk full", marks=pytest.mark.long),
        pytest.param("sftp", "denied", "Permission denied", marks=pytest.mark.long),
    ],
)  # fmt: skip
def test_no_room_and_no_rights_are_sentences_and_the_next_run_goes_on(
    way: str, lack: str, said: str, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with abroad(way, made, tmp_path, monkeypatch) as place:
        place.publish()
        before = place.there()
        retitle(place.studio, "piece-1", "Owl")
        setattr(place.manners, lack, True)
        with monkeypatch.context() as here:
            if way == "folder":
                here.setattr(FolderHost, "_store", _no_right)
            result = place.publish()

        assert result.exit_code == 1
        assert f"{place.root if way == 'folder' else '127.0.0.1'} refuses" in result.output.replace("\n", " ")
        assert said in result.output
        assert "one that you may write to" in " ".join(result.output.split())
        assert "Traceback" not in result.output
        assert place.there() == before
        setattr(place.manners, lack, False)
        assert place.publish().exit_code == 0
        assert place.there() == place.built()


@pytest.mark.parametrize(
    ("way", "renames"), [("sftp", True), pytest.param("ftps", True, marks=pytest.mark.long), ("ftps", False)]
)
def test_a_host_that_renames_over_nothing_or_not_at_all(
    way: str, renames: bool, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with abroad(way, made, tmp_path, monkeypatch) as place:
        place.manners.renames_over, place.manners.renames = False, renames
        for _ in range(2):
            result = place.publish()
            assert result.exit_code == 0, result.output
            assert place.there() == place.built()
            assert ("renames no file" in result.output) is not renames
            retitle(place.studio, "piece-1", "Owl")


@pytest.mark.parametrize("over", [True, False])
def test_over_sftp_a_refused_rename_is_a_fault_and_pages_stay_whole(
    over: bool, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whether the host swaps in one step, or first takes away what was there: a page is the old or the new one."""
    with abroad("sftp", made, tmp_path, monkeypatch) as place:
        assert place.publish().exit_code == 0
        pages = {name: content for name, content in place.there().items() if name.endswith(".html")}
        place.manners.renames_over, place.manners.renames = over, False
        retitle(place.studio, "piece-1", "Owl")
        assert place.publish().exit_code == 1
        after, built = place.there(), place.built()
        assert [name for name in pages if after.get(name) not in (pages[name], built[name])] == []
        if over:
            assert {name: after[name] for name in pages} == pages
        place.manners.renames_over = place.manners.renames = True
        assert place.publish().exit_code == 0
        assert place.there() == place.built()


def test_another_key_than_at_the_first_visit_is_refused(
    made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SITEGEN_PUBLISH_PASSWORD", PASSWORD)
    studio, root = shutil.copytree(made, tmp_path / "studio"), tmp_path / "web"
    root.mkdir()
    key = asyncssh.generate_private_key("ssh-ed25519")
    with sftp(root, key=key) as port:
        lives(studio, way="sftp", host="127.0.0.1", port=port, user=USER)
        refused = run(studio, "publish")
        assert refused.exit_code == 1
        assert key.get_fingerprint() in refused.output
        assert list(root.iterdir()) == []
        assert run(studio, "publish", "--yes").exit_code == 0
        assert run(studio, "publish").exit_code == 0
    kept = studio / "sent/published/known_hosts"
    other = asyncssh.generate_private_key("ssh-ed25519").export_public_key().decode().strip()
    kept.write_text(f"[127.0.0.1]:{port} {other}\n")
    before = contents(root)
    with sftp(root, key=key) as port:
        kept.write_text(f"[127.0.0.1]:{port} {other}\n")
        lives(studio, way="sftp", host="127.0.0.1", port=port, user=USER)
        result = run(studio, "publish", "--yes")

    assert result.exit_code == 1
    assert "another key" in result.output
    assert contents(root) == before
    for torn in (f"[127.0.0.1]:{port} ssh-ed2".encode(), b"\xff\xfe"):
        kept.write_bytes(torn)
        result = run(studio, "publish", "--yes")
        assert result.exit_code == 1
        assert "the key of 127.0.0.1 can't be read in sent/published/known_hosts" in result.output


@pytest.mark.parametrize("days", [-1, None])
def test_no_trust_no_password(
    days: int | None, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An expired certificate, or plain FTP: the password isn't sent."""
    monkeypatch.setenv("SITEGEN_PUBLISH_PASSWORD", PASSWORD)
    studio, root, manners = shutil.copytree(made, tmp_path / "studio"), tmp_path / "web", Manners()
    root.mkdir()
    pem = certificate(tmp_path / "host.pem", days) if days else None
    monkeypatch.setenv("SSL_CERT_FILE", str(pem or ""))
    with ftps(root, pem, manners) as port:
        lives(studio, way="ftps", host="127.0.0.1", port=port, user=USER)
        result = run(studio, "publish")

    assert result.exit_code == 1
    assert ("expired" if days else "can't make the connection private") in result.output
    assert not {"user", "pass", "stor"} & set(manners.seen)
    assert list(root.iterdir()) == []


@pytest.mark.parametrize("way", ["sftp", "ftps"])
def test_a_wrong_password_and_a_wrong_folder_are_sentences(
    way: str, made: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with abroad(way, made, tmp_path, monkeypatch) as place:
        file = place.studio / "studio.yaml"
        file.write_text(file.read_text("utf-8") + "  folder: nowhere\n", "utf-8")
        result = place.publish()
        assert result.exit_code == 1
        assert "has no folder nowhere" in result.output
        monkeypatch.setenv("SITEGEN_PUBLISH_PASSWORD", "wrong")
        result = place.publish()
        assert result.exit_code == 1
        assert "doesn't take this user" in result.output


@pytest.mark.parametrize(
    ("block", "said"),
    [
        ({"way": "ftp", "host": "h.example", "user": "u"}, "plain ftp"),
        ({"way": "sftp", "user": "u"}, "`host:`"),
        ({"way": "folder"}, "`folder:`"),
        ({"way": "sftp", "host": "sftp://h.example/x", "user": "u"}, "no server's name"),
    ],
)
def test_what_cannot_be_meant_is_told_with_its_line(
    block: dict[str, str | int], said: str, tmp_path: Path
) -> None:
    result = run(lives(makers.studio(tmp_path / "s", {}), **block), "publish")

    assert result.exit_code == 1
    assert said in result.output
    assert "studio.yaml, line" in result.output
