"""What is true of a picture: nothing here is measured in it, and no reader may see it.

Lengths are millimetres on the sheet as it lies flat: x to the right along the lower edge, y from the lower edge towards
the front. Pixels are counted from the centre of the top left pixel, column first, in the upright picture.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RectBivariateSpline

Floats = NDArray[np.floating]
CHANNELS = ("red", "green", "blue")


@dataclass(frozen=True, kw_only=True)
class SpotTruth:
    """One spot.

    Attributes
    ----------
    lane : int
        Number of its lane, from 0, left to right.
    rf : float or None
        From the lines as they are drawn or seen: (apex - origin) / (front - origin) in its lane; None without them.
    rf_dye : float
        What the dye did: from where the drop sat to where the liquid was.
    x, apex : float
        Where it is darkest. [mm]
    trailing, leading : float
        Where the tangents at the points of inflection of its density along the lane meet the baseline; 4 sigma apart
        for a Gaussian. [mm]
    centroid : float
        First moment of its density along the lane. [mm]
    sigma, tau : float
        Standard deviation of the amount along the lane without its tail, and mean length of the tail, positive towards
        the origin. [mm]
    sigma_x : float
        Standard deviation of the amount across the lane. [mm]
    od : tuple of three float
        Optical density at the apex against the layer, red, green, blue, before a camera's own tone and colour.
    channel : str
        Where it is greatest.
    dye, colour : str
        The dye, and the colour of its spots as a word.
    lab : tuple of three float
        CIELAB of the apex against the layer.
    amount : float
        Mass, invented scale. [ug]
    state : str
        ``measured``, ``at origin``, ``with front`` or ``streak``.
    shape : str
        ``round``, ``tail``, ``fronting``, ``crescent`` or ``streak``.
    alone : bool
        Whether it can be told from the other spots of its lane, by place or by colour.
    near_end : bool
        Whether the apex lies within 1.5 mm of the origin or the front.
    overlapped : bool
        Whether another spot of the lane lies within two base half-widths.
    hidden : bool
        Whether something lies over it, so that a person could not read it.
    """

    lane: int
    rf: float | None
    rf_dye: float
    x: float
    apex: float
    trailing: float
    leading: float
    centroid: float
    sigma: float
    tau: float
    sigma_x: float
    od: tuple[float, float, float]
    channel: str
    dye: str
    colour: str
    lab: tuple[float, float, float]
    amount: float
    state: str
    shape: str
    alone: bool = True
    near_end: bool = False
    overlapped: bool = False
    hidden: bool = False

    @property
    def peak(self) -> float:
        """Optical density in the best channel."""
        return max(self.od)


@dataclass(frozen=True, kw_only=True)
class LaneTruth:
    """One lane: its name, where it starts, and origin and front there. [mm]"""

    name: str
    x: float
    origin: float | None
    front: float | None


@dataclass(frozen=True, kw_only=True)
class Truth:
    """Everything that is known of a picture.

    Attributes
    ----------
    kind, seed, fault
        What was asked for; `fault` is None for a picture without one.
    readable : bool
        Whether a careful person could give Rf from the picture.
    layer : str
        ``paper``, ``silica``, ``fluorescent``, or ``none`` where there is no chromatogram.
    width, height : float
        Of the sheet. [mm]
    planned_width, planned_height, planned_origin : float
        As a user would state them: what was planned, before it was cut and drawn. [mm]
    corners : array (4, 2)
        Lower left, lower right, upper right, upper left corner. [pixel]
    grid_x, grid_y : array (M,), (N,)
        Millimetres at which the mapping was sampled, 5 mm beyond the sheet.
    grid_pixels : array (N, M, 2)
        Column and row of each.
    pixels_per_mm : float
        Mean over the sheet.
    front_x, front_y : array (K,)
        The front as it is drawn or seen; empty where there is none. [mm]
    front_kind : str
        ``pencil``, ``wet``, ``tide`` or ``none``.
    lanes, spots
        Left to right; spots from the origin.
    mark : array (3, 2) or None
        Centres of the three discs of the printed orientation mark, where the sheet has one. [mm]
    bulge : float
        Greatest height above the desk. [mm]
    mixing : str
        Model of dye on layer.
    file : dict
        Natural form: format, quality, subsampling, orientation flag, bits.
    """

    kind: str
    seed: int
    fault: str | None
    readable: bool
    layer: str
    width: float
    height: float
    planned_width: float
    planned_height: float
    planned_origin: float
    corners: Floats
    grid_x: Floats
    grid_y: Floats
    grid_pixels: Floats
    pixels_per_mm: float
    front_x: Floats
    front_y: Floats
    front_kind: str
    lanes: tuple[LaneTruth, ...]
    spots: tuple[SpotTruth, ...]
    mark: Floats | None
    bulge: float
    mixing: str
    file: dict[str, Any]

    def pixels(self, x: Any, y: Any) -> Floats:
        """Column and row of places on the sheet, from the sampled mapping; shape (..., 2)."""
        parts = [RectBivariateSpline(self.grid_y, self.grid_x, self.grid_pixels[..., k], s=0).ev(y, x) for k in (0, 1)]
        return np.stack(parts, axis=-1)

    def as_dict(self) -> dict[str, Any]:
        """Plain values, to be stored beside the picture."""
        return {
            name: value.tolist() if isinstance(value, np.ndarray) else value for name, value in asdict(self).items()
        }
