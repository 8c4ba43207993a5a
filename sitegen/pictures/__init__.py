"""One photo in, a set of web pictures out; nothing personal survives inside them."""

from sitegen.pictures.harvest import Harvest, Sets, make
from sitegen.pictures.icons import IconSet, icons
from sitegen.pictures.opening import look
from sitegen.pictures.sound import examine, known_in
from sitegen.pictures.values import Fault, PictureSet, Rendition, Wish

__all__ = [
    "Fault",
    "Harvest",
    "IconSet",
    "PictureSet",
    "Rendition",
    "Sets",
    "Wish",
    "examine",
    "icons",
    "known_in",
    "look",
    "make",
]
