"""One number for a whole chromatogram: how well its spots are spread or resolved.

A chromatogram is a row of Rf values, or of resolutions between neighbours. Criteria on Rf are blind to the width of
spots. All of them refuse anything but a row; where a row is too short to have a gap they give nan, which the
analyses turn into a state.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from lanewise.errors import AnalysisError
from lanewise.quantities._elementwise import quietly

Row = npt.NDArray[np.float64]


def _row(values: npt.ArrayLike, what: str) -> Row:
    row = np.asarray(values, dtype=float)
    if row.ndim != 1:
        raise AnalysisError(
            f"{what}: wanted the values of one chromatogram as a row, given an array of shape {row.shape}. "
            "Give one lane at a time."
        )
    return row


def _ordered(rf: npt.ArrayLike) -> Row:
    row = np.sort(_row(rf, "rf"))
    if row.size == 0:
        raise AnalysisError("rf: wanted at least one spot, given none. Leave lanes without spots out.")
    return row


@quietly
def smallest_gap(rf: npt.ArrayLike) -> float:
    """Smallest difference of neighbouring Rf values.

    Parameters
    ----------
    rf : array of shape (N,), any order
        Retardation factors of one chromatogram, 0 to 1, at least one. [1]

    Returns
    -------
    float
        0 (two spots coincide) to 1 / (N - 1); nan for a single spot. [1]

    Raises
    ------
    AnalysisError
        If `rf` is not a row or is empty.

    Notes
    -----
    min(Rf(i+1) - Rf(i)). Two spots at the origin, or two with the front, count as coinciding.

    References
    ----------
    Encyclopaedia article *Chromatographic response function*, after Wang et al. 1996.

    Examples
    --------
    >>> print(f"{smallest_gap([0.70, 0.20, 0.30]):.2f}")
    0.10
    """
    gaps = np.diff(_ordered(rf))
    return float(gaps.min()) if gaps.size else float("nan")


@quietly
def gap_product(rf: npt.ArrayLike) -> float:
    """Product of the differences of neighbouring Rf values.

    Parameters
    ----------
    rf : array of shape (N,), any order
        Retardation factors of one chromatogram, 0 to 1, at least one. [1]

    Returns
    -------
    float
        0 (two spots coincide) to (1 / (N - 1))^(N - 1); nan for a single spot. Not comparable between
        chromatograms of different N. [1]

    Raises
    ------
    AnalysisError
        If `rf` is not a row or is empty.

    Notes
    -----
    Product of Rf(i+1) - Rf(i). Two spots at the same end make it 0.

    References
    ----------
    Encyclopaedia article *Chromatographic response function*, after Wang et al. 1996.

    Examples
    --------
    >>> print(f"{gap_product([0.70, 0.20, 0.30]):.4f}")
    0.0400
    """
    gaps = np.diff(_ordered(rf))
    return float(gaps.prod()) if gaps.size else float("nan")


@quietly
def retention_uniformity(rf: npt.ArrayLike) -> float:
    """Retention uniformity RU: nearness to equally spread spots.

    Parameters
    ----------
    rf : array of shape (N,), any order
        Retardation factors of one chromatogram, 0 to 1, at least one. [1]

    Returns
    -------
    float
        RU, 0 (all spots at the origin, or all with the front) to 1 (Rf(i) = i / (N + 1)). [1]

    Raises
    ------
    AnalysisError
        If `rf` is not a row or is empty.

    Notes
    -----
    RU = 1 - sqrt{6 (N + 1) / [N (2 N + 1)] sum (Rf(i) - i / (N + 1))^2}. It hardly minds two spots that coincide, or
    spots at an end: (0, 0.5, 1) scores 0.62. Read it together with `retention_distance`.

    References
    ----------
    Komsta, Markowski and Misztal, J. Pharm. Biomed. Anal. 43 (2007) 1367 (citation from memory); formula on the
    first author's page *Equal spreading in TLC*.

    Examples
    --------
    >>> print(f"{retention_uniformity([0.10, 0.20, 0.25, 0.30]):.4f}")
    0.4066
    """
    row = _ordered(rf)
    n = row.size
    ideal = np.arange(1, n + 1) / (n + 1)
    return float(1.0 - np.sqrt(6.0 * (n + 1) / (n * (2 * n + 1)) * np.square(row - ideal).sum()))


@quietly
def retention_distance(rf: npt.ArrayLike) -> float:
    """Retention distance RD: geometric mean of all gaps, ends included, against equal ones.

    Parameters
    ----------
    rf : array of shape (N,), any order
        Retardation factors of one chromatogram, 0 to 1, at least one. [1]

    Returns
    -------
    float
        RD, 0 (two spots coincide, or one is at the origin or with the front) to 1 (Rf(i) = i / (N + 1)). [1]

    Raises
    ------
    AnalysisError
        If `rf` is not a row or is empty.

    Notes
    -----
    RD = [(N + 1)^(N + 1) product (Rf(i+1) - Rf(i))]^(1 / N) over the N + 1 gaps, with 0 and 1 as the ends. It is
    computed through logarithms, so that many spots do not underflow. An Rf outside 0 to 1 gives nan.

    References
    ----------
    As for `retention_uniformity`.

    Examples
    --------
    >>> print(f"{retention_distance([0.10, 0.20, 0.25, 0.30]):.4f}")
    0.4836
    """
    row = _ordered(rf)
    gaps = np.diff(row, prepend=0.0, append=1.0)
    return float(np.exp(np.log(gaps * gaps.size).sum() / row.size))


@quietly
def multispot_response(rf: npt.ArrayLike, lower: float = 0.0, upper: float = 1.0) -> float:
    """Multispot response function MRF: product of all gaps inside a window, against equal ones.

    Parameters
    ----------
    rf : array of shape (N,), any order
        Retardation factors of one chromatogram, 0 to 1, at least one. [1]
    lower, upper : float, optional
        Ends of the window in which an Rf is of use. [1]

    Returns
    -------
    float
        MRF, 0 (two spots coincide, or one lies at or outside an end of the window) to 1 (equally spread
        in the window). [1]

    Raises
    ------
    AnalysisError
        If `rf` is not a row or is empty, or the window is.

    Notes
    -----
    MRF = (upper - Rf(N)) (Rf(1) - lower) product (Rf(i+1) - Rf(i)) / [(upper - lower) / (N + 1)]^(N + 1). With the
    window 0 to 1 it is RD to the power N.

    References
    ----------
    De Spiegeleer et al., Anal. Chem. 59 (1987) 62 (formula from memory).

    Examples
    --------
    >>> print(f"{multispot_response([0.25, 0.50, 0.75], lower=0.05, upper=0.95):.4f}")
    0.9755
    """
    if not lower < upper:
        raise AnalysisError(
            f"lower and upper: wanted a window with lower below upper, given {lower} and {upper}. "
            "Choose the ends of the Rf range that is of use, for instance 0.05 and 0.95."
        )
    gaps = np.diff(_ordered(rf), prepend=lower, append=upper)
    return float(np.prod(np.maximum(gaps, 0.0) * gaps.size / (upper - lower)))


def smallest_resolution(rs: npt.ArrayLike) -> float:
    """Resolution of the worst pair.

    Parameters
    ----------
    rs : array of shape (M,)
        Resolutions between neighbouring spots. [1]

    Returns
    -------
    float
        Smallest Rs; nan where there is no pair. [1]

    Raises
    ------
    AnalysisError
        If `rs` is not a row.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> smallest_resolution([1.6, 0.8, 3.0])
    0.8
    """
    row = _row(rs, "rs")
    return float(row.min()) if row.size else float("nan")


@quietly
def resolution_sum(rs: npt.ArrayLike) -> float:
    """Sum of the resolutions between neighbouring spots.

    Parameters
    ----------
    rs : array of shape (M,)
        Resolutions between neighbouring spots. [1]

    Returns
    -------
    float
        Sum of Rs; nan where there is no pair. One wide gap can hide a pair that is not resolved. [1]

    Raises
    ------
    AnalysisError
        If `rs` is not a row.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> print(f"{resolution_sum([0.8, 1.6, 3.0]):.1f}")
    5.4
    """
    row = _row(rs, "rs")
    return float(row.sum()) if row.size else float("nan")


@quietly
def normalised_resolution_product(rs: npt.ArrayLike) -> float:
    """Normalised resolution product r: how alike the resolutions are.

    Parameters
    ----------
    rs : array of shape (M,)
        Resolutions between neighbouring spots, 0 or more. [1]

    Returns
    -------
    float
        r, 0 (a pair coincides) to 1 (all resolutions equal, however small); nan where there is no pair or all
        coincide. [1]

    Raises
    ------
    AnalysisError
        If `rs` is not a row.

    Notes
    -----
    r = product (Rs(i) / mean Rs).

    References
    ----------
    Drouen, Billiet, Schoenmakers and de Galan, Chromatographia 16 (1982) 48 (from memory).

    Examples
    --------
    >>> print(f"{normalised_resolution_product([0.8, 1.6, 3.0]):.4f}")
    0.6584
    """
    row = _row(rs, "rs")
    return float(np.prod(row / row.mean())) if row.size else float("nan")


@quietly
def optimisation_function(
    rs: npt.ArrayLike,
    ideal: float = 1.5,
    weights: npt.ArrayLike = 1.0,
    time_weight: float = 0.0,
    time_left: float = 0.0,
) -> float:
    """Chromatographic optimisation function COF: what is missing to the resolution one would like.

    Parameters
    ----------
    rs : array of shape (M,)
        Resolutions between neighbouring spots, 0 or more. [1]
    ideal : float, optional
        Resolution that is good enough. [1]
    weights : float or array of shape (M,), optional
        Importance of each pair. [1]
    time_weight : float, optional
        Credit for each minute saved. [1/min]
    time_left : float, optional
        Longest acceptable time less the time taken. [min]

    Returns
    -------
    float
        COF, -inf (a pair coincides) to 0 (every pair as wanted), plus the credit for time; nan where there
        is no pair, or a negative Rs. [1]

    Raises
    ------
    AnalysisError
        If `rs` is not a row, or there is not one weight for each pair.

    Notes
    -----
    COF = sum weight(i) min(ln(Rs(i) / ideal), 0) + time weight * time left. Setting terms above 0 to 0 keeps an
    ample gap from paying for a pair that is not resolved.

    References
    ----------
    Glajch et al. 1980 (from memory).

    Examples
    --------
    >>> print(f"{optimisation_function([0.8, 1.6, 3.0]):.4f}")
    -0.6286
    """
    row = _row(rs, "rs")
    if not row.size:
        return float("nan")
    if np.shape(weights) not in ((), row.shape):
        raise AnalysisError(
            f"weights: wanted one number, or one for each of the {row.size} pairs, given an array of shape "
            f"{np.shape(weights)}. Give as many weights as resolutions."
        )
    missing = np.minimum(np.log(row / ideal), 0.0)
    return float(np.sum(np.asarray(weights) * missing) + time_weight * time_left)


@quietly
def inverse_square_distances(rf_x: npt.ArrayLike, rf_y: npt.ArrayLike) -> float:
    """Sum of inverse squared distances D_A of the spots of a two-dimensional chromatogram; the smaller the better.

    Parameters
    ----------
    rf_x, rf_y : array of shape (N,)
        Retardation factors of each spot in the first and in the second direction, 0 to 1. [1]

    Returns
    -------
    float
        D_A, above 0; inf where two spots coincide, nan where there are fewer than two. [1]

    Raises
    ------
    AnalysisError
        If `rf_x` or `rf_y` is not a row, or their lengths differ.

    Notes
    -----
    D_A = sum over all pairs of 1 / (dx^2 + dy^2). Spots at the ends of a direction count like any other there.

    References
    ----------
    Gonnord, Levi and Guiochon 1983 (from memory, exact published form not checked).

    Examples
    --------
    >>> print(f"{inverse_square_distances([0.2, 0.2, 0.8], [0.2, 0.8, 0.2]):.4f}")
    6.9444
    """
    x, y = _row(rf_x, "rf_x"), _row(rf_y, "rf_y")
    if x.size != y.size:
        raise AnalysisError(
            f"rf_x and rf_y: wanted one value of each for every spot, given {x.size} and {y.size}. "
            "Leave out spots that were seen in one direction only."
        )
    if x.size < 2:
        return float("nan")
    first, second = np.triu_indices(x.size, k=1)
    return float(np.sum(1.0 / (np.square(x[first] - x[second]) + np.square(y[first] - y[second]))))
