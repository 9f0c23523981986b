"""What all elementwise formulas share: the kind of value they take, and silence at the ends of the range."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np

Values: TypeAlias = Any
"""A float, a numpy array, a pandas Series or an xarray DataArray; shapes that broadcast.

Formulas use arithmetic and numpy's ufuncs only, which keep each of these kinds as it is. Division and powers go
through ufuncs too, because plain Python floats would raise where arrays give inf or nan.
"""

quietly = np.errstate(all="ignore")
"""Decorator: let a formula give inf or nan without a numpy warning."""
