"""Formulas behind the question which dye is in what: corrected Rf, and how well a system tells dyes apart."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from lanewise.errors import AnalysisError

Matrix = npt.NDArray[np.bool_]
TOUCH = 1e-9  # a difference this much beyond the window still counts as within it: 0.56 - 0.46 is not above 0.10


def reference_corrected_rf(
    rf: npt.ArrayLike, measured: npt.ArrayLike, accepted: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    """Rf corrected by reference substances on the same plate (a hundredth of hRf^c).

    Parameters
    ----------
    rf : array of shape (...)
        Values read on the plate, 0 to 1. [1]
    measured, accepted : arrays of shape (K,)
        Rf of the references on this plate and in the library, in any order. [1]

    Returns
    -------
    array of shape (...)
        On a line from point to point through the references, with (0, 0) and (1, 1) as ends. [1]

    Raises
    ------
    AnalysisError
        If the references are out of order, lie on the lines of origin or front, or are not pairs.

    Notes
    -----
    c = A' + (B' - A') (x - a) / (b - a), with a, b the references on either side and A', B' their accepted values.
    Beyond the last reference the correction leans on a convention, not on a measurement.

    References
    ----------
    de Zeeuw, Franke and others, on corrected Rf values (from memory).

    Examples
    --------
    >>> (100 * reference_corrected_rf([0.53, 0.10, 0.85], [0.22, 0.45, 0.71], [0.20, 0.40, 0.65])).round(2).tolist()
    [47.69, 9.09, 81.9]
    """
    x, y = (np.asarray(column, dtype=float) for column in (measured, accepted))
    if x.ndim != 1 or x.shape != y.shape:
        raise AnalysisError(f"references: wanted pairs of values, given {x.shape} measured and {y.shape} accepted")
    order = np.argsort(x)
    x, y = np.concatenate([[0.0], x[order], [1.0]]), np.concatenate([[0.0], y[order], [1.0]])
    if not ((np.diff(x) > 0).all() and (np.diff(y) > 0).all()):
        raise AnalysisError(
            "references: wanted values between 0 and 1 that rise together on the plate and in the library, given "
            f"{x[1:-1].tolist()} and {y[1:-1].tolist()}. Leave out those that changed places or lie at an end."
        )
    return np.asarray(np.interp(np.asarray(rf, dtype=float), x, y))


def not_told_apart(rf: npt.ArrayLike, window: npt.ArrayLike) -> Matrix:
    """Pairs of substances that lie within a window of each other in every system.

    Parameters
    ----------
    rf : array of shape (N, S) or (N,)
        Rf of N substances in S systems; nan where a substance was not run. [1]
    window : float or array of shape (N, N, S)
        Largest difference that counts as a match, 0 or above. [1]

    Returns
    -------
    boolean array of shape (N, N)
        True on the diagonal. A system in which one of a pair was not run does not tell it apart.

    Examples
    --------
    >>> not_told_apart([0.42, 0.46, 0.56], 0.05).sum(axis=0).tolist()
    [2, 2, 1]
    """
    table = _table(rf)
    gap = np.abs(table[:, None, :] - table[None, :, :])
    with np.errstate(invalid="ignore"):
        return np.asarray(~(gap > np.asarray(window) + TOUCH).any(axis=2))


def discriminating_power(same: Matrix) -> float:
    """Share of pairs that are told apart.

    Parameters
    ----------
    same : boolean array of shape (N, N)
        From `not_told_apart`, N at least 2.

    Returns
    -------
    float
        0 to 1; one less it is the chance that two substances picked at random match. nan for fewer than 2. [1]

    Notes
    -----
    1 - 2M / (N (N - 1)), with M the pairs not told apart.

    References
    ----------
    Smalldon and Moffat, J. Forens. Sci. Soc. 13 (1973) (from memory).

    Examples
    --------
    >>> round(discriminating_power(not_told_apart([1.00, 0.00, 0.20, 0.42, 0.56, 0.46], 0.05)), 4)
    0.9333
    """
    count = len(same)
    if count < 2:
        return float("nan")
    return 1.0 - (float(same.sum()) - count) / (count * (count - 1))


def mean_list_length(same: Matrix) -> float:
    """Mean number of substances that an unknown one of the list matches, itself included.

    Parameters
    ----------
    same : boolean array of shape (N, N)
        From `not_told_apart`, N at least 1.

    Returns
    -------
    float
        1 to N. [1]

    References
    ----------
    Schepers, Franke and de Zeeuw, J. Anal. Toxicol. 7 (1983) (from memory); here for a fixed window.

    Examples
    --------
    >>> round(mean_list_length(not_told_apart([1.00, 0.00, 0.20, 0.42, 0.56, 0.46], 0.05)), 3)
    1.333
    """
    return float(same.sum()) / len(same)


def information_content(rf: npt.ArrayLike, width: float, offsets: int = 1) -> float:
    """Information that a look at the place of an unknown substance of the list gives.

    Parameters
    ----------
    rf : array of shape (N, S) or (N,)
        Rf of N substances in S systems, none missing. [1]
    width : float
        Width of a class, above 0. [1]
    offsets : int
        How often the edges of the classes are shifted, by equal parts of the width; the mean is given, since the
        result depends on where the edges lie. 1 lets the first class start at 0.

    Returns
    -------
    float
        0 to log2 N. [bit]

    Notes
    -----
    - sum p log2 p over the classes that are occupied; those of several systems are joint classes.

    References
    ----------
    Shannon 1948; Massart, J. Chromatogr. 79 (1973) 157 (both from memory).

    Examples
    --------
    >>> round(information_content([1.00, 0.00, 0.20, 0.42, 0.56, 0.46], 0.1), 4)
    2.2516
    """
    table = _table(rf)
    bits = []
    for number in range(offsets):
        places = np.floor((table + width * number / offsets) / width + TOUCH).astype(np.int64)
        count = np.unique(places, axis=0, return_counts=True)[1]
        share = count / len(table)
        bits.append(float(-(share * np.log2(share)).sum()))
    return float(np.mean(bits)) + 0.0


def _table(rf: npt.ArrayLike) -> npt.NDArray[np.float64]:
    table = np.asarray(rf, dtype=float)
    if table.ndim == 1:
        table = table[:, None]
    if table.ndim != 2 or not len(table):
        raise AnalysisError(f"rf: wanted a row for each of one or more substances, given shape {table.shape}")
    return table
