"""The only room that reads or edits the studio's files."""

from sitegen.sources.folder import Reading, read
from sitegen.sources.gathered import line_in, placed
from sitegen.sources.text import Complaint, Level, StudioFault

__all__ = ["Complaint", "Level", "Reading", "StudioFault", "line_in", "placed", "read"]
