"""One component of a recipe as it is measured out, and its numbers as words."""

from __future__ import annotations

from dataclasses import dataclass

from lanewise.uncertainty.rounding import as_decimal, plus_minus, round_half_up


@dataclass(frozen=True, slots=True)
class RecipePart:
    """One component, as it is measured out.

    Attributes
    ----------
    substance : str
    take, u : float
        What is measured out, and its standard uncertainty; in `unit`.
    unit : {"mL", "g"}
    exact : float
        What would be taken without rounding; in `unit`.
    how : str
        With which glass or balance.
    wanted, found, u_found : float
        Share by volume before mixing [1], or mass concentration [g/L]: as the system wants it, as what is taken gives
        it, and its standard uncertainty.
    molarity : float or None
        The concentration found, of a salt whose molar mass is known. [mol/L]
    """

    substance: str
    take: float
    u: float
    unit: str
    exact: float
    how: str
    wanted: float
    found: float
    u_found: float
    molarity: float | None = None

    @property
    def error(self) -> float:
        """Relative error that rounding brings. [1]."""
        return self.found / self.wanted - 1.0


def amount(value: float) -> str:
    """Give an amount as it is read off, without empty decimals.

    Examples
    --------
    >>> amount(24.0), amount(0.125), amount(2.0000000000001)
    ('24', '0.125', '2')
    """
    return f"{as_decimal(round(value, 6)).normalize():f}"


def found_words(part: RecipePart) -> str:
    """Say what share or concentration a part comes to: ``60.0 ± 0.8 % by volume``, ``1.00 ± 0.04 g/L``."""
    if part.unit == "g":
        molar = ""
        if part.molarity is not None:
            molar = f" ({plus_minus(part.molarity, part.molarity * part.u_found / part.found)} mol/L)"
        return f"{_with_u(part.found, part.u_found)} g/L{molar}"
    if part.wanted == 1.0:
        return "the liquid"
    return f"{_with_u(100 * part.found, 100 * part.u_found)} % by volume"


def error_words(part: RecipePart) -> str:
    """Say the relative error of rounding: ``none``, ``+1.3 %``."""
    text = round_half_up(100 * part.error, 1)
    return "none" if text in ("0.0", "-0.0") else f"{'' if text.startswith('-') else '+'}{text} %"


def _with_u(value: float, u: float) -> str:
    return plus_minus(value, u) if u > 0.0 else amount(value)
