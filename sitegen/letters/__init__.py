"""Letters: who gets one, what it says, how it's posted, what came back."""

from sitegen.letters.announce import Announcement, Room
from sitegen.letters.commissions import announce_commissions
from sitegen.letters.faults import LetterFault
from sitegen.letters.tokens import make_token, who

__all__ = ["Announcement", "LetterFault", "Room", "announce_commissions", "make_token", "who"]
