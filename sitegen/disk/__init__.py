"""What rooms that write need of the disk: a file whole or not at all, and the pen of a studio."""

from sitegen.disk.files import hold, own_folder, write_whole
from sitegen.disk.pen import PenMissing, PenTaken, fresh_folder, pen, put, will_hold

__all__ = [
    "PenMissing", "PenTaken", "fresh_folder", "hold", "own_folder", "pen", "put", "will_hold", "write_whole",
]  # fmt: skip
