"""A day at the console itself: the application over the day's session, its keys pressed by a crew and by a cat.

The screen's loop runs outside the virtual threads and lets time go by between keys; all its clocks are the day's.
"""

from __future__ import annotations

import asyncio
import json
import random
from contextlib import suppress
from types import SimpleNamespace
from typing import Any

from textual import events
from textual.pilot import Pilot

from simulation.day import BrokenError, Console, Day
from simulation.hands import SIZES, Move, key_event, moves
from simulation.screen import NEVER, never_read
from sternwatch import __version__
from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.app import SternwatchApp
from sternwatch.console.keys.lock import TWICE_S
from sternwatch.console.keys.registry import BY_ID
from sternwatch.deck.fan import Fan

SLICE_S = 0.25  # the screen is drawn as often, as on the water
REST_S = 1.5  # between what a crew does, on average
MOST_ROW_BYTES = 1000
MOST_LOOKS = 12  # keys until the helm is back, whatever was open


class AtTheConsole:
    """One application, its clock and who sits before it."""

    def __init__(self, app: SternwatchApp, clock: Any, rng: random.Random) -> None:
        self.app, self.clock, self.rng = app, clock, rng
        self.pressed = self.looks = 0
        self.trail: list[str] = []  # what was done last, for whoever has to find out
        app.clock = lambda: clock.now_s
        app.key_time = lambda _: clock.now_s
        app.set_interval = lambda *_, **__: None  # type: ignore[method-assign,assignment] # drawn when time goes by

    async def goes_on(self, pilot: Pilot[None], seconds: float, over: Any = lambda: False) -> None:
        """Let time go by, and the screen be drawn."""
        until_s = self.clock.now_s + seconds
        while self.clock.now_s < until_s and not over() and self.app.is_running:
            self.clock.run(over, min(self.clock.now_s + SLICE_S, until_s))
            self.app._tick()
        await pilot.pause(0.0)

    def look(self) -> None:
        """What no crew should read."""
        self.looks += 1
        if wrong := never_read(self.app):
            raise BrokenError(f"the screen says what it never should: {wrong[0]}, after {self.trail[-12:]}")

    def phones(self) -> None:
        """What phones on deck are told of this moment, if a page is open: numbers, and few bytes."""
        told: list[Any] = []
        mate, now = self.app.deck_mate, self.clock.now_s
        own, mate.deck = mate.deck, SimpleNamespace(offer=told.append)  # type: ignore[assignment]
        try:
            self.app._tell_deck(now)
        finally:
            mate.deck = own
        fan = Fan(clock=lambda: now)
        fan.shown = told[0]
        fan._make()
        for name, data in (("about", fan._about), ("row", fan._row), ("views", fan._views)):
            json.loads(data, parse_constant=self._no_number)
            if NEVER.search(data.decode()):
                raise BrokenError(f"phones are told what no crew should read: {name} {data!r}")
        if len(fan._row) > MOST_ROW_BYTES:
            raise BrokenError(f"a row for phones has {len(fan._row)} bytes")

    def _no_number(self, text: str) -> None:
        raise BrokenError(f"phones are told {text} for a number, after {self.trail[-12:]}")

    async def press(self, pilot: Pilot[None], *keys: str) -> None:
        """As the pilot does, but for its rests: it waits for what the screen has to do, and no longer."""
        for key in keys:
            self.app.post_message(key_event(key))
            self.pressed += 1
            await pilot.pause(0.0)

    async def do(self, pilot: Pilot[None], move: Move, over: Any) -> None:
        self.trail.append(f"{self.app.view}: {move.act or move.size or move.paste or ' '.join(move.keys)}")
        if move.act:
            self.app.chosen_in_palette(BY_ID[move.act])
        if move.size:
            await pilot.resize_terminal(*move.size)
        if move.paste is not None:
            self.app.post_message(events.Paste(move.paste))
        if move.focus is not None:
            self.app.post_message(events.AppFocus() if move.focus else events.AppBlur())
        for key in move.keys:
            if over() or not self.app.is_running:
                return
            await self.press(pilot, key)
            self.clock.run(over, self.clock.now_s + move.gap_s)
        await pilot.pause(0.0)

    async def sit(self, pilot: Pilot[None], over: Any) -> None:
        """Press keys until it is over."""
        hands = moves(self.app, self.rng)
        while not over() and self.app.is_running:
            await self.goes_on(pilot, min(self.rng.expovariate(1.0 / REST_S), 20.0), over)
            if over() or not self.app.is_running:
                return
            self.look()
            self.phones()
            await self.do(pilot, next(hands), over)

    async def answers(self, pilot: Pilot[None]) -> None:
        """Whatever is open, it leads back to the helm, and the helm shows help when asked."""
        app = self.app
        await pilot.resize_terminal(120, 36)
        await self.goes_on(pilot, TWICE_S + 0.5)  # a key before it would make the next one a pair
        if app.lock.on:
            await self.press(pilot, "l", "l")
            await self.goes_on(pilot, 1.0)
        for _ in range(MOST_LOOKS):
            await self.press(pilot, "escape")
            await self.goes_on(pilot, 1.5)
        if not app.at_helm:
            raise BrokenError(f"{app.screen} stays in front, after {self.trail[-12:]}")
        await self.press(pilot, "?")
        await self.goes_on(pilot, 0.5)
        if app.screen is not app.help_screen:
            raise BrokenError(f"the console does not answer, after {self.trail[-12:]}")
        await self.press(pilot, "escape")

    async def quit(self, pilot: Pilot[None]) -> None:
        await self.press(pilot, "ctrl+q", "ctrl+q")
        await pilot.pause(0.0)
        if self.app.is_running and not self.app._exit:
            raise BrokenError("the console does not end when it is asked to")


