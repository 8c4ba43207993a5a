"""Letters: who gets one, what it says, how it's posted, what came back."""

from sitegen.letters.announce import Announcement, Room
from sitegen.letters.commissions import HeadStart, announce_commissions, announce_head_start
from sitegen.letters.faults import LetterFault
from sitegen.letters.links import broken_links
from sitegen.letters.pictures import Showing
from sitegen.letters.pieces import Wanted, announce_pieces
from sitegen.letters.show import announce_show
from sitegen.letters.tokens import make_token, who

__all__ = [
    "Announcement",
    "HeadStart",
    "LetterFault",
    "Room",
    "Showing",
    "Wanted",
    "announce_commissions",
    "announce_head_start",
    "announce_pieces",
    "announce_show",
    "broken_links",
    "make_token",
    "who",
]
