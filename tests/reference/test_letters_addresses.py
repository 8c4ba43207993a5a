"""Addresses held to the isemail test set, version 3.0 (D. Sayers, M. Rushton): what a list should take.

The rows are the check values that its authors publish as valid or give a diagnosis for; "refuse" is our
reading for a mailing list where the standards would let more through.
"""

from __future__ import annotations

import pytest

from sitegen.studio.mailing import deliverable


@pytest.mark.parametrize(
    "address",
    [
        "test@iana.org", "test.test@iana.org", "!#$%&`*+/=?^`{|}~@iana.org", "test@xn--hxajbheg2az3al.xn--jxalpdlp",
        f"{'a' * 64}@iana.org",
        # RFC 3696 section 3
        "user+mailbox@example.com", "customer/department=shipping@example.com", "$A12345@example.com",
        "!def!xyz%abc@example.com", "_somename@example.com",
    ],
)  # fmt: skip
def test_valid_addresses_are_written_to_as_they_are(address: str) -> None:
    """VALID in the set, or given as valid by RFC 3696."""
    assert deliverable(address) == address


@pytest.mark.parametrize(
    "address",
    [
        f"{'a' * 65}@iana.org",  # RFC5322_LOCAL_TOOLONG
        f"test@{'a' * 64}.com",  # RFC5322_LABEL_TOOLONG
        ".test@iana.org",  # ERR_DOT_START
        "test.@iana.org",  # ERR_DOT_END
        "test@iana..com",  # ERR_CONSECUTIVEDOTS
        "test@iana-.com",  # ERR_DOMAINHYPHENEND
        "test@",  # ERR_NODOMAIN
        "@iana.org",  # ERR_NOLOCALPART
        "test@iana.org\n",  # ERR_EXPECTING_ATEXT: a header would start after it
        '"test"@iana.org',  # RFC5321_QUOTEDSTRING: valid, but refused here; no list's sheet holds one
        "test@[255.255.255.255]",  # RFC5321_ADDRESSLITERAL: valid, refused
        "(comment)test@iana.org",  # CFWS_COMMENT: refused
    ],
)
def test_what_a_list_should_not_take_is_refused(address: str) -> None:
    """Errors of the set, and valid rarities that a collector doesn't have."""
    with pytest.raises(ValueError, match="address"):
        deliverable(address)
