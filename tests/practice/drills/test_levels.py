"""Levels tell scores apart, and the course goes on where its crew stands."""

import pytest

from sternwatch.practice.drills.files import all_drills
from sternwatch.practice.drills.levels import course, level, next_of_course


@pytest.mark.parametrize(
    ("score", "par", "name"),
    [(53.9, 90.0, ""), (54.0, 90.0, "deckhand"), (72.0, 90.0, "mate"), (89.9, 90.0, "mate"), (90.0, 90.0, "skipper"),
     (None, 99.0, ""), (90.0, None, "")],
)  # fmt: skip
def test_a_score_has_a_level(score: float | None, par: float | None, name: str) -> None:
    assert level(score, par) == name


def test_the_first_day_is_five_drills_in_order_and_the_next_is_the_first_not_reached() -> None:
    drills, wrong = all_drills()
    assert wrong == []
    day = course(drills)
    assert [one.drill.course for one in day] == [1, 2, 3, 4, 5]
    assert all(one.drill.difficulty for one in drills if not one.drill.free)
    first = next_of_course(drills, {})
    assert first is not None
    assert first.id == "reverse-port"
    second = next_of_course(drills, {"reverse-port": 61.0})
    assert second is not None
    assert second.id == "land-a-fish"
    assert next_of_course(drills, {one.id: 100.0 for one in day}) is None


def test_the_list_begins_with_the_first_day_and_then_gets_harder() -> None:
    listed = [one.drill for one in all_drills()[0] if not one.drill.free]
    assert [one.course for one in listed] == [1, 2, 3, 4, 5, *[None] * (len(listed) - 5)]
    hard = [("easy", "fair", "hard").index(one.difficulty or "") for one in listed[5:]]
    assert hard == sorted(hard)
