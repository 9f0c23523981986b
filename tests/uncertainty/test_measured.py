"""`Measured`: what it is made of, how it is taken apart and joined, and what its covariances are."""

from __future__ import annotations

import copy
import pickle
import tracemalloc

import numpy as np
import pytest
from scipy import sparse

from lanewise.uncertainty.inputs import exact, from_observations, from_standard
from lanewise.uncertainty.measured import Measured, joined
from lanewise.uncertainty.propagation import propagate
from lanewise.uncertainty.sources import SourceGroup


def rf(spot, front, origin):
    return (spot - origin) / (front - origin)


def dense(measured: Measured) -> np.ndarray:
    """Spread the parts over all sources, one by one: the slow way that the engine must agree with."""
    table = np.zeros((len(measured), sum(group.size for group in measured.groups)))
    for row, (parts, ids) in enumerate(zip(measured.parts, measured.ids, strict=True)):
        for part, source in zip(parts, ids, strict=True):
            table[row, source] += part
    return table


@pytest.fixture
def two() -> Measured:
    return from_standard([1.0, 2.0], [0.1, 0.2], "reading")


@pytest.fixture
def some() -> Measured:
    """Twenty values with three sources each out of nine, some of them named twice in a row."""
    random = np.random.default_rng(5)
    groups = (SourceGroup("a", 4), SourceGroup("b", 5))
    values, parts = random.normal(size=20), random.normal(size=(20, 3))
    return joined(values, [(Measured(values, parts, random.integers(0, 9, (20, 3)), groups), 1.0)] * 2)


# --- the object


@pytest.mark.parametrize(
    ("values", "parts", "ids"),
    [((2, 1), (2, 1), (2, 1)), ((2,), (2, 1), (2, 2)), ((2,), (3, 1), (3, 1))],
    ids=["table of values", "ids of another shape", "too many parts"],
)
def test_shapes_must_fit(values: tuple, parts: tuple, ids: tuple) -> None:
    wanted = r"wants values of shape \(N,\) with parts and ids of shape \(N, K\); given .*"
    with pytest.raises(ValueError, match=wanted):
        Measured(np.zeros(values), np.zeros(parts), np.zeros(ids, dtype=np.int64), ())


@pytest.mark.parametrize("name", ["values", "parts", "ids"])
def test_arrays_are_read_only(two: Measured, name: str) -> None:
    with pytest.raises(ValueError, match="read-only"):
        getattr(two, name)[0] = 7
    with pytest.raises(AttributeError, match="cannot assign to field"):
        setattr(two, name, None)


def test_the_callers_array_stays_writable() -> None:
    values = np.array([1.0, 2.0])
    from_standard(values, 0.1, "reading")
    Measured(values, np.zeros((2, 0)), np.zeros((2, 0), dtype=np.int64), ())
    values[0] = 3.0
    assert values[0] == 3.0


def test_a_later_change_of_the_input_changes_nothing() -> None:
    values, u = np.array([1.0, 2.0]), np.array([0.1, 0.2])
    measured = from_standard(values, u, "reading")
    values[:], u[:] = 9.0, 9.0
    assert measured.values.tolist() == [1.0, 2.0]
    assert measured.u.tolist() == [0.1, 0.2]


@pytest.mark.parametrize(
    ("measured", "text"),
    [
        (exact([1.0, 2.0]), "<Measured: 2 values, sources: none>"),
        (
            from_standard([1.0], 0.1, "front") + from_standard([1.0], 0.1, "spot"),
            "<Measured: 1 values, sources: front, spot>",
        ),
    ],
    ids=["exact", "two sources"],
)
def test_repr(measured: Measured, text: str) -> None:
    assert repr(measured) == text


@pytest.mark.parametrize(
    ("index", "rows"),
    [
        (1, [1]),
        (-1, [3]),
        (np.int64(2), [2]),
        (slice(1, 3), [1, 2]),
        (slice(None, None, -1), [3, 2, 1, 0]),
        ([3, 0, 0], [3, 0, 0]),
        (np.array([True, False, False, True]), [0, 3]),
        ([], []),
    ],
    ids=["integer", "from the end", "numpy integer", "slice", "backwards", "positions", "mask", "nothing"],
)
def test_choosing_keeps_values_parts_and_sources(lane, same_quantity, index, rows: list[int]) -> None:
    spots = propagate(rf, *lane)
    chosen = spots[index]
    assert chosen.values.tolist() == [spots.values[row] for row in rows]
    assert chosen.covariance_matrix(spots) == pytest.approx(spots.covariance_matrix()[rows])
    if rows:
        same_quantity(chosen + 1.0, spots[rows] + 1.0)


def test_iteration_gives_single_values(two: Measured) -> None:
    assert [(len(item), item.values[0], item.u[0]) for item in two] == [(1, 1.0, 0.1), (1, 2.0, 0.2)]


def test_an_index_outside_is_an_error(two: Measured) -> None:
    with pytest.raises(IndexError, match="out of bounds"):
        two[2]


# --- arithmetic


