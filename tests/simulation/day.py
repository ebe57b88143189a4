"""One day from one seed: a boat, her crew and all that goes wrong, with the code that runs on the water.

Below the code lie the virtual clock (``clockwork``), the disk (``disk``, ``damage``) and the wire (``lake``); above
it nothing is made up: ``cli.common.session`` opens logbook, recorder, hub and session as ``sternwatch watch`` does.
A day is a short, a long or a whole one. A short day is 90 s in which as much goes wrong as in hours: starts, deaths
and keys at the wrong moment find most faults, and a short day has most of them for its time. A long day is twenty
minutes, beyond the quarter of an hour that a session remembers. She runs out to the grounds and home; keys come in
bursts with rests between; the feed is spoiled again and again, and what is rare is as rare as on a short day. Every
trip that was begun is replayed as far as its recording and entries are surely whole. A whole day has the outlook
besides, a debrief of every trip here and elsewhere, and the screen over some of its moments; others go without, since
these take most of the time. The search for limits, which the processor's time cuts off, is left out. The lake's truth
is a boat without lines, since what is asked here is whether anything is lost, stale, doubled or torn, and not whether
depths are right.
"""

from __future__ import annotations

import contextlib
import errno
import functools
import hashlib
import json
import logging
import math
import os
import random
import re
import shutil
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, tzinfo
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from unittest.mock import patch

from numba.core.caching import FunctionCache

from simulation import damage
from simulation.beside import Beside
from simulation.clockwork import Clockwork, Process, Queues, Threading, Times, future_of
from simulation.disk import Disk, Os, Sqlite
from simulation.held import held
from simulation.lake import FLOOD, Instruments, SimulatedSource, Wire
from simulation.ledger import Ledger, watched
from simulation.pictures import finite
from simulation.screen import Moment, looked_through
from simulation.stretches import Stretch
from simulation.syncs import failing, library
from simulation.test_crew_machine import without_entries
from sternwatch.answers.belief import predictive
from sternwatch.answers.checks import check
from sternwatch.cli.common import session as opening
from sternwatch.cli.common.boat import boat_on_the_water
from sternwatch.cli.common.exits import InputError
from sternwatch.config import NAME
from sternwatch.debrief.report.asjson import as_json
from sternwatch.debrief.report.prepared import report
from sternwatch.debrief.report.text import text_of
from sternwatch.debrief.trip import packing, sources
from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import SensorState, Speech, Tongue
from sternwatch.feed.recording import feed_clock, recorder
from sternwatch.feed.sensors.candidates import TIMEOUTS_S
from sternwatch.feed.sources import base, hub
from sternwatch.feed.sources.specs import FeedSetup, SourceSpec
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.logbook.crew.state import Crew
from sternwatch.logbook.store import aside, lock, logbook, schema, trips, writing
from sternwatch.logbook.store.lock import LogbookBusyError
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.watch import background
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.core.engine import Watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.memory.moments import KEPT_S
from sternwatch.watch.outlook import lookout
from sternwatch.watch.outlook.rows import outlook_row
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.picture.rows import picture_row
from sternwatch.watch.sessions import companions, entries, live, power
from sternwatch.watch.sessions.runner import Saved

BEGIN = datetime(2026, 7, 18, 12, 0, tzinfo=UTC).timestamp()
MEMBERS = 2
FEW = 16  # members behind a median of the check: as many as an outlook runs, since no number of them is compared
KEYS = ("1", "2")
FEED_FAULTS = ("cut", "doubled", "delayed", "two talkers", "wrong unit", "noise", "instrument off")
DISK_FAULTS = ("disk full", "disk read-only", "writes fail", "syncs fail", "disk slow", "files cut off")
DEATHS = ("killed", "power lost", "killed in a write", "power lost in a write")
LATE_S = 1.0  # a step waits two seconds for an entry on its way to the disk, and goes without it after that
OTHERS = (
    "unplugged", "suspended", "clock stepped", *DEATHS, "second console", "battery", "next trip", "trip ended",
    "boat's file edited",
)  # fmt: skip
# Drawn by themselves, so that a seed keeps its other faults.
LATER = ("recording removed", "zone changed", "preferences edited", "flood")
ZONES = ("UTC0", "EST5EDT,M3.2.0,M11.1.0", "NZST-12NZDT,M9.5.0,M4.1.0/3", "<+0545>-5:45")
SETTINGS = (
    "",
    "units =",
    "[[[",
    'units = "furlongs"',
    "theme = 3\nbell = []",
    'let_out_rate = "-1 m/s"',
    "\x00\ufffd",
)
ACTS = (
    "set", "hit", "hit", "length", "in", "going out", "note", "undo", "acknowledge", "nonsense", "change", "move",
    "setting", "gauge", "catch", "doubt",
)  # fmt: skip
# Entries that cannot be stored wait in memory for the next try; how long the last of them may take at a day's end.
SETTLES_S = 12.0
SHORT_S, LONG_S = 90.0, 1200.0
TONGUES = (  # what the sources of a day speak: half of the days one of sentences
    *[(Tongue.SENTENCES,)] * 6, (Tongue.N2K,), (Tongue.N2K,), (Tongue.SIGNALK,), (Tongue.SIGNALK,),
    (Tongue.SENTENCES, Tongue.SENTENCES), (Tongue.SENTENCES, Tongue.SIGNALK), (Tongue.N2K, Tongue.SENTENCES),
)  # fmt: skip
# What an editor leaves of a boat's file: another weight, half of it, nothing of it, or no file.
EDITS = ("10 lb", "half", "empty", "gone")
MOST_THREADS = 16  # of a console
SLEEPS = 2.0  # times as long as other faults last: half of the sleeps make every position old
MOST_WAITING = 400  # lines or entries
# A session remembers the moments of a quarter of an hour, each of so many objects at most and so many for every rod;
# a rod in the water has twice those of one on deck. All else is counted from then on: so many objects may come with a
# line that goes into the water, and so many with an entry.
HELD_BY_MOMENT, HELD_BY_ROD_MOMENT = 30, 20
REMEMBERED_S, HELD_EVERY_S, HELD_BY_LINE, HELD_BY_ENTRY, MOST_BYTES = 930.0, 120.0, 600, 50, 4_000_000
LITTLE_ROOM = 3000  # bytes that wait for the disk on every fourth day, some ten seconds' lines: the next are lost
SPELL_EVERY_S = 90.0  # of something wrong with the feed, on a day longer than that
RUN_S = 120.0  # out to the grounds and home, on a long day
QUARTER_S = 0.25
CHECK_EVERY_S = 1.0
TOLD_WITHIN_S = 4.0
OUTLOOK_EVERY_S = 15.0
BESIDE_EVERY, BESIDE_EVERY_LONG = 25, 100  # pictures from one with its ways back and its chart to the next
LOOKED_EVERY = 24  # pictures from one that the console shows to the next


