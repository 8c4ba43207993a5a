"""A studio in a new folder: the starter, the demo, or out of a backup; and a dated copy of it, proved.

The archive is a plain ZIP file, so that any machine can open it. `BACKUP.json` in it says what belongs to it.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import shlex
import shutil
import stat
import sys
import zipfile
import zlib
from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import IO
from zoneinfo import ZoneInfo

from sitegen.carried import carried
from sitegen.disk import own_folder, put, sweep_parts
from sitegen.disk.files import OWN_FILE, OWN_FOLDER, make_own, new_part
from sitegen.disk.states import KEPT
from sitegen.jobs.build import build
from sitegen.jobs.where import moment_in, writes
from sitegen.sources import StudioFault, read
from sitegen.sources.kept import REGISTER
from sitegen.studio.asked import Fault, Progress, Said, ask, wish
from sitegen.studio.text import counted

IGNORED = """\
# What is about other people, and what is made anew: it doesn't travel with the rest.
people.csv
commissions.yaml
sent/
closed/
.kept/
out/
"""
IGNORE_FILE = ".gitignore"
# What lies in demo/ for its makers and not for its visitors, and what a build leaves behind.
_NOT_COPIED = shutil.ignore_patterns("out", "sent", "__pycache__", ".*")


@wish
class NewStudio:
    folder: Path = ask(word=True, like="DIR", folder=True)


def begin(wish: NewStudio) -> Said:
    """Put the starter into a new or empty folder. Raises StudioFault if anything lies there."""
    folder = lay_out("content", wish.folder)
    said = f"The starter studio is in {folder}. Fill in {folder / 'studio.yaml'} first;"
    return Said((said,), {"folder": str(folder)})


def demo(wish: NewStudio, today: str | None, progress: Progress | None = None) -> Said:
    """Put the invented studio into a new or empty folder, and do the daily jobs: site, letter, sheet."""
    from sitegen.jobs import letters, papers

    folder = lay_out("demo", wish.folder)
    compiled = build(folder, today, progress)
    (letter,) = letters.commissions(folder, letters.AnnounceCommissions(), today).facts["letters"]
    (sheet,) = papers.sheet(folder, papers.SheetWish(), today).opens
    return Said((
        f"The invented studio is in {folder}.",
        f"Site:    {compiled.site / 'index.html'}",
        f"Letter:  {Path(letter['folder']) / 'letter.html'}  ({letter['to']} to write to)",
        f"Sheet:   {sheet}",
    ))  # fmt: skip


def lay_out(name: str, folder: Path) -> Path:
    """Copy the carried studio `name` ("content" or "demo") into `folder`, which must be new or empty."""
    with new_studio(folder) as making:
        shutil.copytree(carried(name), making, ignore=_NOT_COPIED, dirs_exist_ok=True)
        (making / IGNORE_FILE).write_text(IGNORED, "utf-8")
        for other_people in ("people.csv", "commissions.yaml"):
            (making / other_people).chmod(OWN_FILE)
        put_starters(making)
    return folder


_MAKING, _WHOLE = ".making-studio", ".whole-studio"
_LAST = "studio.yaml"


@contextlib.contextmanager
def new_studio(folder: Path) -> Iterator[Path]:
    """Give a hidden folder to fill; what is in it when all went well becomes the studio `folder`.

    Raises StudioFault unless `folder` is new or empty: nothing of the artist's is ever overwritten.
    """
    made, making = not folder.exists(), folder / _MAKING
    if (folder / _WHOLE).is_dir():
        _move_up(folder)
        raise StudioFault(
            f"{folder}: an earlier run was stopped just before its end; that's made up for, and all is there"
        )
    shutil.rmtree(making, ignore_errors=True)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StudioFault(
            f"{folder} is not empty; name a new folder, so that nothing of yours is written over"
        )
    folder.mkdir(mode=0o755, parents=True, exist_ok=True)
    own_folder(making)
    try:
        yield making
        making.rename(folder / _WHOLE)
        _move_up(folder)
    finally:
        shutil.rmtree(making, ignore_errors=True)
        if made:
            with contextlib.suppress(OSError):  # it's filled
                folder.rmdir()


def _move_up(folder: Path) -> None:
    whole = folder / _WHOLE
    for entry in sorted(whole.iterdir(), key=lambda entry: entry.name == _LAST):
        entry.rename(folder / entry.name)
    whole.rmdir()


NAME = "Open the desk"


def put_starters(folder: Path) -> None:
    """Put files that open a studio's desk by a double click, one a system, where none is yet.

    That of Linux is a desktop entry (freedesktop.org, 1.5): in it %k is where it lies.
    """
    python = sys.executable
    for ending, path in {
        "command": shlex.quote(python),
        "bat": python.replace("%", "%%"),
        "desktop": "",
    }.items():
        file, form = folder / f"{NAME}.{ending}", Path(__file__).with_name("openers") / f"desk.{ending}"
        if not file.exists():
            text, end = form.read_text("utf-8").replace("{python}", path), "\r\n" if ending == "bat" else ""
            file.write_text(text, "utf-8", newline=end)
            file.chmod(0o755)


LIST = "BACKUP.json"
# Below `.kept`: when the last backup was made.
_NOTE = "backup.json"
_LEFT_OUT = frozenset({"out", KEPT})
_BLOCK = 1 << 20


@wish
class BackupWish:
    into: Path = ask(word=True, like="DIR", folder=True)


@writes
def backup(folder: Path, wish: BackupWish, today: str | None) -> Said:
    """Write a dated archive into a folder outside of the studio, and read it back. Raises Fault."""
    into = wish.into
    studio = read(folder).studio  # one with faults is worth a backup as well
    moment = moment_in(studio.settings.time_zone if studio else ZoneInfo("UTC"), today)
    if into.resolve().is_relative_to(folder.resolve()):
        raise Fault(f"{into} lies in the studio itself; name a folder elsewhere, best on another disk")
    into.mkdir(parents=True, exist_ok=True)
    name = f"{folder.resolve().name}-{moment:%Y-%m-%d}"
    names = (name, *(f"{name}-{number}" for number in range(2, 1000)))
    file = next(into / f"{name}.zip" for name in names if not (into / f"{name}.zip").exists())
    sweep_parts(into)
    found, left_out = _found(folder)
    handle, part = new_part(into, file.name)
    try:
        with os.fdopen(handle, "w+b") as stream:
            digests = _write(stream, folder, found, moment)
            stream.flush()
            os.fsync(stream.fileno())
            _prove(part, digests)
        part.rename(file)
    finally:
        part.unlink(missing_ok=True)
    with contextlib.suppress(OSError):  # a studio that can only be read is worth a backup all the more
        own_folder(folder / KEPT)
        note = json.dumps({"at": moment.isoformat(), "file": str(file)}).encode()
        put(folder / KEPT / _NOTE, note, kept=False, private=True)
    size, files = file.stat().st_size, counted(len(digests), "file", "files")
    said = (
        f"Backup:  {file}, {files}, {max(1, size >> 20)} MB, read back",
        *(f"Left out: {name}, a link, or a name that other systems can't hold" for name in left_out),
        "It holds addresses and names: keep it where only you can read it, best on another disk. Whoever "
        "asks to be forgotten is still in older backups; delete those when you no longer need them.",
    )
    return Said(said, {"file": str(file), "files": len(digests), "size": size, "left_out": list(left_out)})


# Days after which a backup is old (common practice, no source).
_OLD = timedelta(days=30)


def age_if_due(folder: Path, moment: datetime) -> int | None:
    """Return how many days old the last backup is if that's too many; None if it isn't.

    Where there's none yet it's 0, once something was posted that can't be made again.
    """
    try:
        made = datetime.fromisoformat(json.loads((folder / KEPT / _NOTE).read_bytes())["at"])
        age = moment - made
    except (OSError, ValueError, KeyError, TypeError):  # no sound note of one
        sent = folder / "sent"
        return 0 if sent.is_dir() and list(sent.iterdir()) != [folder / REGISTER] else None
    return age // timedelta(days=1) if age > _OLD else None


def _found(folder: Path) -> tuple[list[Path], tuple[str, ...]]:
    """Return what belongs in the archive, paths below the studio, and what can't be in it."""
    found, left_out = list[Path](), list[Path]()
    for path in _walk(folder, Path()):
        mode = (folder / path).lstat().st_mode
        plain = (stat.S_ISREG(mode) or stat.S_ISDIR(mode)) and _named_well(path.as_posix())
        (found if plain else left_out).append(path)
    return sorted(found), tuple(sorted(path.as_posix() for path in left_out))


