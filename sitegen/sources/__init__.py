"""The only room that reads or edits the studio's files."""

from sitegen.sources.complaints import Complaint, Level, StudioFault
from sitegen.sources.folder import Reading, line_in, read

__all__ = ["Complaint", "Level", "Reading", "StudioFault", "line_in", "read"]
