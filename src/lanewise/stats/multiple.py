"""Many tests at once: p values corrected so that the chance of one false claim among all stays as stated."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def holm(p: ArrayLike) -> NDArray[np.float64]:
    """Correct p values for their number by Holm's step-down method.

    Parameters
    ----------
    p : array of shape (N,)
        P values, in any order; nan where no test was made, which counts for nothing.

    Returns
    -------
    array of shape (N,)
        Corrected p values, at most 1, in the order given.

    References
    ----------
    Holm 1979 (from memory): of m sorted p values the i-th becomes the largest of min(1, (m - j + 1) p(j)) over j up
    to i. It holds for tests that depend on each other in any way.

    Examples
    --------
    >>> holm([0.01, 0.04, 0.03]).round(4).tolist()
    [0.03, 0.06, 0.06]
    """
    values = np.asarray(p, dtype=float)
    result = np.full(values.shape, np.nan)
    made = np.flatnonzero(~np.isnan(values))
    order = made[np.argsort(values[made], kind="stable")]
    steps = values[order] * np.arange(len(order), 0, -1)
    result[order] = np.minimum(np.maximum.accumulate(steps), 1.0)
    return result
