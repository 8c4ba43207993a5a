"""What can stop a site from being built, in a sentence for the artist."""

from sitegen.studio.fault import Fault


class SiteFault(Fault):
    """The site can't be built; `str()` says where, what is wrong and what to write instead."""
