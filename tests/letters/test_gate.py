"""Which servers letters may pass through without a private line: this machine, and no other."""

from __future__ import annotations

import pytest

from sitegen.letters.gate import OUTGOING, Security, gate_from
from sitegen.studio.asked import LetterFault

KIND = OUTGOING


def asked(host: str, security: str) -> dict[str, str]:
    return {f"SITEGEN_{KIND.name}_HOST": host, f"SITEGEN_{KIND.name}_SECURITY": security}


@pytest.mark.parametrize("host", ["localhost", "LOCALHOST", "127.0.0.1", "127.9.9.9", "::1", "[::1]"])
def test_an_open_line_is_taken_on_this_machine(host: str) -> None:
    """Loopback: 127.0.0.0/8 (RFC 1122 section 3.2.1.3) and ::1 (RFC 4291 section 2.5.3)."""
    assert gate_from(asked(host, " None "), KIND).security is Security.NONE


@pytest.mark.parametrize(
    "host", ["mail.example", "192.0.2.1", "localhost.example", "10.0.0.1", "2001:db8::1"]
)
def test_an_open_line_is_refused_to_anywhere_else(host: str) -> None:
    with pytest.raises(LetterFault, match="use tls or starttls"):
        gate_from(asked(host, "none"), KIND)
    assert gate_from(asked(host, "tls"), KIND).host == host


@pytest.mark.parametrize(
    ("port", "taken"), [("1", True), ("65535", True), ("0", False), ("65536", False), ("x", False)]
)
def test_a_port_is_a_number_that_there_is(port: str, taken: bool) -> None:
    """16 bits, and none is 0 (RFC 9293 section 3.1)."""
    environment = asked("mail.example", "tls") | {f"SITEGEN_{KIND.name}_PORT": port}

    if taken:
        assert gate_from(environment, KIND).port == int(port)
    else:
        with pytest.raises(LetterFault, match=f"_PORT is '{port}'"):
            gate_from(environment, KIND)
