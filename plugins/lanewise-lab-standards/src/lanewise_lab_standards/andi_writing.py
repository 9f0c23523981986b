"""A lane trace as ANDI chromatography (ASTM E1947)."""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

import numpy as np

from lanewise.errors import LanewiseError
from lanewise.hooks import Rendered
from lanewise_lab_standards.andi_reading import NULL
from lanewise_lab_standards.axis import as_ratio
from lanewise_lab_standards.records import Profile, profiles

if TYPE_CHECKING:
    from numpy.typing import NDArray

    import lanewise

_STRINGS = (2, 4, 8, 16, 32, 64, 128, 255)
"""Lengths of text that the template of the standard has dimensions for."""


def write_andi(
    study: lanewise.Study,
    *,
    lane: str | None = None,
    channel: str | None = None,
    plate: str | None = None,
    axis: str = "millimetres",
    stamp: str = "19700101000000+0000",
) -> Rendered:
    r"""Write one trace of one lane as a file of ANDI chromatography.

    Parameters
    ----------
    study : Study
        The study.
    lane, channel, plate : str, optional
        Which trace, where there are several.
    axis : {"millimetres", "rf", "hrf", "rf1000"}
        What stands where the standard means a time. Millimetres are written with ``retention_unit`` "millimeters",
        which strict readers refuse. Multiples of Rf are written with ``retention_unit`` "seconds", so that strict
        readers take them, and a comment says what they are.
    stamp : str, optional
        Date of application, ``YYYYMMDDhhmmss+hhmm``, which the standard demands and a study does not know.

    Returns
    -------
    Rendered
        For `lanewise.write`. The same study gives the same bytes.

    Raises
    ------
    LanewiseError
        If no trace or several are meant; if the axis is unknown, or a multiple of Rf without a front; if the stamp has
        another form.

    Notes
    -----
    Numbers are single precision, as in the template, where that loses nothing, else double. Millimetres come back to
    the last bit. Spots with a position become the table of peaks, on the same axis.

    Examples
    --------
    >>> import lanewise
    >>> trace = lanewise.Trace(positions=[10, 10.5, 11], values=[0.01, 0.08, 0.02])
    >>> plate = lanewise.Plate(label="bench 3", origin=10, lanes=[lanewise.Lane(label="B", traces=[trace])])
    >>> write_andi(lanewise.Study(plates=[plate])).main[:4]
    b'CDF\x01'
    """
    if not re.fullmatch(r"\d{14}[+-]\d{4}", stamp):
        raise LanewiseError(f"stamp: wanted YYYYMMDDhhmmss+hhmm, as 20260131093000+0000, given {stamp!r}.")
    found = [
        one
        for one in profiles(study, plate, axis if axis != "millimetres" else "")
        if lane in (None, one.lane.label) and channel in (None, one.trace.channel)
    ]
    if len(found) != 1:
        raise LanewiseError(
            f"wanted one trace, given {len(found)} with lane={lane!r} and channel={channel!r}. Each file holds one: "
            "name lane and channel."
        )
    return Rendered(main=_bytes(found[0], axis, stamp))


def _bytes(profile: Profile, axis: str, stamp: str) -> bytes:
    from scipy.io import netcdf_file

    def placed(positions: Any) -> NDArray[np.float64]:
        numbers = np.array(positions, dtype=float)
        return (
            numbers if axis == "millimetres" else as_ratio(numbers, axis, profile.origin, profile.front, profile.title)
        )

    positions, values = placed(profile.trace.positions), np.array(profile.trace.values)
    buffer = io.BytesIO()
    file = netcdf_file(buffer, "w", mmap=False)
    for name, text in _texts(profile, axis, stamp).items():
        setattr(file, name, text.encode("utf-8") or b" ")
    for length in _STRINGS:
        file.createDimension(f"_{length}_byte_string", length)
    file.createDimension("point_number", len(values))
    interval = float((positions[-1] - positions[0]) / (len(positions) - 1))
    off = np.abs(positions[0] + interval * np.arange(len(positions)) - positions).max()
    uniform = off == 0 if axis == "millimetres" else off <= 1e-9 * interval
    _put(file, "actual_run_time_length", (), positions[-1] - positions[0])
    _put(file, "actual_sampling_interval", (), interval)
    _put(file, "actual_delay_time", (), positions[0])
    _put(file, "ordinate_values", ("point_number",), values).uniform_sampling_flag = b"Y" if uniform else b"N"
    if not uniform:
        _put(file, "raw_data_retention", ("point_number",), positions)
    _put_peaks(file, profile, placed)
    file.flush()
    return buffer.getvalue()


def _texts(profile: Profile, axis: str, stamp: str) -> dict[str, str]:
    """Give the attributes of the file."""
    front = "not stated" if profile.front is None else f"{profile.front!r} mm"
    what = "distance along the lane in millimetres"
    if axis != "millimetres":
        what = f"Rf in the form {axis!r} written as if it were seconds: it is NO time"
    return {
        "dataset_completeness": "C1+C2" if _placed_spots(profile) else "C1",
        "aia_template_revision": "1.0",
        "netcdf_revision": "2.3",
        "languages": "English",
        "administrative_comments": (
            f"Profile of a lane of a plate. Retention is {what}. Origin line at {profile.origin!r} mm, front "
            f"{front}. The date of application may be a filler."
        ),
        "experiment_title": profile.title,
        "separation_experiment_type": "Thin Layer Chromatography",
        "injection_date_time_stamp": stamp,
        "sample_name": profile.lane.sample or profile.lane.label,
        "sample_type": profile.lane.role,
        "detector_name": profile.trace.channel,
        "detector_unit": profile.trace.unit,
        "retention_unit": "millimeters" if axis == "millimetres" else "seconds",
        **{f"lanewise_{key}": text for key, text in profile.records.items()},
    }


def _placed_spots(profile: Profile) -> list[lanewise.Spot]:
    return [spot for spot in profile.lane.spots if spot.centre is not None]


def _put_peaks(file: Any, profile: Profile, placed: Any) -> None:
    """Write spots as the table of peaks."""
    spots = _placed_spots(profile)
    if not spots:
        return
    file.createDimension("peak_number", len(spots))
    columns = {
        "peak_retention_time": [spot.centre for spot in spots],
        "peak_start_time": [spot.trailing for spot in spots],
        "peak_end_time": [spot.leading for spot in spots],
    }
    for name, marks in columns.items():
        numbers = [NULL if mark is None else float(placed([mark])[0]) for mark in marks]
        _put(file, name, ("peak_number",), np.array(numbers))
    areas = [NULL if spot.area is None else spot.area for spot in spots]
    _put(file, "peak_area", ("peak_number",), np.array(areas))
    names = [spot.label.encode("utf-8")[: _STRINGS[-1]].decode("utf-8", "ignore").encode("utf-8") for spot in spots]
    length = next(length for length in _STRINGS[4:] if length >= max(map(len, names)))
    table = file.createVariable("peak_name", "c", ("peak_number", f"_{length}_byte_string"))
    table[:] = np.array([list(name.ljust(length, b"\0")) for name in names], dtype=np.uint8).view("S1")


def _put(file: Any, name: str, dimensions: tuple[str, ...], values: Any) -> Any:
    """Write numbers, in single precision where that loses nothing."""
    numbers = np.asarray(values, dtype=float)
    with np.errstate(over="ignore"):
        exact = np.array_equal(numbers.astype(np.float32).astype(float), numbers)
    variable = file.createVariable(name, "f" if exact else "d", dimensions)
    variable[...] = numbers
    return variable