def _walk(folder: Path, below: Path) -> Iterator[Path]:
    for entry in os.scandir(folder / below):
        if below == Path() and entry.name in _LEFT_OUT:
            continue
        yield below / entry.name
        if entry.is_dir(follow_symlinks=False):
            yield from _walk(folder, below / entry.name)


def _write(stream: IO[bytes], folder: Path, found: list[Path], moment: datetime) -> dict[str, str]:
    # What a ZIP file's own date can say (PKWARE APPNOTE 4.4.6).
    date = (min(max(moment.year, 1980), 2107), *moment.timetuple()[1:6])
    digests: dict[str, str] = {}
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED, compresslevel=6) as archive:
        for path in found:
            name, place = path.as_posix(), folder / path
            info = zipfile.ZipInfo(name + "/" * place.is_dir(), date)
            info.external_attr = place.stat().st_mode << 16
            if place.is_dir():
                archive.writestr(info, b"")
                continue
            info.compress_type = zipfile.ZIP_DEFLATED
            with place.open("rb") as source, archive.open(info, "w", force_zip64=True) as target:
                digests[name] = _copied(source, target)
        about = {"format": 1, "made": moment.isoformat(), "files": digests}
        archive.writestr(zipfile.ZipInfo(LIST, date), json.dumps(about, ensure_ascii=False, indent=1))
    return digests


