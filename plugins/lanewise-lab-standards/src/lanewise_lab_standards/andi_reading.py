"""ANDI chromatography (ASTM E1947): one curve, and a table of peaks, in classic netCDF."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from lanewise.errors import UnreadableFile
from lanewise_lab_standards.curves import MOST_POINTS, Curve, Peak, study_of
from lanewise_lab_standards.options import Asked, TraceOptions
from lanewise_lab_standards.records import KEYS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    import lanewise
    from lanewise.hooks import Source

NULL = -9999.0
"""What the standard writes where a peak has no value."""

_FLAG = "uniform_sampling_flag"
_PEAKS = ("peak_retention_time", "peak_start_time", "peak_end_time", "peak_area")
_SAMPLING = ("actual_delay_time", "actual_sampling_interval")
_VARIABLES = ("ordinate_values", "raw_data_retention", *_SAMPLING, *_PEAKS, "peak_name")
_UNITS = ("retention_unit", "retention_units", "detector_unit", "detector_units")
"""Some programs write the units with an s."""
_TEXTS = (*_UNITS, "detector_name", "sample_name", "sample_id", _FLAG, *(f"lanewise_{key}" for key in KEYS))


def read(source: Source, options: TraceOptions) -> lanewise.Study:
    """Read the lane trace of an ANDI file.

    Parameters
    ----------
    source : Source
        The file.
    options : TraceOptions
        What it may not say; above all what the abscissa is.

    Returns
    -------
    Study
        One plate with one lane.

    Raises
    ------
    UnreadableFile
        If it is no whole classic netCDF file, has neither curve nor peaks, or its abscissa is not known to be a
        length.
    """
    from scipy.io import netcdf_file

    file = source.name
    try:
        with netcdf_file(source.open(), "r", mmap=False) as content:
            found = {name: _variable(content.variables[name]) for name in _VARIABLES if name in content.variables}
            ordinates = content.variables.get("ordinate_values")
            texts = {name: _text(value) for name in _TEXTS if (value := getattr(content, name, None)) is not None}
            flag = _text(getattr(ordinates, _FLAG, "")) or texts.get(_FLAG, "Y")
    except Exception as fault:  # the reader of netCDF has no error of its own for damaged files
        raise UnreadableFile(
            f"{file}: wanted a whole file of classic netCDF, given one that breaks off or is damaged ({fault})."
        ) from fault
    positions, values = _curve(found, flag, file)
    peaks = _peaks(found, file)
    if not len(values) and not peaks:
        raise UnreadableFile(f"{file}: wanted ordinate_values or peak_retention_time, given neither.")
    curve = Curve(
        where="retention_unit",
        positions=positions,
        values=values,
        x_unit=texts.get("retention_unit") or texts.get("retention_units", ""),
        unit=texts.get("detector_unit") or texts.get("detector_units", "1"),
        channel=texts.get("detector_name", ""),
        sample=texts.get("sample_name") or texts.get("sample_id", ""),
        peaks=peaks,
        records={key: texts[f"lanewise_{key}"] for key in KEYS if f"lanewise_{key}" in texts},
    )
    return study_of([curve], Asked(file, options))


def _text(value: object) -> str:
    """Give an attribute as text; some programs leave NUL signs behind it."""
    if isinstance(value, bytes):
        return value.rstrip(b"\0").decode("utf-8", "replace").strip()
    return str(value)


def _variable(variable: Any) -> NDArray[Any]:
    """Give the values of a variable, unpacked, with at least one dimension."""
    values: NDArray[Any] = np.atleast_1d(np.array(variable.data))
    if values.size > MOST_POINTS:
        raise ValueError(f"more than {MOST_POINTS} values")
    if values.dtype.kind == "S":
        return values
    scale, offset = (float(getattr(variable, name, usual)) for name, usual in (("scale_factor", 1), ("add_offset", 0)))
    return values.astype(float) * scale + offset


def _curve(found: Mapping[str, NDArray[Any]], flag: str, file: str) -> tuple[NDArray[Any], NDArray[Any]]:
    """Give abscissa and ordinate; both empty where a file has results alone."""
    if "ordinate_values" not in found:
        return np.empty(0), np.empty(0)
    values = found["ordinate_values"]
    if flag.upper().startswith("N"):
        positions = found.get("raw_data_retention", np.empty(0))
        if positions.shape != values.shape:
            raise UnreadableFile(
                f"{file}: the sampling is not uniform; wanted raw_data_retention of {len(values)} points, "
                f"given {len(positions)}."
            )
        return positions, values
    delay, interval = (_scalar(found, name, file) for name in _SAMPLING)
    if not interval > 0:
        raise UnreadableFile(f"{file}: wanted actual_sampling_interval above 0, given {interval:g}.")
    return delay + interval * np.arange(len(values)), values


def _scalar(found: Mapping[str, NDArray[Any]], name: str, file: str) -> float:
    values = found.get(name, np.empty(0))
    if values.size != 1 or values.dtype.kind == "S":
        raise UnreadableFile(f"{file}: wanted one number {name}, given {values.size or 'none'}.")
    return float(values[0])


def _peaks(found: Mapping[str, NDArray[Any]], file: str) -> tuple[Peak, ...]:
    """Give the peaks that the file states; those without a position are none."""
    if _PEAKS[0] not in found:
        return ()
    count = len(found[_PEAKS[0]])
    numbers: list[list[float | None]] = []
    for name in _PEAKS:
        given = found.get(name, np.full(count, NULL))
        if given.shape != (count,) or given.dtype.kind == "S":
            raise UnreadableFile(f"{file}: wanted {count} numbers {name}, given {given.size}.")
        numbers.append([None if value == NULL or value != value else float(value) for value in given])
    names = found.get("peak_name", np.full((count, 1), b""))
    words = [_text(b"".join(row.tolist())) for row in names] if names.ndim == 2 else [""] * count
    return tuple(
        Peak(at, start, end, area, name)
        for at, start, end, area, name in zip(*numbers, words, strict=True)
        if at is not None
    )
