"""Whatever the crew does in whatever order: store, fold and watch agree with a fold from scratch."""

from __future__ import annotations

import tempfile
from dataclasses import fields
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule

from sternwatch.feed.readings import Quantity, Reading
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.logbook.crew.state import Crew
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from watch.conftest import TWO_RODS

BEGUN = datetime(2026, 7, 18, 12, 0, tzinfo=UTC)
SPREAD = parse_spread(TWO_RODS)
# The same boat after an evening with her file: one rod is gone, another is new, and the fly has another name.
_EDITED = TWO_RODS.replace('key = "2"', 'key = "9"').replace("tackle.fly", "tackle.streamer")
OTHER_SPREAD = parse_spread(_EDITED.replace('tackle = "fly"', 'tackle = "streamer"'))
RODS = st.sampled_from(["1", "2", "9"])  # the last is none, or no more


def compared(crew: Crew) -> dict[str, Any]:
    """Everything of a crew, its rigging by the spread that it comes to."""
    told = {f.name: getattr(crew, f.name) for f in fields(crew)}
    return told | {name: told[name].spread for name in ("gear", "filed")}


def without_entries(crew: Crew) -> dict[str, Any]:
    """What an undo and a redo must leave alike: all but the list of what was done."""
    return {name: value for name, value in compared(crew).items() if name not in ("entries", "undone", "problems")}


