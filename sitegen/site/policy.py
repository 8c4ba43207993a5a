"""What a browser may do on behalf of the pages: in each page, and as headers for hosts that send them."""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256

from sitegen.site.house import House
from sitegen.site.leaf import Leaf
from sitegen.site.structured import Facts, block
from sitegen.studio.outward import origin

# No frame, no foreign host, no script. `file:` is for pages opened from a disk, where 'self' means nothing in
# some browsers; a page from the web can't reach files by it. `connect-src` lets auditing tools that work
# inside the page read robots.txt.
_SHARED = (
    "default-src 'none'; img-src 'self' file:; style-src 'self' file:; connect-src 'self'; base-uri 'none'"
)


def page_policy(leaf: Leaf, facts: tuple[Facts, ...]) -> str:
    """Return the Content-Security-Policy of a page with these facts.

    Structured data is named by its hash, though no browser would run it: some checkers take it for a script.
    """
    rules = [_SHARED, f"form-action {_form(leaf.posts_to)}"]
    if facts:
        digest = b64encode(sha256(block(facts).encode("utf-8")).digest()).decode("ascii")
        rules.append(f"script-src 'sha256-{digest}'")
    return "; ".join(rules)


def headers(house: House) -> bytes:
    """Write the response headers of the whole site, one a line (RFC 9110, section 5).

    The policy is the pages' own without what only one page needs; `frame-ancestors` counts only in a header
    (Content Security Policy Level 3, section 3.3).
    """
    rules = f"{_SHARED}; form-action {_form(house.front.card.sign_up)}; frame-ancestors 'none'"
    return f"Content-Security-Policy: {rules}\nX-Content-Type-Options: nosniff\n".encode("ascii")


def _form(address: str | None) -> str:
    return origin(address) if address else "'none'"
