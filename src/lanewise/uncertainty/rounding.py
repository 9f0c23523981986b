"""The library's one rounding rule: decimal half-up, digits from the uncertainty.

A standard uncertainty is printed with two significant digits where the first of them is 1 or 2, otherwise with
one; the value is printed to the same decimal place. Halves go up in the *decimal* sense: 1.9/4.0 = 0.475 becomes
0.48 and not, as binary rounding has it, 0.47.
"""

from __future__ import annotations

from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Context, Decimal
from math import isfinite

SIGNIFICANT = 14
BOUND_DECIMALS = 2  # of a bound of Rf, or of a difference of two
WIDE = Context(prec=700)  # room for any float to any of its decimals


def as_decimal(value: float) -> Decimal:
    """Give the decimal number that a person would see in a float: 14 significant digits.

    Fourteen digits remove the dust of binary arithmetic (2 * (9.54 - 8.36) / 1.6 is 1.475, not
    1.4749999999999996) and are far more than any reading has.

    Raises
    ------
    ValueError
        If the value is not finite: a value that is not a number has no digits to print.

    Examples
    --------
    >>> as_decimal(0.1 + 0.2)
    Decimal('0.3')
    """
    if not isfinite(value):
        raise ValueError(f"wanted a finite number to round, given {value}")
    return Decimal(f"{float(value):.{SIGNIFICANT}g}")


def round_half_up(value: float, decimals: int) -> str:
    """Round to a number of decimals, halves away from zero, and give the text.

    Parameters
    ----------
    value : float
        A finite number.
    decimals : int
        Digits after the point; negative for tens, hundreds and so on.

    Returns
    -------
    str
        Plain decimal notation; never a negative zero.

    Examples
    --------
    >>> round_half_up(1.9 / 4.0, 2), round_half_up(-0.004, 2), round_half_up(12345.0, -2)
    ('0.48', '0.00', '12300')
    """
    place = Decimal(1).scaleb(-decimals)
    rounded = as_decimal(value).quantize(place, rounding=ROUND_HALF_UP, context=WIDE)
    if rounded.is_zero():
        rounded = abs(rounded)
    return f"{rounded:f}" if decimals > 0 else str(int(rounded))


def round_bound(value: float, decimals: int = BOUND_DECIMALS, *, up: bool) -> str:
    """Round a bound outwards, so that its text never claims more than is known.

    Parameters
    ----------
    value : float
        A finite number.
    decimals : int
        Digits after the point, at least 0; by default the two of every printed bound of Rf.
    up : bool
        True for an upper bound, which is rounded up; False for a lower one, which is rounded down.

    Examples
    --------
    >>> round_bound(0.0121, up=True), round_bound(0.9879, up=False)
    ('0.02', '0.98')
    """
    rounding = ROUND_CEILING if up else ROUND_FLOOR
    rounded = as_decimal(value).quantize(Decimal(1).scaleb(-decimals), rounding=rounding, context=WIDE)
    return f"{abs(rounded) if rounded.is_zero() else rounded:f}"


def decimals_for(u: float) -> int:
    """Give the decimals to print, from a standard uncertainty.

    Two significant digits where the first is 1 or 2, otherwise one: JCGM 100:2008, 7.2.6 allows at most two
    (clause number from memory). What is printed is within 15 % of the uncertainty.

    Parameters
    ----------
    u : float
        Positive standard uncertainty.

    Returns
    -------
    int
        Decimals, negative for tens and more.

    Raises
    ------
    ValueError
        If the uncertainty is zero, negative or not finite: such a value is printed on other grounds.

    Examples
    --------
    >>> decimals_for(0.0057), decimals_for(0.0122), decimals_for(0.0296), decimals_for(310.0)
    (3, 3, 2, -2)
    """
    if not (isfinite(u) and u > 0):
        raise ValueError(f"wanted a positive standard uncertainty, given {u}")
    rounded = to_digits(u, 2)  # first, for 0.0296 starts with 3 and 0.0995 with 1
    place = rounded.adjusted()
    return 1 - place if rounded.as_tuple().digits[0] <= 2 else -place


def to_digits(value: float, digits: int) -> Decimal:
    """Round a positive number, half up, to a number of significant digits; 0.0995 to two is 0.100."""
    decimal = as_decimal(value)
    return decimal.quantize(Decimal(1).scaleb(decimal.adjusted() + 1 - digits), rounding=ROUND_HALF_UP)


def with_uncertainty(value: float, u: float) -> tuple[str, str]:
    """Round a value and its standard uncertainty to the same decimal place.

    Examples
    --------
    >>> with_uncertainty(0.475, 0.00571)
    ('0.475', '0.006')
    >>> with_uncertainty(1.1052, 0.0243)
    ('1.105', '0.024')
    """
    decimals = decimals_for(u)
    return round_half_up(value, decimals), round_half_up(u, decimals)


def plus_minus(value: float, u: float) -> str:
    """Give ``value ± u`` as one text.

    Examples
    --------
    >>> plus_minus(0.475, 0.00571)
    '0.475 ± 0.006'
    """
    return " ± ".join(with_uncertainty(value, u))
