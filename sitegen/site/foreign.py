"""What lies in out/site and is nobody's build: it stays, and where it's in the way, a sentence says so."""

from __future__ import annotations

from collections.abc import Collection, Set
from pathlib import Path, PurePosixPath


def in_the_way(site: Path, written: Set[str], owned: Set[str], removed: Collection[str]) -> str:
    """Say what keeps files of the site from their places; empty if nothing does.

    `written` are the paths to be written, `owned` those that builds wrote, `removed` those of them that go.
    """
    gone = frozenset(removed)
    blocking = sorted({*_files(site, written, owned), *_folders(site, written, gone)})
    if not blocking:
        return ""
    named = ", ".join(f"out/site/{path}" for path in blocking[:3])
    more = f" and {len(blocking) - 3} more" if len(blocking) > 3 else ""
    return (
        f"{named}{more}: no build made this, and a page of yours belongs in its place. Nothing was changed; "
        "move it out of out/site, or give the page another name, then build again"
    )


def _files(site: Path, written: Set[str], owned: Set[str]) -> list[str]:
    """Return foreign files where one of ours belongs, or a folder of ours."""
    above = {parent.as_posix() for path in written for parent in PurePosixPath(path).parents}
    # "." is the site itself, which may well be a link to where it's published from.
    foreign = ((above - {"."}) | written) - owned
    return [path for path in foreign if (site / path).is_symlink() or (site / path).is_file()]


def _folders(site: Path, written: Set[str], gone: Set[str]) -> list[str]:
    """Return folders where a file of ours belongs, if they'd still hold something once our files are gone."""
    found = [path for path in written if (site / path).is_dir() and not (site / path).is_symlink()]
    return [path for path in found if _stays(site, path, gone)]


def _stays(site: Path, folder: str, gone: Set[str]) -> bool:
    inside = list((site / folder).rglob("*"))
    files = {one.relative_to(site).as_posix() for one in inside if not one.is_dir() or one.is_symlink()}
    hollow = any(one.is_dir() and not any(one.iterdir()) for one in inside)
    return not inside or hollow or not files <= gone
