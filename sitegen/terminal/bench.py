"""`piece`, `clock` and `order`: what is on the bench, and for whom."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import click

from sitegen.terminal import asking
from sitegen.terminal.desk import worth
from sitegen.terminal.group import Commands, plain

if TYPE_CHECKING:
    from sitegen.jobs.pieces import AddPiece, MarkPiece


def _filled(wish: AddPiece) -> AddPiece:
    """Ask for what the options left open, where someone can answer."""
    if not asking.someone_is_there():
        return wish
    title = wish.title or click.prompt("Title")
    status = wish.status or click.prompt("Status", default="available")
    price, materials = wish.price, wish.materials
    if price is None and status.strip().lower() == "available":
        price = (
            click.prompt("Price (digits only, Enter to leave open)", default="", show_default=False) or None
        )
    if materials is None:
        materials = click.prompt("Materials (Enter to leave open)", default="", show_default=False)
    return replace(wish, title=title, status=status, price=price, materials=materials)


def _sale(usual: MarkPiece) -> MarkPiece:
    """Ask for the sale, where someone can answer; nothing for the price leaves it out."""
    none = replace(usual, price=None, on=None, stream=None, to=None)
    if not asking.someone_is_there():
        return none
    price = click.prompt("Sold for (digits only)", default=usual.price or "", show_default=bool(usual.price))
    if not price.strip():
        return none
    on = click.prompt("On", default=usual.on)
    stream = click.prompt("Stream (originals, commissions, shows)", default=usual.stream)
    to = click.prompt("To (Enter to leave open)", default=usual.to or "", show_default=bool(usual.to))
    return replace(usual, price=price, on=on, stream=stream, to=to)


piece = Commands(
    "piece",
    help="Add a piece, or change what may be said of it.",
    commands=[
        plain("piece add", "pieces.add", "front.jpg face.jpg --title 'The Moth Clerk' --price 480",
            """Make pieces/SLUG/ with copies of the photos and a piece.yaml.

            On a terminal, what is missing is asked for; nothing is asked in a pipe.
            """, fill=_filled),
        plain("piece mark", "pieces.mark", "star-darner sold --price 2400 --on 2026-11-24 --stream shows",
            """Change a piece's availability: one line of its YAML, comments and all else stay.

            STATUS is available, on hold, sold, commissioned, in progress or not for sale. With sold, price,
            day, stream and buyer are asked for at a terminal, and noted in the same edit.
            """, sale=_sale, agree=asking.trusts, settings=asking.web_password),
        plain("piece return", "pieces.take_back", "moth-usher --refund 880 --on 2026-06-02",
            """Note that a sold piece came back and what was sent back for it.

            The sale stays in the books of its day; the refund counts on its own. The piece may be sold again.
            """),
        plain("piece out", "stays.out",
            "star-darner --to 'The Long Room' --town 'Port Averill' --until 2027-01-31 --share 40%",
            """Note that a piece goes to a gallery, an exhibition or on loan, or rests.

            The site says where it can be seen or bought; the gallery's share is booked with a sale there. Of
            a piece that is out already it notes what is agreed on now: --until a new day, another --share.
            """),
        plain("piece back", "stays.back", "star-darner --on 2027-02-02",
            "Note that a piece is at home again, or rests no more."),
        plain("piece hours", "clock.note_hours", "clock-winder sewing 2.5",
            "Add bench hours to a step of a piece."),
        plain("piece register", "register.register", "--csv > register.csv",
            """Print the register: every studio number ever given, whose it is, and where that piece is.

            No number is given twice, also of pieces whose folder is gone.
            """, table=True),
        worth,
        plain("piece reprice", "pieces.reprice", "star-darner --by 5% --nearest 10",
            """Change asking prices in dated steps: pieces named, else all available; with --tiers those too.

            It shows the prices after each step and whose older quote holds, then asks. Of the steps only
            today's is written; nothing is kept of a later one, so say it again on its day.
            """, question="Write these prices?"),
    ],
)  # fmt: skip
clock = Commands(
    "clock",
    help="The clock at the bench: start it at a step of the work; when it stops, its hours are noted.",
    commands=[
        plain("clock start", "clock.start", "clock-winder sewing",
            "Start the clock for a piece (its folder) or an order (its code)."),
        plain("clock stop", "clock.stop", "",
            """Stop the clock and note its hours.

            One that ran longer than anybody works was forgotten: give --hours, or --drop to note nothing.
            """),
    ],
)  # fmt: skip


order = Commands(
    "order",
    help="""Keep the order book: who asks, who has an offer, who is on the bench, who owes what.

    request → waiting → offered → accepted → on the bench → finished → paid → shipped. Each command changes
    one person's lines of commissions.yaml and nothing else, and writes down what moved when.
    """,
    commands=[
        plain("order list", "orders.book", "--all",
            "List the orders under way, what each waits for, and who is next in line."),
        plain("order show", "orders.show", "A26-1",
            "Show one order: what moved when, its payments, hours and dates, and where it can go."),
        plain("order add", "orders.add",
            "--tier 'Standing figure' --name 'A. Collector' --email collector@mail.example",
            "Put a request into the queue."),
        plain("order move", "orders.move", "A26-2 on the bench",
            """Move an order one step: waiting, offered, accepted, on the bench, finished, paid, shipped.

            `accepted` needs a price and fixes the payment plan; `paid` and `shipped` need everything paid.
            """),
        plain("order promise", "orders.promise", "A26-2 2027-07-09",
            "Note the day a piece is promised for, and say what a later one asks of you."),
        plain("order undo", "orders.take_back", "A26-1",
            "Take an order's latest step back, when it was a slip."),
        plain("order offer", "orders.offer", "'Winter 2027'",
            """Offer a round's free slots to the next in line: as drawn, as they came, or as long as they
            wait.

            Nobody gets a second slot; whoever waits on the list moves into the queue.
            """, question="Offer these slots?"),
        plain("order lapsed", "orders.lapsed", "--yes",
            "Pass on the offers that weren't answered within `offer_days` (14), each to the next of its "
            "round.", question="Let them lapse and pass them on?"),
        plain("order paid", "orders.pay", "A26-1 219.34 --on 2026-11-24",
            "Note money that came in for an order, and say how its plan stands."),
        plain("order refund", "orders.refund", "A26-3 20 --on 2026-11-24",
            "Note money that was sent back: paid too much, or returned when an order was called off."),
        plain("order hours", "orders.hours", "A26-1 sculpting 3.5",
            "Add bench hours to a step of the work, in its piece's file if there is one (`order: CODE`)."),
        plain("order letter", "order_letters.letter", "A26-4 --note words.md",
            """Draft the letter that an order calls for: offer, confirmation, a payment, finished, an end.

            It goes to that client alone, and only when you post it: open letter.eml in your mail program. A
            draft that lies there already is left as it is; another letter gets a folder of its own.
            """, opens=True),
        plain("order decline", "orders.decline", "R26-1 --why 'It would need a kiln.'",
            "Decline a request, or take an offer back, with a courteous reason."),
        plain("order cancel", "orders.cancel", "A26-1 --by client --work 40%",
            "End an order early; once accepted, say what is kept and what goes back by your written terms.",
            question="Call it off?"),
    ],
)  # fmt: skip
