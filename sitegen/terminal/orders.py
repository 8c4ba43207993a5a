"""`order`: the order book, one person one step at a time."""

from __future__ import annotations

from sitegen.terminal.group import Commands, plain

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
