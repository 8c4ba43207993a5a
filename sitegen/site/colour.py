"""Contrast of two colours, and the nearest shade that can be read."""

from __future__ import annotations

import colorsys

# Text needs 4.5 : 1 (WCAG 2.2, success criterion 1.4.3, level AA); never rounded up.
READABLE = 4.5
_STEPS = 100
# Luminance at which black and white contrast equally with a ground: sqrt(1.05 * 0.05) - 0.05.
_MIDDLE = 0.179


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb, 0 for black to 1 for white (WCAG 2.2)."""
    red, green, blue = (_linear(channel) for channel in _channels(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _channels(colour: str) -> tuple[float, float, float]:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return red, green, blue


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def readable(colour: str, ground: str, ratio: float = READABLE) -> str:
    """Return the colour, or the nearest lighter or darker shade that contrasts enough with the ground."""
    hue, lightness, saturation = colorsys.rgb_to_hls(*_channels(colour))
    end = 1.0 if luminance(ground) < _MIDDLE else 0.0
    shades = (
        _hex(colorsys.hls_to_rgb(hue, lightness + (end - lightness) * step / _STEPS, saturation))
        for step in range(1, _STEPS + 1)
    )
    fitting = (shade for shade in (colour, *shades) if contrast(shade, ground) >= ratio)
    return next(fitting, _hex((end, end, end)))


def _hex(channels: tuple[float, float, float]) -> str:
    return "#" + "".join(f"{round(channel * 255):02x}" for channel in channels)
