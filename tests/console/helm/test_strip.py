"""The strip on top and the alerts area."""

from __future__ import annotations

from dataclasses import replace

import fake_picture
import pytest
from painted import paint, settled

from sternwatch.console.frame.alerts_area import AlertsArea
from sternwatch.console.helm.strip import TopStrip, cells
from sternwatch.console.paint.canvas import Grid, ink_id
from sternwatch.feed.readings import Quantity, SensorState, SensorValue
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import DepthSpeed, Picture, SpeedSource

pytestmark = pytest.mark.usefixtures("at_rest")


def strip(picture: Picture, width: int = 120, **kwargs: object) -> Grid:
    return paint(TopStrip, picture, (width, 3), **kwargs)


def alerts(picture: Picture, width: int = 120, height: int = 5) -> Grid:
    return paint(AlertsArea, picture, (width, height))


def cell(picture: Picture, label: str) -> tuple[str, str, str, str]:
    found = next(c for c in cells(picture, SYSTEMS["us"]) if c.label == label)
    return found.value, found.value_ink, found.source[0], found.source_ink


# -- speed -----------------------------------------------------------------------------------------------------


def test_the_speed_that_drives_the_depths_is_named() -> None:
    text = strip(fake_picture.straight()).text()
    assert "mph through water" in text
    assert "(1.9–2.7) last minute" in text
    assert "depths use VHW 1s" in text


def test_over_ground_is_said_to_stand_in_for_through_water() -> None:
    picture = fake_picture.straight()
    picture = replace(picture, own=replace(picture.own, speed_source=SpeedSource.OVER_GROUND))
    rows = strip(picture).text().splitlines()
    assert "mph over ground" in rows[0]
    assert "no STW: depths use RMC 1s" in rows[2]
    assert "THROUGH WATER" in rows[0]
    assert "OVER GROUND" not in rows[0]


def test_no_speed_says_why() -> None:
    text = " ".join(strip(fake_picture.no_feed()).text().split())
    assert "no speed" in text
    assert "0:00:30" in text
    assert "since start" in text
    assert "2.3" not in text


@pytest.mark.parametrize(("units", "unit"), [("us", "mph"), ("metric", "km/h"), ("knots", "kn")])
def test_speed_in_the_crews_unit(units: str, unit: str) -> None:
    assert f"{unit} through water" in strip(fake_picture.straight(), units=SYSTEMS[units]).text()


# -- sensors ---------------------------------------------------------------------------------------------------


def test_each_sensor_has_value_source_and_age() -> None:
    picture = fake_picture.straight()
    assert cell(picture, "SURFACE") == ("64.0 °F", "number", "sounder MTW 2s", "label")
    assert cell(picture, "BOTTOM") == ("112 ft", "number", "sounder DPT 1s", "label")
    assert cell(picture, "COURSE") == ("274°", "number", "gps RMC 1s", "label")
    assert cell(picture, "POSITION")[0] == "47°18.60′N 091°01.20′W"


def test_the_three_states_of_a_sensor_and_the_one_before() -> None:
    old = 17.8
    state = {
        name: SensorValue(Quantity.WATER_TEMPERATURE, SensorState(name), None if name == "never" else old, 61.0, "s")
        for name in ("none", "silent", "never")
    }
    shown = {
        name: cell(replace(fake_picture.straight(), sensors=fake_picture.sensors(water_temperature=value)), "SURFACE")
        for name, value in state.items()
    }
    assert shown["none"] == ("64.0 °F", "old", "s no value 1m", "caution")
    assert shown["silent"] == ("64.0 °F", "old", "s silent 1m", "caution")
    assert shown["never"] == ("–", "unknown", "never heard", "label")


def test_a_suspect_value_is_shown_as_suspect() -> None:
    doubted = SensorValue(Quantity.BOTTOM, SensorState.FRESH, 9.0, 0.5, "sounder", "DPT", "jumped 80 ft")
    value, ink, source, _ = cell(
        replace(fake_picture.straight(), sensors=fake_picture.sensors(bottom=doubted)), "BOTTOM"
    )
    assert (value, ink, source) == ("30 ft ?", "caution", "? jumped 80 ft")


