"""The console over moments of a day: whatever happened, its views show numbers, and no fault of the program's."""

from __future__ import annotations

import asyncio
import re
from dataclasses import dataclass
from typing import Any

from textual.app import App

from console.fake_runner import FakeRunner
from sternwatch import __version__
from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.app import SternwatchApp
from sternwatch.console.helm.screen import WIDE_VIEWS
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.outlook import Outlook
from sternwatch.watch.planner.check import Checked
from sternwatch.watch.sessions.runner import Senses

SIZES = ((80, 24), (120, 36), (200, 60))
NEVER = re.compile(r"(?<![A-Za-z])(nan|inf|-inf|NaN|None|Traceback)(?![A-Za-z])|Error\(|object at 0x|<class ")


def never_read(app: App[Any]) -> list[str]:
    """The lines on a screen that no crew should read."""
    lines = ("".join(part.text for part in strip) for strip in app.screen._compositor.render_strips())
    return [line.strip() for line in lines if NEVER.search(line)]


@dataclass(frozen=True)
class Moment:
    """What a session offered its console."""

    picture: Picture
    outlook: Outlook | None
    senses: Senses
    checked: Checked | None


def looked_through(moments: list[Moment], seed: int) -> list[str]:
    """Show every moment at the helm and in two more views; returns the lines that no crew should read."""
    return asyncio.run(_looked_through(moments, seed))


async def _looked_through(moments: list[Moment], seed: int) -> list[str]:
    state.save(state.State(theme="dusk", cautions_read=__version__))
    runner = FakeRunner(moments[0].picture.session, moments[0].picture)
    app = SternwatchApp(runner, Preferences())
    others = [view for view in WIDE_VIEWS if view != "helm"]
    found = []
    mounted: set[str] = set()
    async with app.run_test(size=SIZES[seed % len(SIZES)]) as pilot:
        for number, moment in enumerate(moments):
            runner.ahead, runner.sensed, runner.checked = moment.outlook, moment.senses, moment.checked
            runner.show(moment.picture)
            for view in ("helm", others[2 * number % len(others)], others[(2 * number + 1) % len(others)]):
                app.show_view(view)
                if view not in mounted:  # what has stood before has its widgets at once
                    mounted.add(view)
                    await pilot.pause(0.01)
                app._tick()
                await pilot.pause(0.01)
                found += [f"{view} at {moment.picture.t_s:.0f} s: {line}" for line in never_read(app)]
    return found
