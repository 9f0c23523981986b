"""Lane profiles: the signal against the position along a lane, arrays in, arrays out.

A densitometer, a scanner or a row of pixels gives a *trace*: how dark the lane is at each position from origin to
front. This room turns it into spots. It knows nothing of plates, and needs no more than numpy arrays:

- `baseline`: what the trace would show had the lane been left empty; to look at.
- `find_peaks`: the spots that stand out of the noise, each with apex, edges, width, area and asymmetry as the trace
  shows them, whatever its shape.
- `fit_peaks`: baseline and spots fitted together, as Gaussian zones with or without a tail; the better way to positions
  and areas, and the only one where spots overlap.
- `moments`: area, centroid, spread and skewness between two positions, and what baseline and cut add to them.
- `gaussian` and `emg`: the zones themselves.
- `Noise`, `blank_noise`: the noise of a lane, with neighbours that err together; best judged from blank lanes.

Every reading has its standard uncertainty from the noise of the trace. Each name is loaded when it is first used.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lanewise.traces.background import baseline as baseline
    from lanewise.traces.finding import Peaks as Peaks
    from lanewise.traces.finding import find_peaks as find_peaks
    from lanewise.traces.fitting import Fit as Fit
    from lanewise.traces.fitting import fit_peaks as fit_peaks
    from lanewise.traces.integration import Moments as Moments
    from lanewise.traces.integration import moments as moments
    from lanewise.traces.noise import Noise as Noise
    from lanewise.traces.noise import blank_noise as blank_noise
    from lanewise.traces.noise import white_noise as white_noise
    from lanewise.traces.shapes import emg as emg
    from lanewise.traces.shapes import gaussian as gaussian
    from lanewise.traces.spots import Spots as Spots

_HOME = {
    "Fit": "fitting",
    "Moments": "integration",
    "Noise": "noise",
    "Peaks": "finding",
    "Spots": "spots",
    "baseline": "background",
    "blank_noise": "noise",
    "emg": "shapes",
    "find_peaks": "finding",
    "fit_peaks": "fitting",
    "gaussian": "shapes",
    "moments": "integration",
    "white_noise": "noise",
}

__all__ = sorted(_HOME)  # type checkers read the imports above instead


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module 'lanewise.traces' has no attribute {name!r}")
    value = getattr(import_module(f"lanewise.traces.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOME})