def test_sensors_that_few_boats_have_stand_only_when_heard() -> None:
    labels = [c.label for c in cells(fake_picture.straight(), SYSTEMS["us"])]
    assert "TURN" not in labels
    turning = SensorValue(Quantity.RATE_OF_TURN, SensorState.FRESH, -0.5, 0.2, "compass", "ROT")
    picture = replace(fake_picture.straight(), sensors=fake_picture.sensors(rate_of_turn=turning))
    assert cell(picture, "TURN")[0] == "30°/min P"


def test_positions_round_without_sixty_minutes() -> None:
    at = SensorValue(Quantity.POSITION, SensorState.FRESH, (46.99999, 0.0), 0.2, "gps", "RMC")
    picture = replace(fake_picture.straight(), sensors=fake_picture.sensors(position=at))
    assert cell(picture, "POSITION")[0] == "47°00.00′N 000°00.00′E"


@pytest.mark.parametrize("width", [60, 80, 99, 100, 120, 160, 200])
@pytest.mark.parametrize("case", sorted(fake_picture.CASES))
def test_the_strip_fits_and_nothing_runs_into_the_clock(width: int, case: str) -> None:
    picture = fake_picture.CASES[case]()
    rows = strip(picture, width).text().splitlines()
    assert all(len(row) <= width for row in rows)
    assert rows[1].rstrip().endswith("22:00:00" if picture.utc_s is not None else "0:00:30")
    if width >= 80:
        assert "BOTTOM" in rows[0]


# -- alerts ----------------------------------------------------------------------------------------------------


def test_nothing_raised_is_not_called_safe() -> None:
    text = alerts(fake_picture.straight()).text().strip()
    assert text == "No alert raised."


def test_the_worst_is_an_inverse_line_over_the_full_width() -> None:
    grid = alerts(fake_picture.troubled())
    assert set(grid.inks[0].tolist()) == {ink_id("alarm band")}
    rows = grid.text().splitlines()
    assert rows[0].startswith(" ALARM    Entries cannot be saved: disk full.   → Free space on the disk")
    assert [row.split()[0] for row in rows] == ["ALARM", "WARNING", "CAUTION", "CAUTION", "CAUTION"]


def test_advice_stands_beside_its_alert_in_one_column() -> None:
    rows = alerts(fake_picture.troubled()).text().splitlines()
    assert len({row.index("→") for row in rows if "→" in row}) == 1


def test_a_long_alert_keeps_its_words_and_takes_a_second_line() -> None:
    rows = alerts(fake_picture.troubled(), 80, 3).text().splitlines()
    assert "Entries cannot be saved: disk full." in rows[0]
    assert rows[1].strip().startswith("→ Free space on the disk; entries are kept in memory until then.")
    assert rows[2].startswith(" WARNING")
    assert rows[2].endswith("Look at the feed: depths are from before.")
    assert rows[0].endswith("+3 more"), "where it cuts nothing"


def test_an_acknowledged_alert_is_no_longer_inverse() -> None:
    picture = fake_picture.turning()
    seen = replace(picture, alerts=tuple(replace(a, state=AlertState.ACKNOWLEDGED) for a in picture.alerts))
    grid = alerts(seen)
    assert "acknowledged" in grid.text()
    assert ink_id("warning band") not in set(grid.inks[0].tolist())


def test_how_long_is_left_is_said() -> None:
    assert alerts(fake_picture.turning()).text().splitlines()[0].endswith("in 40 s")


def test_keys_stand_before_a_text_that_does_not_begin_with_one() -> None:
    alert = Alert("a", "slack", Priority.CAUTION, AlertState.ACTIVE, ("7",), "Diver slack.")
    assert "7  Diver slack." in alerts(replace(fake_picture.straight(), alerts=(alert,))).text()


