"""The console over the demo, a replay of it, or a practice boat: keys pressed on the virtual clock, from a seed."""

from __future__ import annotations

import asyncio
import contextlib
import functools
import logging
import os
import random
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from unittest.mock import patch

from simulation.at_the_console import AtTheConsole
from simulation.clockwork import Clockwork, Process, Threading, Times
from simulation.day import BEGIN, FEW, MEMBERS, OUTLOOK_EVERY_S, BrokenError, Complaints, on_the_clock, small
from simulation.hands import SIZES
from simulation.pictures import finite
from sternwatch import __version__
from sternwatch.answers.belief import predictive
from sternwatch.cli.common import session as opening
from sternwatch.cli.common.inputs import actions_of, spread_of
from sternwatch.cli.sessions import practice as practising
from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.app import SternwatchApp
from sternwatch.console.controls.tour import EVENING, EVENING_FROM_S, EVENING_RUN_UP_S
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.places import data_dir, shipped
from sternwatch.practice.drills.files import all_drills
from sternwatch.practice.sessions import runner as practice_runner
from sternwatch.practice.sessions import source as practice_source
from sternwatch.practice.sessions.runner import Plan
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.outlook import lookout
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.sessions import outlook_marks, playback
from sternwatch.watch.sessions.runner import Runner, Saved
from sternwatch.watch.whole_pass import following as passes

KINDS = ("practice", "demo", "replay")
PASS_REST_S = 1.0
LOOK_S = 0.002  # what a look at the clock takes while a recording is played: else it would never give way


class Looking(Times):
    """Time goes by between two looks at it, as it does while something is computed."""

    def __init__(self, clockwork: Clockwork) -> None:
        super().__init__(clockwork)
        self._own = clockwork

    def monotonic(self) -> float:
        self._own.now_s += LOOK_S
        return self._own.now_s


