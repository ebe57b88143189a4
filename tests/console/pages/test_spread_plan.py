"""The planner's page at the controls: what is wanted is typed, a plan comes beside the session, one key enters it."""

from __future__ import annotations

import time
from dataclasses import replace
from pathlib import Path

import fake_picture
import pytest

from console.controls.test_hits import Table
from sternwatch.console.acts import spread_plan
from sternwatch.console.acts import table as effects
from sternwatch.console.pages.spread_plan import page
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.planner.beside_session import SpreadPlanning, question_of

FOOT = 0.3048
US = SYSTEMS["us"]
DEMO = Path(__file__).parents[3] / "demo_logs" / "evening.toml"


def text(lines):
    return "\n".join(" ".join(span[1] for span in line) for line in lines)


@pytest.fixture(scope="module")
def planned():
    """A controls with a plan of three rods that waits."""
    spread = load_spread(DEMO)
    spread = spread.model_copy(update={"rod": tuple(rod for rod in spread.rods if rod.key in "245")})
    picture = fake_picture.straight()
    rods = tuple(rod for rod in picture.rods if rod.key in "245")
    crew = fold((), Rigging.of(spread))
    table = Table(replace(picture, hits=(), alerts=(), rods=rods, crew=crew))
    spread_plan.enter(table.controls, table.now)
    table.key("4", "0", "enter", "8", "0", "enter", "enter")
    until = time.monotonic() + 600.0  # the solver may have to be compiled first
    while table.controls.planning_spread.busy and time.monotonic() < until:
        time.sleep(0.05)
    yield table
    table.controls.planning_spread.stop()


def test_depths_and_time_are_typed_and_the_plan_stands_beside_what_there_is(planned: Table) -> None:
    proposal = planned.controls.planning_spread.newest
    assert proposal is not None, planned.controls.planning_spread.trouble
    asked = proposal.question
    assert (asked.from_m, asked.to_m, asked.u_turn_s) == (pytest.approx(40 * FOOT), pytest.approx(80 * FOOT), 120.0)
    assert asked.speed_m_s == planned.controls.picture.own.speed_mean_m_s, "her own speed, while she trolls"
    shown = text(page(planned.controls.planning_spread, US, 100))
    for rod in proposal.plan.rods:
        assert f"{rod.key} {rod.name}" in shown
        assert f"{rod.line_out_m / FOOT:.0f}" in shown
    assert "165" in shown, "and what P HIGH has now"
    assert "Let out in this order" in shown
    assert "Not for navigation" in shown


def test_the_views_show_it_dotted_while_it_waits(planned: Table) -> None:
    drawn = spread_plan.drawn(planned.controls)
    assert drawn is not None
    assert sorted(drawn.worst_shapes_m) == ["2", "4", "5"]
    plan = planned.controls.planning_spread.newest.plan
    for rod in plan.rods:
        shape = drawn.worst_shapes_m[rod.key]
        # One member is drawn, and the plan tells of the middle of all: a few hundredths of the depth apart.
        assert shape[-1, 2] == pytest.approx(rod.depth_m, rel=0.03)
        assert shape[-1, 1] == pytest.approx(rod.abeam_m, abs=0.6)


def test_one_key_enters_it_as_one_entry_and_the_list_stays(planned: Table) -> None:
    controls, plan = planned.controls, planned.controls.planning_spread.newest.plan
    spread_plan.enter(controls, planned.now)
    assert planned.runner.did() == [("planned", None)]
    crew = apply(controls.picture.crew, planned.last)
    for rod in plan.rods:
        assert crew.rods[rod.key].line_out_m == pytest.approx(rod.line_out_m)
        assert crew.rods[rod.key].setting == rod.setting
    assert controls.ledger.newest().words == "rods 2 4 5 as planned"
    assert spread_plan.drawn(controls) is None
    assert "ENTERED" in text(page(controls.planning_spread, US, 100))


def test_what_cannot_be_is_said_and_asked_again() -> None:
    table = Table()
    spread_plan.ask(table.controls, table.now)
    table.key("9", "9", "9", "9", "enter")
    assert "at most" in table.controls.said.text
    table.key("8", "0", "enter", "4", "0", "enter")
    assert "shallower" in table.controls.said.text
    table.key("9", "0", "enter", "backspace", "9", "9", "enter")
    assert "99 min will not do: type 0.3 to 10 min" in table.controls.said.text
    table.key("2", "enter")
    assert "not known" in table.controls.said.text, "this picture has no crew"
    assert not table.controls.planning_spread.busy
    assert effects.typed(table.controls, "x", table.now) is False


def test_a_plan_of_other_rigs_is_not_entered() -> None:
    table = Table()
    table.controls.planning_spread = _Ready(load_spread(DEMO))
    table.show(crew=fold((), Rigging.of(load_spread(DEMO))))
    spread_plan.enter(table.controls, table.now)
    assert "changed since" in table.controls.said.text
    assert table.runner.did() == []


class _Ready(SpreadPlanning):
    """A proposal of another moment's spread."""

    def __init__(self, spread) -> None:
        super().__init__()
        picture = replace(fake_picture.straight(), crew=fold((), Rigging.of(spread)))
        self.question = question_of(picture, 12.0, 24.0, 120.0, 0.6)

    @property
    def newest(self):
        return self

    @property
    def proposal(self):
        return self
