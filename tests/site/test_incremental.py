"""A build after any edits gives the same bytes as one from nothing, and sets only the pages they touch."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sitegen.carried import carried
from sitegen.disk import write_note
from sitegen.jobs.build import build
from sitegen.site import placing
from sitegen.site.house import Content
from sitegen.site.placing import Places, SiteChange
from sitegen.studio.asked import Fault
from tests import makers

pytestmark = pytest.mark.slow

DAY = "2026-11-25"
_STATUSES = ("in progress", "available", "on hold", "sold", "commissioned", "not for sale")
_STORIES = (
    "She never pays the fare.",
    "Read about [the care](care) first.",
    "A sister of [the heron](pieces/heron).",
    "|\n  ## Long ago\n\n  She *waited*.",
)
_SLUGS = ("moth", "heron", "wren", "newt")

Edit = Callable[[Path], None]


def pieces_at_start() -> dict[str, str]:
    """Return four pieces, two of them in a series and linked in words."""
    return {
        "moth": makers.piece_yaml("The Moth", number="2026-01", story=_STORIES[2]),
        "heron": makers.piece_yaml("The Heron", "sold", number="2026-02", finished="2025-03-02"),
        "wren": makers.piece_yaml("The Wren", number="2026-03", series="", story=_STORIES[1]),
        "newt": makers.piece_yaml("The Newt", "commissioned", number="2025-04", finished="2024-12-31"),
    }


def studio(folder: Path) -> Path:
    """Write a studio with pages for its links to lead to."""
    made = makers.studio(folder, pieces_at_start())
    makers.write(made / "pages" / "care.md", "# Care\n\nDust with a [dry brush](shipping).\n")
    makers.write(made / "pages" / "shipping.md", "# Shipping\n\nIn a box.\n")
    return made


def rewritten(file: str, change: Callable[[str], str]) -> Edit:
    """Return an edit of one file of a studio."""

    def edit(folder: Path) -> None:
        path = folder / file
        if path.is_file():
            path.write_text(change(path.read_text("utf-8")), "utf-8")

    return edit


def set_line(file: str, name: str, value: str) -> Edit:
    """Return an edit that gives a top-level line another value."""

    def change(text: str) -> str:
        head, found, rest = text.partition(f"\n{name}: ")
        return f"{head}{found}{value}\n{rest.partition(chr(10))[2]}" if found else text

    return rewritten(file, change)


def add(number: int) -> Edit:
    """Return an edit that adds a piece."""

    def edit(folder: Path) -> None:
        text = makers.piece_yaml(f"New {number}", number=f"2027-{number:02}", finished="2026-06-01")
        makers.add_piece(folder, f"new-{number}", text)

    return edit


def remove(slug: str) -> Edit:
    """Return an edit that takes a piece away, and every link to it."""

    def edit(folder: Path) -> None:
        shutil.rmtree(folder / "pieces" / slug, ignore_errors=True)
        for file in (folder / "pieces").glob("*/piece.yaml"):
            file.write_text(file.read_text("utf-8").replace(f"(pieces/{slug})", "(care)"), "utf-8")

    return edit


def retake(slug: str, shade: int) -> Edit:
    """Return an edit that puts another photo under the same name."""

    def edit(folder: Path) -> None:
        if (folder / "pieces" / slug).is_dir():
            makers.photo(folder / "pieces" / slug / "front.jpg", (shade, 90, 60), (300 + shade, 400))

    return edit


def spoil(file: str) -> Edit:
    """Return an edit that deletes or defaces something below out."""

    def edit(folder: Path) -> None:
        path = folder / "out" / file
        if path.is_dir():
            shutil.rmtree(path)
        elif path.is_file():
            path.write_bytes(b"defaced")

    return edit


def theme(name: str) -> Edit:
    """Return an edit that changes the theme."""
    return rewritten(
        "studio.yaml", lambda text: f"{text.partition(chr(10) + 'theme:')[0].rstrip()}\ntheme: {name}\n"
    )


_FILES = [f"pieces/{slug}/piece.yaml" for slug in _SLUGS]
edits = st.one_of(
    st.builds(set_line, st.sampled_from(_FILES), st.just("status"), st.sampled_from(_STATUSES)),
    st.builds(
        set_line, st.sampled_from(_FILES), st.just("title"), st.sampled_from(["Same", "Other <b>", "'ß'"])
    ),
    st.builds(
        set_line, st.sampled_from(_FILES), st.just("finished"), st.sampled_from(["2023-01-01", "2026-11-01"])
    ),
    st.builds(set_line, st.sampled_from(_FILES), st.just("price"), st.sampled_from(["0", "480.50", "2000"])),
    st.builds(set_line, st.just("studio.yaml"), st.just("tagline"), st.sampled_from(["One.", "Two."])),
    st.builds(set_line, st.just("studio.yaml"), st.just("language"), st.sampled_from(["en", "de"])),
    st.builds(rewritten, st.just("pages/care.md"), st.just(lambda text: text + "\nMore.\n")),
    st.builds(
        rewritten, st.just("pages/shipping.md"), st.just(lambda text: text.replace("Shipping", "Posting"))
    ),
    st.builds(
        rewritten, st.just("commissions.yaml"), st.just(lambda text: text.replace("slots: 5", "slots: 3"))
    ),
    st.builds(add, st.integers(1, 3)),
    st.builds(remove, st.sampled_from(_SLUGS)),
    st.builds(retake, st.sampled_from(_SLUGS), st.integers(0, 3)),
    st.builds(theme, st.sampled_from(["case", "handbill"])),
    st.builds(
        spoil,
        st.sampled_from(
            [
                "site/index.html",
                "site/pieces/moth/index.html",
                "site/pieces",
                "site/pictures/moth",
                ".site-manifest.json",
                ".built.json",
                ".reading.json",
            ]
        ),
    ),
)


def contents(folder: Path) -> dict[str, bytes]:
    """Return the bytes of every file of a built site."""
    site = folder / "out" / "site"
    return {
        file.relative_to(site).as_posix(): file.read_bytes() for file in site.rglob("*") if file.is_file()
    }


def from_nothing(folder: Path, beside: Path) -> dict[str, bytes]:
    """Build a copy of the studio that has never been built; only developed pictures are lent to it."""
    shutil.rmtree(beside, ignore_errors=True)
    shutil.copytree(folder, beside, ignore=lambda place, _: ["out"] if Path(place) == folder else [])
    shutil.copytree(folder / "out" / ".pictures", beside / "out" / ".pictures")
    build(beside, DAY)
    return contents(beside)


@settings(max_examples=8, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(edits, min_size=1, max_size=6), st.data())
def test_edits_and_builds_in_any_order_end_as_a_build_from_nothing(
    steps: list[Edit], data: st.DataObject
) -> None:
    """Warm equals cold, to the byte; and a build after that writes nothing."""
    with TemporaryDirectory() as home:
        folder = studio(Path(home) / "studio")
        build(folder, DAY)
        for step in steps:
            step(folder)
            if data.draw(st.booleans(), label="build in between"):
                build(folder, DAY)
        build(folder, DAY)

        assert contents(folder) == from_nothing(folder, Path(home) / "cold")
        assert build(folder, DAY).written == ()


def made_by(folder: Path, monkeypatch: pytest.MonkeyPatch) -> int:
    """Build, and return how many pages and feeds were set for it."""
    counted: list[int] = []
    original = placing.put_in_place

    def put_in_place(out: Path, content: Content) -> placing.Built:
        done = original(out, content)
        counted.append(done.made)
        return done

    monkeypatch.setattr("sitegen.site.put_in_place", put_in_place)
    build(folder, DAY)
    return sum(counted)


def test_only_pages_that_could_change_are_set(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sold piece: its page, its neighbours, the rooms it hangs in, home, feeds; a text: that page alone."""
    folder = studio(tmp_path / "studio")
    every = made_by(folder, monkeypatch)
    set_line("pieces/wren/piece.yaml", "status", "sold")(folder)
    sold = made_by(folder, monkeypatch)
    rewritten("pages/care.md", lambda text: text + "\nMore.\n")(folder)

    # Home, all, available, its year, its page, two feeds, the sitemap; the commissions page shows none of it.
    assert (every > 15, sold, made_by(folder, monkeypatch)) == (True, 8, 1)