def test_alert_texts_are_never_markup() -> None:
    alert = Alert("a", "x", Priority.CAUTION, AlertState.ACTIVE, (), "[bold]deep[/bold]", "[red]do[/red]")
    text = alerts(replace(fake_picture.straight(), alerts=(alert,))).text()
    assert "[bold]deep[/bold]" in text
    assert "[red]do[/red]" in text


async def test_the_views_stay_where_they_are_when_one_alert_comes() -> None:
    async with settled(fake_picture.straight(), (120, 36)) as pilot:
        views = pilot.app.query_one("#views")
        before = views.region
        pilot.app.show(fake_picture.turning())  # type: ignore[attr-defined]
        await pilot.pause()
        assert views.region == before


async def test_a_narrower_terminal_gives_an_alert_its_rows_before_another_picture_comes() -> None:
    long = Alert(
        "a", "x", Priority.WARNING, AlertState.ACTIVE, (), " ".join(["wide"] * 18), " ".join(["do this"] * 9)
    )
    async with settled(replace(fake_picture.straight(), alerts=(long,)), (190, 36)) as pilot:
        area = pilot.app.query_one(AlertsArea)
        assert area.size.height == 1
        await pilot.resize_terminal(100, 36)
        await pilot.pause()
        assert area.size.height == 2


# -- below the surface -----------------------------------------------------------------------------------------


def probe(picture: Picture, **values: float) -> Picture:
    told = {
        name: SensorValue(Quantity(name), SensorState.FRESH, v, 2.0, "probe", "XDR") for name, v in values.items()
    }
    return replace(picture, sensors=fake_picture.sensors(**told))


def test_a_probes_speed_and_temperature_stand_apart_from_the_boats() -> None:
    picture = probe(fake_picture.straight(), probe_speed=0.85, probe_temperature=9.0)
    assert cell(picture, "SPEED AT PROBE")[:2] == ("1.9 mph", "number")
    assert cell(picture, "TEMP AT PROBE")[0] == "48.2 °F"
    deep = probe(fake_picture.straight(), probe_speed=0.85, probe_depth=20.0)
    assert cell(deep, "SPEED AT 66 ft")[0] == "1.9 mph"
    assert "OVER GROUND" in strip(deep).text()
    assert not [c for c in cells(fake_picture.straight(), SYSTEMS["us"]) if "PROBE" in c.label]


def test_a_speed_read_off_a_gauge_is_told_as_what_it_was() -> None:
    picture = fake_picture.straight()
    picture = replace(picture, depth_speed=DepthSpeed(0.85, 18.288, picture.t_s - 240.0))
    assert cell(picture, "SPEED AT 60 ft")[:3] == ("1.9 mph", "old", "gauge, 4m ago")


def test_the_zone_tells_which_rods_are_in_it() -> None:
    picture = replace(fake_picture.straight(), zone_c=(7.8, 13.3), zone_name="coho")
    keys = [rod.key for rod in picture.rods if rod.in_zone]
    assert 0 < len(keys) < len(picture.rods)
    value, _, source, _ = cell(picture, "ZONE coho")
    assert (value, source) == ("46–56 °F", f"in it {' '.join(keys)}")
    unknown = replace(fake_picture.cold(), zone_c=(7.8, 13.3), zone_name="coho")
    assert cell(unknown, "ZONE coho")[2] == "no rod's known"
    outside = replace(picture, rods=tuple(replace(rod, in_zone=False) for rod in picture.rods))
    assert cell(outside, "ZONE coho")[2] == "no rod in it"
    assert not [c for c in cells(fake_picture.cold(), SYSTEMS["us"]) if c.label.startswith("ZONE")]


@pytest.mark.parametrize("state", [SensorState.NONE, SensorState.SILENT])
def test_a_lost_bottom_is_said_and_the_last_number_is_not_shown(state: SensorState) -> None:
    picture = fake_picture.straight()
    read = SensorValue(Quantity.BOTTOM, state, 95.1, 4.0, "sounder", "DPT")
    found = cell(replace(picture, sensors={**picture.sensors, Quantity.BOTTOM: read}), "BOTTOM")
    assert found[:2] == ("lost", "caution")
    assert "312" not in "".join(found)