@dataclass(frozen=True)
class Fault:
    """Something that goes wrong, ``lasts_s`` from ``at_s`` after the day's beginning."""

    at_s: float
    kind: str
    lasts_s: float = 0.0
    size: float = 0.0


def faults_of(seed: int, seconds: float) -> list[Fault]:
    """What a seed lets go wrong: what is rare as often on any day, what befalls the feed again and again."""
    rng = random.Random(f"faults {seed}")
    made = []
    for kind in rng.sample((*FEED_FAULTS, *DISK_FAULTS, *OTHERS), rng.randint(2, 6)):
        lasts_s = rng.choice((1.0, 4.0, 12.0, 30.0))
        made.append(
            Fault(
                round(rng.uniform(8.0, seconds - 20.0), 2), kind, lasts_s, rng.choice((-3600.0, -5.0, 7.0, 86400.0))
            )
        )
    for _ in range(int(seconds / SPELL_EVERY_S) - 1):
        kind, at_s = rng.choice((*FEED_FAULTS, "unplugged")), round(rng.uniform(8.0, seconds - 20.0), 2)
        made.append(Fault(at_s, kind, rng.choice((1.0, 4.0, 12.0, 30.0))))
    later = random.Random(f"later {seed}")
    for kind in later.sample(LATER, later.choice((0, 0, 1, 2))):
        made.append(Fault(round(later.uniform(8.0, seconds - 20.0), 2), kind, later.choice((1.0, 4.0))))
    return sorted(made, key=lambda fault: fault.at_s)


def _set_zone(name: str | None) -> None:
    """What time of day the computer shows; None: as where the tests run."""
    if not hasattr(time, "tzset"):  # Windows has its zones elsewhere, and misreads such a name
        return
    if name is None:
        os.environ.pop("TZ", None)
    else:
        os.environ["TZ"] = name
    time.tzset()


class BrokenError(AssertionError):
    """An invariant does not hold."""


@dataclass
class Console:
    """One run of the program, from its start to its end or death."""

    runner: live.Live
    process: Process
    stretches: dict[str, Stretch] = field(default_factory=dict)  # by trip
    newest: Picture | None = None
    watch: Watch | None = None  # of its present trip
    folded: Crew | None = None  # the crew that was last asked what an undo does
    begun_s: float = 0.0  # its present trip
    holds: tuple[float, int, int] | None = None  # at that moment: how many objects, and of how many entries
    fresh: list[str] = field(default_factory=list)  # entries said to be in the logbook, not looked for yet
    trip: str = ""  # at its start
    raised: set[str] = field(default_factory=set)  # its alerts

    @property
    def feed_s(self) -> float:
        return self.runner._hub.clock.now()[0]

    @property
    def ledger(self) -> Ledger:
        found = self.runner._hub.recorder.ledger  # type: ignore[union-attr]
        assert isinstance(found, Ledger)
        return found

    @property
    def waits_since_s(self) -> float:
        """Feed time of the oldest entry on its way to the disk."""
        return min(self.runner._acts._pending.values(), default=math.inf)

    def spoiled_from(self, t_s: float) -> None:
        """A replay cannot know what was kept late, or not at all."""
        stretch = self.stretches.get(self.runner._trip)
        if stretch is not None:
            stretch.spoiled_from(t_s)

    def spoiled_by_holes(self) -> None:
        """A replay lacks what is in no file; every trip has its own."""
        for file in self.ledger.files:
            if (stretch := self.stretches.get(file.path.stem)) is not None:
                stretch.spoiled_from(file.hole_s)


