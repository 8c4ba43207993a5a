"""Reports held to the standards' own examples: RFC 3464 appendix E, RFC 5965 appendix B.

The machine-readable parts are those that the standards print (their addresses are of 1994, and the standards');
what they leave out as "original message goes here" is a letter of ours.
"""

from __future__ import annotations

import pytest

from sitegen.letters.folder import make_token, message_name
from sitegen.letters.replies import Meaning, Reply
from sitegen.studio.person import Consent, Person
from tests.letters.studio import ALL, SECRET, read_all

LETTER = "commissions-winter-2027"

# RFC 3464 appendix E, "Simple DSN".
SIMPLE = """\
Reporting-MTA: dns; cs.utk.edu

Original-Recipient: rfc822;louisl@larry.slip.umd.edu
Final-Recipient: rfc822;louisl@larry.slip.umd.edu
Action: failed
Status: 4.0.0
Diagnostic-Code: smtp; 426 connection timed out
Last-Attempt-Date: Thu, 7 Jul 1994 17:15:49 -0400
"""
# RFC 3464 appendix E, "Multi-Recipient DSN".
SEVERAL = """\
Reporting-MTA: dns; cs.utk.edu

Original-Recipient: rfc822;arathib@vnet.ibm.com
Final-Recipient: rfc822;arathib@vnet.ibm.com
Action: failed
Status: 5.0.0 (permanent failure)
Diagnostic-Code: smtp;  550 'arathib@vnet.IBM.COM' is not a
 registered gateway user
Remote-MTA: dns; vnet.ibm.com

Original-Recipient: rfc822;johnh@hpnjld.njd.hp.com
Final-Recipient: rfc822;johnh@hpnjld.njd.hp.com
Action: delayed
Status: 4.0.0 (hpnjld.njd.jp.com: host name lookup failure)

Original-Recipient: rfc822;wsnell@sdcc13.ucsd.edu
Final-Recipient: rfc822;wsnell@sdcc13.ucsd.edu
Action: failed
Status: 5.0.0
Diagnostic-Code: smtp; 550 user unknown
Remote-MTA: dns; sdcc13.ucsd.edu
"""
# RFC 3464 appendix E, "DSN from gateway to foreign system".
GATEWAY = """\
Reporting-MTA: mailbus; SYS30

Final-Recipient: unknown; nair_s
Status: 5.0.0 (unknown permanent failure)
Action: failed
"""
# RFC 3464 appendix E, "Delayed DSN".
DELAYED = """\
Reporting-MTA: dns; sun2.nsfnet-relay.ac.uk

Final-Recipient: rfc822;thomas@de-montfort.ac.uk
Status: 4.0.0 (unknown temporary failure)
Action: delayed
"""
# RFC 5965 appendix B.1 and B.2.
ABUSE = """\
Feedback-Type: abuse
User-Agent: SomeGenerator/1.0
Version: 1
"""
ABUSE_IN_FULL = """\
Feedback-Type: abuse
User-Agent: SomeGenerator/1.0
Version: 1
Original-Mail-From: <somespammer@example.net>
Original-Rcpt-To: <user@example.com>
Arrival-Date: Thu, 8 Mar 2005 14:00:00 EDT
Reporting-MTA: dns; mail.example.com
Source-IP: 192.0.2.1
Authentication-Results: mail.example.com;
              spf=fail smtp.mail=somespammer@example.com
Reported-Domain: example.net
Reported-Uri: http://example.net/earn_money.html
Reported-Uri: mailto:user@example.com
Removal-Recipient: user@example.com
"""


