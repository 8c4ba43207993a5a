"""Names of files and folders that become addresses: which a site can have, on any computer."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from sitegen.sources.complaints import Notebook
from sitegen.studio.foreign import quoted
from sitegen.studio.names import slug

# A file's name has at most 255 bytes (ext4, NTFS, APFS), and a picture's is made of its piece's number and
# address, a count, a digest and a width.
LONGEST = 100
# Names that Windows keeps for devices: the site may be built, copied or shown there.
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}


@dataclass
class Addresses:
    """Makes addresses of names, each once."""

    what: str
    """Of what the names are: a folder, a file."""
    taken: dict[str, str] = field(default_factory=dict)

    def of(self, name: str, shown: str, notes: Notebook) -> str | None:
        """Return the address that a name makes; None after a complaint. `shown` is the path it stands in."""
        own = slug(name)
        fault = next(self._faults(name, own), None)
        if fault is not None:
            notes.error(0, fault)
            return None
        self.taken[own] = shown
        return own

    def _faults(self, name: str, own: str) -> Iterator[str]:
        if not readable(name):
            yield f"the {self.what}'s name isn't UTF-8 and can't stand in an address; rename it"
        elif own in self.taken:
            yield f"this {self.what} and {self.taken[own]} both make the address '{own}'; rename one of them"
        elif not own:
            yield f"the {self.what}'s name {quoted(name)} needs at least one letter from a to z or digit"
        elif len(own) > LONGEST:
            yield f"the {self.what}'s name makes an address of {len(own)} letters; shorten it to {LONGEST}"
        elif own in _DEVICES:
            yield f"'{own}' is the name of a device on some computers; give the {self.what} another one"


def readable(name: str) -> bool:
    """Tell whether a name on the disk is text; Python carries other bytes along as halves of characters."""
    try:
        name.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def shown(name: str) -> str:
    """Return a name as it can be printed and written down."""
    return name.encode("utf-8", "backslashreplace").decode("utf-8")