def _copied(source: IO[bytes], target: IO[bytes]) -> str:
    digest = hashlib.sha256()
    while block := source.read(_BLOCK):
        digest.update(block)
        target.write(block)
    return digest.hexdigest()


def _prove(file: Path, digests: dict[str, str]) -> None:
    with zipfile.ZipFile(file) as archive:
        for name, digest in digests.items():
            with archive.open(name) as source, Path(os.devnull).open("wb") as nowhere:
                if _copied(source, nowhere) != digest:
                    raise Fault(f"{name} can't be read back from the backup; try another disk")


@wish
class RestoreWish:
    archive: Path = ask(word=True, there=True)
    folder: Path = ask(word=True, like="DIR", folder=True)


def restore(wish: RestoreWish) -> Said:
    """Make a studio out of an archive, whole or not at all, in a new or empty folder. Raises Fault."""
    archive, folder = wish.archive, wish.folder
    try:
        with new_studio(folder) as making, zipfile.ZipFile(archive) as source:
            digests = _list_of(source, archive)
            _unpack(source, digests, making)
    except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError, zlib.error) as fault:
        raise Fault(f"{archive} is no whole backup: it's damaged, or another kind of file") from fault
    said = (
        f"Restored: {folder}, {counted(len(digests), 'file', 'files')}, each as it was",
        f"Next: `sitegen --studio {folder} check`, then `build`. Who left or was forgotten "
        "since that backup is on the list again; take them off before you write to anybody.",
    )
    return Said(said, {"folder": str(folder), "files": len(digests)})


def _list_of(source: zipfile.ZipFile, archive: Path) -> dict[str, str]:
    try:
        tree = json.loads(source.read(LIST))
        digests = {str(name): str(digest) for name, digest in tree["files"].items()}
    except (KeyError, ValueError, TypeError, AttributeError):
        raise Fault(f"{archive} is no backup of a studio: there's no {LIST} in it") from None
    names = Counter(member.filename for member in source.infolist())
    for info in source.infolist():
        if not _proper(info) or names[info.filename] > 1:
            raise Fault(f"{archive} isn't restored: '{info.filename}' in it would be written elsewhere")
    files = {member.filename for member in source.infolist() if not member.is_dir()} - {LIST}
    if odd := sorted(files ^ digests.keys()):
        raise Fault(f"{archive} isn't restored: '{odd[0]}' isn't both in the archive and on its list")
    return digests


def _proper(info: zipfile.ZipInfo) -> bool:
    """Tell whether an entry is a plain file or folder below the studio, on any system."""
    name = info.filename.removesuffix("/") if info.is_dir() else info.filename
    kind = stat.S_IFMT(info.external_attr >> 16)
    own = name.split("/")[0] not in _LEFT_OUT
    return _named_well(name) and own and kind in {0, stat.S_IFREG, stat.S_IFDIR}


def _named_well(name: str) -> bool:
    """Tell whether a path means the same below any folder of any system."""
    try:
        name.encode()
    except UnicodeEncodeError:
        return False
    parts = re.split(r"[/\\]", name)
    return not {"", ".", ".."} & {*parts} and not re.match("[A-Za-z]:", name) and "\0" not in name


def _unpack(source: zipfile.ZipFile, digests: dict[str, str], making: Path) -> None:
    folders = [member for member in source.infolist() if member.is_dir()]
    for info in folders:
        (making / info.filename).mkdir(parents=True, exist_ok=True)
    for name, digest in digests.items():
        target = making / name
        target.parent.mkdir(parents=True, exist_ok=True)
        with source.open(name) as content, target.open("xb") as file:
            make_own(target)
            if _copied(content, file) != digest:
                raise Fault(f"'{name}' isn't in the backup as it was; nothing is restored. Try another one")
    for info in [*(source.getinfo(name) for name in digests), *reversed(folders)]:
        # Never more than its owner gave, and for others never a right to write.
        least, most = (OWN_FOLDER, 0o755) if info.is_dir() else (OWN_FILE, 0o644)
        (making / info.filename).chmod((info.external_attr >> 16) & most | least)
