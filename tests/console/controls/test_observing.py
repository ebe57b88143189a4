"""What is seen or felt of the chosen rod, at the controls: one key for a touch, numbers for the rest."""

from dataclasses import replace

import pytest

from console.controls.test_hits import Table
from sternwatch.answers.belief.observations import Observation, What
from sternwatch.gear.values.units import POUND_KG, STANDARD_GRAVITY_M_S2

FOOT = 0.3048


@pytest.fixture
def table():
    return Table()


def choose(table, rig):
    rod, *others = table.controls.picture.rods
    table.show(rods=(replace(rod, rig=rig), *others))
    table.controls.chosen = rod.key
    return rod


def test_a_touch_is_one_key(table):
    rod = choose(table, "diver")
    table.press("touched")
    assert table.runner.did() == [("observed", rod.key)]
    assert (table.last.what, table.last.depth_m, table.last.at) == ("touched bottom", None, None)
    assert table.controls.said.text == f"TOUCHED BOTTOM  {rod.key} {rod.name}"
    assert table.controls.ledger.newest().words == f"{rod.key} {rod.name} touched bottom"


def test_the_ball_on_the_sounder_and_tab_for_the_lure(table):
    rod = choose(table, "ball")
    table.press("observed seen on sounder")
    assert table.controls.typing.title == f"BALL OF {rod.key} {rod.name} ON THE SOUNDER: at what depth?"
    table.key("5", "2", "enter")
    assert (table.last.at, table.last.depth_m) == ("ball", pytest.approx(52 * FOOT))
    table.press("observed seen on sounder")
    table.key("5", "2", "tab")
    assert table.controls.typing.title.startswith("LURE OF")
    table.key("enter")
    assert table.last.at == "lure"


def test_angles_stay_in_degrees_and_a_pull_becomes_newtons(table):
    choose(table, "diver")
    table.press("observed entry angle")
    table.key("2", "2", "enter")
    assert table.last.angle_deg == 22.0
    table.press("observed pull")
    table.key("4", "enter")
    assert table.last.pull_N == pytest.approx(4 * POUND_KG * STANDARD_GRAVITY_M_S2)


@pytest.mark.parametrize(
    ("act", "keys", "said"),
    [
        ("observed entry angle", "95", "95 ° will not do: type at most 90 °"),
        ("observed pull", "0", "0 lb will not do: type more than 0, and at most 1100 lb"),
        ("observed logger", "9999", "9999 ft will not do: type at most"),
    ],
)
def test_what_cannot_be_is_refused_in_words(table, act, keys, said):
    choose(table, "diver")
    table.press(act)
    table.key(*keys, "enter")
    assert table.runner.did() == []
    assert table.controls.said.text.startswith(said)
    assert table.controls.typing is not None


def test_a_rod_without_a_cable_has_no_cable_angle(table):
    rod = choose(table, "diver")
    table.press("observed cable angle")
    assert table.controls.typing is None
    assert table.controls.said.text == f"{rod.key} {rod.name} has no ball on a cable"


def test_what_cannot_inform_is_told_as_soon_as_it_is_known(table):
    rod = choose(table, "diver")
    table.press("touched")
    entry = table.controls.said.id
    one = Observation(entry, rod.key, What.DEPTH, 20.0, 1.0, None, "touched bottom", why="no speed was known")
    table.show(observations=(one,))
    assert table.controls.said.text.endswith("kept, not used: no speed was known")
