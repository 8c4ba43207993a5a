"""Decode pictures without Pillow: PyAV carries decoders of JPEG, WebP and AV1 that share no code with Pillow's."""

from io import BytesIO

import av
import numpy as np

Floats = np.ndarray[tuple[int, ...], np.dtype[np.float64]]
Pixels = np.ndarray[tuple[int, ...], np.dtype[np.uint8]]


def pixels(content: bytes) -> Pixels:
    """Return rows, columns, red-green-blue."""
    with av.open(BytesIO(content), "r") as container:
        frame = next(container.decode(video=0))
    return np.asarray(frame.to_ndarray(format="rgb24"), dtype=np.uint8)
