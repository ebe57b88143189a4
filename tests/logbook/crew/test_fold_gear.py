"""What a plan, a change and a move do to the rods, and how far a line had gone out when a fish took it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest

from sternwatch.logbook.actions.gear_acts import Change, Move
from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import Crew, CrewRod, RodDefaults

Act = Callable[..., Action]
LABELS = ("straight", "low", "high")


@dataclass(frozen=True)
class Rigged:
    """Rods whose rigs change as the acts say: a new rig is one of 12 m without settings."""

    rods: tuple[RodDefaults, ...]

    def changed(self, act: Change | Move) -> Rigged:
        mine = {rod.key: rod for rod in self.rods}
        if isinstance(act, Move):
            here, there = mine[act.rod], mine[act.to]
            mine[act.rod], mine[act.to] = replace(there, key=here.key), replace(here, key=there.key)
        elif act.what == "rig":
            mine[act.rod] = replace(mine[act.rod], line_out_m=12.0, lead_m=4.0, setting=None, settings=())
        elif act.what == "leader":
            mine[act.rod] = replace(mine[act.rod], setting="high", settings=("high",))
        return Rigged(tuple(mine.values()))


@pytest.fixture
def crew(act: Act, rods: tuple[RodDefaults, ...]) -> Callable[..., Crew]:
    """``crew((seconds, kind, rod, fields), ...)``: what so many acts amount to."""

    def made(*acts: tuple[float, str, str | None, dict[str, object]]) -> Crew:
        return fold([act(f"a{k}", t, kind, rod, **more) for k, (t, kind, rod, more) in enumerate(acts)], Rigged(rods))

    return made


def at_s(rod: CrewRod) -> float | None:
    return None if rod.set_at is None else rod.set_at.elapsed_s


def test_a_plan_counts_as_a_change_where_it_changes_a_rod_in_the_water(crew: Callable[..., Crew]) -> None:
    plan = {"rods": [{"rod": "3", "line_out_m": 61.0, "setting": "high"}, {"rod": "5", "line_out_m": 20.0}]}
    out = crew((1, "set", "3", {}), (2, "set", "5", {}), (9, "planned", None, plan))
    assert (out.rods["3"].line_out_m, out.rods["3"].setting, at_s(out.rods["3"])) == (61.0, "high", 9)
    assert (out.rods["5"].line_out_m, at_s(out.rods["5"])) == (20.0, 2), "as it was before"
    assert at_s(crew((9, "planned", None, plan)).rods["3"]) is None, "it is in"
    one = crew((1, "set", "3", {}), (9, "planned", None, {"rods": [{"rod": "3", "setting": "high"}]}))
    assert (one.rods["3"].line_out_m, one.rods["3"].setting) == (50.0, "high")
    wrong = crew((1, "set", "3", {}), (9, "planned", None, {"rods": [{"rod": "3", "setting": "sideways"}]}))
    assert (wrong.rods["3"].setting, at_s(wrong.rods["3"])) == ("low", 1)
    assert "no setting 'sideways'; it has straight, low, high" in wrong.problems[0]
    none = crew((9, "planned", None, {"rods": [{"rod": "9", "line_out_m": 1.0}]}))
    assert none.problems == ("planned a0: no rod '9'; the spread has 1, 3, 5",)


def test_a_new_rig_brings_its_own_lengths_and_setting(crew: Callable[..., Crew]) -> None:
    rig = {"what": "rig", "name": "copper", "chain": [{"line": "copper", "out": 12.0}]}
    out = crew((1, "set", "3", {}), (4, "length", "3", {"line_out_m": 70.0}), (9, "change", "3", rig))
    rod = out.rods["3"]
    assert (rod.line_out_m, rod.lead_m, rod.setting, at_s(rod)) == (12.0, 4.0, None, 9)
    assert rod.rigged_at is not None
    assert rod.rigged_at.elapsed_s == 9
    inside = crew((9, "change", "3", rig)).rods["3"]
    assert (at_s(inside), inside.line_out_m) == (None, 12.0)


def test_another_lure_leaves_lengths_and_setting(crew: Callable[..., Crew]) -> None:
    lure = {"what": "lure", "name": "green spoon"}
    out = crew((1, "set", "3", {}), (4, "length", "3", {"line_out_m": 70.0}), (9, "change", "3", lure))
    rod = out.rods["3"]
    assert (rod.line_out_m, rod.setting, at_s(rod), rod.rigged_at) == (70.0, "low", 9, None)
    unsure = crew((9, "change", "3", lure)).rods["3"]
    assert (at_s(unsure), unsure.setting) == (None, "low")


def test_a_setting_that_the_rig_does_not_have_any_more_becomes_the_rigs(crew: Callable[..., Crew]) -> None:
    leader = {"what": "leader", "name": "long", "chain": [{"line": "mono", "length": 3.0}]}
    assert crew((1, "set", "3", {}), (9, "change", "3", leader)).rods["3"].setting == "high"


def test_a_rig_that_is_moved_takes_its_state_with_it(crew: Callable[..., Crew]) -> None:
    out = crew((1, "set", "3", {}), (4, "length", "3", {"line_out_m": 70.0}), (9, "move", "3", {"to": "1"}))
    there, here = out.rods["1"], out.rods["3"]
    assert (there.key, there.name, there.state, there.line_out_m, there.setting) == (
        "1", "P BOARD", "fishing", 70.0, "low",
    )  # fmt: skip
    assert (here.key, here.name, here.state, here.line_out_m, here.setting) == ("3", "P LOW", "in", 30.0, None)
    assert at_s(there) == 4
    assert {rod.rigged_at.elapsed_s for rod in (here, there) if rod.rigged_at} == {9}


@pytest.mark.parametrize(
    ("kind", "rod", "more", "missing"),
    [
        ("move", "3", {"to": "8"}, "8"),
        ("move", "7", {"to": "3"}, "7"),
        ("move", "7", {"to": "8"}, "7"),
        ("change", "9", {"what": "lure", "name": "green spoon"}, "9"),
    ],
)
def test_what_a_spread_does_not_have_is_said(
    crew: Callable[..., Crew], kind: str, rod: str, more: dict[str, object], missing: str
) -> None:
    out = crew((1, kind, rod, more))
    assert out.problems == (f"{kind} a0: no rod {missing!r}; the spread has 1, 3, 5",)
    assert "a0" not in out.standing


def test_how_long_a_line_had_run_when_a_fish_took_it(crew: Callable[..., Crew]) -> None:
    """By the feed's seconds where both are known, else by the clock."""
    out = crew((10, "going out", "3", {}), (25, "hit", "3", {}))
    assert out.rods["3"].let_out_s == 15.0
    again = crew(
        (10, "going out", "3", {}), (25, "hit", "3", {}), (40, "outcome", None, {"of": "a1", "outcome": "dropped"}),
        (47, "hit", "3", {}),
    )  # fmt: skip
    assert again.rods["3"].let_out_s == 22.0
    assert crew((10, "set", "3", {}), (25, "hit", "3", {})).rods["3"].let_out_s == 0.0


def test_without_the_feeds_seconds_the_clock_tells_it(act: Act, rods: tuple[RodDefaults, ...]) -> None:
    for bare in (("out",), ("hit",), ("out", "hit")):
        acts = [act("out", 10, "going out", "3"), act("hit", 25, "hit", "3")]
        acts = [one.model_copy(update={"elapsed_s": None}) if one.id in bare else one for one in acts]
        assert fold(acts, rods).rods["3"].let_out_s == 15.0
    # The computer's clock was set meanwhile: the feed's own seconds are believed.
    late = act("hit", 25, "hit", "3")
    late = late.model_copy(update={"elapsed_s": 12.0})
    assert fold([act("out", 10, "going out", "3"), late], rods).rods["3"].let_out_s == 2.0
