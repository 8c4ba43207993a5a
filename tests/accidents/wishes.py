"""The writing commands that meet with accidents: their words, what comes before them, and where they write."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from sitegen.jobs import diary, edits
from sitegen.jobs.where import named
from sitegen.letters.folder import make_token
from sitegen.studio.asked import Fault
from tests import makers
from tests.browser.conftest import Got, Visitor, opened
from tests.browser.test_pieces import with_files
from tests.cli.runner import TODAY, on
from tests.letters.studio import SECRET
from tests.letters.test_replies import IDENT, mail, our_headers, report

KEY = SECRET.ljust(32)[:32]
"""What the ways out are made with; the program's own would be another one each time."""
ROUND = """\
  - name: Winter 2026
    opens: 2026-11-01 12:00
    closes: 2026-11-10 20:00
    slots: 1
    way: draw
    sources:
      - {name: Example Numbers, due: 2026-11-20}
queue:
  - {code: R-1, round: Winter 2026, tier: Small figure, step: request, since: 2026-11-02, private: {name: One Client, email: one@mail.example}}
  - {code: R-2, round: Winter 2026, tier: Small figure, step: request, since: 2026-11-03, private: {name: Two Client, email: two@mail.example}}
"""
SOLD = "\n  hours: {sculpting: 10}\n  sold: {on: 2025-06-01, price: 480}"


@dataclass(frozen=True)
class Wish:
    """A command, as it's asked for."""

    words: tuple[str, ...]
    """PHOTO and HOME stand for a photo and for a folder beside the studio."""
    before: tuple[tuple[str, ...], ...] = ()
    """Commands that were run before; a day in front of the words is theirs."""
    change: Callable[[Path], object] = lambda folder: None
    """Changes the artist makes by hand before it."""
    kind: str = ""
    """The class that it's counted with."""
    once: bool = True
    """Done a second time, it changes nothing more."""


def _retitled(folder: Path) -> None:
    file = folder / "studio.yaml"
    file.write_text(file.read_text("utf-8").replace("tagline:", "tagline: Once.\n#"), "utf-8")


def _dearer(folder: Path) -> None:
    file = folder / "studio.yaml"
    file.write_text(file.read_text("utf-8").replace("deposit: 30%", "deposit: 35%"), "utf-8")


def _show_gone_by(folder: Path) -> None:
    """Let a show have been, whose sheet is typed in."""
    makers.write(
        folder / "shows" / "quayside-2026.yaml",
        makers.SHOW.replace("2027-02-27", "2026-10-03").replace("2027-02-28", "2026-10-04"),
    )


def _mailbox(folder: Path) -> None:
    """Lay two mails beside the studio: one who asks to leave, one who couldn't be reached this time."""
    home = folder.parent / "home"
    (home / "inbox").mkdir(parents=True, exist_ok=True)
    (home / "inbox" / "1.eml").write_bytes(mail("unsubscribe", sender="ana@mail.example"))
    headers = our_headers("ben@post.example", KEY, IDENT)
    (home / "inbox" / "2.eml").write_bytes(report("failed", "4.2.2", headers))
    (home / "inbox.mbox").write_bytes(
        b"".join(b"From x Wed Nov 25 12:00:00 2026\n" + path.read_bytes().replace(b"\r\n", b"\n") + b"\n"
                 for path in sorted((home / "inbox").iterdir()))
    )  # fmt: skip
    makers.write(home / "table.csv", "email,name\nzoe@mail.example,Zoe\nyan@mail.example,Yan\n")


