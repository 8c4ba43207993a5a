"""`today`: what is lost by waiting, each with the command that does it."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from sitegen.terminal.group import JSON, Asked, shown
from sitegen.terminal.telling import say, tell

if TYPE_CHECKING:
    from sitegen.jobs.today import Errand

# By what is at stake, else by what it's about; {0} is the code or name.
_BY_KIND = {
    "delivery": "order letter {0} --new-day DATE",
    "promise": "order letter {0} --new-day DATE",
    "lapsed offer": "order lapsed",
    "letter in doubt": "announce list {0}",
    "letter refused": "announce list {0}",
    "offer": "order letter {0}",
    "finished": "order letter {0}",
    "bench": "order move {0} on the bench",
    "invitation": "announce show {0}",
    "sheet": "sheet {0}",
    "consent": "people list",
    "piece due back": "piece back {0}",
}
_BY_KIND_AND_TARGET = {
    ("payment", "order"): "order letter {0}",
    ("payment", "piece"): "plan {0}",
    ("sale", "piece"): "piece mark {0} sold",
    ("round", "round"): "announce commissions {0}",
    ("invitation", "class"): "announce class {0}",
}
_BY_TARGET = {
    "order": "order show {0}", "round": "order list", "letter": "send {0}", "terms": "terms keep",
    "books": "check", "files": "check", "site": "build", "web": "publish", "backup": "backup DIR",
    "studio": "check", "checklist": "check", "pieces": "piece add PHOTO",
}  # fmt: skip


@shown("today", "today.errands", "", JSON)
def today(asked: Asked, wish: None, as_json: bool) -> None:
    """Say what is lost by waiting: offers that end, late payments, days at risk, letters to post, and more.

    The first to be lost comes first. Nothing is written.
    """
    from sitegen.jobs import today as jobs

    found = jobs.errands(asked.studio, asked.today)
    if as_json or not found.errands:
        say(found, as_json=as_json)
        return
    for errand in found.errands:
        tell(errand.sentence)
        tell(f"  {errand.do}  sitegen {_command(errand)}")


def _command(one: Errand) -> str:
    """Return the command that does an errand, or shows more of it."""
    kind, target = str(one.kind), one.target
    words = _BY_KIND_AND_TARGET.get((kind, target.kind)) or _BY_KIND.get(kind) or _BY_TARGET[target.kind]
    return words.format(shlex.quote(target.name))
