"""What keeps a theme or its words from being used, in a sentence for the artist."""

from sitegen.studio.fault import Fault


class ThemeFault(Fault):
    """A theme's file is missing or can't be used; `str()` says which, what is wrong and the cure."""
