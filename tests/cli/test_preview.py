"""The preview: a local address, complaints on the page, the last good site stays."""

from __future__ import annotations

import http.client
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

from sitegen.browser.preview import preview_of
from sitegen.browser.serving import served
from sitegen.jobs import where
from sitegen.jobs.build import build
from sitegen.jobs.preview import Preview, base_of
from sitegen.jobs.unchanged import stamps, studio_key_of
from sitegen.jobs.where import one_at_a_time
from sitegen.site import placing
from tests import makers
from tests.cli.runner import TODAY, contents, run

Answer = tuple[int, str, bytes]


class Visit:
    """A preview that runs, and what its terminal said."""

    def __init__(self, folder: Path) -> None:
        self.said: list[str] = []
        self.showing = Preview(folder, self.said.append, base=base_of(folder), today=TODAY)
        self.showing.build()
        self.open = ExitStack()
        address = self.open.enter_context(served(preview_of(self.showing)))
        self.port = int(address.rpartition(":")[2])

    def get(self, path: str, host: str | None = None) -> Answer:
        door = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        door.request("GET", path, headers={"Host": host or f"127.0.0.1:{self.port}"})
        answer = door.getresponse()
        found = answer.status, answer.getheader("Location") or "", answer.read()
        door.close()
        return found

    def stop(self) -> None:
        self.open.close()


def begun(folder: Path) -> Path:
    made = makers.studio(folder)
    makers.write(made / "studio.yaml", makers.STUDIO.replace("lantern.example/", "host.example/dolls/"))
    return made


@pytest.fixture
def fresh(tmp_path: Path) -> Path:
    return begun(tmp_path / "s")


@pytest.fixture(scope="module")
def visit(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Visit]:
    """One preview for all."""
    visit = Visit(begun(tmp_path_factory.mktemp("preview") / "s"))
    yield visit
    visit.stop()


@pytest.fixture
def folder(visit: Visit) -> Iterator[Path]:
    """Its studio; a changed piece is put back, what was added is removed."""
    folder, piece = visit.showing.folder, visit.showing.folder / "pieces" / "ferry-ghost" / "piece.yaml"
    text, before = piece.read_text("utf-8"), set(folder.rglob("*"))
    yield folder
    makers.write(piece, text)
    for path in set(folder.rglob("*")) - before:
        if path.is_symlink() or path.name in {"care.md", "old.html"}:
            path.unlink()


def test_the_site_is_shown_at_the_path_it_will_have(visit: Visit) -> None:
    status, _, page = visit.get("/dolls/")

    assert status == 200
    assert b"Lantern &amp; Loam" in page
    assert visit.get("/")[:2] == (302, "/dolls/")
    assert visit.get("/dolls/pieces/ferry-ghost/")[0] == 200
    assert visit.get("/dolls/style.css")[0] == 200


def test_what_is_not_there_gets_the_sites_own_page(visit: Visit) -> None:
    assert visit.get("/dolls/nowhere/")[0] == 404


@pytest.mark.parametrize(
    "path", ["/dolls/../../studio.yaml", "/dolls/%2e%2e/%2e%2e/studio.yaml", "/dolls//etc/passwd"]
)
def test_nothing_outside_the_site_is_served(visit: Visit, path: str) -> None:
    status, _, page = visit.get(path)

    assert status in {302, 404}
    assert b"currency" not in page
    assert b"root:" not in page


def test_another_sites_page_cannot_read_it_under_its_own_name(visit: Visit) -> None:
    assert visit.get("/dolls/", host="evil.example")[0] == 403


def test_a_bad_file_is_told_on_the_page_and_in_the_terminal_and_the_site_stays(
    visit: Visit, folder: Path
) -> None:
    before = contents(folder / "out" / "site")
    makers.write(folder / "pieces" / "ferry-ghost" / "piece.yaml", makers.piece_yaml(status="<b>gone"))

    visit.showing.build()
    broken = visit.get("/dolls/")[2]
    makers.write(folder / "pieces" / "ferry-ghost" / "piece.yaml", makers.piece_yaml(status="sold"))
    visit.showing.build()
    mended = visit.get("/dolls/")[2]

    assert b"line 2: status &#x27;&lt;b&gt;gone&#x27; is not one of" in broken
    assert b"Lantern &amp; Loam" in broken
    assert any("is not one of" in line for line in visit.said)
    assert b"is not one of" not in mended
    assert contents(folder / "out" / "site") != before
    assert b"/-/again.js" not in contents(folder / "out" / "site")["index.html"]


