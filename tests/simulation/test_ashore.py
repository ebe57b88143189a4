"""Any key, click and size on the screens off the water, from seeds: see ``ashore``."""

from __future__ import annotations

import random
from collections import Counter
from pathlib import Path

import pytest

pytest.importorskip("greenlet", reason="greenlet is a test dependency; pip install '.[test]'")

from simulation.ashore import SCREENS, pressed
from simulation.test_at_the_console import own_folders
from sternwatch.console.ashore.base import NeedsRoom

__all__ = ["own_folders"]  # a fixture

SEEDS = 100  # of each in the campaign


@pytest.mark.parametrize("name", SCREENS)
async def test_whatever_is_pressed_ashore(name: str, tmp_path: Path) -> None:
    assert await pressed(name, 0, tmp_path, 15) > 0


@pytest.mark.parametrize("name", SCREENS)
async def test_no_window_is_too_small_to_go_on_afterwards(name: str, tmp_path: Path) -> None:
    app = SCREENS[name](tmp_path, random.Random(0))
    async with app.run_test(size=(100, 30)) as pilot:
        for size in ((1, 1), (2, 30), (100, 1), (9, 4)):
            await pilot.resize_terminal(*size)
            await pilot.pause()
            assert isinstance(app.screen, NeedsRoom)
            await pilot.press("down")
        await pilot.resize_terminal(100, 30)
        await pilot.pause()
        assert not isinstance(app.screen, NeedsRoom)


# Sittings that failed, and where.
FOUND = {
    850046: "editor",  # a flag was answered a second time
    850223: "shelf",  # a page down before its list was laid out
    850298: "editor",  # on the shelf, beside a line of it whose name begins alike
}


@pytest.mark.campaign
@pytest.mark.parametrize("seed", FOUND)
async def test_a_sitting_ashore_that_failed_once_passes(seed: int, tmp_path: Path) -> None:
    assert await pressed(FOUND[seed], seed, tmp_path, 60) > 20


@pytest.mark.campaign
@pytest.mark.parametrize("name", SCREENS)
async def test_much_is_pressed_ashore(name: str, tmp_path: Path) -> None:
    failed, keys = [], Counter[str]()
    for seed in range(100, 100 + SEEDS):
        folder = tmp_path / str(seed)
        folder.mkdir()
        try:
            keys[name] += await pressed(name, seed, folder, 60)
        except Exception as fault:  # noqa: BLE001 - all of them are told at the end
            failed.append(f"seed {seed}: {fault!r}")
    print(dict(keys))
    assert failed == []
