"""`piece mark` and `piece return`: what may be said of a piece, its sale, and that it came back."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from sitegen.terminal.asking import someone_is_there
from sitegen.terminal.group import Asked
from sitegen.terminal.telling import tell

if TYPE_CHECKING:
    from sitegen.jobs.sales import SaleWish

_FOLLOW = "The site, letters and cards follow at the next `sitegen build`."


@click.command(
    "mark", epilog="Example:  sitegen piece mark moth-usher sold --price 480 --on 2026-05-14 --stream shows"
)
@click.argument("slug")
@click.argument("status", nargs=-1, required=True)
@click.option("--price", help="What it was sold for; without it, its asking price.")
@click.option("--on", metavar="DATE", help="The day of the sale; without it, today.")
@click.option("--stream", help="originals, commissions or shows.")
@click.option("--to", help="Who bought it; never shown in public.")
@click.option("--yes", is_flag=True, help="Don't ask; take the asking price and today where nothing is said.")
@click.pass_obj
def mark(asked: Asked, /, slug: str, status: tuple[str, ...], yes: bool, **given: Any) -> None:
    """Change a piece's availability: one line of its YAML, comments and all else stay.

    STATUS is available, on hold, sold, commissioned, in progress or not for sale. With sold, price, day,
    stream and buyer are asked for at a terminal, and noted in the same edit.
    """
    from sitegen.jobs import pieces, sales

    folder, word, wish = asked.studio, " ".join(status), sales.SaleWish(**given)
    kind = pieces.status_of(word)
    usual = sales.usual(folder, slug, asked.today) if kind == "sold" and not wish.said else None
    if usual is not None and not yes and someone_is_there():
        wish = _asked_for(usual)
    if wish.said or (yes and usual is not None):
        noted = sales.sell(folder, slug, word, wish, asked.today)
        tell(f"{slug} is now {kind}: {noted}. {_FOLLOW}")
        return
    done = pieces.mark(folder, slug, word)
    tell(f"{slug} {'is now' if done.changed else 'already was'} {done.status}. {_FOLLOW}")
    if usual is not None:
        tell(
            f"What it was sold for isn't noted, so the books don't count it; "
            f"`sitegen piece mark {slug} sold --price {usual.price or 480} --on {usual.on}` adds that."
        )


def _asked_for(usual: SaleWish) -> SaleWish:
    """Ask for the sale; nothing for the price leaves it out."""
    from sitegen.jobs.sales import SaleWish

    price = click.prompt("Sold for (digits only)", default=usual.price or "", show_default=bool(usual.price))
    if not price.strip():
        return SaleWish()
    on = click.prompt("On", default=usual.on)
    stream = click.prompt("Stream (originals, commissions, shows)", default=usual.stream)
    to = click.prompt("To (Enter to leave open)", default=usual.to or "", show_default=bool(usual.to))
    return SaleWish(price, on, stream, to)


@click.command("return", epilog="Example:  sitegen piece return moth-usher --refund 480 --on 2026-06-02")
@click.argument("slug")
@click.option("--refund", required=True, metavar="AMOUNT", help="What was sent back; 0 for nothing.")
@click.option("--on", metavar="DATE", help="The day; without it, today.")
@click.option("--status", default="available", show_default=True, help="What it is from now on.")
@click.pass_obj
def take_back(asked: Asked, slug: str, refund: str, on: str | None, status: str) -> None:
    """Note that a sold piece came back and what was sent back for it.

    The sale stays in the books of its day; the refund counts on its own. The piece may be sold again.
    """
    from sitegen.jobs import sales

    tell(f"{slug}: {sales.take_back(asked.studio, slug, refund, on, status, asked.today)}. {_FOLLOW}")
