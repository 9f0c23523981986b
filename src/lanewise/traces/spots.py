"""What is read of a spot in a trace, and how each of it is defined."""

from __future__ import annotations

from dataclasses import dataclass

from lanewise.traces._grids import Floats

READ = ("apex", "trailing", "leading", "centre", "height", "width", "half_width", "area", "asymmetry")


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Spots:
    """What was read of P spots, in the order in which they lie from origin to front: arrays of shape (P,).

    Positions and widths are in mm, heights in the unit of the signal, areas in that unit times mm. Each reading has its
    standard uncertainty (`u_apex`, ...), which holds the noise of the trace and the baseline's share of it, and no
    more: not how well the positions themselves are known. What a trace does not show (no fall to a tenth of the height
    before the next spot, say) is nan, and so is its uncertainty.

    Attributes
    ----------
    apex : array
        The darkest point: where the signal is highest.
    trailing, leading : array
        Edges nearer the origin and nearer the front: where the tangent at the steepest point of that flank (its point
        of inflection) meets the baseline. For a Gaussian they lie 2 standard deviations from the apex; the tail of a
        tailing spot reaches beyond.
    centre : array
        Centroid: mean position, weighted by the signal.
    height : array
        Signal at the apex, above the baseline.
    width : array
        Base width, `leading` - `trailing`: 4 standard deviations for a Gaussian, as plate number and resolution want.
    half_width : array
        Full width at half height.
    area : array
        Area above the baseline.
    asymmetry : array
        Rear over leading distance from the apex, at a tenth of the height: 1 symmetric, above 1 tailing (towards the
        origin), below 1 fronting.

    References
    ----------
    Peak width at base, between the tangents at the points of inflection: Ettre, Pure Appl. Chem. 65 (1993) 819 (from
    memory); 4 standard deviations for a Gaussian, in closed form. Asymmetry at a tenth of the height: from memory.
    """

    apex: Floats
    trailing: Floats
    leading: Floats
    centre: Floats
    height: Floats
    width: Floats
    half_width: Floats
    area: Floats
    asymmetry: Floats
    u_apex: Floats
    u_trailing: Floats
    u_leading: Floats
    u_centre: Floats
    u_height: Floats
    u_width: Floats
    u_half_width: Floats
    u_area: Floats
    u_asymmetry: Floats

    def __len__(self) -> int:
        return len(self.apex)
