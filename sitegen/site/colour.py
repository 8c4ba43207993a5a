"""Contrast of two colours, and the nearest shade that can be read."""

from __future__ import annotations

# Text needs 4.5 : 1 (WCAG 2.2, success criterion 1.4.3, level AA); never rounded up.
READABLE = 4.5
_STEPS = 100


def luminance(colour: str) -> float:
    """Return the relative luminance of #rrggbb, 0 for black to 1 for white (WCAG 2.2)."""
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def readable(colour: str, ground: str, ratio: float = READABLE) -> str:
    """Return the colour, or the nearest mix with white or black that contrasts enough with the ground."""
    towards = "#ffffff" if luminance(ground) < 0.18 else "#000000"
    mixes = (mix(colour, towards, step / _STEPS) for step in range(_STEPS + 1))
    return next((shade for shade in mixes if contrast(shade, ground) >= ratio), towards)


def mix(one: str, other: str, share: float) -> str:
    """Mix two colours; `share` of the other, 0 to 1."""
    pairs = ((int(one[at : at + 2], 16), int(other[at : at + 2], 16)) for at in (1, 3, 5))
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)