@dataclass
class Day:
    """A simulated day. ``trace`` is its fingerprint: everything shown and saved, in order."""

    seed: int
    folder: Path
    spread: Path
    seconds: float = SHORT_S
    whole: bool = False  # with what is slow: outlook, screen, check's medians, trips debriefed here and elsewhere
    faults: list[Fault] | None = None
    tongues: tuple[Tongue, ...] = ()  # of its sources; none: as the seed says
    again: bool = True  # keep what is shown, and hold it against a replay
    tick_s: float = 0.25  # a slow laptop's; four times the passes at 0.05 s find hardly more
    happened: Counter[str] = field(default_factory=Counter)
    moments: list[Moment] = field(default_factory=list)
    told: dict[str, str] = field(default_factory=dict)  # entry to where it was said to be kept
    complaints: list[str] = field(default_factory=list)
    shown: int = 0
    afterwards_s: float = 0.0  # of processor: what is asked when the day is over, its replay above all

    def run(self) -> str:
        """Live through it; returns the trace's digest. Raises BrokenError, and what the code under test raises."""
        self.clock = Clockwork(self.seed, BEGIN)
        self.begun_s = self.clock.now_s
        self.disk = Disk(self.clock)
        self.wires = [Wire(tongue) for tongue in self.tongues or random.Random(f"feed {self.seed}").choice(TONGUES)]
        self.boat_file = self.folder / "boat.toml"
        self.folder.mkdir(parents=True, exist_ok=True)
        shutil.copy(self.spread, self.boat_file)
        self.heal: list[tuple[float, Any]] = []  # what passes, and when
        self.charge = power.Charge(90.0, True)
        self.trace = hashlib.sha256()
        self.uuids = random.Random(f"ids {self.seed}")
        self.console: Console | None = None
        self.synced = (0, 0)  # times that SQLite had synced a file at the last two looks at something new
        self.stretches: list[Stretch] = []  # every trip in every run of the program
        self.data = self.folder / "data 0"
        self.lives = 0
        self.over = False
        world = Process()
        handler = Complaints(self.complaints)
        root = logging.getLogger("sternwatch")
        with self._patched():
            root.addHandler(handler)
            try:
                self.instruments = instruments = Instruments(self.clock, self.wires)
                self.boat = instruments.boat
                self.clock.begin(instruments.run, "instruments", world)
                self.clock.begin(self._guarded, "day", world)
                self._pass()
            finally:
                world.dead = True
                damage.let_files_grow_to(None)
                self._bury()
                root.removeHandler(handler)
        if self.complaints:
            raise BrokenError(f"a traceback was logged: {self.complaints[0]}")
        if self.moments:
            home = str(self.folder / "console")
            folders = dict.fromkeys((f"STERNWATCH_{what}_DIR" for what in ("CONFIG", "DATA", "CACHE", "LOG")), home)
            with patch.dict(os.environ, folders):
                if wrong := looked_through(self.moments, self.seed):
                    raise BrokenError(f"the screen says what it never should: {wrong[0]}")
            self.happened["moments on the screen"] += len(self.moments)
        return self.trace.hexdigest()

    def _pass(self) -> None:
        """Let time go by until the day is over."""
        self.clock.run(lambda: self.over)

    # -- the day's own thread -----------------------------------------------------------------------------------

    def _guarded(self) -> None:
        try:
            self._live_through()
        finally:
            self.over = True

    @property
    def looks_ahead(self) -> bool:
        return self.whole

    @property
    def long(self) -> bool:
        return self.seconds > SHORT_S

    def _pause_s(self, crew: random.Random) -> float:
        """From one key to the next; a cat's, now and then. Over a long day a crew has long rests."""
        if self.long and crew.random() < 0.1:
            return crew.expovariate(1 / 150.0)
        return crew.expovariate(1 / 4.0) if crew.random() < 0.9 else 0.01

    def _live_through(self) -> None:
        begun, crew = self.clock.boot_s, random.Random(f"crew {self.seed}")
        faults = list(faults_of(self.seed, self.seconds) if self.faults is None else self.faults)
        heal, self.driver = self.heal, self.clock.current
        self._start()
        presses, checks = begun + 6.0, begun
        while (now := self.clock.boot_s) - begun < self.seconds:
            self.boat.runs = self.long and not RUN_S < now - begun < self.seconds - RUN_S
            while faults and now - begun >= faults[0].at_s:
                self._fail(faults.pop(0))
            for due in [one for one in heal if one[0] <= now]:
                heal.remove(due)
                due[1]()
            if now >= presses:
                self._press(crew)
                presses = now + self._pause_s(crew)
            if now >= checks:
                self._check()
                checks = now + CHECK_EVERY_S
            due = min(checks, presses, *(at for at, _ in heal), begun + (faults[0].at_s if faults else math.inf))
            # Whole quarters of a second, so that what goes wrong often meets a step of the watch.
            self.clock.wait(None, max(math.ceil((due - now) / QUARTER_S), 1) * QUARTER_S)
        for _, mend in heal:
            mend()
        self.clock.wait(None, SETTLES_S)
        over = time.process_time()
        self._finish()
        self.afterwards_s = time.process_time() - over

    def _start(self) -> None:
        process = Process()
        driver = self.clock.current
        assert driver is not None
        world, driver.process = driver.process, process  # what it begins belongs to the console
        try:
            made = self._open()
            self.console = console = Console(made, process, trip=made._trip, begun_s=self.clock.now_s)
            self._begin(console)
        finally:
            driver.process = world

    def _begin(self, console: Console) -> None:
        console.runner.start(lambda picture: self._seen(console, picture), lambda saved: self._saved(console, saved))

    def _end(self, console: Console) -> None:
        console.runner.stop()

    def _open(self) -> live.Live:
        os.environ["STERNWATCH_DATA_DIR"] = str(self.data)
        os.environ["STERNWATCH_CONFIG_DIR"] = str(self.folder / "config")
        self.data.mkdir(parents=True, exist_ok=True)
        preferences, slips = opening.forgiving_preferences()
        for said in slips:
            if "Traceback" in said or not re.search("the default.* stands?$", said):
                raise BrokenError(f"the preferences are refused without a reason: {said}")
            self.happened["preferences refused with a reason"] += 1
        specs = [
            SourceSpec(("boat", "plotter")[k], "tcp", priority=k, speech=Speech(wire.tongue))
            for k, wire in enumerate(self.wires)
        ]
        feed = _Feed(tuple(specs))
        feed.made = lambda: [
            SimulatedSource(self.clock, wire, spec.name, spec.priority)
            for wire, spec in zip(self.wires, specs, strict=True)
        ]
        runner = opening._live(self._boat(), feed, preferences, new=False, learned=None)
        assert isinstance(runner, live.Live)
        return runner

    def _boat(self) -> Any:
        """The boat's file as it is now; where nothing can be made of it, her owner puts it back."""
        try:
            return boat_on_the_water(self.boat_file)
        except InputError as fault:
            if "Traceback" in str(fault) or len(str(fault)) < 10:
                raise BrokenError(f"the boat's file is refused without a reason: {fault}") from fault
            self.happened["boat's file refused with a reason"] += 1
            shutil.copy(self.spread, self.boat_file)
            return boat_on_the_water(self.boat_file)

    def _press(self, crew: random.Random) -> None:
        console = self.console
        if console is None:
            return
        rod, submit = crew.choice(KEYS), console.runner.submit
        newest = console.newest
        hits, alerts = ([], []) if newest is None else ([h.id for h in newest.hits], [a.id for a in newest.alerts])
        what = crew.choice(ACTS)
        if self.whole and self.happened["keys"] < len(KEYS):  # so that there is something to look ahead for
            what, rod = "set", KEYS[self.happened["keys"]]
        match what:
            case "change":
                name = crew.choice(("fly", "spoon"))
                submit("change", rod, what="lure", name=name, tackle={"spoon": {"kind": "lure"}})
            case "move":
                submit("move", rod, to=KEYS[1 - KEYS.index(rod)])
            case "setting":
                submit("setting", rod, setting=crew.choice(("low", "high", "sideways")))
            case "gauge":
                submit("gauge", depth_m=crew.uniform(2.0, 30.0), temperature_c=crew.uniform(4.0, 18.0))
            case "catch" | "doubt" if hits:
                submit(what, of=crew.choice(hits), **({"species": "coho"} if what == "catch" else {}))
            case "length":
                submit("length", rod, line_out_m=crew.uniform(5.0, 40.0))
            case "note":
                submit("note", text=crew.choice(("weed", "slow\x1b[2J", "\u00e9t\u00e9 \u2014 ok", "x" * 200)))
            case "undo" if hits:
                submit("undo", of=crew.choice(hits))
                if crew.random() < 0.5:
                    submit("restore", of=hits[-1])
            case "acknowledge" if alerts:
                submit("acknowledge", alert=crew.choice(alerts))
            case "nonsense":
                submit("length", rod, line_out_m=-1.0)
            case "set" | "hit" | "in" | "going out":
                submit(what, rod)
        self.happened["keys"] += 1

    def _fail(self, fault: Fault) -> None:
        until, console, heal = self.clock.boot_s + fault.lasts_s, self.console, self.heal
        self.happened[fault.kind] += 1
        match fault.kind:
            case kind if kind in FEED_FAULTS:
                self.instruments.faults[kind] = until
                self.instruments.off += 1
            case "disk full" | "disk read-only":
                self.disk.ails = errno.ENOSPC if fault.kind == "disk full" else errno.EROFS
                heal.append((until, lambda: setattr(self.disk, "ails", None)))
            case "writes fail":
                self.disk.fails = round(fault.lasts_s)
            case "syncs fail":
                self.disk.syncs_fail = True
                heal.append((until, lambda: setattr(self.disk, "syncs_fail", False)))
            case "disk slow":
                self.disk.slow_s = 0.3
                heal.append((until, lambda: setattr(self.disk, "slow_s", 0.0)))
            case "files cut off":
                # In the middle of what the logbook or the recorder writes next, or soon after.
                names = [path for path in self.data.rglob("*") if path.suffix in (".sqlite-wal", ".nmea")]
                near = max((path.stat().st_size for path in names), default=0)
                damage.let_files_grow_to(near + self.clock.rng.randrange(9000))
                heal.append((until, lambda: damage.let_files_grow_to(None)))
            case "unplugged":
                wire = self.clock.rng.choice(self.wires)
                wire.plugged = False
                wire.port += 1
                heal.append((until, lambda: setattr(wire, "plugged", True)))
            case "suspended":
                if console is not None:
                    console.spoiled_from(console.waits_since_s)
                for wire in self.wires:  # what is said while it falls asleep waits in the port
                    self.instruments.send(wire, self.clock.boot_s)
                self.clock.slept_s += SLEEPS * fault.lasts_s
                self.instruments.quiet_until_s = self.clock.boot_s + 1.5  # they have to come back too
                self.clock.wait(None, 0.5)  # what stands on the screen is as old as the sleep for a tick or two
                self._check()
            case "clock stepped":
                self.clock.wall_ahead_s += fault.size
            case "killed" | "power lost" if console is not None:
                self._kill(power=fault.kind == "power lost")
                heal.append((until, self._start))
            case "killed in a write" | "power lost in a write":
                self.disk.dies_in = self.clock.rng.randrange(1, 25)
                self.disk.die = lambda: self._die_in_a_write(fault)
            case "second console":
                self._second()
            case "battery":
                self.charge = power.Charge(12.0, False)
            case "next trip" if console is not None:
                console.runner.begin()
            case "trip ended" if console is not None:
                end = console.runner.submit("end")
                if fault.lasts_s < 10.0:
                    heal.append((until, lambda: self.console and self.console.runner.submit("undo", of=end)))
            case "recording removed" if console is not None and not self.disk.slow_s:
                self._remove_recording(console)
            case "zone changed":
                _set_zone(self.clock.rng.choice(ZONES))
                if console is not None:  # the newest entries stand on the screen with the time of day
                    console.spoiled_from(console.feed_s - 2.0)
            case "preferences edited":
                folder = self.folder / "config"
                folder.mkdir(exist_ok=True)
                (folder / NAME).write_text(self.clock.rng.choice(SETTINGS), encoding="utf-8")
            case "flood":
                self.instruments.faults["flood"] = until
            case "boat's file edited":
                text, edit = self.spread.read_text(), self.clock.rng.choice(EDITS)
                match edit:
                    case "gone":
                        self.boat_file.unlink(missing_ok=True)
                    case _:
                        edited = text.replace("10 lb", "12 lb") if edit == "10 lb" else text[: len(text) // 2]
                        self.boat_file.write_text("" if edit == "empty" else edited)

    def _remove_recording(self, console: Console) -> None:
        """Somebody tidies up: the recorder begins another in its place, and what was recorded before is gone."""
        file = console.ledger.files[-1]
        with contextlib.suppress(OSError):  # not there, or not on Windows
            kept = file.kept(file.path)
            file.path.unlink()
            console.ledger.removed(kept)
            self.disk.synced.pop(file.path, None)
            for stretch in self.stretches:
                if stretch.trip == file.path.stem:
                    stretch.spoiled_from(0.0)
            self.happened["recording was there to be removed"] += 1

    def _die_in_a_write(self, fault: Fault) -> bool:
        """Before the disk takes what a console's thread gives it; whether there was one to kill."""
        task = self.clock.current
        if self.console is None or task is self.driver or task is None or task.process is not self.console.process:
            return False
        self._kill(power=fault.kind.startswith("power"))
        self.heal.append((self.clock.boot_s + fault.lasts_s, self._start))
        self.happened["died in a write"] += 1
        return True

    def _second(self) -> None:
        if self.console is None:
            return
        with contextlib.suppress(LogbookBusyError):
            Logbook(self.data / "logbook.sqlite").close()
            raise BrokenError("a second console could write the same logbook")

    def _kill(self, *, power: bool) -> None:
        """What is on the disk stays as it is at this moment; the process gets no further."""
        assert self.console is not None
        console, self.console = self.console, None
        console.process.dead = True
        self.lives += 1
        before, self.data = self.data, self.folder / f"data {self.lives}"
        with damage.from_outside():
            shutil.copytree(before, self.data)
            if power:
                self._tear(before)
        sure = dict(self.disk.synced) if power else None
        console.ledger.died(lambda path: self.data / path.relative_to(before), sure)
        console.spoiled_from(min(console.feed_s, console.waits_since_s))
        console.spoiled_by_holes()
        # What outlived this death outlives the next.
        self.disk.synced = {copy: copy.stat().st_size for copy in self._synced_files()}
        self._bury()

    def _synced_files(self) -> list[Path]:
        """Recordings and the logbook's journal."""
        return [*self.data.rglob("*.nmea"), *self.data.glob("*.aside.jsonl")]

    def _tear(self, before: Path) -> None:
        """Of recordings and journal only what was synced is sure, and of the rest some bytes; the logbook is torn."""
        rng = self.clock.rng
        for copy in self._synced_files():
            synced, size = self.disk.synced.get(before / copy.relative_to(self.data), 0), copy.stat().st_size
            left = min(size, synced + rng.randrange(max(size - synced, 0) + 1))
            os.truncate(copy, left)
            if rng.random() < 0.3:  # the system had noted the file's new size, and not yet what it holds
                os.truncate(copy, size)
        book = self.data / "logbook.sqlite"
        if book.exists():
            self.happened["pages torn"] += damage.tear(book, self.clock.rng)

    def _bury(self) -> None:
        """The system takes back what a dead process held."""
        for path in list(lock._held):
            if path.is_relative_to(self.folder):
                lock._held.discard(path)

    # -- what is shown and told ---------------------------------------------------------------------------------

    def _seen(self, console: Console, picture: Picture) -> None:
        if not finite(picture):
            raise BrokenError(f"a number on the screen is not finite: {picture}")
        self._note(_as_text(picture_row(picture)))
        if not self.looks_ahead and {alert.id for alert in picture.alerts} != console.runner._told.standing:
            raise BrokenError("other alerts are shown than were written down as standing")
        console.newest = picture
        console.raised.update(alert.id for alert in picture.alerts)
        if self.again:
            stretch = console.stretches[picture.trip]
            stretch.pictures[picture.t_s] = picture
            watch, every = console.watch, BESIDE_EVERY_LONG if self.long else BESIDE_EVERY
            if self.shown % every == every - 1 and watch is not None and watch.t_s == picture.t_s:
                stretch.beside[picture.t_s] = Beside.of(watch, picture)
        self.shown += 1
        if self.whole:
            self._keep_moment(console.runner, picture)

    def _keep_moment(self, runner: live.Live, picture: Picture) -> None:
        """For the console, at the day's end."""
        outlook = runner.outlook()
        if outlook is not None:
            try:
                json.dumps(outlook_row(outlook), allow_nan=False)
            except ValueError as fault:
                raise BrokenError(f"a number of the outlook is not finite: {fault}") from fault
            self.happened["pictures with an outlook"] += 1
        if self.shown % LOOKED_EVERY == 0:
            self.moments.append(Moment(picture, outlook, runner.senses(), runner.findings()))

    def _note(self, text: str) -> None:
        self.trace.update(text.replace(str(self.folder), "").encode())

    def _saved(self, console: Console, saved: Saved) -> None:
        if console.process.dead:
            return
        self._note(f"{saved.id} {saved.kept} {saved.error}")
        if saved.kept in ("logbook", "aside"):
            self.told[saved.id] = console.trip
            if saved.kept == "logbook":
                console.fresh.append(saved.id)
        entered_s = None if saved.action is None else saved.action.elapsed_s
        if entered_s is not None and (saved.kept == "memory" or console.feed_s - entered_s > LATE_S):
            console.spoiled_from(entered_s - 1.0)  # it shows before its step
        self.happened[f"said to be kept: {saved.kept}"] += 1

    def _check(self) -> None:
        """What must hold at every moment."""
        console = self.console
        if console is None:
            return
        runner = console.runner
        if "stopped" in runner.busy:
            raise BrokenError(runner.busy)
        now = self.clock.boot_s
        for entry in runner.senses().entries:
            if entry.state is SensorState.FRESH:
                age_s = now - self.instruments.said.get(entry.quantity, now)
                if age_s > TIMEOUTS_S[entry.quantity][1] + 2.0:
                    raise BrokenError(
                        f"{entry.quantity} is shown as fresh, though nothing was said for {age_s:.0f} s"
                    )
        self._check_threads(console)
        console.ledger.check()
        self._check_recording_told(console)
        self._check_saved(console)
        self._check_undo(console)
        queues = runner._waiting, runner._hub._queue._items, runner._logbook._queue._items  # type: ignore[attr-defined]
        flooded = self.instruments.faults.get("flood", 0.0) > now - 2.0  # every source at once
        if max(map(len, queues)) > MOST_WAITING + FLOOD * len(self.wires) * flooded:
            raise BrokenError(f"lines or entries wait for ever: {[len(one) for one in queues]}")
        if self.clock.now_s - console.begun_s > REMEMBERED_S:
            self._check_held(console)

    def _check_held(self, console: Console) -> None:
        """Moments have their bound; of all else entries alone make more."""
        now_s, watch = self.clock.now_s, console.watch
        if watch is None or (console.holds is not None and now_s - console.holds[0] < HELD_EVERY_S):
            return
        moments, seen = watch.memory.moments, set[int]()
        of_moments = sum(held([moments], seen)[0].values())
        most = KEPT_S * (HELD_BY_MOMENT + HELD_BY_ROD_MOMENT * len(watch.chains))
        if len(moments) > KEPT_S or of_moments > most:
            raise BrokenError(f"{len(moments)} moments of {of_moments} objects are remembered, {most} at most")
        kinds, nbytes = held([console.runner, watch], seen)
        entries, many = len(watch.crew.entries), sum(kinds.values())
        if console.holds is not None and entries >= console.holds[2]:  # else it is another trip
            _, before, known = console.holds
            more = HELD_BY_LINE * len(watch.chains) + HELD_BY_ENTRY * (entries - known)
            if many > before + more or nbytes > MOST_BYTES:
                raise BrokenError(
                    f"{before} objects grew to {many}, {nbytes} bytes in arrays: {kinds.most_common(5)}"
                )
            self.happened["counted what is held"] += 1
            console.holds = (now_s, min(before, many), known)
            return
        console.holds = (now_s, many, entries)

    def _check_threads(self, console: Console) -> None:
        alive = [task.name for task in self.clock.tasks if task.process is console.process and not task.over]
        if len(alive) > MOST_THREADS:
            raise BrokenError(f"threads gather: {sorted(alive)}")

    def _check_recording_told(self, console: Console) -> None:
        """What hinders the recorder stands among the alerts a few seconds later."""
        newest, since_s = console.newest, console.ledger.troubled_since_s
        if newest is None or self.clock.now_s - since_s < TOLD_WITHIN_S:
            return
        stretch = console.stretches.get(console.runner._trip)
        if stretch is None or newest.trip != stretch.trip or newest.t_s - stretch.since_s < TOLD_WITHIN_S:
            return  # a trip that has hardly begun
        if newest.t_s < console.feed_s - 2.0:
            return
        if not any(alert.kind == "cannot save" for alert in newest.alerts):
            raise BrokenError(
                f"at {newest.t_s} s no alert says that the feed is not recorded: {console.ledger.recorder.error}"
            )

    def _check_saved(self, console: Console) -> None:
        """What was called saved since the last look can be read from the file, and once."""
        fresh, console.fresh = console.fresh, []
        if not fresh:
            return
        if self.syncs is not None:
            # What was synced together may be called saved on both sides of a look.
            if self.syncs[0] == self.synced[0]:
                raise BrokenError(f"{fresh[0]} is called saved, and the logbook was not synced")
            self.synced = self.synced[1], self.syncs[0]
        with contextlib.closing(trips.open_read_only(self.data / "logbook.sqlite")) as book:
            for one in fresh:
                (count,) = book.execute("SELECT count(*) FROM action WHERE id = ?", (one,)).fetchone()
                if count != 1:
                    raise BrokenError(f"{one} is called saved, and is in the logbook {count} times")
        self.happened["looked up as soon as called saved"] += len(fresh)

    def _check_undo(self, console: Console) -> None:
        """Whenever something was entered: what is undone and restored leaves everything as it was."""
        crew = None if console.watch is None else console.watch.crew
        if crew is None or crew is console.folded or not crew.standing:
            return
        console.folded, before, standing = crew, without_entries(crew), list(crew.standing)
        for of in dict.fromkeys((standing[-1], standing[len(crew.entries) % len(standing)])):
            last = crew.entries[standing[-1]]
            now = {"time": last.time, "elapsed_s": last.elapsed_s, "of": of}
            undone = apply(crew, parse({"id": f"undo {of}", "kind": "undo", **now}))
            if of in undone.standing or of not in undone.undone:
                raise BrokenError(f"undone, {crew.entries[of]} still counts")
            after = without_entries(apply(undone, parse({"id": f"restore {of}", "kind": "restore", **now})))
            if {**after, "standing": set(after["standing"])} != {**before, "standing": set(before["standing"])}:
                raise BrokenError(f"undone and restored, {crew.entries[of]} is another entry")
            self.happened["undone and restored at once"] += 1

    # -- the day's end ------------------------------------------------------------------------------------------

    def _finish(self) -> None:
        console = self.console
        if console is None:
            self._start()
            console = self.console
            assert console is not None
            self.clock.wait(None, SETTLES_S)
        self._end(console)
        self._closed(console)
        with Logbook(self.data / "logbook.sqlite") as book:
            stored: Counter[str] = Counter()
            for trip in book.trips():
                stored.update(action.id for action in book.actions(trip.id))
                standing = self._events(book.events(trip.id), trip.id)
                if trip.id == console.runner._trip and not self.happened.keys() & set(DISK_FAULTS):
                    self._ended(console, standing)
            actions = book.actions(console.trip)
            self.actions = {trip.id: book.actions(trip.id) for trip in book.trips()}
            if wrong := book.verify():
                raise BrokenError(f"the logbook is not whole: {wrong}")
            packed = [trip.id for trip in book.trips()] if self.whole else []
        for trip in packed:
            self._pack(trip)
        self._undone(console.stretches[console.trip].setup.spread, actions)
        lost = [one for one in self.told if stored[one] != 1]
        if lost:
            raise BrokenError(f"{len(lost)} entries called saved are not there once: {lost[:3]} ({stored[lost[0]]})")
        for stretch in self.stretches:
            self._replay(stretch)

    def _closed(self, console: Console) -> None:
        """A run of the program has come to its proper end."""
        self.happened["bytes of the feed held against what was fed"] += console.ledger.closed()
        console.spoiled_by_holes()

    def _pack(self, trip: str) -> None:
        """The debrief of a packed trip is the same elsewhere, to the last byte."""
        with contextlib.closing(trips.open_read_only(self.data / "logbook.sqlite")) as book:
            data = sources.from_logbook(book, trip, self.data)
        if data.feed is None:
            return
        target = self.folder / f"{trip}.trip"
        try:
            here = _debriefed(data)
        except FeedError:  # not a line of it outlived what went wrong
            self.happened["trips without a readable feed"] += 1
            return
        packing.pack(data, target)
        zone = os.environ.get("TZ")
        _set_zone(ZONES[self.seed // 40 % len(ZONES)])
        there = _debriefed(packing.unpack(target, self.folder / f"elsewhere {trip}"))
        _set_zone(zone)
        if there != here:
            raise BrokenError(f"{trip}: its debrief is another one elsewhere")
        self.happened["trips debriefed elsewhere"] += 1

    def _ended(self, console: Console, standing: set[str]) -> None:
        """Every alert that this console raised has ended, or stands to the last."""
        own = console.raised
        if wrong := (standing & own) ^ (console.runner._told.standing & own):
            raise BrokenError(f"{console.trip}: neither ended nor standing, or both: {sorted(wrong)}")

    def _undone(self, spread: Any, actions: list[Any]) -> None:
        """An undo and the restoring of it leave everything as it was."""
        crew = fold(actions, Rigging.of(spread))
        before = without_entries(crew)
        for action in [one for one in actions if one.id in crew.standing][-3:]:
            now = {"time": actions[-1].time, "elapsed_s": actions[-1].elapsed_s, "of": action.id}
            pair = [parse({"id": f"{kind} {action.id}", "kind": kind, **now}) for kind in ("undo", "restore")]
            after = without_entries(fold([*actions, *pair], Rigging.of(spread)))
            if {**after, "standing": set(after["standing"])} != {**before, "standing": set(before["standing"])}:
                raise BrokenError(f"undone and restored, {action} is another entry")
            self.happened["undone and restored"] += 1

    def _events(self, events: list[Any], trip: str) -> set[str]:
        """An alert ends only where it was raised, and is raised again only where it had ended, or a rod joins it.

        Returns those that stand.
        """
        standing: dict[str, tuple[str, ...]] = {}
        for event in events:
            if event.state == "gone":
                if event.id not in standing:
                    raise BrokenError(f"{trip}: the alert {event.id} ended, which never began")
                del standing[event.id]
                continue
            alone = len(event.keys) < 2 and event.keys == standing.get(event.id)
            if event.state == "active" and alone:  # a dead console's has another id than its heir's
                raise BrokenError(f"{trip}: the alert {event.id} was raised twice")
            standing[event.id] = event.keys
        return set(standing)

    def _replay(self, stretch: Stretch) -> None:
        """Recording and entries of a trip give the pictures that were shown, but for their alerts."""
        recording = self.data / "recordings" / f"{stretch.trip}.nmea"
        actions = self.actions.get(stretch.trip, [])
        _set_zone(stretch.zone)
        common, different = stretch.replayed(recording, actions)
        if different:
            raise BrokenError(
                f"{stretch.trip}, from {stretch.since_s} s: {len(different)} of {common} pictures differ in the"
                f" replay, first at {different[0]} s"
            )
        self.happened["ways back planned again"] += stretch.ways
        self.happened["charts drawn again" + " of a trip taken up again" * (stretch.since_s > 0.0)] += stretch.charts
        self.happened["pictures seen again" + " of a trip taken up again" * (stretch.since_s > 0.0)] += common

    # -- what is put in the place of the machine ----------------------------------------------------------------

    @contextlib.contextmanager
    def _patched(self) -> Iterator[None]:
        clock, times = self.clock, Times(self.clock)
        machine = Os(self.disk)
        places: list[tuple[Any, str, Any]] = [
            *on_the_clock(clock, times),
            (recorder, "os", machine),
            (aside, "os", machine),
            *((module, "to_disk", machine.fsync) for module in (recorder, aside)),
            (schema, "sqlite3", Sqlite(self.disk)),
            (entries, "new_id", self._new_id),
            (trips, "uuid", SimpleNamespace(uuid4=lambda: SimpleNamespace(hex=self._new_id()))),
            *self._looking(times),
            (opening, "_setup", small(opening._setup)),
            (live.Live, "_intake", self._known(live.Live._intake)),
            (Watch, "resume", self._resumed(Watch.resume)),
            (recorder, "Recorder", watched(clock, waits_bytes=LITTLE_ROOM if self.seed % 4 == 3 else None)),
            (sources, "Setup", functools.partial(Setup, members=MEMBERS)),
            (power, "Laptop", self._laptop),
            (FunctionCache, "save_overload", outside(FunctionCache.save_overload)),
            (live, "TICK_S", self.tick_s),
        ]
        with contextlib.ExitStack() as stack:
            for where, name, what in places:
                stack.enter_context(patch.object(where, name, what))
            stack.callback(_set_zone, os.environ.get("TZ"))
            stack.enter_context(patch.dict(os.environ))
            asked = stack.enter_context(failing(lambda: self.disk.syncs_fail))
            self.syncs = None if library() is None else asked
            yield
            if asked[1]:
                self.happened["syncs of SQLite failed"] += asked[1]

    def _looking(self, times: Times) -> list[tuple[Any, str, Any]]:
        """The outlook and the check's medians are slow: on whole days alone, and by no clock but the day's."""
        if not self.looks_ahead:
            return [(lookout.Lookout, "offer", lambda _self, _watch: False), (check, "_median_m", lambda *_: None)]
        seldom = functools.partial(lookout.Lookout, clock=times.monotonic, every_s=OUTLOOK_EVERY_S)
        unhurried = functools.partial(lookout.Wishes, limits_share_s=0.0)
        return [(lookout, "Lookout", seldom), (lookout, "Wishes", unhurried), (predictive, "CARRIED", FEW)]

    def _known(self, intake: Any) -> Any:
        def made(runner: live.Live, setup: Setup) -> Any:
            console, known = self.console, frozenset(action.id for action in runner._resumed)
            assert console is not None
            stretch = Stretch(setup, runner._hub.clock.began_s, known, os.environ.get("TZ"))
            before = max((action.elapsed_s or 0.0 for action in runner._resumed), default=-1.0)
            if setup.trip != console.trip and console.feed_s > 5.0:
                raise BrokenError(f"{setup.trip}: begins at {console.feed_s} s of its feed")
            if before >= stretch.since_s:
                raise BrokenError(f"{setup.trip}: goes on at {stretch.since_s} s, before an entry at {before} s")
            console.stretches[setup.trip] = stretch
            self.stretches.append(stretch)
            made = intake(runner, setup)
            console.watch, console.begun_s, console.holds = made.watch, self.clock.now_s, None
            return made

        return made

    def _resumed(self, resume: Any) -> Any:
        def resumed(watch: Watch, samples: list[Any], hits: Any) -> None:
            stretch = next(one for one in reversed(self.stretches) if one.setup is watch.setup)
            if stretch.resumed is None:  # a replay's, else
                stretch.resumed = (list(samples), list(hits))
                self._check_resumed(watch.setup.trip, len(samples))
            resume(watch, samples, hits)

        return resumed

    def _check_resumed(self, trip: str, samples: int) -> None:
        """A trip that goes on knows the hours fished so far, unless the disk would not tell."""
        with contextlib.closing(trips.open_read_only(self.data / "logbook.sqlite")) as book:
            (stored,) = book.execute(
                "SELECT count(*) FROM moment JOIN trip ON trip_no = no WHERE trip.id = ?", (trip,)
            ).fetchone()
        if samples < stored and not self.happened.keys() & set(DISK_FAULTS):
            raise BrokenError(f"{trip}: goes on with {samples} of {stored} samples")
        self.happened["samples of a trip taken up again"] += samples

    def _new_id(self) -> str:
        return f"{self.uuids.getrandbits(128):032x}"

    def _laptop(self) -> Any:
        awake = SimpleNamespace(hold=lambda: "", let_go=lambda: None)
        times = Times(self.clock)
        return _Laptop(power.Power(lambda: self.charge, times.monotonic), awake, times.monotonic)


class _Laptop(power.Laptop):
    """The laptop with a battery of the day's."""


class _Feed(FeedSetup):
    """One source over the made wire."""

    made: Any

    def __setattr__(self, name: str, value: Any) -> None:
        object.__setattr__(self, name, value)

    def sources(self) -> list[Any]:
        return list(self.made())


_as_text = json.JSONEncoder(check_circular=False).encode  # a row holds no row


class Complaints(logging.Handler):
    """Tracebacks that the program logs: none is foreseen."""

    def __init__(self, found: list[str]) -> None:
        super().__init__(logging.WARNING)
        self._found = found

    def emit(self, record: logging.LogRecord) -> None:
        if record.exc_info and record.exc_info[0] is not None:
            self._found.append(f"{record.getMessage()}: {record.exc_info[1]!r}")


def on_the_clock(clock: Clockwork, times: Times) -> list[tuple[Any, str, Any]]:
    """What every session has for its threads and clocks: module, name, what stands there instead."""
    threads, queues = Threading(clock), Queues(clock)

    class Now(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> Any:  # type: ignore[override]
            return datetime.fromtimestamp(clock.wall_s, tz)

    return [
        *((module, "threading", threads) for module in (base, hub, recorder, live, entries, background, logbook)),
        *((module, "queue", queues) for module in (hub, logbook)),
        *((module, "time", times) for module in (base, feed_clock, logbook, writing)),
        *((module, "datetime", Now) for module in (opening, live)),
        (logbook, "Future", future_of(clock)),
        (live.prepare, "prepare", lambda: None),
        (live.prepare, "can_tow", lambda: True),
        (live.prepare, "rest", str),
        (companions, "gc", SimpleNamespace(collect=int, freeze=int)),
    ]


def outside(saves: Any) -> Any:
    """On the water the solver is compiled before a session, in a process of its own: its files may grow."""

    def saved(*given: Any) -> None:
        with damage.from_outside():
            saves(*given)

    return saved


def small(setup: Any) -> Any:
    def made(*given: Any) -> Any:
        return replace(setup(*given), members=MEMBERS)

    return made


def _debriefed(data: sources.TripData) -> str:
    made = report(data, sources.digest_of(data), SYSTEMS["us"])
    return text_of(made) + as_json(made)


NAMES = re.compile(r"b?'[^']*'|b?\"[^\"]*\"|[0-9TZ.a-f-]{6,}|[\d.]+")


def sort_of(fault: BaseException) -> str:
    """Which invariant a failure breaks: its words, without what names and numbers it is about."""
    return f"{type(fault).__name__} {' '.join(NAMES.sub('', str(fault)).split())[:60]}"


def shrunk(day: Day, fails: Any) -> list[Fault]:
    """The fewest of a day's faults with which it still fails, found by leaving out one after another."""
    kept = list(faults_of(day.seed, day.seconds) if day.faults is None else day.faults)
    for fault in list(kept):
        fewer = [one for one in kept if one is not fault]
        if fails(fewer):
            kept = fewer
    return kept
