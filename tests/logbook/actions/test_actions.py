"""Actions as JSON: round trips, and errors that say where, what was given and what is accepted."""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from sternwatch.logbook.actions.kinds import KINDS, ActionError, dump, lines, load_actions, parse

LENGTH: dict[str, Any] = {
    "id": "a", "time": "2026-07-18T23:42:10Z", "kind": "length", "rod": "3", "line_out_m": 50,
}  # fmt: skip

ONE_OF_EACH: tuple[dict[str, Any], ...] = (
    {"kind": "going out", "rod": "3", "line_out_m": 50.5},
    {"kind": "going out", "rod": "3"},
    {"kind": "set", "rod": "3"},
    {"kind": "in", "rod": "3"},
    {"kind": "length", "rod": "3", "line_out_m": 0},
    {"kind": "setting", "rod": "3", "setting": "high"},
    {"kind": "lead", "rod": "5", "lead_m": 9.144},
    {"kind": "hit", "rod": "3", "doubtful": True, "why": "pressed with 4", "bite": "b"},
    {"kind": "bite"},
    {"kind": "confirm", "of": "x"},
    {"kind": "doubt", "of": "x", "why": "three keys at once"},
    {"kind": "outcome", "of": "x", "outcome": "no fish"},
    {"kind": "catch", "of": "x", "species": "coho", "length_m": 0.5, "undersized": False, "note": "ünïcode ✓"},
    {"kind": "retime", "of": "x", "to": "2026-07-18T23:41:10.500Z", "to_elapsed_s": 12.5},
    {"kind": "undo", "of": "x"},
    {"kind": "restore", "of": "x"},
    {"kind": "acknowledge", "alert": "crossing 1 2"},
    {"kind": "note", "text": "slick on the water"},
    {"kind": "gauge", "depth_m": 18.3, "temperature_c": 9.4},
    {"kind": "observed", "rod": "5", "what": "touched bottom"},
    {"kind": "observed", "rod": "5", "what": "seen on sounder", "at": "ball", "depth_m": 15.2, "error_m": 1.0},
    {"kind": "gauge", "rod": "5", "depth_m": 21.0, "speed_m_s": 0.9},
    {"kind": "helm", "rudder_deg": -15},
    {"kind": "helm", "heading_deg": 271.5},
    {"kind": "throttle", "engine": "kicker", "lever": 0.45},
    {"kind": "fault", "what": "dropout", "sensor": "gps", "for_s": 60},
    {"kind": "fault", "what": "mended"},
    {"kind": "put back", "rod": "3", "of": "x", "line_out_m": 50.3, "setting": "low"},
    {"kind": "checked", "rod": "3"},
    {"kind": "ran", "keys": ["1", "3"], "since": "2026-07-18T23:41:10.500Z", "since_elapsed_s": 70.5},
    {"kind": "trip", "people": 3, "target": ["coho"], "limits": {"coho": 5}, "wind": "SW 8", "utc_offset_min": -240},
    {"kind": "end"},
    {"kind": "current", "speed_m_s": 0.15, "towards_deg": 90},
    {"kind": "noted", "of": "x", "depth_m": 18.0, "lure": "spoon", "latitude_deg": 47.0, "longitude_deg": -89.0},
    {"kind": "mark", "what": "net", "latitude_deg": 47.1, "longitude_deg": -89.2},
    {"kind": "mark", "what": "bait"},
    {"kind": "fish seen", "depth_m": 18.9},
    {"kind": "change", "rod": "3", "what": "lure", "name": "fly", "tackle": {"fly": {"kind": "lure", "form": "fly"}}},
    {"kind": "change", "rod": "3", "what": "rig", "name": "as 5", "chain": [{"line": "wire", "out": "50 m"}]},
    {"kind": "move", "rod": "1", "to": "2"},
    {"kind": "planned", "rods": [{"rod": "1", "line_out_m": 30.5, "setting": "high"}, {"rod": "2"}]},
)


def test_every_kind_is_exercised_here() -> None:
    assert {given["kind"] for given in ONE_OF_EACH} == set(KINDS)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"what": "pull"}, "pull_N with pull"),
        ({"what": "pull", "pull_N": 4.0, "depth_m": 3.0}, "no depth_m with pull"),
        ({"what": "seen on sounder"}, "depth_m with seen on sounder"),
        ({"what": "touched bottom", "speed_m_s": 1.0}, "depth_m with touched bottom"),
        ({"what": "known", "depth_m": 20.0}, "speed_m_s with what is known"),
        ({"what": "entry angle", "angle_deg": 30.0, "at": "lure"}, "no at with entry angle"),
        ({"what": "touched botom"}, "'touched bottom', 'seen on sounder'"),
    ],
)
def test_what_was_observed_has_its_own_number(given: dict[str, Any], said: str) -> None:
    with pytest.raises(ActionError, match=re.escape(said)):
        parse({"id": "o", "time": "2026-07-18T23:42:10Z", "kind": "observed", "rod": "5"} | given)


@pytest.mark.parametrize("given", ONE_OF_EACH, ids=lambda given: given["kind"])
def test_what_is_dumped_reads_back_equal(given: dict[str, Any]) -> None:
    action = parse({"id": "a1", "time": "2026-07-18T19:42:10.250-04:00", "elapsed_s": 3.5} | given)
    written = lines([action])
    assert parse(written) == action
    assert json.loads(written)["time"] == "2026-07-18T23:42:10.250Z"
    assert {key: value for key, value in dump(action).items() if key in given} == given


