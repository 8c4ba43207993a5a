"""Letters: who gets one, what it says, how it's posted, what came back."""

from sitegen.letters.announce import Announcement, Writing
from sitegen.letters.cautions import own_links
from sitegen.letters.client import (
    ClientLetter,
    Draft,
    Due,
    LetterClient,
    Matter,
    drafts_in,
    stem_of,
    write_to_client,
)
from sitegen.letters.envelope import read_asking
from sitegen.letters.folder import Letter, Room, letters_in, make_token, open_letter, who
from sitegen.letters.gate import messages_in
from sitegen.letters.kinds import (
    announce_commissions,
    announce_confirm,
    announce_head_start,
    announce_notice,
    announce_pieces,
    announce_show,
    find_round,
)
from sitegen.letters.note import Hanging, Showing, shows_pieces
from sitegen.letters.office import SmtpOffice
from sitegen.letters.posting import (
    Manner,
    RunResult,
    WallClock,
    send,
    send_to_me,
    settle,
    still_allowed,
    who_may,
    write_mbox,
)
from sitegen.letters.record import LetterState, note_temporary, sent_to, state_of
from sitegen.letters.replies import Meaning, Reader, Reply, Slips
from sitegen.studio.fault import LetterFault

__all__ = [
    "Announcement", "ClientLetter", "Draft", "Due", "Hanging", "Letter",
    "LetterClient", "LetterFault", "LetterState", "Manner", "Matter", "Meaning",
    "Reader", "Reply", "Room", "RunResult", "Showing", "Slips", "SmtpOffice",
    "WallClock", "Writing", "announce_commissions", "announce_confirm", "announce_head_start",
    "announce_notice", "announce_pieces", "announce_show", "drafts_in",
    "find_round", "letters_in", "make_token", "messages_in", "note_temporary",
    "open_letter", "own_links", "read_asking", "send", "send_to_me", "sent_to", "settle",
    "shows_pieces", "state_of", "stem_of", "still_allowed", "who", "who_may",
    "write_mbox", "write_to_client",
]  # fmt: skip
