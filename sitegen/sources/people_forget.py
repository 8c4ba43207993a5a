"""Erase a person, and keep only what it takes never to write to them again: a salted hash."""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
from collections.abc import Callable
from collections.abc import Set as AbstractSet
from pathlib import Path

from sitegen.disk import own_folder, put
from sitegen.sources.complaints import StudioFault
from sitegen.sources.people_rows import remove
from sitegen.studio.addresses import address_key


def forget(folder: Path, address: str) -> int:
    """Take a person out of people.csv and suppress them; return how many rows there were.

    The hash is written first: stopped in between, the person is suppressed rather than lost sight of.
    """
    sent = folder / "sent"
    own_folder(sent)
    salt, hashes = _read(sent / "forgotten.json")
    key = address_key(address)
    _write(sent / "forgotten.json", salt, {*hashes, _hash(salt, key)})
    return remove(folder / "people.csv", key)


def no_longer_forgotten(folder: Path, address: str) -> bool:
    """Lift the suppression of someone who asks for letters again; return whether there was one."""
    file = folder / "sent" / "forgotten.json"
    salt, hashes = _read(file)
    mark = _hash(salt, address_key(address))
    if mark in hashes:
        _write(file, salt, hashes - {mark})
    return mark in hashes


def forgotten_in(folder: Path) -> Callable[[str], bool]:
    """Return a test that tells whether the holder of a folded address asked to be forgotten."""
    salt, hashes = _read(folder / "sent" / "forgotten.json")
    if not hashes:
        return lambda key: False
    return lambda key: _hash(salt, key) in hashes


def mentions(folder: Path, address: str) -> list[str]:
    """List where else in the studio's files an address stands, as `file, line N`, for the artist to judge."""
    wanted = address.casefold()
    found = []
    for file in sorted(
        [folder / "commissions.yaml", *folder.glob("pieces/*/piece.yaml"), *folder.glob("shows/*.yaml")]
    ):
        if file.exists():
            lines = file.read_text(encoding="utf-8-sig").splitlines()
            shown = file.relative_to(folder).as_posix()
            found += [f"{shown}, line {n}" for n, line in enumerate(lines, 1) if wanted in line.casefold()]
    return found


def _write(file: Path, salt: bytes, hashes: AbstractSet[str]) -> None:
    text = json.dumps({"salt": salt.hex(), "people": sorted(hashes)}, indent=2) + "\n"
    put(file, text.encode(), kept=False, private=True)


def _read(file: Path) -> tuple[bytes, frozenset[str]]:
    if not file.exists():
        return secrets.token_bytes(16), frozenset()
    try:
        kept = json.loads(file.read_text(encoding="utf-8"))
        return bytes.fromhex(kept["salt"]), frozenset(kept["people"])
    except (ValueError, KeyError, TypeError, RecursionError) as fault:
        raise StudioFault(
            f"{file} is damaged, so that nobody knows who asked to be forgotten; put it back from a copy"
        ) from fault


def _hash(salt: bytes, key: str) -> str:
    return hmac.digest(salt, key.encode("utf-8"), hashlib.sha256).hex()
