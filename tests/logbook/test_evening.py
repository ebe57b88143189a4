"""The demo evening: made by its script byte for byte, and fit to be shown."""

from __future__ import annotations

import itertools
import subprocess
import sys
from pathlib import Path

import pytest

from sternwatch.logbook.actions.kinds import Note, RodAction, load_actions
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import Crew, RodDefaults
from sternwatch.places import shipped

DEMO = shipped("demo_logs")
ACTIONS = DEMO / "evening.actions.jsonl"


@pytest.fixture(scope="module")
def crew() -> Crew:
    actions = load_actions(ACTIONS)
    leads = {"4": 7.6, "5": 12.2}
    return fold(actions, [RodDefaults(key, "", 50.0, None, leads.get(key)) for key in "12345678"])


def sentences(formatter: str) -> list[list[str]]:
    found = [line.split("\\")[2].split("*")[0] for line in (DEMO / "evening.nmea").read_text("ascii").splitlines()]
    return [body.split(",") for body in found if body[3:6] == formatter]


def test_the_script_makes_the_very_files(tmp_path: Path) -> None:
    subprocess.run([sys.executable, str(DEMO / "make_evening.py"), str(tmp_path)], check=True)
    for name in ("evening.nmea", "evening.actions.jsonl"):
        assert (tmp_path / name).read_bytes() == (DEMO / name).read_bytes(), name


def test_it_says_that_it_is_invented(crew: Crew) -> None:
    assert "INVENTED DEMO" in " ".join(sentences("TXT")[0])
    first = next(iter(crew.entries.values()))
    assert isinstance(first, Note)
    assert first.text.startswith("Invented demo")


def test_every_line_has_a_tag_block_and_both_checksums_are_right() -> None:
    def xor(data: bytes) -> int:
        value = 0
        for byte in data:
            value ^= byte
        return value

    data = (DEMO / "evening.nmea").read_bytes()
    assert len(data) < 1_500_000
    before = -1
    for line in data.split(b"\r\n")[:-1]:
        _, tag, sentence = line.split(b"\\")
        for part in (tag, sentence.removeprefix(b"$")):
            body, star, said = part.partition(b"*")
            assert star
            assert xor(body) == int(said, 16)
        assert len(sentence) <= 80  # IEC 61162-1: at most 82 characters with the line's end
        fields = dict(field.split(b":") for field in tag.partition(b"*")[0].split(b","))
        assert int(fields[b"r"]) >= before, "received in order"
        before = int(fields[b"r"])


def test_it_is_an_evening_of_forty_minutes_with_turns_a_break_and_a_rising_bottom() -> None:
    fixes = sentences("RMC")
    assert len(fixes) >= 40 * 60
    assert {fix[2] for fix in fixes} == {"A"}
    # The open lake between Keweenaw and the Apostle Islands.
    assert all(46.9 < float(fix[3][:2]) + float(fix[3][2:]) / 60 < 47.2 for fix in fixes)
    assert all(89.3 < float(fix[5][:3]) + float(fix[5][3:]) / 60 < 89.8 for fix in fixes)
    speeds_mph = [float(said[5]) * 1.852 / 1.609344 for said in sentences("VHW")]
    assert 1.4 < min(speeds_mph) < 2.0
    assert 2.5 < max(speeds_mph) < 3.1
    assert sum(1.8 < speed < 2.8 for speed in speeds_mph) > 0.95 * len(speeds_mph)
    water_c = [float(said[1]) for said in sentences("MTW")]
    assert max(water_c) >= 12.4
    assert min(water_c) <= 9.0
    soundings = [float(said[1]) if said[1] else None for said in sentences("DPT")]
    assert None in soundings, "the bottom is lost now and then, as on any boat"
    known = [depth for depth in soundings if depth is not None]
    assert sum(known[:300]) / 300 - min(known) > 12
    headings = [float(said[1]) for said in sentences("HDG")]
    tight = [abs((b - a + 180) % 360 - 180) for a, b in zip(headings, headings[60:], strict=False)]
    assert max(tight) > 140, "about half a circle within a minute"


def test_the_crew_lets_out_eight_rods_and_has_nine_hits_or_more(crew: Crew) -> None:
    assert crew.problems == ()
    assert {action.rod for action in crew.entries.values() if isinstance(action, RodAction)} == set("12345678")
    counting = [hit for hit in crew.hits if hit.counts]
    assert len(counting) >= 9
    assert {hit.species for hit in counting} == {"coho", "lake trout", None}
    assert sum(hit.doubtful for hit in crew.hits) == 1
    assert sum(hit.outcome == "no fish" for hit in crew.hits) == 1
    times = sorted((hit.when.time, hit.rod) for hit in counting)
    gaps = [((b - a).total_seconds(), one, two) for (a, one), (b, two) in itertools.pairwise(times)]
    assert any(gap < 30 and one != two for gap, one, two in gaps), "a double"
    assert all(hit.flag == "" for hit in crew.hits), "nobody is hit while its rod is in"
    assert crew.undone
    assert any(hit.from_memory for hit in crew.hits)
    assert any(hit.bite for hit in crew.hits)


def test_the_crew_reads_the_water_below_on_both_sides_of_the_break(crew: Crew) -> None:
    read = [(gauge.elapsed_s or 0.0, gauge.depth_m, gauge.temperature_c or 0.0) for gauge in crew.gauges]
    spans = ((0, 866), (866, 2300), (2300, 9999))
    warm, cold, back = ([r for r in read if low <= r[0] < high] for low, high in spans)
    assert len(warm) >= 3
    assert len(cold) >= 3
    assert len(back) >= 3
    assert read[0][0] < 660, "known before the demo begins"
    for side in (warm, cold, back):
        by_depth = [temperature for _, _, temperature in sorted(side, key=lambda r: r[1])]
        assert by_depth == sorted(by_depth, reverse=True), "colder with depth"
        fahrenheit = [temperature * 1.8 + 32 for temperature in by_depth]
        assert fahrenheit == pytest.approx([round(f) for f in fahrenheit], abs=0.002), "as typed: whole degrees"
    at_60_ft = [t for side in (warm, cold) for _, depth, t in side if depth == pytest.approx(18.288)]
    assert at_60_ft[0] - at_60_ft[1] > 3.0, "the thermocline lies shallower under the upwelled water"


def test_the_actions_lie_within_the_feed_in_order(crew: Crew) -> None:
    elapsed = [action.elapsed_s for action in crew.entries.values()]
    assert all(one is not None for one in elapsed)
    assert elapsed == sorted(elapsed, key=lambda one: one or 0.0)
    assert (elapsed[-1] or 0.0) < len(sentences("RMC"))
    begin = next(iter(crew.entries.values())).time
    for action in crew.entries.values():
        assert (action.time - begin).total_seconds() == pytest.approx(action.elapsed_s, abs=1e-3)