def test_numbers_and_arrays_shift_the_values_only(two: Measured) -> None:
    shift = np.array([10.0, 20.0])
    assert (two + 1.0).values.tolist() == [2.0, 3.0]
    assert (two + shift).values.tolist() == (shift + two).values.tolist() == [11.0, 22.0]
    assert (two - shift).values.tolist() == [-9.0, -18.0]
    assert (shift - two).values.tolist() == [9.0, 18.0]
    assert (1 - two).values.tolist() == [0.0, -1.0]
    for result in (two + 1.0, shift + two, shift - two, -two):
        assert result.u.tolist() == two.u.tolist()


def test_the_sign_of_a_part_is_kept(two: Measured) -> None:
    assert (1.0 - two).covariance(two) == pytest.approx(-(two.u**2))


def test_one_value_serves_all_rows() -> None:
    zero, readings = from_standard([5.0], 0.3, "zero of the ruler"), exact([10.0, 20.0, 40.0])
    distances = readings - zero
    assert distances.values.tolist() == [5.0, 15.0, 35.0]
    assert distances.correlation_matrix() == pytest.approx(np.ones((3, 3)))
    assert (zero + np.array([1.0, 2.0])).correlation_matrix() == pytest.approx(np.ones((2, 2)))


def test_a_value_less_itself_is_exactly_nothing(lane) -> None:
    spots = propagate(rf, *lane)
    nothing = spots - spots
    assert nothing.values.tolist() == [0.0] * 4
    assert nothing.u.tolist() == [0.0] * 4
    assert nothing.parts.shape == (4, 0)


def test_lengths_must_fit(two: Measured) -> None:
    with pytest.raises(ValueError, match="could not be broadcast"):
        two + from_standard([1.0, 2.0, 3.0], 0.1, "other")
    with pytest.raises(ValueError, match="two results of one length, given 2 and 3"):
        two.covariance(exact([1.0, 2.0, 3.0]))


def test_numpy_functions_are_refused(two: Measured) -> None:
    with pytest.raises(TypeError, match="does not support ufuncs"):
        np.log10(two)


def test_scaled_by_a_derivative(two: Measured) -> None:
    squares = two.scaled(2.0 * two.values, values=two.values**2)
    assert squares.values.tolist() == [1.0, 4.0]
    assert squares.u == pytest.approx([0.2, 0.8])
    assert two.scaled([3.0, -1.0]).values.tolist() == [3.0, -2.0]


def test_a_missing_value_keeps_its_row() -> None:
    readings = from_standard([1.0, np.nan, 3.0], 0.1, "reading")
    result = readings + readings
    assert np.isnan(result.values).tolist() == [False, True, False]
    assert result.u == pytest.approx([0.2, 0.2, 0.2])


# --- covariances


def test_covariances_are_sums_over_shared_sources(some: Measured) -> None:
    spread = dense(some)
    assert some.covariance_matrix() == pytest.approx(spread @ spread.T, rel=1e-12)
    assert some.u == pytest.approx(np.sqrt((spread**2).sum(axis=1)), rel=1e-12)
    assert np.array_equal(some.covariance_matrix(), some.covariance_matrix().T)


def test_no_source_stands_twice_in_a_row(some: Measured) -> None:
    for parts, ids in zip(some.parts, some.ids, strict=True):
        used = ids[parts != 0.0]
        assert len(set(used)) == len(used)


def test_covariance_row_by_row_is_the_diagonal(lane) -> None:
    spots, _front, origin = lane
    found, distance = propagate(rf, *lane), spots - origin
    assert found.covariance(distance) == pytest.approx(np.diag(found.covariance_matrix(distance)), rel=1e-12)
    assert found.covariance(found) == pytest.approx(found.u**2, rel=1e-12)


def test_covariance_with_a_result_of_a_separate_call(lane) -> None:
    """Two spots measured in two calls share origin and front all the same (JCGM 100:2008, F.1.2.3, from memory)."""
    spots, front, origin = lane
    first, second = propagate(rf, spots[0], front, origin), propagate(rf, spots[2], front, origin)
    together = propagate(rf, spots, front, origin)
    run = 80.0
    by_hand = (
        (1 - first.values[0]) * (1 - second.values[0]) * 0.2**2 + first.values[0] * second.values[0] * 0.35**2
    ) / run**2
    assert first.covariance(second)[0] == pytest.approx(by_hand, rel=1e-9)
    assert first.covariance_matrix(second)[0, 0] == pytest.approx(by_hand, rel=1e-9)
    assert together.covariance_matrix()[0, 2] == pytest.approx(by_hand, rel=1e-9)


def test_order_of_the_groups_does_not_matter(lane, same_quantity) -> None:
    _spots, front, origin = lane
    one_way, other_way = front - origin, -(origin - front)
    assert [group.name for group in one_way.groups] != [group.name for group in other_way.groups]
    same_quantity(one_way, other_way)
    assert one_way.covariance_matrix(other_way) == pytest.approx(one_way.covariance_matrix(), rel=1e-12)


def test_unrelated_results_have_no_covariance(two: Measured) -> None:
    other = from_standard([1.0, 2.0], 0.1, "reading")
    assert two.covariance_matrix(other).tolist() == [[0.0, 0.0], [0.0, 0.0]]
    assert two.covariance(other).tolist() == [0.0, 0.0]
    assert exact([1.0]).covariance_matrix(two).tolist() == [[0.0, 0.0]]


