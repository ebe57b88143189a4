"""The same two streams give the same pictures to the last digit, however the watch is driven."""

from __future__ import annotations

import random
from collections.abc import Callable

import pytest

from sternwatch.watch.core.moments_file import MomentsFile
from sternwatch.watch.core.player import Player
from sternwatch.watch.picture.model import Picture

Exactly = Callable[[Picture], str]

UNTIL_S = 330.0


@pytest.fixture(scope="module")
def straight(make_player: Callable[[], Player], exactly: Exactly) -> dict[float, str]:
    """Pictures of a straight play, by feed time."""
    player = make_player()
    pictures: dict[float, str] = {}
    t = 0.0
    while t < UNTIL_S:
        t += 1.0
        player.to(t, lambda p: pictures.__setitem__(p.t_s, exactly(p)))
    return pictures


def test_rods_are_out_and_computed_in_the_part_compared(straight: dict[float, str]) -> None:
    # Guards the tests below against comparing empty pictures.
    last = straight[max(straight)]
    assert last.count('"depth_m": null') < 2
    assert last.count('"temperature_c": null') < 4, "the crew has read its gauge by then"
    assert len(straight) > 320


def test_one_long_advance_gives_the_same_pictures(
    straight: dict[float, str], player: Player, exactly: Exactly
) -> None:
    pictures: dict[float, str] = {}
    player.to(UNTIL_S, lambda p: pictures.__setitem__(p.t_s, exactly(p)))
    assert pictures == straight


def test_irregular_advances_give_the_same_pictures(
    straight: dict[float, str], player: Player, exactly: Exactly
) -> None:
    rng = random.Random(7)
    pictures: dict[float, str] = {}
    t = 0.0
    while t < UNTIL_S:
        t = min(t + rng.choice([0.03, 0.4, 1.7, 9.0, 31.0]) * rng.random(), UNTIL_S)
        player.to(t, lambda p: pictures.__setitem__(p.t_s, exactly(p)))
    assert pictures == straight


@pytest.mark.parametrize("at_s", [203.5])
def test_taken_up_from_a_checkpoint_the_pictures_go_on_the_same(
    straight: dict[float, str], player: Player, make_player: Callable[[], Player], exactly: Exactly, at_s: float
) -> None:
    player.to(at_s)
    kept = player.checkpoint(MomentsFile())
    assert len(kept.on_disk) > 5
    player.to(at_s + 60.0)  # what goes on after a checkpoint must not change it
    other = make_player()
    other.to(10.0)
    other.restore(kept)
    pictures: dict[float, str] = {}
    other.to(at_s + 60.0, lambda p: pictures.__setitem__(p.t_s, exactly(p)))
    assert len(pictures) >= 59
    assert pictures == {t: straight[t] for t in pictures}


def test_looking_at_pictures_changes_nothing(straight: dict[float, str], player: Player, exactly: Exactly) -> None:
    t = 0.0
    while t < 120.0:
        t += 0.5
        player.to(t)
        player.watch.picture()
        player.watch.preview(t)
    assert exactly(player.watch.picture()) == straight[player.watch.t_s or 0.0]
