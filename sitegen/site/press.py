"""Templates into pages, and a template's fault into a sentence with its file and line."""

from __future__ import annotations

import traceback
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from jinja2 import (
    Environment,
    FileSystemLoader,
    StrictUndefined,
    TemplateError,
    TemplateNotFound,
    TemplateSyntaxError,
)

from sitegen.site.faults import SiteFault

_USUAL = ("base.html", "parts.html", "piece.html", "gallery.html", "home.html")


class Press:
    """Sets pages with the templates of one theme. Everything is escaped unless it is markup by type."""

    def __init__(self, templates: Path) -> None:
        """Open a folder of templates."""
        self.templates = templates
        self.environment = Environment(
            loader=FileSystemLoader(templates),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
            auto_reload=False,
        )

    def read_ahead(self) -> None:
        """Read the templates that most builds need; the page that needs one tells what is wrong with it."""
        for name in _USUAL:
            with suppress(TemplateError, OSError, UnicodeDecodeError):
                self.environment.get_template(name)

    def lay_out(self, fixed: Mapping[str, Any]) -> Press:
        """Give every page `fixed` to use."""
        self.environment.globals.update(fixed)
        return self

    def page(self, template: str, values: Mapping[str, Any]) -> bytes:
        """Set one page. Raises SiteFault for anything wrong in the template."""
        try:
            text = self.environment.get_template(template).render(values)
        except TemplateNotFound as error:
            raise SiteFault(
                f"{self._shown(self.templates / template)}: the theme has no template '{error.message}'"
            ) from error
        except TemplateSyntaxError as error:
            name = self._shown(Path(error.filename or template))
            raise SiteFault(f"{name}, line {error.lineno}: {error.message}") from error
        except SiteFault as error:
            raise SiteFault(f"{error} ({self._place(error, template)})") from error
        except Exception as error:
            raise SiteFault(f"{self._place(error, template)}: {error}") from error
        return (text.strip() + "\n").encode("utf-8")

    def _place(self, error: BaseException, template: str) -> str:
        home = str(self.templates)
        frames = [
            frame for frame in traceback.extract_tb(error.__traceback__) if frame.filename.startswith(home)
        ]
        if not frames:
            return self._shown(self.templates / template)
        return f"{self._shown(Path(frames[-1].filename))}, line {frames[-1].lineno}"

    def _shown(self, file: Path) -> str:
        # The theme's folder and what lies below it: the artist knows where her themes are.
        try:
            return file.relative_to(self.templates.parent.parent).as_posix()
        except ValueError:
            return file.as_posix()
