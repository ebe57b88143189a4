"""What the rods say, in columns and in rows."""

from __future__ import annotations

from dataclasses import replace

import fake_picture
import pytest
from painted import paint, settled

from sternwatch.console.helm.rods import RodBoard
from sternwatch.console.paint import digits
from sternwatch.console.paint.canvas import Grid, ink_id
from sternwatch.console.words import rods as words
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.picture.alert import AlertState, Priority
from sternwatch.watch.picture.model import Picture, RodState, SolverState

US, METRIC = SYSTEMS["us"], SYSTEMS["metric"]
PLAIN, FINE = words.SIGNS["plain"], words.SIGNS["braille"]
FOOT = 0.3048


def board(picture: Picture, width: int = 120, height: int = 15, **kwargs: object) -> Grid:
    return paint(RodBoard, picture, (width, height), **kwargs)


def ink_at(grid: Grid, text: str) -> int:
    for y, row in enumerate(grid.text().splitlines()):
        if text in row:
            return int(grid.inks[y, row.index(text)])
    raise AssertionError(f"{text!r} is not on the board:\n{grid.text()}")


def test_units_are_the_crews_and_unknown_is_a_dash() -> None:
    assert words.length(18.4, US) == "60"
    assert words.length(18.4, METRIC) == "18.5"
    assert words.length(None, US) == "–"
    assert words.length(-0.01, US) == "0"
    assert words.speed(2.3 * 0.44704, US) == "2.3"
    assert words.speed(1.0, METRIC) == "3.6"
    assert words.speed(None, US) == "–"
    assert words.temperature(10.0, US) == "50"
    assert words.temperature(10.04, METRIC) == "10.0"


def test_an_interval_is_told_from_end_to_end_rounded_outward() -> None:
    rod = fake_picture.rods()[2]
    known = replace(rod, depth_m=20.0, depth_interval_m=(15.3, 21.2))
    assert words.interval(known, METRIC) == "15–22"
    assert words.interval(known, US) == "50–70"
    assert words.interval(replace(known, depth_interval_m=(15.0, 21.0)), METRIC) == "15–21"
    assert words.interval(replace(known, depth_interval_m=(-0.2, 1.0)), METRIC) == "0–1", "nothing swims above water"
    assert words.interval(replace(known, depth_interval_m=None), METRIC) == "–"
    assert words.interval(replace(known, depth_m=None), METRIC) == "–"


def test_the_zone_is_told_in_the_crews_unit() -> None:
    picture = replace(fake_picture.straight(), zone_c=(7.8, 13.3))
    assert words.zone(picture, US) == "46–56 °F"
    assert words.zone(picture, METRIC) == "7.8–13.3 °C"
    assert words.zone(replace(picture, zone_c=(10.0, 14.0)), METRIC) == "10–14 °C"
    assert words.zone(replace(picture, zone_c=None), US) == ""


@pytest.mark.parametrize("size", [(80, 10), (120, 16)])
def test_the_board_says_what_its_zone_mark_means(size: tuple[int, int]) -> None:
    picture = replace(fake_picture.straight(), zone_c=(7.8, 13.3))
    assert "◆ 46–56 °F" in paint(RodBoard, picture, size).text()
    without = paint(RodBoard, replace(picture, zone_c=None), size).text()
    assert "46–56" not in without
    assert "°F" in without


def test_rising_and_sinking_only_beyond_a_foot_in_ten_seconds() -> None:
    rod = fake_picture.rods()[2]
    assert words.trend(replace(rod, depth_change_10s_m=0.30), FINE) == ("",)
    assert words.trend(replace(rod, depth_change_10s_m=0.31), FINE) == ("▼ sinking", "▼")
    assert words.trend(replace(rod, depth_change_10s_m=-0.31), FINE) == ("▲ rising", "▲")
    assert words.trend(replace(rod, depth_change_10s_m=None), FINE) == ("",)


@pytest.mark.parametrize(("seconds", "text"), [(0, "0s"), (59.9, "59s"), (60, "1m"), (3599, "59m"), (3900, "1h05")])
def test_times_since(seconds: float, text: str) -> None:
    assert words.ago(seconds) == text


