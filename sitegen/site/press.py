"""Templates into pages, and a template's fault into a sentence with its file and line."""

from __future__ import annotations

import traceback
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from jinja2 import (
    Environment,
    FileSystemLoader,
    StrictUndefined,
    TemplateNotFound,
    TemplateSyntaxError,
)

from sitegen.site.addresses import LinkFault
from sitegen.site.theme import TEMPLATES
from sitegen.studio.fault import Fault
from sitegen.voice.theme_files import ThemeFiles


class Press:
    """Sets pages with the templates of one theme. Everything is escaped unless it is markup by type."""

    def __init__(self, theme: ThemeFiles) -> None:
        """Open a theme's templates; each is compiled when it's asked for."""
        self.theme = theme
        self.environment = Environment(
            loader=FileSystemLoader(theme.below(TEMPLATES)),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
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
