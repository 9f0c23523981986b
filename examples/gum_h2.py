"""Example H.2 of the GUM through the uncertainty engine: resistance, reactance and impedance from one set of readings.

Voltage, current and phase angle of a circuit element were read five times, all three together each time, so their
means are correlated. The engine knows no chemistry, and electricity is as good to it as Rf: the same call carries
shared readings through any formula.

Source: JCGM 100:2008 (GUM), annex H.2. The readings and the printed values and uncertainties were not read in the
guide itself but in general metrology libraries that ship them as test data; the printed correlations are from memory.
"""

import numpy as np

import lanewise
from lanewise.uncertainty.inputs import from_observations
from lanewise.uncertainty.rounding import round_half_up

# Table H.2: voltage [V], current [A], phase angle [rad]; one row an observation.
READINGS = [
    [5.007, 0.019663, 1.0456],
    [4.994, 0.019639, 1.0438],
    [5.005, 0.019640, 1.0468],
    [4.990, 0.019685, 1.0428],
    [4.999, 0.019678, 1.0433],
]
FORMULAS = {
    "R": lambda voltage, current, phase: voltage / current * np.cos(phase),
    "X": lambda voltage, current, phase: voltage / current * np.sin(phase),
    "Z": lambda voltage, current, phase: voltage / current,
}
# Table H.3: value and standard uncertainty [ohm], and correlations. u(X) is printed as 0.295 although 0.29558 rounds to
# 0.296: the guide calculates on with rounded inputs.
PUBLISHED = {"R": ("127.732", "0.071"), "X": ("219.847", "0.295"), "Z": ("254.260", "0.236")}
CORRELATIONS = {("R", "X"): "-0.588", ("R", "Z"): "-0.485", ("X", "Z"): "0.993"}


def results() -> dict[str, lanewise.Measured]:
    """Give R, X and Z, each with its parts by observation."""
    means = from_observations(READINGS, "simultaneous readings")
    inputs = [means[0], means[1], means[2]]
    return {name: lanewise.propagate(formula, *inputs) for name, formula in FORMULAS.items()}


def main() -> None:
    found = results()
    print("quantity        published            lanewise")
    for name, (value, u) in PUBLISHED.items():
        ours = found[name]
        print(
            f"{name} [ohm]    {value:>8} ± {u}    {round_half_up(ours.values[0], 4):>9} ± {round_half_up(ours.u[0], 5)}"
        )
    for (a, b), printed in CORRELATIONS.items():
        r = found[a].covariance(found[b])[0] / (found[a].u[0] * found[b].u[0])
        print(f"r({a}, {b})      {printed:>8}            {round_half_up(r, 4):>9}")


if __name__ == "__main__":
    main()