MARK = ("piece", "mark", "ferry-ghost", "not for sale")
ADD = ("people", "add", "zoe@mail.example", "--source", "web", "--evidence", "form")
SALE = ("piece", "mark", "ferry-ghost", "sold", "--price", "450", "--on", "2026-11-20", "--to", "A. Buyer")
OUT = ("piece", "out", "ferry-ghost", "--to", "The Long Room", "--share", "40%", "--until", "2027-01-31")
DRAW = ("draw", "Winter 2026")
WISHES: dict[str, Wish] = {
    "people add": Wish(ADD, kind="people"),
    "people type": Wish(
        ("people", "type", "QDF26", "--row", "1 | Zoe | zoe@mail.example | 1", "--row", "2 | ?"),
        change=_show_gone_by, kind="people",
    ),
    "people leave": Wish(("people", "leave", "ana@mail.example"), kind="people"),
    "people leave --tokens": Wish(("people", "leave", "--tokens", "HOME/tokens.txt"), kind="people"),
    "people forget": Wish(
        ("people", "forget", "ana@mail.example", "--yes"), (("announce", "commissions"),), kind="people"
    ),
    "people import": Wish(
        ("people", "import", "HOME/table.csv", "--source", "web", "--joined", "2026-11-01"), kind="people"
    ),
    "people replies": Wish(("people", "replies", "HOME/inbox.mbox"), kind="people"),
    "order promise": Wish(("order", "promise", "A-1", "2027-03-01"), kind="order"),
    "order paid": Wish(("order", "paid", "A-1", "10"), kind="order", once=False),
    "order hours": Wish(("order", "hours", "A-1", "painting", "3.5"), kind="order", once=False),
    "order cancel": Wish(("order", "cancel", "A-1", "--by", "client", "--work", "40%", "--yes"), kind="order"),
    "order letter": Wish(
        ("order", "letter", "A-1"), (("order", "cancel", "A-1", "--by", "client", "--work", "40%", "--yes"),), kind="letter"
    ),
    "piece add": Wish(("piece", "add", "PHOTO", "--title", "Owl"), kind="piece"),
    "piece mark": Wish(MARK, (("undo",),), kind="piece"),
    "piece mark sold": Wish(SALE, kind="piece"),
    "piece reprice": Wish(("piece", "reprice", "--by", "5%", "--tiers", "--yes"), kind="piece"),
    "piece return": Wish(
        ("piece", "return", "ferry-ghost", "--refund", "450", "--on", "2026-11-24"), (SALE,), kind="piece"
    ),
    "piece out": Wish(OUT, kind="piece"),
    "piece back": Wish(("piece", "back", "ferry-ghost"), (OUT,), kind="piece", once=False),
    "books --close": Wish(("books", "--year", "2025", "--close"), kind="year"),
    "terms keep": Wish(("terms", "keep"), change=_dearer, kind="year"),
    "draw, first": Wish(("2026-11-15", *DRAW, "--page"), kind="draw"),
    "draw, then": Wish(
        (*DRAW, "--source", "7, 9", "--page"), (("2026-11-15", *DRAW, "--page"),), kind="draw"
    ),
    "announce": Wish(("announce", "commissions"), kind="letter"),
    "announce again": Wish(
        ("announce", "commissions"), (("announce", "commissions"), ADD), kind="letter"
    ),
    "announce confirm": Wish(
        ("announce", "confirm"),
        (("people", "import", "HOME/table.csv", "--source", "web", "--joined", "2026-11-01", "--confirm"),),
        kind="letter",
    ),
    "cards": Wish(("cards", "ferry-ghost"), kind="paper"),
    "sheet": Wish(("sheet",), kind="paper"),
    "stock": Wish(("stock",), kind="paper"),
    "build": Wish(("build",), change=_retitled, kind="site"),
    "undo": Wish(("undo",), kind="undo", once=False),
    "undo --again": Wish(("undo", "--again"), (("undo",),), kind="undo"),
    "backup": Wish(("backup", "HOME/stick"), kind="keeping", once=False),
    "restore": Wish(("restore", "HOME/kept/studio-2026-11-25.zip", "HOME/again"), kind="keeping"),
    "begin": Wish(("begin", "HOME/new"), kind="keeping"),
}  # fmt: skip


BOOK = makers.COMMISSIONS.replace("queue:\n", ROUND)
_STANDS = {
    "commissions.yaml": yaml.load(BOOK, Loader=yaml.BaseLoader),  # noqa: S506 (makes text, lists and dicts only)
    "piece": yaml.load(makers.piece_yaml(), Loader=yaml.BaseLoader),  # noqa: S506
}
_PIECE = "pieces/ferry-ghost/piece.yaml"


def _seen(what: str, *path: str | int) -> str:
    value: Any = _STANDS[what]
    for part in path:
        value = value[part]
    return edits.seen_of(value)


