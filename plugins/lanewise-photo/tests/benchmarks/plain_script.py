"""The plain script: the same steps in the simplest way, with scikit-image and scipy at full size, without a judgement.

What somebody writes in an afternoon: decode all, find the sheet by a threshold, take its four corners, warp it, divide
by a smooth background, take the lines from the mean of rows and spots from the maxima of lane profiles. It gives no
uncertainty, refuses nothing, and stands here only to be timed beside the reader.
"""

from __future__ import annotations

import numpy as np
from scipy import ndimage, signal
from skimage import filters, io, measure, transform

PITCH = 0.125  # [mm]


def read_plainly(path, width, height, lanes):
    """Read a picture of one sheet; gives Rf of the maxima of each lane."""
    picture = io.imread(path)[..., :3].astype(float) / 255.0
    least = picture.min(axis=2)
    regions = measure.label(ndimage.binary_fill_holes(least > filters.threshold_otsu(least)))
    sheet = max(measure.regionprops(regions), key=lambda one: one.area)
    rows, columns = sheet.coords.T
    ends = [np.argmax(rows - columns), np.argmax(rows + columns), np.argmin(rows - columns), np.argmin(rows + columns)]
    corners = np.stack([columns[ends], rows[ends]], axis=1).astype(float)
    shape = round(height / PITCH), round(width / PITCH)
    flat = np.array([[0, 0], [shape[1], 0], [shape[1], shape[0]], [0, shape[0]]], dtype=float)
    mapping = transform.ProjectiveTransform.from_estimate(flat, corners)
    laid = transform.warp(picture, mapping, output_shape=shape, order=1)
    light = np.where(laid <= 0.04045, laid / 12.92, ((laid + 0.055) / 1.055) ** 2.4)
    density = -np.log10(np.maximum(light, 1e-3))
    density -= ndimage.median_filter(density[::8, ::8], (25, 25, 1)).repeat(8, 0).repeat(8, 1)[: shape[0], : shape[1]]
    rise = np.median(density.min(axis=2)[:, 16:-16], axis=1)
    half = shape[0] // 2
    origin, front = int(np.argmax(rise[24:half])) + 24, int(np.argmax(rise[half:-24])) + half
    found = []
    for x in (np.arange(lanes) + 0.5) / lanes * shape[1]:
        profile = density[:, int(x) - 8 : int(x) + 8].mean(axis=1).max(axis=1)
        peaks, _ = signal.find_peaks(ndimage.gaussian_filter1d(profile, 4.0)[origin:front], prominence=0.02, width=8)
        found.append([round(float(peak / (front - origin)), 3) for peak in peaks])
    return found
