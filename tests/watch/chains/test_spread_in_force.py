"""Changes of gear on the water: the crew after them, chains, samples and hits, live as in a replay."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.local_time import BoatTime
from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.logbook.crew.state import Crew
from sternwatch.logbook.crew.words import describe
from sternwatch.watch.chains.spread_in_force import Rigging, spread_of
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.snapshot import Casting, snapshot
from sternwatch.watch.picture.model import Picture, SolverState

Exactly = Callable[[Picture], str]
BEGIN_UNIX_S = 1_784_000_000.0
RED = {"kind": "lure", "form": "spoon", "colour": "red"}
SPOON = [{"line": "mono", "length": "30 m", "adjust": True}, {"tackle": "fly"}]


def act(action_id: str, t_s: float, kind: str, rod: str | None = None, **fields: Any) -> Action:
    time = datetime.fromtimestamp(BEGIN_UNIX_S, UTC) + timedelta(seconds=t_s)
    given = {"id": action_id, "time": time, "elapsed_s": t_s, "kind": kind, **fields}
    return parse(given if rod is None else given | {"rod": rod})


def lure_of(crew: Crew, key: str) -> str:
    rod = spread_of(crew, None).rod_by_key(key)  # type: ignore[arg-type]
    assert rod is not None
    return rod.chain[-1].tackle  # type: ignore[union-attr]


# -- the crew ------------------------------------------------------------------------------------------------------


def test_a_lure_is_changed_taken_back_and_put_back(two_rods: Spread) -> None:
    red = act("c", 10, "change", "1", what="lure", name="red", tackle={"red": RED})
    crew = fold([red], Rigging.of(two_rods))
    assert lure_of(crew, "1") == "red"
    assert describe(red, crew, BoatTime(0)).startswith("1 DIVER lure red")
    changed = crew.gear
    crew = apply(crew, act("u", 20, "undo", of="c"))
    assert lure_of(crew, "1") == "fly"
    assert crew.gear is crew.filed
    crew = apply(crew, act("y", 30, "restore", of="c"))
    assert crew.gear is changed, "the very same spread, so that nothing that is told by it starts anew"


def test_another_rig_brings_its_own_lengths_and_setting(two_rods: Spread) -> None:
    chain = [{"line": "wire", "out": "44 m"}, {"tackle": "disc", "setting": "low"}, {"line": "mono", "length": "2 m"}]
    crew = fold(
        [
            act("l", 1, "length", "1", line_out_m=20.0),
            act("s", 2, "set", "1"),
            act("c", 10, "change", "1", what="rig", name="short", chain=[*chain, {"tackle": "fly"}]),
        ],
        Rigging.of(two_rods),
    )
    rod = crew.rods["1"]
    assert (rod.line_out_m, rod.setting, rod.state) == (44.0, "low", "fishing")
    assert rod.rigged_at is not None
    assert rod.set_at == rod.rigged_at


def test_a_setting_that_the_new_rig_lacks_is_a_problem_and_changes_nothing(two_rods: Spread) -> None:
    chain = [{"line": "wire", "out": "44 m"}, {"tackle": "fly"}]
    crew = fold([act("c", 10, "change", "1", what="rig", name="bare", chain=chain)], Rigging.of(two_rods))
    assert crew.rods["1"].setting is None
    crew = apply(crew, act("s", 20, "setting", "1", setting="high"))
    assert "has no setting 'high'" in crew.problems[-1]
    assert crew.rods["1"].setting is None


@pytest.mark.parametrize(
    ("kind", "rod", "fields", "said"),
    [
        ("change", "1", {"what": "lure", "name": "nosuch"}, 'no lure "nosuch"'),
        ("change", "7", {"what": "lure", "name": "fly"}, "no rod '7'"),
        ("move", "1", {"to": "2"}, "ball and cable stay"),
        ("move", "1", {"to": "9"}, "no rod '9'"),
    ],
)
def test_a_change_that_cannot_be_is_a_problem_and_nothing_for_undo(
    two_rods: Spread, kind: str, rod: str, fields: dict[str, Any], said: str
) -> None:
    crew = fold([act("n", 1, "note", text="x"), act("c", 10, kind, rod, **fields)], Rigging.of(two_rods))
    assert said in crew.problems[-1]
    assert crew.gear is crew.filed
    assert crew.newest is not None
    assert crew.newest.id == "n"


def test_without_a_spread_nothing_can_be_changed(two_rods: Spread) -> None:
    crew = fold([act("c", 10, "move", "1", to="2")], Rigging.of(two_rods).rods)
    assert "not known" in crew.problems[-1]


def test_rigs_change_places_with_their_lengths_and_the_fish_on_them(spread: Spread) -> None:
    crew = fold(
        [
            act("a", 1, "set", "1"),
            act("b", 2, "length", "1", line_out_m=33.0),
            act("h", 5, "hit", "1"),
            act("x", 9, "move", "2", to="1"),  # the next board is carried outward while the fish is fought
        ],
        Rigging.of(spread),
    )
    assert (crew.rods["2"].state, crew.rods["2"].line_out_m, crew.rods["2"].name) == ("fighting", 33.0, "P HIGH")
    assert (crew.rods["1"].state, crew.rods["1"].setting) == ("in", "high")
    crew = apply(crew, act("o", 20, "outcome", of="h", outcome="boxed"))
    assert crew.rods["2"].state == "in", "the fish came in with the rig that caught it"
    assert crew.hits[0].rod == "1", "and struck where it struck"
    assert crew.last_hit("1") is not None


def test_a_plan_is_one_entry_for_all_its_rods(spread: Spread) -> None:
    plan = act(
        "p", 5, "planned", rods=[{"rod": "2", "line_out_m": 40.0, "setting": "low"}, {"rod": "4", "line_out_m": 18.0}]
    )
    crew = fold([act("s", 1, "set", "2"), plan], Rigging.of(spread))
    assert (crew.rods["2"].line_out_m, crew.rods["2"].setting) == (40.0, "low")
    assert crew.rods["2"].set_at is not None
    assert crew.rods["2"].set_at.elapsed_s == 5
    assert (crew.rods["4"].line_out_m, crew.rods["4"].set_at) == (18.0, None)
    crew = apply(crew, act("u", 9, "undo", of="p"))
    assert (crew.rods["2"].setting, crew.rods["4"].line_out_m) == ("high", spread.rods[3].line_out_m)


# -- the watch -----------------------------------------------------------------------------------------------------


def _watch(spread: Spread, feed_type: Any) -> tuple[Watch, Any]:
    watch = new_watch(Setup(spread, start="fishing", members=12))
    return watch, feed_type(watch)


def test_the_chain_of_a_changed_rod_starts_anew_and_the_others_go_on(two_rods: Spread, hand_feed: Any) -> None:
    watch, feed = _watch(two_rods, hand_feed)
    feed.run(90)
    before = {rod.key: rod for rod in watch.picture().rods}
    assert before["1"].solver is SolverState.SETTLED
    towed = watch.chains["2"].towed_m
    watch.act(act("c", feed.t_s + 0.5, "change", "1", what="lure", name="red", tackle={"red": RED}))
    feed.run(2)
    after = {rod.key: rod for rod in watch.picture().rods}
    assert after["1"].solver is SolverState.UNSETTLED
    assert [point.what for point in after["1"].points] == ["disc", "red"]
    assert after["1"].depth_m is not None
    assert after["1"].depth_m != before["1"].depth_m
    assert watch.chains["2"].towed_m > towed
    assert after["2"].solver is SolverState.SETTLED


def test_the_outlook_casts_the_new_rig(two_rods: Spread, hand_feed: Any) -> None:
    watch, feed = _watch(two_rods, hand_feed)
    feed.run(30)
    casting = Casting()
    first, now = casting.fleet(_known(snapshot(watch))), snapshot(watch)
    assert casting.fleet(_known(now)).cast.rigs is first.cast.rigs
    watch.act(act("c", feed.t_s + 0.5, "change", "2", what="lure", name="red", tackle={"red": RED}))
    feed.run(2)
    cast = casting.fleet(_known(snapshot(watch))).cast
    assert cast.rigs[1].what == ("ball", "red")


def _known(found: Any) -> Any:
    assert found is not None
    return found


def test_samples_and_hits_say_what_was_on_the_rod_then(two_rods: Spread, hand_feed: Any) -> None:
    watch, feed = _watch(two_rods, hand_feed)
    feed.run(60)
    watch.act(act("h1", feed.t_s + 0.2, "hit", "1"))
    watch.act(act("d1", feed.t_s + 0.4, "outcome", of="h1", outcome="dropped"))
    watch.act(act("c", feed.t_s + 0.6, "change", "1", what="lure", name="red", tackle={"red": RED}))
    feed.run(60)
    watch.act(act("h2", feed.t_s + 0.2, "hit", "1"))
    feed.run(60)
    lures = [row.rig.lure for sample in watch.memory.fishing.since() for row in sample.rods if row.rig.rod == "1"]
    assert set(lures) == {"fly", "red"}
    assert lures == sorted(lures), "first the one, then the other"
    hits = {row.id: row for row in watch.memory.hits.rows}
    assert hits["h1"].rod_row is not None
    assert hits["h2"].rod_row is not None
    assert (hits["h1"].rod_row.rig.lure, hits["h2"].rod_row.rig.lure) == ("fly", "red")
    assert (hits["h2"].rod_row.rig.colour, hits["h2"].chain[-1]["tackle"]) == ("red", "red")


EVENING_CHANGES: tuple[tuple[float, str, str | None, dict[str, Any]], ...] = (
    (110.2, "change", "3", {"what": "lure", "name": "red", "tackle": {"red": RED}}),
    (120.4, "move", "1", {"to": "8"}),
    (130.6, "change", "4", {"what": "leader", "name": "short", "chain": [{"tackle": "fly"}]}),
    (140.9, "undo", None, {"of": "g1"}),
    (152.0, "restore", None, {"of": "g1"}),
)


@pytest.fixture(scope="module")
def changed_evening(make_player: Callable[[], Player]) -> Callable[[], Player]:
    """The demo's evening with changes of gear in it."""

    def make() -> Player:
        player = make_player()
        offset = player.recording.start_utc
        assert offset is not None
        for number, (t_s, kind, rod, fields) in enumerate(EVENING_CHANGES):
            given = {"id": f"g{number}", "time": datetime.fromtimestamp(offset + t_s, UTC), "elapsed_s": t_s}
            given |= {"kind": kind, **fields} | ({} if rod is None else {"rod": rod})
            player.actions.append(parse(given))
        player.rewind()
        return player

    return make


UNTIL_S = 180.0


def test_pictures_of_a_changed_spread_are_the_same_however_they_are_reached(
    changed_evening: Callable[[], Player], exactly: Exactly
) -> None:
    straight: dict[float, str] = {}
    player = changed_evening()
    player.to(UNTIL_S, lambda p: straight.__setitem__(p.t_s, exactly(p)))
    picture = player.watch.picture()
    rods = {rod.key: rod for rod in picture.rods}
    assert rods["3"].points[-1].what == "red"
    assert rods["8"].rig == "board", "the changes count"
    other = changed_evening()
    stepped: dict[float, str] = {}
    kept = None
    while other.t_s < UNTIL_S:
        other.to(other.t_s + 1.7, lambda p: stepped.__setitem__(p.t_s, exactly(p)))
        if kept is None and other.t_s > 135.0:
            kept = other.checkpoint()  # between an entry and its taking back
    assert kept is not None
    assert {t: stepped[t] for t in straight} == straight
    again: dict[float, str] = {}
    player.restore(kept)
    player.to(UNTIL_S, lambda p: again.__setitem__(p.t_s, exactly(p)))
    assert len(again) > 40
    assert again == {t: straight[t] for t in again}
