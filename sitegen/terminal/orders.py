"""`order`: the order book, one person one step at a time."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

from sitegen.jobs.wish import Answer
from sitegen.terminal.group import Asked, Commands
from sitegen.terminal.telling import json_option, say, tell

on_option = click.option("--on", metavar="DATE", help="The day it happened; without it, today.")
yes_option = click.option("--yes", is_flag=True, help="Don't ask before writing.")


@click.group(cls=Commands)
def order() -> None:
    """Keep the order book: who asks, who has an offer, who is on the bench, who owes what.

    request → waiting → offered → accepted → on the bench → finished → paid → shipped. Each command changes
    one person's lines of commissions.yaml and nothing else, and writes down what moved when.
    """


@order.command("list", epilog="Example:  sitegen order list --all")
@click.option("--all", "everything", is_flag=True, help="Also what is shipped, declined or called off.")
@json_option
@click.pass_obj
def order_list(asked: Asked, everything: bool, as_json: bool) -> None:
    """List the orders under way, what each waits for, and who is next in line."""
    from sitegen.jobs import orders

    say(orders.book(asked.studio, asked.today, everything=everything), as_json=as_json)


@order.command("show", epilog="Example:  sitegen order show W27-1")
@click.argument("code")
@json_option
@click.pass_obj
def order_show(asked: Asked, code: str, as_json: bool) -> None:
    """Show one order: what moved when, its payments, hours and dates, and where it can go."""
    from sitegen.jobs import orders

    say(orders.show(asked.studio, asked.today, code), as_json=as_json)


@order.command(
    "add",
    epilog="Example:  sitegen order add --tier 'Small figure' --name 'A. Collector' "
    "--email collector@mail.example --round 'Spring 2027'",
)
@click.option("--tier", required=True, help="What is asked for, as named under `tiers:`.")
@click.option("--name", default="", help="Who asks.")
@click.option("--email", default="", help="Where to write to.")
@click.option("--price", help="If it's agreed already: digits and a point only.")
@click.option("--notes", default="", help="What they have in mind.")
@click.option(
    "--round", metavar="ROUND", help="The round; without it, the one in whose time the request came."
)
@click.option("--code", help="The order's code; without it, the next one, like W27-3.")
@click.option(
    "--on", metavar="DATE", help="When it came, with a time if the first are served: '2027-01-16 12:04'."
)
@json_option
@click.pass_obj
def order_add(asked: Asked, /, as_json: bool, **given: Any) -> None:
    """Put a request into the queue."""
    from sitegen.jobs import orders

    say(orders.add(asked.studio, asked.today, orders.Asking(**given)), as_json=as_json)


@order.command("move", epilog="Example:  sitegen order move W27-1 on the bench")
@click.argument("code")
@click.argument("step", nargs=-1, required=True)
@click.option("--price", help="The price agreed on: digits and a point only.")
@on_option
@json_option
@click.pass_obj
def order_move(
    asked: Asked, /, code: str, step: tuple[str, ...], price: str | None, on: str | None, as_json: bool
) -> None:
    """Move an order one step: waiting, offered, accepted, on the bench, finished, paid, shipped.

    `accepted` needs a price and fixes the payment plan; `paid` and `shipped` need everything paid.
    """
    from sitegen.jobs import orders

    say(orders.move(asked.studio, asked.today, code, " ".join(step), on, price), as_json=as_json)


@order.command("promise", epilog="Example:  sitegen order promise W27-1 2027-06-30")
@click.argument("code")
@click.argument("day", metavar="DATE")
@json_option
@click.pass_obj
def order_promise(asked: Asked, code: str, day: str, as_json: bool) -> None:
    """Note the day a piece is promised for, and say what a later one asks of you."""
    from sitegen.jobs import orders

    say(orders.promise(asked.studio, asked.today, code, day), as_json=as_json)


@order.command("undo", epilog="Example:  sitegen order undo W27-1")
@click.argument("code")
@json_option
@click.pass_obj
def order_undo(asked: Asked, code: str, as_json: bool) -> None:
    """Take an order's latest step back, when it was a slip."""
    from sitegen.jobs import orders

    say(orders.take_back(asked.studio, asked.today, code), as_json=as_json)


@order.command("offer", epilog="Example:  sitegen order offer 'Winter 2027'")
@click.argument("round_name", metavar="ROUND")
@click.option("--slots", type=click.IntRange(1), help="At most so many; without it, all that are free.")
@yes_option
@json_option
@click.pass_obj
def order_offer(asked: Asked, round_name: str, slots: int | None, yes: bool, as_json: bool) -> None:
    """Offer a round's free slots to the next in line: as drawn, as they came, or as long as they wait.

    Nobody gets a second slot; whoever waits on the list moves into the queue.
    """
    from sitegen.jobs import orders

    asks = _asks("Offer these slots?", yes=yes, as_json=as_json)
    _done(orders.offer(asked.studio, asked.today, round_name, slots, asks), as_json=as_json, shown=not yes)


@order.command("lapsed", epilog="Example:  sitegen order lapsed --yes")
@yes_option
@json_option
@click.pass_obj
def order_lapsed(asked: Asked, yes: bool, as_json: bool) -> None:
    """Pass on the offers that weren't answered within `offer_days` (14), each to the next of its round."""
    from sitegen.jobs import orders

    asks = _asks("Let them lapse and pass them on?", yes=yes, as_json=as_json)
    made = orders.lapsed(asked.studio, asked.today, asks)
    _done(made, as_json=as_json, shown=not yes and made is not None and made.changes)