def understood(address: str, kind: str, fields: str, returned_as: str, secret: bytes = SECRET) -> Reply:
    """Read a report on a letter of ours to someone, in the shape of the standards' examples."""
    person = Person(address, "", ALL, None, Consent.WEB)
    report = (
        f"Date: Thu, 7 Jul 1994 17:16:05 -0400\nFrom: Mail Delivery Subsystem <MAILER-DAEMON@CS.UTK.EDU>\n"
        f"Subject: Returned mail: Cannot send message for 5 days\nMIME-Version: 1.0\n"
        f'Content-Type: multipart/report; report-type={kind};\n boundary="RAA14128.773615765/CS.UTK.EDU"\n\n'
        f"--RAA14128.773615765/CS.UTK.EDU\n\nThe original message was received at Sat, 2 Jul 1994 17:10:28 -0400\n\n"
        f"--RAA14128.773615765/CS.UTK.EDU\ncontent-type: message/{kind}\n\n{fields}\n"
        f"--RAA14128.773615765/CS.UTK.EDU\ncontent-type: {returned_as}\n\n"
        f"From: hello@lantern.example\nSubject: Commissions open\n"
        f"Message-ID: <{LETTER}.{message_name(secret, LETTER, person.key)}@lantern.example>\n"
        f"List-Unsubscribe: <mailto:hello@lantern.example?subject=leave%20{make_token(secret, person.key)}>\n\n"
        f"--RAA14128.773615765/CS.UTK.EDU--\n"
    )
    (reply,) = read_all([report.replace("\n", "\r\n").encode()], [person], SECRET)
    return reply


@pytest.mark.parametrize(
    "returned_as", ["message/rfc822", "text/rfc822-headers", "message/global", "message/global-headers"]
)
@pytest.mark.parametrize(
    ("address", "kind", "fields", "meaning"),
    [
        # "Failed" outweighs the class: given up, for this letter (RFC 3464 section 2.3.3; RFC 3463 section 2).
        ("louisl@larry.slip.umd.edu", "delivery-status", SIMPLE, Meaning.TEMPORARY),
        ("arathib@vnet.ibm.com", "delivery-status", SEVERAL, Meaning.BOUNCED),
        ("johnh@hpnjld.njd.hp.com", "delivery-status", SEVERAL, Meaning.WAITING),
        ("wsnell@sdcc13.ucsd.edu", "delivery-status", SEVERAL, Meaning.BOUNCED),
        ("nair@example.com", "delivery-status", GATEWAY, Meaning.BOUNCED),
        ("thomas@de-montfort.ac.uk", "delivery-status", DELAYED, Meaning.WAITING),
        ("user@example.com", "feedback-report", ABUSE, Meaning.COMPLAINED),
        ("user@example.com", "feedback-report", ABUSE_IN_FULL, Meaning.COMPLAINED),
    ],
)
def test_the_standards_examples(
    address: str, kind: str, fields: str, meaning: Meaning, returned_as: str
) -> None:
    """Each means what its standard says, and is known by the letter it returns, whole or its headers alone."""
    reply = understood(address, kind, fields, returned_as)

    assert reply.meaning is meaning
    if meaning is not Meaning.WAITING:
        assert (reply.key, reply.letter) == (address, LETTER)


@pytest.mark.parametrize(
    ("kind", "fields"),
    [("delivery-status", GATEWAY), ("feedback-report", ABUSE), ("feedback-report", ABUSE_IN_FULL)],
)
def test_the_same_examples_forged_change_nothing(kind: str, fields: str) -> None:
    """Sent by someone who has no letter of ours; an address in the report is only a claim."""
    reply = understood("user@example.com", kind, fields, "message/rfc822", secret=b"guessed")

    assert (reply.meaning, reply.key) == (Meaning.LOOK, None)


# RFC 5965 section 7.3 and RFC 6430's and RFC 6650's later kinds: none of them is a complaint about a letter.
@pytest.mark.parametrize("kind", ["fraud", "virus", "other", "not-spam", "auth-failure"])
def test_other_kinds_of_feedback_are_shown(kind: str) -> None:
    """The artist looks; nobody leaves for them."""
    reply = understood("user@example.com", "feedback-report", ABUSE.replace("abuse", kind), "message/rfc822")

    assert (reply.meaning, reply.key) == (Meaning.LOOK, None)
    assert reply.said.startswith(f"a report of the kind '{kind}': from ")