# What a face with forms asks for; no command of the terminal does.
EDITS: dict[str, Callable[[Path], object]] = {
    "change": lambda folder: edits.change(
        folder, _PIECE, {"title": "The Other Ghost", "private.tier": "Small figure"},
        {"title": _seen("piece", "title"), "private.tier": edits.seen_of(None)},
    ),
    "append": lambda folder: edits.append(folder, "commissions.yaml", "tiers", {"name": "Large", "from_price": "900"}),
    "remove": lambda folder: edits.remove(folder, edits.RemoveEntry(
        file="commissions.yaml", path="waiting.0", seen=_seen("commissions.yaml", "waiting", 0)
    ), None),
    "move": lambda folder: edits.move(folder, edits.MoveEntry(
        file="commissions.yaml", path="rounds.1", to=0, seen=_seen("commissions.yaml", "rounds")
    ), None),
    "write_page": lambda folder: edits.write_page(folder, edits.WritePage(
        name="about", title="About us", text="Two benches.", seen=edits.seen_of(makers.PAGES["about"])
    ), None),
    "add_show": lambda folder: edits.add_show(folder, {"name": "May Fair", "from": "2027-05-01"}),
    "add_photos": lambda folder: edits.add_photos(folder, edits.AddPhotos(
        slug="ferry-ghost", photos=(folder / "pieces" / "heron" / "front.jpg",), names=("side.jpg",), alts=("Its side.",)
    ), None),
    "take_photo_out": lambda folder: edits.take_photo_out(folder, edits.TakePhotoOut(
        slug="ferry-ghost", place=0, seen=_seen("piece", "photos", 0)
    ), None),
    "note_hours": lambda folder: diary.note_hours(folder, diary.NotePieceHours(slug="ferry-ghost", step="sewing", hours="2"), None),
}  # fmt: skip
# A photo is taken off the list before its file goes: stopped between, only `undo` leads back.
_NOT_ONCE_THERE = {"a photo", "money for an order"}
_NOT_ONCE = {"add_photos", "take_photo_out", "note_hours"}
WISHES |= {f"edit {name}": Wish(("edits", name), kind="edit", once=name not in _NOT_ONCE) for name in EDITS}


def _photo_brought(desk: Visitor, _: Got) -> Got:
    photo = (desk.desk.folder / "pieces" / "heron" / "front.jpg").read_bytes()
    action = "/pieces/ferry-ghost/photos"
    return with_files(desk, action, {"mark": desk.desk.mark}, [("side.jpg", photo)])


_SHEET, _ROW = "/people/sheets/QDF26-1", {"name-1": "Zoe", "address-1": "zoe@mail.example"}
# What is done at the desk, and on which page: by way of the guard, the form and its server.
DESK: dict[str, tuple[str, Callable[[Visitor, Got], Got]]] = {
    "a piece's facts": ("/pieces/ferry-ghost", lambda desk, page: desk.do(page, "/sheet/piece", title="The Other Ghost")),
    "a photo": ("/pieces/ferry-ghost", _photo_brought),
    "a sheet's row": (_SHEET, lambda desk, page: desk.do(page, _SHEET, **_ROW)),
    "money for an order": ("/orders/A-1", lambda desk, page: desk.do(page, "/do/orders.pay", amount="10")),
}  # fmt: skip
WISHES |= {
    f"desk {name}": Wish(("desk", name), change=_show_gone_by, kind="desk", once=name not in _NOT_ONCE_THERE)
    for name in DESK
}


def base(folder: Path) -> Path:
    """Make the studio that all of them begin with; a piece was marked in it before."""
    studio = makers.studio(folder / "studio")
    makers.add_piece(
        studio, "heron", makers.piece_yaml("Heron", "sold", price="", number="2025-01", private=SOLD)
    )
    (studio / "commissions.yaml").write_bytes(BOOK.encode())
    settings = makers.STUDIO.replace(
        "language: en", "language: en\nleave_address: https://lantern.example/leave/"
    )
    (studio / "studio.yaml").write_bytes(settings.encode())
    for one in ("people.csv", "commissions.yaml"):
        (studio / one).chmod(0o600)
    (studio / "sent").mkdir(mode=0o700)
    (studio / "sent" / "leave-key").write_text(f"{KEY.hex()}\n")
    (studio / "sent" / "leave-key").chmod(0o600)
    (folder / "home").mkdir()
    _mailbox(studio)
    (folder / "home" / "tokens.txt").write_text(f"{make_token(KEY, 'ana@mail.example')}\n")
    for words in (("build",), MARK, ("backup", str(folder / "home" / "kept"))):
        result = on(TODAY, studio, *words)
        assert result.exit_code == 0, result.output
    return studio


def said(folder: Path, words: tuple[str, ...]) -> tuple[int, str]:
    """Run a command of the list to its end, or a job that no command asks for."""
    if words[0] == "desk":
        with opened(folder, TODAY) as visitor:
            page, does = DESK[words[1]]
            looked = visitor.get(page)
            got = does(visitor, looked) if looked.status == 200 else looked
        return int(got.status != 303), got.text
    if words[0] == "edits":
        named(" ".join(words))
        try:
            EDITS[words[1]](folder)
        except (Fault, OSError) as fault:
            return 1, str(fault)
        return 0, ""
    day, words = (words[0], words[1:]) if words[0][0] == "2" else (TODAY, words)
    photo, home = str(folder / "pieces" / "heron" / "front.jpg"), str(folder.parent / "home")
    result = on(day, folder, *(word.replace("PHOTO", photo).replace("HOME", home) for word in words))
    return result.exit_code, result.output
