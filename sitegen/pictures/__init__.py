"""One photo in, a set of web pictures out; nothing personal survives inside them."""

from sitegen.pictures.crew import Harvest, make
from sitegen.pictures.icons import icons
from sitegen.pictures.opening import PhotoFault, UnreadablePhoto, Wish, examine, look
from sitegen.pictures.pack import known_in

__all__ = ["Harvest", "PhotoFault", "UnreadablePhoto", "Wish", "examine", "icons", "known_in", "look", "make"]
