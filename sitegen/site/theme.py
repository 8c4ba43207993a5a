"""A theme's folder: its name, its grounds, its options."""

from __future__ import annotations

import colorsys
import hashlib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from sitegen.studio.asked import Fault
from sitegen.studio.fields import not_one_of
from sitegen.voice.theme_files import ThemeFiles

# Thin lines of a colour on a dark ground look dimmer than their contrast says.
_AT_NIGHT = 6.0
_ABOUT = "theme.yaml"
_COLOUR = re.compile("#[0-9a-fA-F]{6}")


# Folder of the page templates below a theme's.
TEMPLATES = "site"
# Folder of the fonts, below the templates' and on the site.
FONTS = "fonts"


class ChoiceFault(Fault):
    """A line of studio.yaml chose what the theme can't do."""

    def __init__(self, key: str, sentence: str) -> None:
        """Hold the line's first word and what is wrong with it."""
        super().__init__(f"studio.yaml: {sentence}")
        self.key = key


@dataclass(frozen=True)
class Theme:
    """What theme.yaml says, with the artist's accent fitted in."""

    files: ThemeFiles
    name: str
    light: str  # ground of the light face, #rrggbb
    dark: str
    accent_light: str  # accent on the light ground
    accent_dark: str
    options: Mapping[str, str]  # the theme's own options, as text
    fonts: Mapping[str, str]
    """Where each font lies on the site, by its path in the style: the name holds a hash of its bytes."""
    first_fonts: tuple[str, ...]
    """Where those lie that the top of every page is set in; they are fetched before the style is read."""

    def colours(self) -> str:
        """Return the accent as custom properties for both faces."""
        return (
            f":root{{--accent:{self.accent_light}}}\n"
            f"@media (prefers-color-scheme:dark){{:root{{--accent:{self.accent_dark}}}}}\n"
        )


def read_theme(files: ThemeFiles, accent: str | None, wishes: Mapping[str, str] | None = None) -> Theme:
    """Read theme.yaml and check that the accent can be read on both grounds.

    `wishes` are the artist's choices among the theme's options. Raises Fault if the file is missing or
    incomplete, if the artist's accent is too pale, or for an option that the theme doesn't have.
    """
    shown = f"{files.name}/{_ABOUT}"
    there = [folder / _ABOUT for folder in files.folders if (folder / _ABOUT).is_file()]
    tree = files.tree(there or [files.file(_ABOUT)])
    light, dark = _colour(tree, "light", shown), _colour(tree, "dark", shown)
    chosen = accent or _colour(tree, "accent", shown)
    fonts = {
        name: f"{FONTS}/{file.stem}-{hashlib.sha256(file.read_bytes()).hexdigest()[:10]}{file.suffix}"
        for name, file in fonts_of(files).items()
    }
    if (ratio := contrast(chosen, light)) < READABLE:
        sentence = (
            f"the accent '{chosen}' is too pale to read on the theme's ground {light} "
            f"({int(ratio * 10) / 10} : 1, and text needs {READABLE} : 1); "
            f"use '{readable(chosen, light)}' or something darker"
        )
        raise ChoiceFault("accent", sentence) if accent else Fault(f"{shown}: {sentence}")
    return Theme(
        files=files,
        name=str(tree.get("name", files.name)),
        light=light,
        dark=dark,
        accent_light=chosen.lower(),
        accent_dark=readable(chosen.lower(), dark, _AT_NIGHT),
        options=_options(tree, wishes or {}, shown),
        fonts=fonts,
        first_fonts=tuple(fonts[name] for name in str(tree.get("first_fonts", "")).split() if name in fonts),
    )


def fonts_of(files: ThemeFiles) -> Mapping[str, Path]:
    """Return a theme's fonts by their path in the style."""
    below = files.all_below(f"{TEMPLATES}/{FONTS}")
    return {f"{FONTS}/{name}": file for name, file in below.items() if file.suffix == ".woff2"}


def _options(tree: Mapping[str, object], wishes: Mapping[str, str], shown: str) -> dict[str, str]:
    """Take the theme's options, the artist's wishes first, and hold each to its list of choices."""
    given, choices = tree.get("options"), tree.get("choices")
    rows = given.items() if isinstance(given, Mapping) else ()
    own = {key: value for key, value in rows if isinstance(value, str)}
    for name in wishes:
        if name not in own:
            sentence = f"{not_one_of(name, list(own))} (options of the theme {Path(shown).parent.name})"
            raise ChoiceFault("theme_options", f"theme_options: {sentence}")
    options = {**own, **wishes}
    for name, allowed in choices.items() if isinstance(choices, Mapping) else ():
        if options.get(name) not in allowed:
            sentence = f"{name} {not_one_of(options.get(name, ''), allowed)}"
            if name in wishes:
                raise ChoiceFault("theme_options", f"theme_options: {sentence}")
            raise Fault(f"{shown}: {sentence}")
    return options


def _colour(tree: Mapping[str, object], key: str, shown: str) -> str:
    value = tree.get(key)
    if not isinstance(value, str) or not _COLOUR.fullmatch(value):
        raise Fault(f"{shown}: '{key}' must be a colour in quotes, like '#f6f3ec'")
    return value


# Text needs 4.5 : 1 (WCAG 2.2, success criterion 1.4.3, level AA); never rounded up.
READABLE = 4.5
_STEPS = 100
# Luminance at which black and white contrast equally with a ground: sqrt(1.05 * 0.05) - 0.05.
_MIDDLE = 0.179


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb, 0 for black to 1 for white (WCAG 2.2)."""
    shares = _channels(colour)
    linear = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in shares)
    red, green, blue = linear
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _channels(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


def contrast(colour: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2)."""
    light, dark = sorted((luminance(colour), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def readable(colour: str, ground: str, ratio: float = READABLE) -> str:
    """Return the colour, or the nearest lighter or darker shade that contrasts enough with the ground."""
    hue, lightness, saturation = colorsys.rgb_to_hls(*_channels(colour))
    end = 1.0 if luminance(ground) < _MIDDLE else 0.0
    for step in range(_STEPS + 1):
        channels = colorsys.hls_to_rgb(hue, lightness + (end - lightness) * step / _STEPS, saturation)
        shade = "#" + "".join(f"{round(channel * 255):02x}" for channel in channels) if step else colour
        if contrast(shade, ground) >= ratio:
            break
    return shade