def test_rods_stand_across_the_stern_by_side_then_by_their_keys() -> None:
    rods = fake_picture.many(12).rods
    order = [rod.key for rod in words.across_stern(rods)]
    assert order == ["1", "2", "3", "4", "0", "9", "5", "6", "7", "8", "-", "="]
    assert [rod.key for rod in words.across_stern(rods, mirrored=True)] == order[::-1]
    # A tip further in than its station changes nothing: the number row is the stern.
    inward = fake_picture.changed(fake_picture.straight(), "1", tip_abeam_m=-1.0)
    assert [rod.key for rod in words.across_stern(inward.rods)] == list("12345678")


@pytest.mark.parametrize("width", [100, 108, 111, 112, 119, 120, 132, 160, 200])
@pytest.mark.parametrize("count", [8, 9, 10, 12])
def test_no_name_is_cut_and_every_key_stands_apart_from_it(count: int, width: int) -> None:
    picture = fake_picture.many(count)
    grid = board(picture, width, 16)
    rows = grid.text().splitlines()
    tabs = [[grid.inks[y, x] in (ink_id("name"), ink_id("chosen")) for x in range(width)] for y in (1, 2)]
    words_of = [
        "".join(sign if tab else "|" for sign, tab in zip(rows[y].ljust(width), tabs[y - 1], strict=True))
        for y in (1, 2)
    ]
    parts = [[part.strip() for part in line.split("|") if part.strip()] for line in words_of]
    across = words.across_stern(picture.rods)
    seen = [" ".join(lines) for lines in zip(*parts, strict=True)] if parts[1] else parts[0]
    assert seen == [f"{rod.key} {rod.name}" for rod in across]


def test_columns_too_narrow_for_a_gutter_have_their_rows_named_beneath() -> None:
    picture = fake_picture.many(12)
    four, five = (board(picture, 100, height).text().splitlines()[-1].rstrip() for height in (14, 15))
    assert four == " Rows: depth ft, 90 % within, line out ft, temp, ◆ 47–55 °F, bottom, next ft, hits, checked"
    assert five == " Rows: depth ft, 90 % within, line ft, lure mph, ◆ 47–55 °F, ↓bottom ↔next, hits, chk"
    assert "Rows:" not in board(picture, 120, 15).text()


async def test_the_board_asks_for_a_row_more_where_keys_stand_above_names() -> None:
    for count, rows in ((10, 13), (12, 14)):
        async with settled(fake_picture.many(count), (120, 36)) as pilot:
            assert pilot.app.query_one(RodBoard).size.height == rows


def test_columns_name_port_and_starboard_by_place() -> None:
    top = board(fake_picture.straight()).text().splitlines()
    assert top[0].index("PORT") < top[0].index("STERN") < top[0].index("STARBOARD")
    assert [top[1].index(f"{key} ") for key in "12345678"] == sorted(top[1].index(f"{key} ") for key in "12345678")
    stern = top[0].index("STERN")
    assert top[1].index("4 P RIG") < stern < top[1].index("5 S RIG") + 6
    aft = board(fake_picture.straight(), mirrored=True).text().splitlines()
    assert aft[0].index("STARBOARD") < aft[0].index("STERN") < aft[0].rindex(" PORT ")
    assert aft[1].index("8 S BOARD") < aft[1].index("1 P BOARD")


@pytest.mark.parametrize("theme", ["day", "dusk", "night", "plain"])
@pytest.mark.parametrize("width", [100, 120, 160, 200])
def test_every_depth_stands_in_large_digits(theme: str, width: int) -> None:
    picture = fake_picture.straight()
    rows = board(picture, width, 15, theme=theme).text().splitlines()
    for rod in picture.rods:
        text = words.length(rod.depth_m, US)
        lines = digits.big(text, plain=theme == "plain")
        if rod.rough:
            lines = digits.tilded(lines) if theme == "plain" else digits.soft(lines)
        assert any(all(line in rows[y + n] for n, line in enumerate(lines)) for y in range(len(rows) - 2)), rod.key


