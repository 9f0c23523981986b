"""First-order propagation: derivatives exact or probed, sources kept, one quantity by whatever way it is reached."""

from __future__ import annotations

import numpy as np
import pytest

from lanewise.uncertainty.inputs import exact, from_standard
from lanewise.uncertainty.propagation import matched, propagate, propagate_jointly


def rf(spot, front, origin):
    return (spot - origin) / (front - origin)


def product(first, second):
    return first * second


def product_with_derivatives(first, second):
    return first * second


product_with_derivatives.derivatives = lambda first, second: (second, first)


@pytest.mark.parametrize(
    ("first_way", "second_way"),
    [
        (lambda s, f, o: propagate(rf, s, f, o), lambda s, f, o: propagate(np.divide, s - o, f - o)),
        (
            lambda s, f, o: propagate(lambda r: np.log10(1 / r - 1), propagate(rf, s, f, o)),
            lambda s, f, o: propagate(lambda run, rest: np.log10(rest / run), s - o, f - s),
        ),
        (
            lambda s, f, o: propagate(rf, s, f, o)[2] - propagate(rf, s, f, o)[0],
            lambda s, f, o: propagate(np.divide, s[2] - s[0], f - o),
        ),
        (
            lambda s, f, o: propagate(rf, s, f, o).combined(np.full(4, 0.25)),
            lambda s, f, o: propagate(rf, s.combined(np.full(4, 0.25)), f, o),
        ),
        (
            lambda s, f, o: propagate(rf, s, f, o),
            lambda s, f, o: propagate_jointly(rf, s, f, o),
        ),
        (
            lambda s, f, o: propagate(rf, s, f, o),
            lambda s, f, o: propagate(lambda a, b, c: rf(c, a, b), f, o, s),
        ),
    ],
    ids=["ratio of distances", "R_M from distances", "difference", "mean", "jointly", "inputs in another order"],
)
def test_two_ways_to_one_quantity(lane, same_quantity, first_way, second_way) -> None:
    same_quantity(first_way(*lane), second_way(*lane))


@pytest.mark.parametrize("zero", [-49.9, 0.0, 300.0, 1e4, 1e5], ids=str)
@pytest.mark.parametrize("u", [1e-4, 0.25, 5.0], ids=str)
def test_the_zero_of_positions_plays_no_part(zero: float, u: float) -> None:
    """Only differences of positions enter; probed derivatives must not notice how far off the zero is.

    At Rf 0.5, u(Rf) D / u = sqrt(1.5): see tests/reference/metrology/rf_shared_origin.csv.
    """
    spot, front, origin = (from_standard([zero + z], u, "reading") for z in (50.0, 90.0, 10.0))
    assert propagate(rf, spot, front, origin).u[0] == pytest.approx(u / 80.0 * 1.5**0.5, rel=1e-8)


@pytest.mark.parametrize("u", [1e-6, 1.0, 1e5], ids=str)
def test_the_size_of_u_beside_the_value_plays_no_part(u: float) -> None:
    """A length of fifty million nanometres: the square of x has u = 2 x u."""
    assert propagate(np.square, from_standard([5e7], u, "length")).u[0] == pytest.approx(1e8 * u, rel=1e-8)


def test_an_exact_zero_among_the_rows_stays_exact() -> None:
    rows = from_standard([0.0, 2.0], [0.0, 0.1], "reading")
    assert propagate(np.square, rows).u == pytest.approx([0.0, 0.4], rel=1e-9)


def test_carried_derivatives_are_used() -> None:
    def wrong(value):
        return 2.0 * value

    wrong.derivatives = lambda value: (np.full_like(value, 7.0),)
    assert propagate(wrong, from_standard([1.0, 2.0], 0.1, "reading")).u == pytest.approx([0.7, 0.7])


def test_carried_and_probed_derivatives_agree(same_quantity) -> None:
    first, second = from_standard([2.0, -3.0], 0.1, "first"), from_standard([5.0, 0.5], 0.2, "second")
    same_quantity(propagate(product_with_derivatives, first, second), propagate(product, first, second))


def test_an_input_used_twice_counts_as_one() -> None:
    """x times x is x squared: u = 2 x u, not sqrt(2) x u."""
    reading = from_standard([3.0], 0.1, "reading")
    assert propagate(product, reading, reading).u[0] == pytest.approx(0.6, rel=1e-9)


def test_a_derivative_at_zero() -> None:
    reading = from_standard([0.0], 0.1, "reading")
    assert propagate(lambda x: 3.0 * x, reading).u[0] == pytest.approx(0.3, rel=1e-12)
    assert propagate(np.square, reading).u[0] == pytest.approx(
        0.0, abs=1e-12
    )  # a stationary point: first order sees nothing


def test_plain_arrays_and_single_values_serve_all_rows() -> None:
    factor = from_standard([2.0], 0.1, "factor")
    result = propagate(product, [1.0, 2.0, 3.0], factor)
    assert result.values.tolist() == [2.0, 4.0, 6.0]
    assert result.u == pytest.approx([0.1, 0.2, 0.3])
    assert result.correlation_matrix() == pytest.approx(np.ones((3, 3)))
    assert propagate(product, [1.0, 2.0], 3.0).u.tolist() == [0.0, 0.0]


def test_no_rows_is_no_fault() -> None:
    assert len(propagate(product, exact([]), from_standard([2.0], 0.1, "factor"))) == 0


def test_rows_count_together() -> None:
    terms, count = matched((1.0, exact([1.0, 2.0]), [3.0]))
    assert (len(terms), count) == (3, 2)


@pytest.mark.parametrize(
    ("formula", "inputs", "message"),
    [
        (product, ([1.0, 2.0], [1.0, 2.0, 3.0]), "input 2 has 3 values; wanted 2 or one"),
        (product, ([], [1.0, 2.0]), "input 2 has 2 values; wanted 0 or one"),
        (lambda x: x.sum(), ([1.0, 2.0],), r"must give one value a row: wanted shape \(2,\), given \(\)"),
    ],
    ids=["lengths", "nothing and two", "a sum"],
)
def test_what_does_not_fit(formula, inputs, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        propagate(formula, *inputs)


def test_derivatives_must_be_one_an_input() -> None:
    def halved(first, second):
        return first / 2 + second

    halved.derivatives = lambda first, second: (0.5,)
    with pytest.raises(ValueError, match="derivatives must give 2 arrays, one an input; given 1"):
        propagate(halved, [1.0], [2.0])


def test_a_joint_formula_may_give_a_number_or_several() -> None:
    """Mean and range of readings: u = u / sqrt(n), and sqrt(2) u from the two ends alone."""
    readings = from_standard([20.0, 44.0, 61.0, 30.0], 0.3, "spot reading")
    mean = propagate_jointly(np.mean, readings)
    both = propagate_jointly(lambda x: np.array([x.mean(), x.max() - x.min()]), readings)
    assert mean.u == pytest.approx([0.15], rel=1e-9)
    assert both.u == pytest.approx([0.15, 0.3 * 2**0.5], rel=1e-9)
    assert both.covariance_matrix()[0, 1] == pytest.approx(0.0, abs=1e-12)


def test_a_joint_formula_of_exact_inputs_is_exact() -> None:
    result = propagate_jointly(np.mean, [1.0, 2.0])
    assert result.values.tolist() == [1.5]
    assert result.u.tolist() == [0.0]
