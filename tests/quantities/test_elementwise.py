"""What all elementwise formulas promise: the kind of value is kept, shapes broadcast, the ends are silent."""

from __future__ import annotations

import importlib
import inspect
import itertools
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
import pytest
import xarray as xr

Formula = Callable[..., Any]

MODULES = ("retardation", "separation", "efficiency", "shape", "development")
LISTS = {"distances"}
TYPICAL = {  # invented values, in the unit of each parameter
    "spot": 31.0, "front": 72.0, "origin": 9.5, "rf": 0.37, "xi": 1.1, "k": 1.8, "r_m": -0.2,
    "rf_standard": 0.52, "rf_slow": 0.31, "rf_fast": 0.36, "position_slow": 31.0, "position_fast": 37.5,
    "width_slow": 4.2, "width_fast": 4.9, "plate_number": 900.0, "rs": 0.95, "valley_height": 12.0,
    "peak_height": 40.0, "distance": 31.0, "base_width": 4.2, "half_height_width": 2.4, "run_length": 62.0,
    "width_at_origin": 1.5, "width_at_front": 5.5, "plate_height": 0.07, "start_width": 2.5,
    "rear_half_width": 3.0, "leading_half_width": 2.0, "width_5": 5.2, "leading_half_width_5": 2.1,
    "n": 3, "rf_n": 0.7, "start": 2.0, "length": 4.0,
}  # fmt: skip


def formulas() -> list[Formula]:
    found = []
    for name in MODULES:
        module = importlib.import_module(f"lanewise.quantities.{name}")
        members = inspect.getmembers(module, inspect.isfunction)
        found += [f for _, f in members if f.__module__ == module.__name__ and not f.__name__.startswith("_")]
    return found


FORMULAS = formulas()
every_formula = pytest.mark.parametrize("formula", FORMULAS, ids=[f.__name__ for f in FORMULAS])


def parameters(formula: Formula) -> list[str]:
    return list(inspect.signature(formula).parameters)


def call(formula: Formula, change: Callable[[float], Any]) -> Any:
    """Call with typical values, each passed through `change` first."""
    return formula(
        **{
            name: [change(40.0), change(62.0)] if name in LISTS else change(TYPICAL[name])
            for name in parameters(formula)
        }
    )


def test_every_module_is_searched() -> None:
    assert {formula.__module__.rpartition(".")[2] for formula in FORMULAS} == set(MODULES)


@every_formula
def test_a_float_gives_a_float(formula: Formula) -> None:
    value = call(formula, float)
    assert isinstance(value, float)
    assert math.isfinite(value)


@every_formula
def test_an_array_gives_an_array_of_the_same_numbers(formula: Formula) -> None:
    values = call(formula, lambda value: np.full((2, 3), value))
    assert isinstance(values, np.ndarray)
    assert values.shape == (2, 3)
    np.testing.assert_allclose(values, call(formula, float), rtol=1e-13)


@every_formula
def test_shapes_broadcast(formula: Formula) -> None:
    shapes = itertools.cycle([(4, 1), (3,)])
    names = [name for name in parameters(formula) if name not in LISTS]
    given = {name: np.full(next(shapes), TYPICAL[name]) for name in names}
    if "distances" in parameters(formula):
        given["distances"] = [40.0, 62.0]
    assert formula(**given).shape == np.broadcast_shapes(
        *(values.shape for name, values in given.items() if name not in LISTS)
    )


@every_formula
def test_a_series_keeps_its_index(formula: Formula) -> None:
    index = pd.Index(["blue", "green"], name="spot")
    values = call(formula, lambda value: pd.Series([value, value], index=index))
    assert isinstance(values, pd.Series)
    pd.testing.assert_index_equal(values.index, index)
    np.testing.assert_allclose(values, call(formula, float), rtol=1e-13)


@every_formula
def test_one_series_among_numbers_is_enough(formula: Formula) -> None:
    for varied in [name for name in parameters(formula) if name not in LISTS]:
        given: dict[str, Any] = {name: TYPICAL.get(name, [40.0, 62.0]) for name in parameters(formula)}
        given[varied] = pd.Series([given[varied]] * 2, index=["blue", "green"])
        assert isinstance(formula(**given), pd.Series)


@every_formula
def test_a_labelled_array_keeps_its_labels(formula: Formula) -> None:
    coords = {"spot": ["blue", "green"], "system": ["water", "salt water", "propanol"]}
    values = call(formula, lambda value: xr.DataArray(np.full((2, 3), value), coords))
    assert isinstance(values, xr.DataArray)
    assert values.dims == ("spot", "system")
    assert list(values.coords["system"].values) == coords["system"]
    np.testing.assert_allclose(values, call(formula, float), rtol=1e-13)


@pytest.mark.parametrize(
    "formula", [f for f in FORMULAS if len(set(parameters(f)) - LISTS) > 1], ids=lambda f: f.__name__
)
def test_labelled_arrays_broadcast_by_name(formula: Formula) -> None:
    first, *others = [name for name in parameters(formula) if name not in LISTS]
    given: dict[str, Any] = {name: TYPICAL.get(name, [40.0, 62.0]) for name in parameters(formula)}
    given[first] = xr.DataArray([given[first]] * 2, dims="spot")
    given |= {name: xr.DataArray([given[name]] * 3, dims="system") for name in others}
    assert formula(**given).sizes == {"spot": 2, "system": 3}


@every_formula
@pytest.mark.parametrize("kind", [float, np.float64, np.atleast_1d], ids=["python", "numpy", "array"])
def test_no_input_raises_or_warns(formula: Formula, kind: Callable[[float], Any]) -> None:
    """Warnings are errors in this suite, so running through is the check; every kind of number comes out."""
    awkward = [kind(value) for value in (0, 1, -0.0, -1.0, 1.7e308, 5e-324, math.inf, -math.inf, math.nan)]
    names = parameters(formula)
    for values in itertools.product(awkward, repeat=min(len(names), 3)):
        padded = [*values, *values[::-1]][: len(names)]
        given = {name: [value] * 2 if name in LISTS else value for name, value in zip(names, padded, strict=True)}
        assert np.size(formula(**given)) == 1


@every_formula
def test_whole_numbers_do_not_raise(formula: Formula) -> None:
    for values in itertools.product([0, 1, -1], repeat=len(parameters(formula))):
        given = zip(parameters(formula), values, strict=True)
        assert isinstance(formula(**{n: [v] * 2 if n in LISTS else v for n, v in given}), int | float)


@every_formula
def test_nan_in_gives_nan_out(formula: Formula) -> None:
    for name in [name for name in parameters(formula) if name not in LISTS]:
        given: dict[str, Any] = {other: TYPICAL.get(other, [40.0, 62.0]) for other in parameters(formula)}
        given[name] = math.nan
        assert math.isnan(formula(**given)), name
