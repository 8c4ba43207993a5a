"""What the artist asks of an evening: worth, plans, slots, draws, books, paper; and keeping it all safe."""

from __future__ import annotations

from sitegen.terminal.group import Commands, plain

worth = plain(
    "piece worth", "answers.worth", "moth-usher",
    """Say what a piece cost, what would be fair, and what an hour earns at the asking price.

    Before you begin a piece, give --hours or --tier instead of its name.

    For your eyes only: nothing of it is written anywhere.
    """,
)  # fmt: skip
ahead = [
    plain("plan", "answers.plan", "1000.01 --deposit 20% --parts 4 --start 2027-01-31",
        """Lay out a payment plan for a price or a piece, or show how a commission's plan stands.

        A price is digits with a point; a piece goes by its folder's name; a commission by its code in the
        queue, which shows what is paid, due and late.
        """),
    plain("slots", "answers.slots", "--from 2027-01-04 --to 2027-03-31 --confidence 0.8",
        """Say how many commission slots can open, and a date for each place in the queue.

        From your weekly hours, days away and shows, the queue, pieces in progress, and the hours you tracked.
        """),
    plain("week", "answers.week", "--weeks 6",
        """Say what to work on in the coming weeks: which piece, which step, how many hours.

        Rest, shows and other days away come first and are never worked on. It says what slips when a day is
        lost, which client to write to then, and what each of the two orders of work does to promised days.
        """, table=True),
    plain("draw", "draws.draw",
        "'Winter 2027'\n--list entrants.txt --slots 5 --source '9319' --source '2, 5, 12, 8, 10'",
        """Draw who gets a slot, so that anyone can work it out again (RFC 3797).

        Run it for ROUND once the round is closed: it writes the announcement to publish, with everyone's code
        and the future sources of randomness, and the list is final. Run it again when the sources have
        published: it writes the record with winners, reserves and every hash.
        """),
]  # fmt: skip
sheet = plain(
    "sheet", "papers.sheet", "winter-fair-2027 --paper letter --pages 4",
    "Print the sign-up sheet for a show's table (the next show, unless named) as a PDF.",
)  # fmt: skip
papers = [
    plain("cards", "papers.cards", "keeper-of-unclaimed-keys star-darner --paper letter",
        """Print table cards, a wall label a piece, to cut apart: every available piece, unless named.

        A card carries a price only while its piece is available.
        """),
    plain("price-list", "papers.price_list", "winter-fair-2027",
        "Print the prices of what is available: of all of it, or of what goes to one show's table."),
    plain("packing", "papers.packing_list", "winter-fair-2027",
        """Print the list of what goes to a show (the next one, unless named), with boxes for there and back.

        The pieces stand in the show's file under `bring:`; one can't be promised to two shows on the same
        days.
        """),
    plain("slip", "papers.packing_slip", "moth-usher",
        "Print the packing slip and the care card of a sold piece; no price on it unless you "
        "ask with --price."),
    plain("certificate", "papers.certificate", "moth-usher",
        "Print a piece's certificate of authenticity, one page to sign. It carries no price."),
    plain("agreement", "papers.agreement", "A26-2 --paper letter",
        """Print the agreement on one commission (its code) or on a finished piece paid for in parts (its
        folder).

        It has the work, the payments with their days, the terms in the version that was accepted (else the
        one in force), and lines for both signatures. It names one client: hand it to nobody else.
        """),
    plain("inventory", "papers.inventory", "",
        """Print an inventory with values and pictures for your insurer. It is private, and says so on each
        page.

        Values are asking prices, else what a piece cost so far. What a policy pays is in the policy: ask.
        """),
    plain("stock", "papers.stock", "--on 2026-11-20",
        """Say what is on hand on a day, as at year's end, at cost and at price; writes a table (CSV) too.

        Which of them a tax return wants differs from place to place; this is no tax advice.
        """),
]  # fmt: skip
yearly = [
    plain("books", "answers.books", "--year 2026 --csv > books-2026.csv",
        "Add up a year: income by stream, costs, an hour's wage, what is owed, what each show brought in.",
        table=True),
    Commands(
        "money",
        help="What is to come; the years, and the shows, beside each other.",
        commands=[
            plain("money ahead", "answers.ahead", "",
                """Say what is to come by the payment plans agreed on, month by month: late, due, to come.

                Then what goes out anyway, what is put by for tax, how long your money lasts, and which stream
                carries the year. What nobody agreed on yet isn't counted.
                """, table=True),
            plain("money years", "answers.years", "", "Put the books of all years beside each other."),
            plain("money shows", "answers.shows", "--months 6",
                """Say what each show brought: sold, cost, left, an hour's wage, who signed up, commissions
                since.

                An hour is one in the pieces sold there; then one of these and the show's own `hours:`
                together. A commission came of a show if its client's address stands on that show's sign-up
                sheet.
                """, table=True),
            plain("money booking", "answers.booking", "350 --hours 24",
                """Before you book a show: what it must sell to pay for itself, by your own shows that are
                over.

                COST is all it would cost: the table, the way, a room. Three shows begin to say how likely.
                """),
            plain("money prices", "answers.prices", "--csv > prices.csv",
                """Put all prices beside each other: by size, hours, year, tier; what stands out, what is
                alike.

                The lines are robust: a few odd prices don't move them. For your eyes only.
                """, table=True),
        ],
    ),
    Commands(
        "terms",
        help="Keep versions of your terms, so that everyone can read what they agreed to.",
        commands=[
            plain("terms keep", "terms.keep", "",
                """Keep the terms as they are now: their text with every number filled in, under the month's
                name.

                Writes pages/commission-terms/MONTH.md and pages/payment-terms/MONTH.md. `build` gives each
                version an address that never moves. Nothing is written if the newest version says the same.
                """),
            plain("terms list", "terms.tell", "",
                "Say which versions are kept, who accepted which, and what stands in places like {deposit}."),
        ],
    ),
]  # fmt: skip
safe = [
    plain("undo", "undo.undo", "",
        """Take back what the latest command changed in your files, all of its files at once.

        Run it again for the one before; --again goes the other way, until another command changes something.
        A file that was changed since then is left alone, and you're told how. Letters that were posted and
        draws that were announced can't be taken back.
        """),
    plain("backup", "backup.make", "/media/stick",
        "Put a dated archive of all that can't be made again into DIR, and read it back."),
    plain("restore", "backup.restore", "my-studio-2026-11-25.zip my-studio",
        "Make a studio out of a backup, in a new folder DIR."),
]  # fmt: skip
