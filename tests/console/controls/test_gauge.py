"""A gauge read at a depth, typed at the controls."""

import pytest

from console.controls.test_hits import Table
from sternwatch.watch.picture.model import Session

FOOT = 0.3048


@pytest.fixture
def table():
    return Table()


def test_a_depth_and_the_temperature_there_are_one_entry(table):
    table.press("gauge")
    assert "depth" in table.controls.typing.title
    table.key("6", "0", "enter")
    assert table.controls.typing.title == "TEMPERATURE AT 60 ft"
    table.key("5", "2", "enter")
    assert table.controls.typing is None
    assert table.runner.did() == [("gauge", None)]
    assert table.last.depth_m == pytest.approx(60 * FOOT)
    assert table.last.temperature_c == pytest.approx(20.0 / 1.8)
    assert table.last.speed_m_s is None
    assert table.controls.said.text == "GAUGE  52 °F at 60 ft"
    assert table.controls.ledger.newest().words == "52 °F at 60 ft"


def test_in_the_crews_own_units():
    table = Table(units="metric")
    table.press("gauge")
    table.key("1", "8", ".", "5", "enter", "9", ".", "4", "enter")
    assert (table.last.depth_m, table.last.temperature_c) == (pytest.approx(18.5), pytest.approx(9.4))


def test_tab_takes_the_speed_there_instead_and_back(table):
    table.press("gauge")
    table.key("6", "0", "enter", "1", ".", "9", "tab")
    assert table.controls.typing.title == "SPEED AT 60 ft"
    table.key("tab", "tab", "enter")
    assert table.last.speed_m_s == pytest.approx(1.9 * 0.44704)
    assert table.last.temperature_c is None


@pytest.mark.parametrize("keys", [("escape",), ("6", "0", "escape"), ("6", "0", "enter", "5", "2", "escape")])
def test_escape_drops_it_at_any_point(table, keys):
    table.press("gauge")
    table.key(*keys)
    assert table.controls.typing is None
    assert table.runner.actions == []
    assert "nothing changed" in table.controls.said.text


def test_it_drops_by_itself_when_nobody_types(table):
    table.press("gauge")
    table.key("6", "0", "enter")
    table.controls.tick(table.now + 6.0)
    assert table.controls.typing is None
    assert table.runner.actions == []


def test_what_cannot_be_is_asked_again(table):
    table.press("gauge")
    table.key("9", "9", "9", "9", "enter")
    assert (table.controls.typing.what, table.controls.typing.text) == ("gauge depth", "")
    assert "at most 1600 ft" in table.controls.said.text
    assert table.controls.said.text.startswith("9999 ft")
    table.key("6", "0", "enter", "2", "0", "0", "enter")
    assert (table.controls.typing.what, table.controls.typing.text) == ("gauge temperature", "")
    assert "28 to 104 °F" in table.controls.said.text
    assert table.runner.actions == []


def test_a_late_reading_is_entered_over_a_recording_too():
    table = Table(session=Session.REPLAY)
    table.press("gauge")
    table.key("6", "0", "enter", "5", "2", "enter")
    assert table.runner.did() == [("gauge", None)]
