"""Addresses that pieces had earlier: small pages that lead on, without script, since codes are in print."""

from __future__ import annotations

from collections.abc import Iterator

from markupsafe import Markup

from sitegen.site import addresses
from sitegen.site.house import House

_PAGE = Markup("""<!doctype html>
<html lang="{language}">
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="robots" content="noindex">
<meta http-equiv="refresh" content="0; url={link}">
<link rel="canonical" href="{address}">
<title>{title}</title>
<p>{words} <a href="{link}">{title}</a></p>
</html>
""")


def moved(house: House) -> Iterator[tuple[str, bytes]]:
    """Yield path and page of each earlier address that no piece has now."""
    taken = {one.piece.slug for one in house.exhibits}
    for one in house.exhibits:
        for earlier in one.piece.was:
            if earlier in taken:
                continue
            taken.add(earlier)
            path = addresses.piece(earlier)
            page = _PAGE.format(
                language=str(house.tongue.locale).replace("_", "-"),
                link=addresses.relative(path, one.path),
                address=house.address(one.path),
                title=house.typographic(one.piece.title),
                words=house.words.plain("piece.moved"),
            )
            yield path, page.encode("utf-8")