class Sitting:
    """One console from its start to its end."""

    def __init__(self, seed: int, folder: Path, kind: str, seconds: float) -> None:
        self.seed, self.folder, self.kind, self.seconds = seed, folder, kind, seconds
        self.happened: Counter[str] = Counter()
        self.told: list[str] = []
        self.complaints: list[str] = []
        self.rng = random.Random(f"sitting {seed}")

    def run(self) -> None:
        self.clock = Clockwork(self.seed, BEGIN)
        self.process = self.clock.outside = Process()
        handler, root = Complaints(self.complaints), logging.getLogger("sternwatch")
        root.addHandler(handler)
        try:
            with self._patched():
                asyncio.run(self._sit())
        finally:
            root.removeHandler(handler)
        if self.complaints:
            raise BrokenError(f"a traceback was logged: {self.complaints[0]}")

    async def _sit(self) -> None:
        rng = self.rng
        if rng.random() < 0.7:
            state.save(state.State(theme=rng.choice(("dusk", "day", "night")), cautions_read=__version__))
        runner = self._runner()
        begun = runner.start
        runner.start = lambda pictures, saves: begun(self._seen(pictures), self._saved(saves))  # type: ignore
        app = SternwatchApp(runner, Preferences())
        if self.kind == "demo":
            app.controls.tour = EVENING
        begins = self.kind == "practice" and rng.random() < 0.8
        at, until_s = AtTheConsole(app, self.clock, rng), self.clock.now_s + self.seconds
        async with app.run_test(size=rng.choice(SIZES[:4])) as pilot:
            if begins:
                await at.goes_on(pilot, 2.0)
                runner.go()  # type: ignore[attr-defined]
            await at.sit(pilot, lambda: self.clock.now_s >= until_s)
            if "stopped" in runner.busy:
                raise BrokenError(f"{runner.busy}, after {at.trail[-12:]}")
            if app.is_running:
                await at.answers(pilot)
                await at.quit(pilot)
        self.happened.update(keys=at.pressed, looks=at.looks)
        if alive := [task.name for task in self.clock.tasks if not task.over]:
            raise BrokenError(f"the console is ended, and these threads are not: {alive}")
        self._kept()

    def _seen(self, show: Any) -> Any:
        def seen(picture: Picture) -> None:
            self.happened["pictures"] += 1
            if not finite(picture):
                raise BrokenError(f"a number on the screen is not finite: {picture}")
            show(picture)

        return seen

    def _saved(self, tell: Any) -> Any:
        def saved(one: Saved) -> None:
            if one.kept == "logbook":
                self.told.append(one.id)
            tell(one)

        return saved

    def _kept(self) -> None:
        """What was called saved is there once."""
        if self.kind == "demo":  # its entries last as long as the session
            return
        found = [data_dir() / "logbook.sqlite"] if self.kind == "practice" else [*data_dir().glob("replays/*.sqlite")]
        with Logbook(found[0]) as book:
            stored = Counter(action.id for trip in book.trips() for action in book.actions(trip.id))
        if lost := [one for one in self.told if stored[one] != 1]:
            raise BrokenError(f"{len(lost)} entries called saved are not there once")
        self.happened["entries"] += len(self.told)

    def _runner(self) -> Runner:
        preferences = Preferences(units=self.rng.choice(("us", "metric")))
        if self.kind == "practice":
            drill = self.rng.choice(all_drills()[0])
            return practising._runner(Plan(drill, drill.spread(), self.seed), drill.spread_path, preferences)
        folder = shipped("demo_logs")
        begin_s = self.rng.choice((0.0, EVENING_FROM_S))
        play = opening.Play(
            folder / "evening.nmea", spread_of(folder / "evening.toml"), actions_of(folder / "evening.actions.jsonl"),
            begin_s=begin_s, run_up_s=EVENING_RUN_UP_S, rate=self.rng.choice((0.25, 1.0, 1.0, 4.0)),
        )  # fmt: skip
        screen = opening.Screen.demo(play, EVENING) if self.kind == "demo" else opening.Screen.replay(play)
        return screen.make_runner(preferences)

    @contextlib.contextmanager
    def _patched(self) -> Iterator[None]:
        clock = self.clock
        threads, times = Threading(clock), Times(clock)
        folders = {f"STERNWATCH_{what}_DIR": str(self.folder / what) for what in ("CONFIG", "DATA", "CACHE", "LOG")}
        usual = Setup.__init__.__defaults__ or ()
        places: list[tuple[Any, str, Any]] = [
            *on_the_clock(clock, times),
            *(
                (module, "threading", threads)
                for module in (practice_runner, practice_source, outlook_marks, playback)
            ),
            (playback, "time", Looking(clock)),
            (playback, "PASS_REST_S", PASS_REST_S),
            (opening, "_foretold", lambda *_: None),  # by no clock but the computer's, and minutes of work
            (practice_runner, "datetime", _now(clock)),
            (opening, "_setup", small(opening._setup)),
            (lookout, "Lookout", functools.partial(lookout.Lookout, clock=times.monotonic, every_s=OUTLOOK_EVERY_S)),
            *([] if self.seed % 4 == 0 else [(lookout.Lookout, "offer", lambda _self, _watch: False)]),
            (predictive, "CARRIED", FEW),
            (lookout, "Wishes", functools.partial(lookout.Wishes, limits_share_s=0.0)),
            (passes, "Passing", functools.partial(passes.Passing, clock=times.monotonic)),
            (Setup.__init__, "__defaults__", tuple(MEMBERS if one == 144 else one for one in usual)),
        ]
        with contextlib.ExitStack() as stack:
            for where, name, what in places:
                stack.enter_context(patch.object(where, name, what))
            stack.enter_context(patch.dict(os.environ, folders))
            yield


def _now(clock: Clockwork) -> Any:
    class Now(datetime):
        @classmethod
        def now(cls, tz: Any = None) -> Any:
            return datetime.fromtimestamp(clock.wall_s, tz or UTC)

    return Now
