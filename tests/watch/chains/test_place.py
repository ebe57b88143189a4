"""When a depth is only about right, and that at the edge it does not change to and fro."""

from __future__ import annotations

import pytest

from sternwatch.watch.chains.place import is_rough


@pytest.mark.parametrize(("wide_m", "before", "now"), [
    (5.1, False, True), (4.9, False, False), (4.9, True, True), (4.5, True, True), (4.3, True, False),
])  # fmt: skip
def test_an_interval_wider_than_a_quarter_of_the_depth(wide_m: float, before: bool, now: bool) -> None:
    assert is_rough(20.0, (20.0 - 0.4 * wide_m, 20.0 + 0.6 * wide_m), before) is now


def test_a_depth_without_an_interval_is_not_called_rough() -> None:
    assert not is_rough(20.0, None, before=True)
