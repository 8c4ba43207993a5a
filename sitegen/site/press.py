"""Templates into pages, and a template's fault into a sentence with its file and line."""

from __future__ import annotations

import hashlib
import traceback
from collections.abc import Mapping
from importlib.metadata import version
from pathlib import Path
from typing import Any

from jinja2 import (
    Environment,
    FileSystemBytecodeCache,
    FileSystemLoader,
    StrictUndefined,
    TemplateNotFound,
    TemplateSyntaxError,
)
from jinja2.bccache import Bucket

from sitegen.site.addresses import LinkFault
from sitegen.site.theme import TEMPLATES
from sitegen.studio.fault import Fault
from sitegen.voice.theme_files import ThemeFiles

# Hexadecimal digits of the hash that tells by what a template was compiled.
_SHORT = 16


class Press:
    """Sets pages with the templates of one theme. Everything is escaped unless it is markup by type."""

    def __init__(self, theme: ThemeFiles, kept: Path | None = None, *, lent: bool = False) -> None:
        """Open a theme's templates. `kept` is where they stay compiled until the next build;
        `lent`, that nothing is written there."""
        self.theme = theme
        self.environment = Environment(
            loader=FileSystemLoader(theme.below(TEMPLATES)),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
            bytecode_cache=_cache(kept, lent=lent) if kept else None,
        )

    def lay_out(self, fixed: Mapping[str, Any]) -> Press:
        """Give every page `fixed` to use."""
        self.environment.globals.update(fixed)
        return self

    def page(self, template: str, values: Mapping[str, Any]) -> bytes:
        """Set one page. Raises Fault for anything wrong in the template."""
        try:
            text = self.environment.get_template(template).render(values)
        except TemplateNotFound as error:
            raise Fault(f"{self._named(template)}: the theme has no template '{error.message}'") from error
        except TemplateSyntaxError as error:
            name = self.theme.shown(Path(error.filename)) if error.filename else self._named(template)
            raise Fault(f"{name}, line {error.lineno}: {error.message}") from error
        except LinkFault:
            raise  # of the artist's words: where the template shows them doesn't matter
        except Fault as error:
            raise Fault(f"{error} ({self._place(error, template)})") from error
        except Exception as error:
            raise Fault(f"{self._place(error, template)}: {error}") from error
        return (text.strip() + "\n").encode("utf-8")

    def _place(self, error: BaseException, template: str) -> str:
        homes = tuple(str(folder) for folder in self.theme.below(TEMPLATES))
        frames = [
            frame for frame in traceback.extract_tb(error.__traceback__) if frame.filename.startswith(homes)
        ]
        if not frames:
            return self._named(template)
        return f"{self.theme.shown(Path(frames[-1].filename))}, line {frames[-1].lineno}"

    def _named(self, template: str) -> str:
        found = self.theme.find(f"{TEMPLATES}/{template}")
        return self.theme.shown(found) if found else f"{self.theme.name}/{TEMPLATES}/{template}"


class _Lent(FileSystemBytecodeCache):
    """Compiled templates to be read and not written."""

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep nothing."""


def _cache(folder: Path, *, lent: bool) -> FileSystemBytecodeCache | None:
    """Open the folder of compiled templates; None if it can't be used.

    Jinja itself looks whether a template's text or Python's version is another one.
    """
    made_by = hashlib.sha256(f"{version('jinja2')} {Path(__file__).read_text('utf-8')}".encode()).hexdigest()
    if lent:
        return _Lent(str(folder), f"{made_by[:_SHORT]}-%s")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for file in folder.iterdir():
            if not file.name.startswith(made_by[:_SHORT]):
                file.unlink()
    except OSError:
        return None
    return FileSystemBytecodeCache(str(folder), f"{made_by[:_SHORT]}-%s")