def test_an_open_page_hears_of_each_build(visit: Visit) -> None:
    first = visit.get("/-/version")[2]

    visit.showing.build()

    assert visit.get("/-/version")[2] != first


def test_a_build_of_its_own_does_not_look_like_a_change(visit: Visit, folder: Path) -> None:
    seen = studio_key_of(folder)
    visit.showing.build()

    assert studio_key_of(folder) == seen
    makers.write(folder / "pages" / "care.md", "# Care\n\nDust.\n")
    assert studio_key_of(folder) != seen


@pytest.mark.parametrize(
    "path",
    ["/dolls/%00", "/dolls/" + "x" * 5000, "/dolls/a%2F..%2F..%2F..%2Fpeople.csv", "/dolls/%ff%fe", "/dolls/index.html/x",
     "/dolls/../../people.csv", "/dolls/%5c..%5cpeople.csv", "/dolls//", "/dolls/circle", "/dolls/?a=%00#b"],
)  # fmt: skip
def test_an_odd_address_gets_an_answer(visit: Visit, folder: Path, path: str) -> None:
    """A page or the page that says there's none, never a connection that drops; nothing but the site is shown."""
    (folder / "out" / "site" / "circle").symlink_to(folder / "out" / "site" / "circle")
    status, _, page = visit.get(path)

    assert status in {200, 404}
    assert b"ana@mail.example" not in page


def test_links_that_lead_nowhere_or_in_a_circle_do_not_stop_the_preview(visit: Visit, folder: Path) -> None:
    """Nor a build."""
    (folder / "pieces" / "nowhere").symlink_to(folder / "no-such-folder")
    (folder / "pages" / "lost.txt").symlink_to(folder / "no-such-file")
    (folder / "shows" / "circle").symlink_to(folder)
    visit.showing.build()

    assert visit.showing.complaint == ""
    assert any("lost.txt" in path for path, _ in stamps(folder, "out", "sent"))


def test_a_page_of_somebody_else_in_another_encoding_is_shown_as_it_is(visit: Visit, folder: Path) -> None:
    (folder / "out" / "site" / "old.html").write_bytes("<body>Käfer".encode("latin-1"))

    assert visit.get("/dolls/old.html")[2] == "<body>Käfer".encode("latin-1")


def killed_in_a_change(folder: Path) -> None:
    """Leave a site as a build does that is killed once one of its files has taken its place."""
    replace, placed = Path.replace, list[Path]()

    def once(ready: Path, target: Path) -> Path:
        if folder / "out" / "site" in target.parents:
            if placed:
                raise SystemExit
            placed.append(target)
        return replace(ready, target)

    makers.write(folder / "studio.yaml", makers.STUDIO.replace("Figures that have", "Dolls that have"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Path, "replace", once)
        patch.setattr(placing, "_turn_back", lambda *_: None)
        patch.setattr(placing, "_tidy", lambda *_: None)
        with pytest.raises(SystemExit):
            build(folder, TODAY)


def test_a_preview_never_shows_a_site_in_the_middle_of_a_change(fresh: Path) -> None:
    """What a killed build began is turned back before a page is shown, also while the files are at fault."""
    build(fresh, TODAY)
    before = contents(fresh / "out" / "site")
    killed_in_a_change(fresh)
    half = contents(fresh / "out" / "site")
    makers.write(fresh / "studio.yaml", makers.STUDIO.replace("currency: EUR", "currency: none"))
    visit = Visit(fresh)
    try:
        visit.get("/")
    finally:
        visit.stop()

    assert before != half
    assert contents(fresh / "out" / "site") == before


def test_any_command_turns_back_what_a_killed_build_began(fresh: Path) -> None:
    """Also one that writes nothing of its own; while a build is at work it isn't disturbed."""
    build(fresh, TODAY)
    before = contents(fresh / "out" / "site")
    killed_in_a_change(fresh)
    half = contents(fresh / "out")
    with pytest.MonkeyPatch.context() as patch, one_at_a_time(fresh / "out"):
        patch.setattr(where, "_PATIENCE", 0.0)
        run(fresh, "people", "list")
        assert contents(fresh / "out") == half
    run(fresh, "people", "list")

    assert not (fresh / "out" / ".site-change.json").exists()
    assert not (fresh / "out" / ".site-before").exists()
    assert contents(fresh / "out" / "site") == before
