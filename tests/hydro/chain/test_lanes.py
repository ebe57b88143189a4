"""What a compiled kernel does with lanes, against the same functions on arrays of plain Python."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from numba import njit

from hydro.uncompiled import plain
from sternwatch.hydro.chain import lanes as ln
from sternwatch.hydro.chain.lanes import WIDTH

TABLE = np.arange(12.0).reshape(4, 3) ** 2


@njit
def _tried(w: Any, table: Any, number: Any) -> Any:
    """Every operation once: results in rows from the fourth on, and the same functions of plain numbers."""
    a, b, c = ln.load_three(w, 0)
    at = 3 * ln.WIDTH
    ln.store_three(w, at, a + b, a - 2.0, 3 * b)
    ln.store_three(w, at + 3 * ln.WIDTH, a / b, -c, 1.0 / b)
    ln.store_three(w, at + 6 * ln.WIDTH, ln.root(b), ln.size_of(a), ln.floor(a))
    ln.store_three(w, at + 9 * ln.WIDTH, ln.larger(a, c), ln.smaller(c, a), ln.larger(a, 0.0))
    above, below = a > b, a <= c
    ln.store(w, at + 12 * ln.WIDTH, ln.select(above & below, a, 7.0))
    ln.store(w, at + 13 * ln.WIDTH, ln.select(above | ~below, 1.0, b))
    ln.store(w, at + 14 * ln.WIDTH, ln.select((a < 0.5) & (number > 1.0), ln.lanes(number), a))
    ln.store(w, at + 15 * ln.WIDTH, ln.select(a >= b, 2.0, 3.0))
    ln.store(w, at + 16 * ln.WIDTH, ln.pick(table, ln.smaller(ln.floor(ln.larger(a, 0.0)), 3.0), 2))
    ln.store(w, at + 17 * ln.WIDTH, 5.0)
    some, none = ln.any_of(a > 1e9), ln.any_of(a < 1e9)
    return (
        some, none, ln.any_of(number > 1.0), ln.root(number), ln.size_of(-number), ln.floor(number),
        ln.larger(number, 3.0), ln.smaller(number, 3.0), ln.select(number > 2.0, 1.0, number), ln.pick(table, 2.0, 1),
    )  # fmt: skip


@njit
def _begins(w: Any) -> Any:
    return ln.aligned(w)


def test_compiled_lanes_are_what_arrays_are() -> None:
    rng = np.random.default_rng(5)
    given = np.zeros(21 * WIDTH)
    given[: 3 * WIDTH] = rng.normal(0.0, 2.0, 3 * WIDTH)
    given[WIDTH : 2 * WIDTH] = np.abs(given[WIDTH : 2 * WIDTH]) + 0.1
    slow, compiled = given.copy(), given.copy()
    expected = plain(_tried)(slow, TABLE, 2.25)
    assert _tried(compiled, TABLE, 2.25) == expected
    assert expected == (False, True, True, 1.5, 2.25, 2.0, 3.0, 2.25, 1.0, 49.0)
    assert np.array_equal(compiled, slow)
    a, b, c = given[: 3 * WIDTH].reshape(3, WIDTH)
    rows = slow[3 * WIDTH :].reshape(18, WIDTH)
    assert np.array_equal(rows[:7], [a + b, a - 2.0, 3.0 * b, a / b, -c, 1.0 / b, np.sqrt(b)])
    assert np.array_equal(rows[12], np.where((a > b) & (a <= c), a, 7.0))
    assert np.array_equal(rows[13], np.where((a > b) | (a > c), 1.0, b))
    assert np.array_equal(rows[16], TABLE[np.clip(np.floor(a), 0, 3).astype(int), 2])


def test_what_is_no_number_is_never_chosen_first() -> None:
    """So that a place in a table, held between its ends, is one whatever a lane holds."""
    nothing = np.full(WIDTH, math.nan)
    assert np.array_equal(ln.larger(nothing, 0.0), np.zeros(WIDTH))
    assert np.array_equal(ln.smaller(nothing, 3.0), np.full(WIDTH, 3.0))
    given = np.full(21 * WIDTH, math.nan)
    _tried(given, TABLE, 2.25)
    rows = given.reshape(21, WIDTH)[3:]
    assert np.array_equal(rows[11], np.zeros(WIDTH))
    assert np.array_equal(rows[16], np.full(WIDTH, TABLE[0, 2]))


@pytest.mark.parametrize("shift", range(3))
def test_lanes_begin_where_a_line_of_the_cache_does(shift: int) -> None:
    whole = np.zeros(64)[shift:]
    at = ln.aligned(whole)
    assert 0 <= at < WIDTH
    assert whole[at:].ctypes.data % (8 * WIDTH) == 0
    assert _begins(whole) == at


@njit
def _moved(numbers: Any, rows: Any, size: Any, at: Any, w: Any) -> None:
    """Four numbers of each lane's row into rows of lanes; then three of these into the rows, one place before."""
    first, second, third, fourth = ln.load_rows(numbers, rows, size, at)
    ln.store_three(w, 0, first, second, third)
    ln.store(w, 3 * ln.WIDTH, fourth)
    ln.store_rows(numbers, rows, size, at - 1, third, 10.0 + second, first)


def test_numbers_of_rows_are_put_into_lanes_and_back() -> None:
    """A row that stands in two lanes ends with what the first of them holds."""
    given = np.arange(60.0).reshape(5, 4, 3)
    rows = np.array([4, 0, *[2] * (WIDTH - 2)])
    flat = given.reshape(5, 12)
    for move in (_moved, plain(_moved)):
        numbers, w = given.copy(), np.zeros(4 * WIDTH)
        move(numbers, rows, 12, 5, w)
        assert np.array_equal(w.reshape(4, WIDTH), flat[rows, 5:9].T)
        expected = flat.copy()
        expected[rows, 4:7] = flat[rows, 7:4:-1] + [0.0, 10.0, 0.0]
        assert np.array_equal(numbers.reshape(5, 12), expected)


@njit
def _stored(numbers: Any, rows: Any, w: Any) -> None:
    first, second, third = ln.load_three(w, 0)
    ln.store_rows(numbers, rows, 3, 0, first, second, third)


def test_of_two_lanes_with_one_row_the_first_counts() -> None:
    w = np.arange(3.0 * WIDTH)
    for store in (_stored, plain(_stored)):
        numbers = np.zeros((2, 3))
        store(numbers, np.ones(WIDTH, np.int64), w)
        assert np.array_equal(numbers, [[0.0] * 3, [0.0, WIDTH, 2.0 * WIDTH]])
