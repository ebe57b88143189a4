"""Lines of a program that decodes a bus itself: dates and times of day in numbers."""

from __future__ import annotations

from datetime import date

import pytest

from sternwatch.feed.n2k.decoded import _moment


@pytest.mark.parametrize(
    ("name", "text", "number"),
    [
        ("time", "00:00:00", 0.0), ("time", "12:34:56.5", 12 * 3600 + 34 * 60 + 56.5), ("time", "23:59:59", 86399.0),
        ("date", "1970.01.02", 1.0), ("date", "2026.07.18", (date(2026, 7, 18) - date(1970, 1, 1)).days),
        ("date", "2026.02.30", None), ("time", "no time", None), ("depth", "12:34:56", None),
    ],
)  # fmt: skip
def test_a_moment_in_numbers(name: str, text: str, number: float | None) -> None:
    assert _moment(name, text) == number