def test_a_link_whose_page_is_gone_is_found_though_its_own_page_did_not_change(tmp_path: Path) -> None:
    """The page is set again, and complains."""
    folder = studio(tmp_path / "studio")
    build(folder, DAY)
    shutil.rmtree(folder / "pieces" / "heron")

    with pytest.raises(Fault, match=r"pieces/moth/piece\.yaml: the link to 'pieces/heron' leads to no page"):
        build(folder, DAY)


def test_a_page_set_by_another_theme_file_is_set_again(tmp_path: Path) -> None:
    """The studio's own theme: one template changed, every page of it changes."""
    folder = studio(tmp_path / "studio")
    shutil.copytree(carried("themes") / "case", folder / "themes" / "mine")
    theme("mine")(folder)
    build(folder, DAY)
    base = folder / "themes" / "mine" / "site" / "base.html"
    base.write_text(base.read_text("utf-8").replace("<main", "<main data-mine"), "utf-8")
    build(folder, DAY)

    pages = {path: body for path, body in contents(folder).items() if path.endswith(".html")}
    assert len(pages) > 15
    assert all(b"data-mine" in body for body in pages.values())


def test_the_same_studio_elsewhere_gives_the_same_bytes(tmp_path: Path) -> None:
    """Another folder, other times, another order of files on the disk."""
    first, second = studio(tmp_path / "a"), studio(tmp_path / "elsewhere" / "b")
    for file in second.rglob("*"):
        os.utime(file, (1_500_000_000, 1_500_000_000))
    build(first, DAY)
    build(second, DAY)

    assert contents(first) == contents(second)


def test_a_change_that_a_killed_build_left_half_made_is_turned_back_though_the_files_are_at_fault(
    tmp_path: Path,
) -> None:
    """Killed between two files, then a slip in a file: visitors have the old site again."""
    folder = studio(tmp_path / "studio")
    build(folder, DAY)
    before, places = contents(folder), Places(folder / "out")
    places.old.mkdir()
    (places.site / "index.html").rename(places.old / "0")
    (places.site / "index.html").write_bytes(b"the new home")
    write_note(places.change, SiteChange(["index.html"], [], []))
    set_line("pieces/wren/piece.yaml", "status", "solt")(folder)

    with pytest.raises(Fault, match="solt"):
        build(folder, DAY)
    assert contents(folder) == before
    assert not places.change.exists()