class ConsoleDay(Day):
    """A day whose crew sits at the console."""

    @property
    def looks_ahead(self) -> bool:
        return self.seed % 3 == 0

    def _begin(self, console: Console) -> None:  # noqa: ARG002 - the screen does, when it is there
        """The screen begins the session."""
        self.gone = False

    def _end(self, console: Console) -> None:  # noqa: ARG002 - by its keys
        self.leaves = True
        self.clock.wait(lambda: self.gone, None)

    def _press(self, crew: random.Random) -> None:
        """The application's keys are pressed outside."""

    def _pass(self) -> None:
        self.leaves = self.gone = False
        asyncio.run(self._sits())

    async def _sits(self) -> None:
        rng = random.Random(f"hands {self.seed}")
        while not self.over:
            self.clock.run(lambda: self.over or (self.console is not None and not self.gone))
            if self.console is not None and not self.gone:
                await self._one_console(self.console, rng)

    async def _one_console(self, console: Console, rng: random.Random) -> None:
        runner, process = console.runner, console.process
        begun = runner.start

        def start(on_picture: Any, on_saved: Any) -> None:
            begun(
                lambda picture: (self._seen(console, picture), on_picture(picture))[1],
                lambda saved: (self._saved(console, saved), on_saved(saved))[1],
            )

        runner.start = start  # type: ignore[method-assign]
        if rng.random() < 0.7:
            state.save(state.State(theme="dusk", cautions_read=__version__))
        app = SternwatchApp(runner, Preferences())
        self.clock.outside = process
        at = AtTheConsole(app, self.clock, rng)

        def over() -> bool:
            return process.dead or self.leaves

        try:
            async with app.run_test(size=rng.choice(SIZES[:3])) as pilot:
                with suppress(asyncio.CancelledError):
                    await at.sit(pilot, over)
                    if not process.dead and app.is_running:
                        await at.answers(pilot)
                        await at.quit(pilot)
                if process.dead:
                    runner.stop = lambda: None  # type: ignore[method-assign]
                    app.exit()
        finally:
            self.clock.outside = None
            self.happened["keys"] += at.pressed
            self.happened["looks at the console"] += at.looks
        if not process.dead:
            self._left_nothing(console)
            self.gone = True

    def _left_nothing(self, console: Console) -> None:
        alive = [task.name for task in self.clock.tasks if task.process is console.process and not task.over]
        if alive:
            raise BrokenError(f"the console is ended, and these threads are not: {alive}")
