"""What can stop a site from being built, in a sentence for the artist."""

from sitegen.studio.fault import Fault


class LinkFault(Fault):
    """A link in the artist's words leads nowhere."""

    def __init__(self, file: str, target: str, sentence: str) -> None:
        """Hold the file that the words stand in, as far as a page knows it, and what was typed."""
        super().__init__(f"{file}: {sentence}")
        self.file, self.target = file, target


class ChoiceFault(Fault):
    """A line of studio.yaml chose what the theme can't do."""

    def __init__(self, key: str, sentence: str) -> None:
        """Hold the line's first word and what is wrong with it."""
        super().__init__(f"studio.yaml: {sentence}")
        self.key = key
