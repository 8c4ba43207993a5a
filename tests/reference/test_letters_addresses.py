"""Addresses held to two public test sets: what a list takes, by import and add, and what goes on an envelope.

The isemail set, version 3.0 (D. Sayers, M. Rushton), and the cases of email-validator's own tests; both as
carried by the source archive of email-validator 2.4.0 (`addresses/*.json` name origin and licence). "Refuse"
beyond the sets' errors is our reading for a mailing list: quoted names, addresses in brackets and comments
are valid, but no collector has one.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sitegen.sources.people import fault_of, read_people
from sitegen.sources.people_import import Agreement, read_table
from sitegen.sources.text import Notebook
from sitegen.studio.person import Consent, deliverable

SETS = Path(__file__).parent / "addresses"
ISEMAIL: list[tuple[str, str]] = [
    (address, diagnosis) for address, diagnosis in json.loads((SETS / "isemail.json").read_text())["cases"]
]
OWN: dict[str, list[str]] = json.loads((SETS / "email_validator.json").read_text())["cases"]
REFUSED = [
    "valid only in quotes",
    "invalid",
    "invalid, too long",
    "invalid, with a name around it",
    "reserved for other uses",
]
# RFC 2606's names: this list takes them, since the demo and everyone's first tries live there.
RESERVED_FOR_EXAMPLES = {"me@valid.invalid", "me@test.test.test"}


def taken(address: str) -> bool:
    """Tell whether an import takes an address, and that the list itself and `add` say the same."""
    quoted = '"' + address.replace('"', '""') + '"'
    found, refused = read_table(
        f"email\n{quoted}\n".encode("utf-8", "surrogatepass"), Agreement(Consent.WEB, "")
    )
    assert len(found) + len(refused) <= 1
    if "?" in address:
        # Valid, and in a table far likelier a letter that got lost: an import sets it aside.
        assert not found
        return fault_of(address) is None
    return bool(found)


def test_the_sets_are_whole() -> None:
    """As many cases as the archive holds: 150 and 146."""
    assert len(ISEMAIL) == 150
    assert sum(map(len, OWN.values())) == 146
    assert len({diagnosis for _, diagnosis in ISEMAIL}) > 20


@pytest.mark.parametrize(("address", "diagnosis"), ISEMAIL)
def test_isemail(address: str, diagnosis: str) -> None:
    """What the set calls valid is taken; whatever it remarks on is refused, by the list and on an envelope."""
    valid = diagnosis == "ISEMAIL_VALID"

    assert (fault_of(address) is None) == valid
    if valid:
        assert deliverable(address) == address
        assert taken(address)
    else:
        with pytest.raises(ValueError, match=r"address|before the @"):
            deliverable(address)


@pytest.mark.parametrize("address", [*OWN["valid"], *OWN["valid, letters beyond ASCII before the @"]])
def test_what_the_library_calls_valid_is_taken(address: str) -> None:
    """Also in other scripts; those can be on the list, though few servers take a letter to them."""
    if address.endswith("@test") or '"@' in address:
        # A bare machine name, or a local part in quotes: the library takes them when asked to.
        assert fault_of(address) is not None
        return
    assert (fault_of(address) is None) == ("<" not in address)
    assert taken(address) == ('"@' not in address)  # an import also reads `Name <address>`


@pytest.mark.parametrize("address", [one for kind in REFUSED for one in OWN[kind]])
def test_what_the_library_refuses_is_refused(address: str) -> None:
    """With a sentence; on people.csv as on import."""
    if address in RESERVED_FOR_EXAMPLES:
        assert fault_of(address) is None
        return
    assert fault_of(address)
    # An import also reads `Name <address>`, and a cell's outer blanks are no part of it.
    readable = address.endswith(" <me@example.com>") or address in {
        "<me@example.com>",
        "my@example.com\n",
        "\nmy@example.com",
    }
    assert taken(address) == readable
    notes = Notebook("people.csv")
    quoted = '"' + address.replace('"', '""') + '"'
    text = f"email,name,interests,joined,consent,evidence,left\r\n{quoted},,,,web,,\r\n"
    if address == address.strip():
        assert read_people(text, notes) == ()
        assert len(notes.complaints) == 1


@pytest.mark.parametrize("piece", OWN["invalid characters"])
def test_unsafe_characters_are_refused(piece: str) -> None:
    """On either side of the @, as in the library's own test."""
    assert fault_of(f"{piece}@host.example")
    assert fault_of(f"name@{piece}.example")


@pytest.mark.parametrize(
    "address", OWN["letters beyond ASCII before the @, refused where a server takes none"]
)
def test_letters_beyond_ascii_before_the_at_go_on_no_envelope(address: str) -> None:
    """RFC 6531 asks the server's leave for them, which few give."""
    with pytest.raises(ValueError, match=r"before the @|address"):
        deliverable(address)


# RFC 3696 section 3 and its errata.
@pytest.mark.parametrize(
    "address",
    [
        "user+mailbox@example.com", "customer/department=shipping@example.com", "$A12345@example.com",
        "!def!xyz%abc@example.com", "_somename@example.com", f"{'a' * 64}@iana.org",
    ],
)  # fmt: skip
def test_valid_addresses_are_written_to_as_they_are(address: str) -> None:
    """Given as valid by the RFC; taken, and put on the envelope unchanged."""
    assert fault_of(address) is None
    assert deliverable(address) == address


def test_an_address_with_a_line_end_starts_no_header() -> None:
    """ERR_EXPECTING_ATEXT in the set."""
    with pytest.raises(ValueError, match="address"):
        deliverable("test@iana.org\n")