def test_a_moment_is_kept_to_the_millisecond_from_the_start() -> None:
    action = parse(LENGTH | {"time": datetime(2026, 7, 18, 23, 42, 10, 123_987, tzinfo=UTC)})
    assert action.time.microsecond == 123_000
    assert parse(lines([action])) == action


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"kind": "lenght"}, r"kind: \"lenght\" is not a kind of action \(did you mean 'length'\?\); acc"),
        ({"kind": None}, r"kind: is missing; accepted: going out,"),
        ({"kind": ["hit"]}, r"kind: \[\"hit\"\] is not a kind"),
        ({"line_out_m": "50"}, r"line_out_m: \"50\" is not accepted; accepted: a number"),
        ({"line_out_m": "é"}, r"line_out_m: \"é\" is not accepted"),
        ({"line_out_m": -1}, r"line_out_m: -1 is not accepted; accepted: greater than or equal to 0"),
        ({"line_out_m": 1e9}, r"line_out_m: 1000000000.0 is not accepted; accepted: less than or equal to 2000"),
        ({"line_out_m": float("nan")}, r"line_out_m: NaN is not accepted; accepted: a finite number"),
        ({"line_out_m": None}, r"line_out_m: null is not accepted; accepted: a number"),
        ({"line_out_m": True}, r"line_out_m: true is not accepted; accepted: a number"),
        ({"rod": "33"}, r"rod: \"33\" is not accepted; accepted: at most 1 character"),
        ({"rod": None}, r"rod: null is not accepted"),
        ({"id": ""}, r"id: \"\" is not accepted; accepted: at least 1 character"),
        ({"id": 7}, r"id: 7 is not accepted; accepted: a text"),
        ({"time": "yesterday"}, r"time: \"yesterday\" is not accepted; accepted: an ISO 8601 time with its offset"),
        ({"time": "2026-07-18T23:42:10"}, r"time: .* accepted: an ISO 8601 time with its offset"),
        ({"time": 1784415720}, r"time: 1784415720 is not accepted; accepted: an ISO 8601 time"),
        ({"time": "0001-01-01T00:00:00+14:00"}, r"time: .* accepted: an ISO 8601 time"),
        ({"line_out": 3}, r"line_out: is not a field of a 'length' action \(did you mean 'line_out_m'\?\); acc"),
        ({"elapsed_s": "3"}, r"elapsed_s: \"3\" is not accepted; accepted: a number"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_said_in_one_sentence(change: dict[str, Any], said: str) -> None:
    with pytest.raises(ActionError, match=f"^log line 4: {said}") as caught:
        parse(LENGTH | change, "log line 4")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("missing", ["id", "time", "rod", "line_out_m"])
def test_a_missing_field_is_named(missing: str) -> None:
    with pytest.raises(ActionError, match=f"{missing}: is missing; a 'length' action needs it"):
        parse({key: value for key, value in LENGTH.items() if key != missing})


def test_an_unknown_outcome_names_the_accepted_ones() -> None:
    with pytest.raises(ActionError, match=r"outcome: \"kept\" .* 'boxed', 'freed', 'dropped' or 'no fish'"):
        parse({"id": "a", "time": "2026-07-18T23:42:10Z", "kind": "outcome", "of": "x", "outcome": "kept"})


@pytest.mark.parametrize("text", ["{", "[1]", '"hit"', "", "null", b"\xff\xfe", "{}", '{"kind": 1e999}'])
def test_lines_that_are_no_action_are_refused(text: str | bytes) -> None:
    with pytest.raises(ActionError, match=r"^log line 1: "):
        parse(text, "log line 1")


def test_a_file_is_read_in_order_and_a_repeated_action_counts_once(tmp_path: Path) -> None:
    file = tmp_path / "a.jsonl"
    first, second = parse(LENGTH), parse(LENGTH | {"id": "b", "line_out_m": 40})
    file.write_text("\ufeff" + lines([first, second]) + "\r\n\n" + lines([first]), encoding="utf-8")
    assert load_actions(file) == [first, second]


def test_an_empty_file_holds_no_actions(tmp_path: Path) -> None:
    (tmp_path / "a.jsonl").touch()
    assert load_actions(tmp_path / "a.jsonl") == []


def test_errors_of_a_file_name_it_and_the_line(tmp_path: Path) -> None:
    file = tmp_path / "a.jsonl"
    file.write_text(lines([parse(LENGTH)]) + "\n" + lines([parse(LENGTH | {"line_out_m": 40})]))
    with pytest.raises(ActionError, match=r"a\.jsonl line 3: id: 'a' is already used on line 1"):
        load_actions(file)
    file.write_bytes(b"\xff\xfe")
    with pytest.raises(ActionError, match=r"a\.jsonl: line 1 is not UTF-8 text"):
        load_actions(file)
    with pytest.raises(ActionError, match=r"none\.jsonl: there is no such file"):
        load_actions(tmp_path / "none.jsonl")


@pytest.mark.parametrize("given", [{}, {"rudder_deg": 5, "heading_deg": 90}], ids=["neither", "both"])
def test_a_helm_is_one_of_two(given: dict[str, Any]) -> None:
    with pytest.raises(ActionError, match="either rudder_deg or heading_deg"):
        parse({"id": "h", "time": "2026-07-18T23:42:10Z", "kind": "helm"} | given)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"depth_m": 20.0}, "temperature_c or speed_m_s"),
        ({"temperature_c": 9.0}, "depth_m: is missing"),
        ({"depth_m": -1.0, "temperature_c": 9.0}, "greater than or equal to 0"),
        ({"depth_m": 20.0, "temperature_c": 50.0}, "less than or equal to 40"),
        ({"depth_m": 20.0, "speed_m_s": 11.0}, "less than or equal to 10"),
    ],
)
def test_a_gauge_says_something_of_a_depth(given: dict[str, Any], said: str) -> None:
    with pytest.raises(ActionError, match=said):
        parse({"id": "g", "time": "2026-07-18T23:42:10Z", "kind": "gauge"} | given)