def test_correlation_of_an_exact_value_does_not_exist(two: Measured) -> None:
    mixed = from_standard([1.0, 2.0], [0.1, 0.0], "reading")
    found = mixed.correlation_matrix()
    assert found[0, 0] == pytest.approx(1.0)
    assert np.isnan(found[1]).all()


# --- weighted sums


@pytest.mark.parametrize(
    "form",
    [np.asarray, np.ndarray.tolist, sparse.csr_array, sparse.coo_matrix],
    ids=["array", "lists", "sparse array", "sparse matrix"],
)
def test_weighted_sums(some: Measured, form) -> None:
    weights = np.random.default_rng(6).normal(size=(3, 20)).round(1)
    sums = some.combined(form(weights))
    assert sums.values == pytest.approx(weights @ some.values, rel=1e-12)
    assert dense(sums) == pytest.approx(weights @ dense(some), abs=1e-12)
    assert sums.covariance_matrix(some) == pytest.approx(weights @ dense(some) @ dense(some).T, abs=1e-12)


def test_one_sum_may_be_given_as_a_list(two: Measured, same_quantity) -> None:
    same_quantity(two.combined([1.0, -1.0]), two[0] - two[1])


def test_sums_that_cancel_keep_no_parts() -> None:
    front = from_standard([85.0, 85.0], 0.3, "front", source=[0, 0])
    assert front.combined([1.0, -1.0]).parts.size == 0
    assert front.combined([1.0, -1.0]).u.tolist() == [0.0]


def test_weights_must_fit(two: Measured) -> None:
    with pytest.raises(ValueError, match=r"wanted weights with 2 columns, given shape \(1, 3\)"):
        two.combined([1.0, 2.0, 3.0])


def test_the_mean_of_observations_is_one_of_them_too(same_quantity) -> None:
    """The mean of two quantities observed together is that of their row means."""
    table = np.random.default_rng(7).normal(10.0, 0.1, (6, 2))
    means = from_observations(table, "together")
    assert means.combined([0.5, 0.5]).u[0] == pytest.approx(table.mean(axis=1).std(ddof=1) / 6**0.5, rel=1e-12)


# --- identity and size


@pytest.mark.parametrize(
    "again", [lambda m: pickle.loads(pickle.dumps(m)), copy.copy, copy.deepcopy], ids=["pickle", "copy", "deepcopy"]
)
def test_a_copy_is_the_same_quantity(lane, same_quantity, again) -> None:
    found = propagate(rf, *lane)
    twin = again(found)
    same_quantity(twin, found)
    assert twin.covariance_matrix(found) == pytest.approx(found.covariance_matrix())
    assert not twin.values.flags.writeable


def many_spots(count: int) -> Measured:
    """Rf of many spots, ten a lane, from six sources each: own reading, two edges, line readings, scale."""
    number = np.arange(count)
    lane = number // 10
    spots = from_standard(20.0 + number % 10 * 6.0, 0.3, "spot reading")
    spots = (
        spots + from_standard(np.zeros(count), 0.1, "trailing edge") + from_standard(np.zeros(count), 0.1, "leading")
    )
    front = from_standard(np.full(count, 90.0), 0.3, "front reading", source=lane)
    origin = from_standard(np.full(count, 10.0), 0.3, "origin reading", source=lane)
    return propagate(rf, spots, front + from_standard([0.0], 0.05, "bend of the sheet"), origin)


def test_memory_grows_with_the_values_and_covariances_are_answerable() -> None:
    """200 000 values with six parts each: 104 bytes a value to keep, under 1 kB a value to make."""
    count = 200_000
    tracemalloc.start()
    try:
        before, _ = tracemalloc.get_traced_memory()
        found = many_spots(count)
        kept, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert found.parts.shape == (count, 6)
    assert sum(array.nbytes for array in (found.values, found.parts, found.ids)) == 104 * count
    assert kept - before < 150 * count
    assert peak - before < 1000 * count

    pair = found[[7, 9]].covariance_matrix()
    far = found[[7, count - 1]].covariance_matrix()
    first, second, last = found.values[[7, 9, count - 1]]
    lines = ((1 - first) * (1 - second) * 0.3**2 + first * second * (0.3**2 + 0.05**2)) / 80.0**2
    assert pair[0, 1] == pytest.approx(lines, rel=1e-8)
    assert far[0, 1] == pytest.approx(first * last * 0.05**2 / 80.0**2, rel=1e-8)
    assert found[:-2].covariance(found[2:])[7] == pytest.approx(lines, rel=1e-8)


def test_width_does_not_grow_with_shared_sources() -> None:
    """Sums over a lane in many steps keep one column a source."""
    spots = many_spots(10)
    total = spots[0]
    for row in range(1, 10):
        total = total + spots[row]
    assert total.parts.shape == (1, 33)  # ten spots with three parts of their own, two lines and the sheet
    assert total.u[0] == pytest.approx(spots.combined(np.ones(10)).u[0], rel=1e-12)
