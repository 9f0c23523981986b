"""From pixel values to linear light, optical density and CIELAB."""

from __future__ import annotations

from functools import cache
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Floats: TypeAlias = npt.NDArray[np.float64]

FLOOR = 0.5 / 255.0
"""Half a step of eight bits: what a black pixel is taken as, so that its density stays finite."""

XYZ_OF_RGB = np.array(
    [
        [0.4123907993, 0.3575843394, 0.1804807884],
        [0.2126390059, 0.7151686788, 0.0721923154],
        [0.0193308187, 0.1191947798, 0.9505321522],
    ]
)
"""Linear RGB to XYZ, from the primaries and the white (0.3127, 0.3290) of IEC 61966-2-1; computed here."""


def linear(values: npt.ArrayLike) -> Floats:
    """Undo the transfer curve of sRGB.

    Parameters
    ----------
    values : array of any shape
        Code values divided by their largest, 0 to 1.

    Returns
    -------
    array of the same shape
        Linear light, 0 to 1.

    References
    ----------
    IEC 61966-2-1, from memory.

    Examples
    --------
    >>> linear([0.0, 128 / 255, 1.0]).round(6).tolist()
    [0.0, 0.215861, 1.0]
    """
    v = np.asarray(values, dtype=float)
    return np.asarray(np.where(v <= 0.04045, v / 12.92, ((np.maximum(v, 0.0) + 0.055) / 1.055) ** 2.4))


@cache
def _density_of_codes() -> npt.NDArray[np.float32]:
    codes = np.maximum(np.arange(256) / 255.0, FLOOR)
    return (-np.log10(linear(codes))).astype(np.float32)


def density_table() -> npt.NDArray[np.float32]:
    """Give the optical density of each of the 256 code values against full light, shape (256,).

    Examples
    --------
    >>> [round(float(one), 3) + 0.0 for one in density_table()[[255, 128]]]
    [0.0, 0.666]
    """
    return _density_of_codes()


def lab(rgb: npt.ArrayLike) -> Floats:
    """Turn linear RGB, relative to a white of (1, 1, 1), into CIELAB.

    Parameters
    ----------
    rgb : array of shape (..., 3)
        Linear light against white paper, 0 to 1.

    Returns
    -------
    array of shape (..., 3)
        L*, a*, b*.

    References
    ----------
    CIE 15:2004 with the exact constants 216/24389 and 24389/27; matrix of IEC 61966-2-1.

    Examples
    --------
    >>> lab([1.0, 1.0, 1.0]).round(4).tolist(), lab([1.0, 0.0, 0.0]).round(2).tolist()
    ([100.0, 0.0, 0.0], [53.24, 80.09, 67.2])
    """
    white = XYZ_OF_RGB.sum(axis=1)
    t = (np.asarray(rgb, dtype=float) @ XYZ_OF_RGB.T) / white
    f = np.where(t > 216.0 / 24389.0, np.cbrt(t), (24389.0 / 27.0 * t + 16.0) / 116.0)
    x, y, z = f[..., 0], f[..., 1], f[..., 2]
    return np.asarray(np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1) + 0.0)


def encoded(rgb: npt.ArrayLike) -> Floats:
    """Apply the transfer curve of sRGB: linear light to code values between 0 and 1, shape kept.

    Examples
    --------
    >>> encoded([0.0, 0.215861, 1.0]).round(4).tolist()
    [0.0, 0.502, 1.0]
    """
    light = np.clip(np.asarray(rgb, dtype=float), 0.0, 1.0)
    return np.asarray(np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055))