@pytest.mark.parametrize("size", [(120, 15), (200, 17), (80, 12)])
def test_a_depth_within_more_than_a_quarter_of_itself_is_not_drawn_as_filled(size: tuple[int, int]) -> None:
    """By the look of its digits, not by colour: strokes that are not filled, or a sign before the number."""
    sharp = fake_picture.changed(fake_picture.straight(), "3", depth_m=20.0, rough=False)
    wide = fake_picture.changed(sharp, "3", rough=True)
    others = [rod for rod in sharp.rods if rod.key != "3" and rod.rough]
    drawn = [board(picture, *size).text() for picture in (sharp, wide)]
    unfilled = [text.count("▒") + text.count("~") for text in drawn]
    assert unfilled[1] > unfilled[0]
    assert (unfilled[0] == 0) == (not others)
    assert drawn[1].replace("▒", "█").replace("~66", " 66") != drawn[1]


def test_double_digits_on_a_large_screen() -> None:
    rows = board(fake_picture.straight(), 200, 17).text()
    for line in digits.soft(digits.big("58", 2)):
        assert line in rows


@pytest.mark.parametrize("count", [1, 4, 8, 9, 12])
@pytest.mark.parametrize("width", [60, 80, 99, 100, 119, 120, 200])
@pytest.mark.parametrize("units", ["us", "metric"])
def test_nothing_breaks_at_any_count_and_width(count: int, width: int, units: str) -> None:
    picture = fake_picture.many(count)
    for height in (3, 8, 12, 13, 15, 17):
        text = board(picture, width, height, units=SYSTEMS[units]).text()
        assert max(len(row) for row in text.splitlines()) <= width
        assert picture.rods[0].key in text


def test_deep_rods_in_narrow_columns_keep_one_size() -> None:
    rows = board(fake_picture.many(12), 100, 14).text().splitlines()
    for text in ("205", "142", "58"):
        narrow = digits.narrow(text)
        assert any(
            all(line.rstrip() in rows[y + n] for n, line in enumerate(narrow)) for y in range(len(rows) - 2)
        ), text
    plain = board(fake_picture.many(12), 100, 14, theme="plain").text()
    assert "205" in plain


@pytest.mark.parametrize(
    ("fields", "word", "ink"),
    [
        ({"state": RodState.IN, "depth_m": None}, "IN", "state"),
        ({"state": RodState.LETTING_OUT, "moving_to_m": 185 * FOOT}, "OUT→ 185", "state"),
        ({"state": RodState.REELING, "moving_to_m": 0.0}, "REEL→ 0", "state"),
        ({"state": RodState.FIGHTING}, "FIGHTING", "fight"),
        ({"solver": SolverState.SLACK}, "SLACK", "caution band"),
        ({"solver": SolverState.FAILED, "depth_m": None}, "FAILED", "caution band"),
        ({"solver": SolverState.PULLED_UNDER}, "UNDER", "caution band"),
        ({"solver": SolverState.UNSETTLED}, "UNSETTLED", "state"),
        ({"solver": SolverState.OLD}, "OLD", "state"),
        ({"solver": SolverState.NONE, "depth_m": None}, "NO DEPTH", "state"),
    ],
)
def test_what_is_not_plain_fishing_is_said_in_a_word(fields: dict[str, object], word: str, ink: str) -> None:
    picture = fake_picture.changed(fake_picture.straight(), "6", **fields)
    for width in (80, 120):
        assert ink_at(board(picture, width, 15), word) == ink_id(ink)


def test_both_words_show_when_a_moving_rod_is_not_settled() -> None:
    text = board(fake_picture.troubled()).text()
    assert "REEL→ 0" in text
    assert "OLD" in text


def test_an_unsettled_depth_has_another_ink_than_a_settled_one() -> None:
    assert words.depth_ink(fake_picture.rods()[0]) == "number"
    for solver in (SolverState.OLD, SolverState.UNSETTLED):
        assert words.depth_ink(replace(fake_picture.rods()[0], solver=solver)) == "old"


@pytest.mark.parametrize("width", [80, 120])
def test_the_chosen_rod_is_told_without_colour(width: int) -> None:
    plain = board(fake_picture.straight(), width, 15, theme="plain").text()
    chosen = board(fake_picture.chosen(fake_picture.straight(), "3"), width, 15, theme="plain").text()
    assert plain != chosen


def test_the_border_takes_the_worst_alert_with_its_word() -> None:
    picture = fake_picture.turning()
    grid = board(picture)
    foot = grid.text().splitlines()[-1]
    assert foot.count("CROSSING") == 2
    assert ink_at(grid, "CROSSING") == ink_id("warning band")
    seen = replace(picture, alerts=tuple(replace(a, state=AlertState.ACKNOWLEDGED) for a in picture.alerts))
    assert ink_at(board(seen), "CROSSING") == ink_id("acknowledged")


