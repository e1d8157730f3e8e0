"""What eyes make of colours: luminance, differences, and what they are to those who see fewer of them."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def linear(colour: str) -> NDArray[np.float64]:
    """Return linear RGB of a colour (IEC 61966-2-1)."""
    share = np.array([int(colour[place : place + 2], 16) for place in (1, 3, 5)]) / 255.0
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def luminance(colour: str) -> float:
    return float(np.array([0.2126, 0.7152, 0.0722]) @ linear(colour))


def lab(rgb: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return CIELAB of linear RGB under D65 (CIE 15)."""
    to_xyz = np.array(
        [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]]
    )
    xyz = to_xyz @ np.clip(rgb, 0.0, 1.0) / [0.95047, 1.0, 1.08883]
    root = np.where(xyz > 216 / 24389, np.cbrt(xyz), (24389 / 27 * xyz + 16) / 116)
    return np.array([116 * root[1] - 16, 500 * (root[0] - root[1]), 200 * (root[1] - root[2])])


#: full protanopia, deuteranopia and tritanopia: Machado, Oliveira, Fernandes, IEEE TVCG 15 (2009) 1291, severity 1.0
SIGHT = {
    "full": [[1, 0, 0], [0, 1, 0], [0, 0, 1]],
    "protan": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deutan": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritan": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}
