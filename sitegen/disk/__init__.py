"""What rooms that write need of the disk: a file whole or not at all, and the pen of a studio."""

from sitegen.disk.files import hold, open_own, own_folder, read_note, sweep_parts, write_note, write_whole
from sitegen.disk.pen import PenMissing, fresh_folder, in_hand, pen, put, take_away

__all__ = [
    "PenMissing", "fresh_folder", "hold", "in_hand", "open_own", "own_folder", "pen",
    "put", "read_note", "sweep_parts", "take_away", "write_note", "write_whole",
]  # fmt: skip