def test_no_rod_is_ever_inked_as_an_alarm() -> None:
    alarm = replace(fake_picture.turning().alerts[0], priority=Priority.WARNING)
    grid = board(replace(fake_picture.troubled(), alerts=(alarm,)))
    assert not {ink_id("alarm"), ink_id("alarm band")} & set(grid.inks.ravel().tolist())


def test_unknown_stays_unknown() -> None:
    rows = board(fake_picture.cold()).text().splitlines()
    warmth = next(row for row in rows if "temp" in row)
    assert warmth.count("–") == 8
    assert not any(mark in warmth for mark in "◆◇")


@pytest.mark.parametrize("width", [60, 79, 80, 99])
def test_rows_are_parted_by_side_and_each_rod_has_one(width: int) -> None:
    rows = board(fake_picture.straight(), width, 11).text().splitlines()
    assert rows[0].split()[0] == "PORT"
    assert rows[5].split()[0] == "STARBOARD"
    named = [row.split()[0] for row in rows if row.strip() and row.split()[0] in "12345678"]
    assert named == list("12345678")


def test_twelve_rows_keep_the_meaning_of_their_signs_where_two_rows_are_left() -> None:
    rows = board(fake_picture.many(12), 80, 15).text().splitlines()
    assert rows[0].split()[0] == "ROD"
    assert "= S OUTER" in rows[12]
    assert rows[13].startswith("  btm: ft from the tackle to the bottom")
    assert rows[14].startswith("  ▲ rising, ▼ sinking")
    assert "btm: ft" not in board(fake_picture.many(12), 80, 14).text()


def test_rows_without_room_for_headings_keep_every_rod() -> None:
    for height in (9, 10):  # a notice covers the lowest of ten
        rows = board(fake_picture.straight(), 80, height).text().splitlines()
        assert rows[0].split()[0] == "ROD"
        assert "8 S BOARD" in rows[8]


async def test_the_board_asks_for_the_rows_it_fills() -> None:
    for size, rows in (((80, 24), 11), ((120, 36), 13), ((200, 60), 17)):
        async with settled(fake_picture.straight(), size) as pilot:
            assert pilot.app.query_one(RodBoard).size.height == rows


def test_an_empty_spread_is_said() -> None:
    assert "No rods in the spread." in board(replace(fake_picture.straight(), rods=())).text()


def test_metres_stand_large_with_their_half_small_behind_the_foot() -> None:
    picture = fake_picture.changed(fake_picture.straight(), "2", depth_m=17.6, rough=False)
    rows = board(picture, 120, 15, units=METRIC).text().splitlines()
    top, middle, foot = digits.big("17")
    y = next(y for y, row in enumerate(rows) if top in row)
    assert middle in rows[y + 1]
    assert f"{foot}.5" in rows[y + 2]


def test_at_five_rows_a_hit_and_the_lines_age_share_one() -> None:
    picture = fake_picture.straight()
    rod = next(rod for rod in picture.rods if rod.key == "3")  # two hits, the last 12 min ago; set 15 min ago
    forms = words.hits_and_checked(rod, picture.t_s, FINE, 12)
    assert forms[0] == "●● 12m   15m"
    assert all(len(form) == 12 for form in forms[:4])
    # A narrow column gives up the age before the hits.
    tight = words.hits_and_checked(rod, picture.t_s, FINE, 5)
    assert next(form for form in tight if len(form) <= 5) == "2●12m"
    assert "1●   20m │      25m │" in board(picture, width=100, height=13).text()
    lines = board(picture, height=13).text()
    assert "hits, checked" in lines
    assert "●● 12m 15m" in lines


@pytest.mark.parametrize("size", [(80, 12), (60, 12), (120, 15)])
def test_a_lure_past_the_last_reading_tells_a_range_on_screens_of_any_width(size: tuple[int, int]) -> None:
    past = {"temperature_c": None, "temperature_range_c": (4.0, 10.0), "in_zone": None}
    picture = fake_picture.changed(fake_picture.straight(), "6", **past)
    assert "39–50" in board(picture, *size).text()
