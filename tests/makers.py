"""One place that makes whole valid studios, on disk. A new feature joins it, so old properties meet it."""

from __future__ import annotations

from pathlib import Path

from PIL import Image

STUDIO = """\
# Who and where
studio: Lantern & Loam
maker: Ottoline Example
tagline: Figures that have been somewhere.
site: https://lantern.example/
contact: hello@lantern.example
postal_address: |
  Lantern & Loam
  1 Example Lane
  Sampletown
currency: EUR
time_zone: Europe/Dublin
language: en
consent: I would like letters from Lantern & Loam and know that I can leave with one reply.
payment_plan:
  deposit: 30%
  bands:
    - {up_to: 500, instalments: 2}
    - {instalments: 3}
series:
  - name: Night Ferry
    about: Passengers of the last boat.
shipping: Sent insured, in a box made for each piece.
care: Keep out of the sun.
how_to_ask: Write which tier you have in mind.
private:
  rate: 28
  overhead: 310
  fees: 3%
  weekly_hours: 24
"""

COMMISSIONS = """\
tiers:
  - name: Small figure
    from_price: 420
    height_mm: 250
    includes: Figure and base.
rounds:
  - name: Winter 2027
    opens: 2027-01-16 12:00
    closes: 2027-01-23 20:00
    slots: 5
    way: draw
queue:
  - code: A-1
    tier: Small figure
    step: on the bench
    since: 2026-10-02
    terms: {version: 2026-09, on: 2026-09-20}
    private: {name: Secret Client, email: secret.client@mail.example, price: 431}
waiting:
  - since: 2026-08-02
    tier: Small figure
    private: {name: Waiting Client, email: waiting.client@mail.example}
"""

SHOW = """\
name: Quayside Doll Fair
venue: The Old Ropewalk
address: Sampletown
from: 2027-02-27
to: 2027-02-28
hours: 10:00-17:00
table: B12
private:
  hours: 15.75
  costs:
    - {what: table fee, cost: 137}
"""

CLASS = """\
name: Heads in Two Days
kind: class
venue: The studio
address: 1 Example Lane, Sampletown
from: 2027-03-06
to: 2027-03-07
hours: 10:00-17:00
places: 6
fee: 263
includes: clay, eyes and soup
about: Six people, six heads.
private:
  hours: 22.75
  costs:
    - {what: clay by the sack, cost: 84.19}
  sales:
    - {what: four places, price: 1052.21}
"""

PEOPLE = (
    "email,name,interests,joined,consent,evidence,left\r\n"
    'ana@mail.example,"Ana Å, the elder",commissions; new pieces,2026-02-01,web,form on the site,\r\n'
    "ben@post.example,Ben,shows,2026-03-01,show sheet,sheet QDF26-1 row 4,\r\n"
    "gone@mail.example,Gone,commissions,2025-03-01,web,form on the site,2026-01-05 asked\r\n"
)

PAGES = {
    "about": "# About\n\nOne bench, one window.\n",
    "commission-terms": "# Commission terms\n\nWhat is agreed is written down.\n",
    "payment-terms": "# Payment terms\n\nA deposit of {deposit}, then monthly parts.\n",
    "commission-terms/2026-09": "# Commission terms\n\nWhat is agreed is written down.\n",
    "payment-terms/2026-09": "# Payment terms\n\nA deposit of 30%, then monthly parts.\n",
    "privacy": "# Privacy\n\nThe list is kept on one laptop.\n",
}


# Once at a gallery: of what was agreed on there nothing is public.
AWAY = (
    "\n  - {place: The Long Room, town: Port Averill, link: https://long-room.example/, since: 2024-03-01,"
    " until: 2024-04-28, back: 2024-04-30, private: {share: 37%, lowest: 443, pays_in: 41}}"
)


def piece_yaml(title: str = "The Ferry Ghost", status: str = "available", **more: str) -> str:
    """Return a piece.yaml; `more` adds or replaces top-level lines, an empty text takes one out."""
    lines = {
        "number": "2026-01",
        "price": "480",
        "finished": "2026-05-14",
        "series": "Night Ferry",
        "height_mm": "320",
        "base": "lime wood",
        "materials": "clay, glass, silk",
        "story": "She never pays the fare.",
        "photos": "\n  - file: front.jpg\n    alt: A pale figure with a lantern.",
        "private": "\n  hours: {sculpting: 12.5, painting: 9}\n  supplies:\n    - {what: eyes, cost: 23.57}",
    }
    lines.update(more)
    body = "".join(f"{key}: {value}\n" for key, value in lines.items() if value)
    return f"title: {title}\nstatus: {status}\n{body}"


def photo(
    path: Path, colour: tuple[int, int, int] = (150, 120, 100), size: tuple[int, int] = (300, 400)
) -> Path:
    """Write a small plain JPEG."""
    path.parent.mkdir(parents=True, exist_ok=True)
    Image.new("RGB", size, colour).save(path, quality=80)
    return path


def studio(folder: Path, pieces: dict[str, str] | None = None) -> Path:
    """Write a whole valid studio into `folder`, with the pieces given (slug → piece.yaml) or one."""
    folder.mkdir(parents=True, exist_ok=True)
    write(folder / "studio.yaml", STUDIO)
    write(folder / "commissions.yaml", COMMISSIONS)
    write(folder / "shows" / "quayside-2027.yaml", SHOW)
    (folder / "people.csv").write_bytes(PEOPLE.encode())
    for name, text in PAGES.items():
        write(folder / "pages" / f"{name}.md", text)
    for slug, text in (pieces if pieces is not None else {"ferry-ghost": piece_yaml(away=AWAY)}).items():
        add_piece(folder, slug, text)
    return folder


def add_piece(folder: Path, slug: str, text: str) -> Path:
    """Write one more piece with its photo."""
    photo(folder / "pieces" / slug / "front.jpg")
    return write(folder / "pieces" / slug / "piece.yaml", text)


def write(path: Path, text: str) -> Path:
    """Write a text file with the folders above it."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8", newline="")
    return path