class CrewAtWork(RuleBasedStateMachine):
    """Keys in any order, a console that is started again, and a boat that goes on."""

    @initialize()
    def begin(self) -> None:
        self.folder = tempfile.TemporaryDirectory()
        self.path = Path(self.folder.name) / "logbook.sqlite"
        self.book = Logbook(self.path)
        self.book.begin_trip(Trip("t", BEGUN))
        self.done: list[Action] = []
        self.spread = SPREAD
        self.crew = fold([], Rigging.of(SPREAD))
        self.t_s, self.serial = 0.0, 0
        self._begin_watch()

    def _begin_watch(self) -> None:
        self.watch = new_watch(Setup(self.spread, members=0), None, self.done)

    def _do(self, kind: str, **given: Any) -> Action:
        self.serial += 1
        action = parse({
            "id": f"a{self.serial}", "time": BEGUN + timedelta(seconds=self.t_s), "elapsed_s": self.t_s,
            "kind": kind, **given,
        })  # fmt: skip
        assert self.book.submit("t", action).result().kept == "logbook"
        self.done.append(action)
        self.crew = apply(self.crew, action)
        self.watch.act(action)
        return action

    @rule(kind=st.sampled_from(["going out", "set", "in", "hit", "checked"]), rod=RODS)
    def act(self, kind: str, rod: str) -> None:
        self._do(kind, rod=rod)

    @rule(rod=RODS, out_m=st.floats(0.0, 200.0))
    def length(self, rod: str, out_m: float) -> None:
        self._do("length", rod=rod, line_out_m=out_m)

    @rule(rod=RODS, setting=st.sampled_from(["low", "high", "none such"]))
    def setting(self, rod: str, setting: str) -> None:
        self._do("setting", rod=rod, setting=setting)

    @rule(here=RODS, there=RODS)
    def move(self, here: str, there: str) -> None:
        self._do("move", rod=here, to=there)

    @rule(rod=RODS, name=st.sampled_from(["fly", "spoon", "unknown"]))
    def change(self, rod: str, name: str) -> None:
        self._do("change", rod=rod, what="lure", name=name, tackle={"spoon": {"kind": "lure"}})

    @rule(rod=RODS, seconds=st.integers(0, 40))
    def late_hit(self, rod: str, seconds: int) -> None:
        """Written down afterwards; the moment may lie before the trip."""
        hit = self._do("hit", rod=rod)
        self._do("retime", of=hit.id, to=hit.time - timedelta(seconds=seconds), to_elapsed_s=self.t_s - seconds)

    @rule(rod=st.none() | RODS)
    def bite(self, rod: str | None) -> None:
        """Its rod is told in the same breath, or never."""
        bite = self._do("bite")
        if rod is not None:
            self._do("hit", rod=rod, bite=bite.id)

    @rule()
    def end(self) -> None:
        self._do("end")

    @rule(rod=RODS, lead_m=st.floats(0.1, 60.0))
    def lead(self, rod: str, lead_m: float) -> None:
        self._do("lead", rod=rod, lead_m=lead_m)

    @rule(rods=st.lists(RODS, min_size=1, max_size=3), out_m=st.none() | st.floats(0.0, 200.0),
          setting=st.sampled_from([None, "low", "none such"]))  # fmt: skip
    def planned(self, rods: list[str], out_m: float | None, setting: str | None) -> None:
        self._do("planned", rods=[{"rod": rod, "line_out_m": out_m, "setting": setting} for rod in rods])

    @precondition(lambda self: self.done)
    @rule(data=st.data(), rod=RODS, out_m=st.none() | st.floats(0.0, 200.0))
    def put_back(self, data: st.DataObject, rod: str, out_m: float | None) -> None:
        self._do("put back", rod=rod, of=data.draw(st.sampled_from(self.done)).id, line_out_m=out_m)

    @rule(rod=RODS, out_m=st.floats(0.0, 200.0), back=st.booleans())
    def one_act_of_two_entries(self, rod: str, out_m: float, back: bool) -> None:
        """They are taken back and restored as one."""
        first = self._do("set", rod=rod)
        second = self._do("length", rod=rod, line_out_m=out_m, part_of=first.id)
        if not back:
            return
        before = without_entries(self.crew)
        self._do("undo", of=first.id)
        assert not {first.id, second.id} & set(self.crew.standing)
        self._do("restore", of=first.id)
        after = without_entries(self.crew)
        assert set(after.pop("standing")) == set(before.pop("standing"))
        assert after == before

    @rule(keys=st.lists(RODS, min_size=1, max_size=2, unique=True), seconds=st.integers(0, 60))
    def ran(self, keys: list[str], seconds: int) -> None:
        """The watch's own entry: the boat ran, and these rods are in since."""
        since = BEGUN + timedelta(seconds=self.t_s - seconds)
        self._do("ran", keys=keys, since=since, since_elapsed_s=self.t_s - seconds)

    @rule(told=st.sampled_from([
        ("note", {"text": "weed"}), ("current", {"speed_m_s": 0.3, "towards_deg": 200.0}),
        ("gauge", {"depth_m": 12.0, "temperature_c": 8.0}),
        ("mark", {"what": "snag"}), ("fish seen", {"depth_m": 9.0}),
        ("trip", {"people": 3, "limits": {"coho": 2}}), ("trip", {"target": ["coho"]}),
        ("acknowledge", {"alert": "a1"}),
        ("observed", {"rod": "1", "what": "touched bottom"}), ("observed", {"rod": "2", "what": "touched bottom"}),
    ]))  # fmt: skip
    def said(self, told: tuple[str, dict[str, Any]]) -> None:
        self._do(told[0], **told[1])

    @precondition(lambda self: self.done)
    @rule(data=st.data())
    def noted(self, data: st.DataObject) -> None:
        self._do("noted", of=data.draw(st.sampled_from(self.done)).id, depth_m=11.0, lure="fly")

    @precondition(lambda self: self.done)
    @rule(data=st.data(), outcome=st.sampled_from(["boxed", "freed", "dropped", "no fish"]))
    def outcome(self, data: st.DataObject, outcome: str) -> None:
        self._do("outcome", of=data.draw(st.sampled_from(self.done)).id, outcome=outcome)

    @precondition(lambda self: self.done)
    @rule(data=st.data(), kind=st.sampled_from(["confirm", "doubt", "catch"]))
    def said_of(self, data: st.DataObject, kind: str) -> None:
        more = {"species": "coho"} if kind == "catch" else {}
        self._do(kind, of=data.draw(st.sampled_from(self.done)).id, **more)

    @precondition(lambda self: self.crew.undone)
    @rule(data=st.data())
    def restore(self, data: st.DataObject) -> None:
        self._do("restore", of=data.draw(st.sampled_from(sorted(self.crew.undone))))

    @precondition(lambda self: self.crew.standing)
    @rule(data=st.data())
    def undo_and_redo(self, data: st.DataObject) -> None:
        """One after the other they change nothing."""
        of = data.draw(st.sampled_from(sorted(self.crew.standing)))
        before = without_entries(self.crew)
        self._do("undo", of=of)
        assert of in self.crew.undone
        self._do("restore", of=of)
        after = without_entries(self.crew)
        assert set(after.pop("standing")) == set(before.pop("standing"))
        assert after == before

    @precondition(lambda self: self.crew.standing)
    @rule(data=st.data())
    def undo(self, data: st.DataObject) -> None:
        self._do("undo", of=data.draw(st.sampled_from(sorted(self.crew.standing))))

    @rule(seconds=st.integers(1, 5))
    def sail(self, seconds: int) -> None:
        for _ in range(seconds):
            self.t_s += 1.0
            self.watch.observe(Reading(self.t_s, "boat", Quantity.BOTTOM, 30.0, "DPT"))
            self.watch.advance(self.t_s)

    @rule(spread=st.sampled_from([SPREAD, OTHER_SPREAD]))
    def start_again(self, spread: Spread) -> None:
        """What was done comes from the file; the boat's own may be another one by now, and a rod lost or found."""
        self.book.close()
        self.spread = spread
        self.crew = fold(self.done, Rigging.of(spread))
        self.book = Logbook(self.path)
        self.done = self.book.actions("t")
        self._begin_watch()

    @rule()
    def store_twice(self) -> None:
        """An entry that comes again is not stored again."""
        for action in self.done[-2:]:
            self.book.submit("t", action).result()

    @invariant()
    def all_agree(self) -> None:
        scratch = fold(self.done, Rigging.of(self.spread))
        assert compared(self.crew) == compared(scratch)
        assert self.book.actions("t") == self.done
        seen = [action for action in self.done if action.id in self.watch.crew.entries]
        assert compared(self.watch.crew) == compared(fold(seen, Rigging.of(self.spread)))
        assert all(self.watch.knows(action.id) for action in self.done)

    def teardown(self) -> None:
        if hasattr(self, "book"):
            self.book.close()
            self.folder.cleanup()


TestCrewAtWork = CrewAtWork.TestCase
TestCrewAtWork.settings = settings(max_examples=12, stateful_step_count=25, deadline=None)


class LongCrewAtWork(CrewAtWork):
    """The same for the campaign."""


TestLongCrewAtWork = pytest.mark.campaign(LongCrewAtWork.TestCase)
TestLongCrewAtWork.settings = settings(max_examples=300, stateful_step_count=60, deadline=None)
