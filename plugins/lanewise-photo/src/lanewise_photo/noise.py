"""What blank paper scatters by along a lane: how much, over what length, and how alike in the three colours."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]

REACH = 8.0
"""Longest distance over which the noise of a lane is followed. [mm]"""


@dataclass(frozen=True, eq=False)
class Noise:
    """Noise of a lane profile.

    Attributes
    ----------
    whitening : array of shape (3, 3)
        Turns rows of optical densities of red, green and blue into independent channels of variance 1.
    lags : array of shape (L, 3)
        Autocovariance of the whitened channels at distances of 0, 1, ... rows.
    """

    whitening: Array
    lags: Array

    @cached_property
    def covariance(self) -> Array:
        """Covariance of the three optical densities at one place, shape (3, 3)."""
        back = np.linalg.inv(self.whitening)
        return np.asarray(back.T @ back)

    def between(self, rows: npt.NDArray[np.int_]) -> Array:
        """Covariance of the three densities at some rows, ordered by row, then by colour. Shape (3 R, 3 R)."""
        lags = np.zeros((max(int(rows.max() - rows.min()) + 1, len(self.lags)), 3))
        lags[: len(self.lags)] = self.lags
        back = np.linalg.inv(self.whitening)
        apart = np.abs(np.subtract.outer(rows, rows))
        full = np.einsum("rsc,ca,cb->rasb", lags[apart], back, back, optimize=True)
        return np.asarray(full.reshape(3 * len(rows), 3 * len(rows)))

    def inflated(self, s: float) -> Array:
        """Covariance, shape (3, 3), that independent rows would need to disturb a spot as much as these do.

        Rows that lie near to each other scatter alike, and what scatters over the width of a spot looks like one.

        Parameters
        ----------
        s : float
            Standard deviation of the spot. [rows]
        """
        distance = np.arange(len(self.lags))
        alike = np.exp(-0.25 * (distance / s) ** 2)  # autocorrelation of a Gaussian
        alike[1:] *= 2.0
        count = np.maximum((alike[:, None] * self.lags).sum(axis=0), 0.5 * self.lags[0])
        back = np.linalg.inv(self.whitening)
        return np.asarray(back.T @ (count[:, None] * back))


def blank_noise(profiles: Array, used: npt.NDArray[np.bool_], pitch: float, rounding: Array, block: float) -> Noise:
    """Learn the noise from blank profiles.

    Parameters
    ----------
    profiles : array of shape (K, N, 3)
        Profiles of the same width as the lanes, at many places.
    used : array of shape (K, N)
        Where they are blank.
    pitch : float
        Distance of rows. [mm]
    rounding : array of shape (3, 3)
        Covariance that the compression of the file adds and may hide, as optical density.
    block : float
        Length over which that is alike. [mm]

    Returns
    -------
    Noise
    """
    rest = np.stack([_detrended(one, keep) for one, keep in zip(profiles, used, strict=True)])
    flat = rest[used]
    limit = 4.0 * 1.4826 * np.median(np.abs(flat), axis=0) + 1e-5
    used = used & (np.abs(rest) < limit).all(axis=2)
    rest = np.where(used[..., None], rest, 0.0)
    flat = rest[used]
    matrix = flat.T @ flat / max(1, len(flat)) + np.eye(3) * 1e-8
    whitening, hidden = _together(matrix, rounding)
    white = rest @ whitening
    count = min(round(REACH / pitch), profiles.shape[1] // 3)
    lags = np.zeros((count, 3))
    distance = np.arange(count) * pitch
    for lag in range(count):
        both = used[:, lag:] & used[:, : used.shape[1] - lag]
        if both.sum() > 50:
            lags[lag] = (white[:, lag:] * white[:, : white.shape[1] - lag]).sum(axis=(0, 1)) / both.sum()
    lags *= (np.cos(0.5 * np.pi * distance / REACH) ** 2)[:, None]
    lags += np.maximum(1.0 - distance / block, 0.0)[:, None] * np.maximum(hidden - 1.0, 0.0)
    size = np.sqrt(np.maximum(hidden, 1.0))
    return Noise(whitening / size, _possible(lags) / size**2)


def _possible(lags: Array) -> Array:
    """Take out of autocovariances what no noise can have: negative power at some length of wave."""
    count = len(lags)
    circle = np.concatenate([lags, np.zeros((2 * count, lags.shape[1])), lags[:0:-1]])
    power = np.fft.rfft(circle, axis=0).real
    made = np.fft.irfft(np.maximum(power, 1e-3 * power.max(axis=0)), len(circle), axis=0)[:count]
    return np.asarray(made * (lags[0] / np.maximum(made[0], 1e-12)))


def _together(seen: Array, rounding: Array) -> tuple[Array, Array]:
    """Whiten what is seen, in channels in which rounding is independent too; variances of rounding in these, (3,).

    Where the blank scatters by more than a step, rounding is part of what is seen; where by less, it is hidden.
    """
    first = np.linalg.inv(np.linalg.cholesky(seen)).T
    size, turn = np.linalg.eigh(first.T @ rounding @ first)
    return np.asarray(first @ turn), np.maximum(size, 0.0)


def _detrended(profile: Array, used: npt.NDArray[np.bool_]) -> Array:
    t = np.linspace(-1, 1, len(profile))
    design = np.polynomial.chebyshev.chebvander(t, 3)
    if used.sum() < 20:
        return np.asarray(profile - np.median(profile, axis=0))
    found = np.linalg.lstsq(design[used], profile[used], rcond=None)[0]
    return np.asarray(profile - design @ found)


_COLOURS = np.array([[1.0, 0.0, 1.402], [1.0, -0.344, -0.714], [1.0, 1.772, 0.0]])
"""Red, green and blue from brightness and the two colour differences (ITU-R BT.601, as JFIF uses it)."""


def rounding_of(quantisation: tuple[Array, Array] | None, paper: Array, blocks: float) -> Array:
    """Covariance that JPEG rounding may leave in a lane profile, as optical density, shape (3, 3).

    A coefficient that is rounded with step q is wrong by q / sqrt(12). Of those of a block the mean counts, and half of
    the first wave along the lane; waves across the lane average out.

    Parameters
    ----------
    quantisation : tuple of two arrays of shape (64,), or None
        Steps of brightness and colour; None for a file that was not compressed so.
    paper : array of shape (3,)
        Code values of the paper.
    blocks : float
        Number of blocks of colour over which a profile averages across its lane; those of brightness are half as long.

    Examples
    --------
    >>> float(np.abs(rounding_of(None, np.full(3, 200.0), 4.0)).max())
    0.0
    """
    if quantisation is None:
        return np.zeros((3, 3))
    steps = [table.reshape(8, 8) for table in quantisation]
    bright, colour = (float(one[0, 0] ** 2 + 0.5 * one[1, 0] ** 2) / 12.0 / 64.0 for one in steps)
    blocks = max(1.0, blocks)
    codes = _COLOURS @ np.diag([bright / (2.0 * blocks), colour / blocks, colour / blocks]) @ _COLOURS.T
    slope = 0.4343 * 2.2 / np.maximum(paper, 20.0)
    return np.asarray(codes * np.outer(slope, slope))