@order.command("paid", epilog="Example:  sitegen order paid W27-1 132 --on 2027-02-05")
@click.argument("code")
@click.argument("amount")
@on_option
@click.option("--again", is_flag=True, help="The same amount did come in twice that day.")
@json_option
@click.pass_obj
def order_paid(asked: Asked, code: str, amount: str, on: str | None, again: bool, as_json: bool) -> None:
    """Note money that came in for an order, and say how its plan stands."""
    from sitegen.jobs import orders

    say(orders.pay(asked.studio, asked.today, code, amount, on, again=again), as_json=as_json)


@order.command("refund", epilog="Example:  sitegen order refund W27-1 20 --on 2027-02-09")
@click.argument("code")
@click.argument("amount")
@on_option
@json_option
@click.pass_obj
def order_refund(asked: Asked, code: str, amount: str, on: str | None, as_json: bool) -> None:
    """Note money that was sent back: paid too much, or returned when an order was called off."""
    from sitegen.jobs import orders

    say(orders.refund(asked.studio, asked.today, code, amount, on), as_json=as_json)


@order.command("hours", epilog="Example:  sitegen order hours W27-1 sculpting 3.5")
@click.argument("code")
@click.argument("step")
@click.argument("hours", metavar="HOURS")
@json_option
@click.pass_obj
def order_hours(asked: Asked, code: str, step: str, hours: str, as_json: bool) -> None:
    """Add bench hours to a step of the work, in its piece's file if there is one (`order: CODE`)."""
    from sitegen.jobs import orders

    say(orders.hours(asked.studio, asked.today, code, step, hours), as_json=as_json)


@order.command("letter", epilog="Example:  sitegen order letter W27-1 --note words.md")
@click.argument("code")
@click.option(
    "--note", type=click.Path(path_type=Path, dir_okay=False), help="Your own words, a Markdown file."
)
@click.option(
    "--new-day", metavar="DATE", help="It will be later: offer to wait or to cancel; `unknown` names no day."
)
@click.option("--confirm", is_flag=True, help="Confirm what was agreed on, also later than straight after.")
@click.option("--show", "opened", is_flag=True, help="Open the letter in the browser.")
@click.pass_obj
def order_letter(asked: Asked, /, code: str, note: Path | None, *, opened: bool, **given: Any) -> None:
    """Draft the letter that an order calls for: offer, confirmation, a payment, finished, an end.

    It goes to that client alone, and only when you post it: open letter.eml in your mail program. A draft
    that lies there already is left as it is; another letter gets a folder of its own.
    """
    from sitegen.jobs import letters, order_letters

    wish = order_letters.Wish(note=letters.read_note(note), **given)
    made = order_letters.letter(asked.studio, asked.today, code, wish)
    tell(f"Subject:  {made.subject}")
    tell(f"To:       {made.to}")
    tell(f"Letter:   {made.folder / 'letter.html'}")
    for remark in made.remarks:
        tell(f"  [ ] {remark}")
    tell(f"Post it:  open {made.folder / 'letter.eml'} in your mail program, or copy the text.")
    if opened:
        click.launch(str(made.folder / "letter.html"))


@order.command("decline", epilog="Example:  sitegen order decline W27-4 --why 'It would need a kiln.'")
@click.argument("code")
@click.option("--why", required=True, help="The reason, as the letter will give it.")
@on_option
@json_option
@click.pass_obj
def order_decline(asked: Asked, code: str, why: str, on: str | None, as_json: bool) -> None:
    """Decline a request, or take an offer back, with a courteous reason."""
    from sitegen.jobs import orders

    say(orders.decline(asked.studio, asked.today, code, why, on), as_json=as_json)


@order.command("cancel", epilog="Example:  sitegen order cancel W27-2 --by client --work 40%")
@click.argument("code")
@click.option("--by", type=click.Choice(["client", "maker"]), required=True, help="Who ends it.")
@click.option("--why", default="", help="The reason; a must when you end it.")
@click.option(
    "--work", metavar="SHARE", help="How much of the work is done, like 40%, if it is on the bench."
)
@on_option
@yes_option
@json_option
@click.pass_obj
def order_cancel(asked: Asked, /, code: str, yes: bool, as_json: bool, **given: Any) -> None:
    """End an order early; once accepted, say what is kept and what goes back by your written terms."""
    from sitegen.jobs import orders

    asks = _asks("Call it off?", yes=yes, as_json=as_json)
    made = orders.cancel(asked.studio, asked.today, code, orders.Cancelling(**given), asks)
    _done(made, as_json=as_json, shown=not yes)


def _asks(question: str, *, yes: bool, as_json: bool) -> Callable[[Answer], bool]:
    """Make what shows a change and asks before it's written; with --yes nothing is asked."""

    def agree(answer: Answer) -> bool:
        if yes:
            return True
        tell("\n".join(answer.lines()), err=as_json)
        return click.confirm(question, err=as_json)

    return agree


def _done(answer: Answer | None, *, as_json: bool, shown: bool) -> None:
    """Say what was written; a person who was asked has read it already."""
    if answer is None:
        tell("Nothing is changed.", err=as_json)
        raise SystemExit(1)
    if as_json or not shown:
        say(answer, as_json=as_json)
    else:
        tell("Written.")
