"""The spread file as contracted: the example is read, its numbers are SI, the schema describes it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from sternwatch.gear.spread_file.load import json_schema, load_spread, spread_from
from sternwatch.gear.spread_file.models import LineItem, Spread
from sternwatch.places import shipped

EXAMPLE = Path(__file__).parents[1] / "example.toml"


@pytest.fixture(scope="module")
def example() -> Spread:
    return load_spread(EXAMPLE)


def test_the_example_is_read_in_si(example: Spread) -> None:
    boat, rod = example.boat, example.rods[0]
    assert (boat.beam_m, boat.antenna_m) == (pytest.approx(9 * 0.3048), pytest.approx(3 * 0.3048))
    assert (boat.required.line_m, boat.required.tackle_m, boat.required.taper_m) == (0.3, 1.5, 30.0)
    assert example.water.temperature_c == pytest.approx(10.0)
    assert (rod.key, rod.name, rod.side, rod.sign) == ("1", "P HIGH", "port", -1.0)
    assert rod.tip_abeam_m == pytest.approx(-7 * 0.3048)
    assert rod.line_out_m == pytest.approx(180 * 0.3048)
    assert rod.target_depth_m == pytest.approx(60 * 0.3048)
    assert example.settings(rod) == ("straight", "low", "high")
    assert example.setting(rod) == "high"
    assert rod.lead_m is None
    assert len(rod.deployed) == 6


def test_the_spread_is_frozen(example: Spread) -> None:
    with pytest.raises(ValueError, match="frozen"):
        example.rods[0].name = "X"  # type: ignore[misc]


def test_the_demo_spread_is_read() -> None:
    demo = load_spread(shipped("demo_logs") / "evening.toml")
    assert "".join(rod.key for rod in demo.rods) == "12345678"
    assert "invented" in demo.boat.name
    sides = [rod.side for rod in demo.rods]
    assert sides == ["port"] * 4 + ["starboard"] * 4
    abeam = [rod.tip_abeam_m for rod in demo.rods]
    assert abeam[1:7] == sorted(abeam[1:7])
    assert demo.rods[3].lead_m == pytest.approx(25 * 0.3048)
    assert demo.rods[3].rod_line is not None


def _rigs(*rods: dict[str, Any]) -> Spread:
    return spread_from(
        {
            "line": {
                "a": {"material": "nylon", "diameter": "0.5 mm"},
                "core": {"material": "lead-core"},
            },
            "tackle": {
                "ball": {"kind": "ball", "mass": "10 lb"},
                "disc": {"kind": "diver", "diameter": "4 in", "settings": {"x": "30 deg"}},
                "plug": {"kind": "lure", "form": "lipped plug"},
                "board": {"kind": "board"},
            },
            "rod": [{"name": "R", "side": "port", **rod} for rod in rods],
        }
    )


TIP = {"height": "4 ft"}
BALL_RIG = {
    "key": "5",
    "tip": TIP,
    "chain": [
        {"line": "a", "out": "60 ft"},
        {"tackle": "ball"},
        {"line": "a", "length": "20 ft", "adjust": True},
        {"tackle": "plug"},
    ],
}


def test_items_before_out_are_still_on_the_reel() -> None:
    rod = _rigs(
        {
            "key": "1",
            "tip": TIP,
            "chain": [
                {"line": "a", "length": "200 ft"},
                {"line": "core", "out": "5 colours"},
                {"line": "a", "length": "20 ft"},
                {"tackle": "plug"},
            ],
        }
    ).rods[0]
    first = rod.deployed[0]
    assert isinstance(first, LineItem)
    assert (first.line, rod.line_out_m) == ("core", pytest.approx(150 * 0.3048))
    assert len(rod.deployed) == 3


def test_a_rod_may_be_clipped_to_anothers_cable() -> None:
    stacked = {
        "key": "4",
        "clipped_to": {"rod": "5", "above_ball": "12 ft"},
        "chain": [{"line": "a", "length": "15 ft"}, {"tackle": "plug"}],
    }
    rod = _rigs(BALL_RIG, stacked).rods[1]
    assert rod.clipped_to is not None
    assert rod.clipped_to.above_ball_m == pytest.approx(12 * 0.3048)
    assert rod.line_out_m is None


@pytest.mark.parametrize("place", ["item", "rod"])
def test_a_diver_for_the_other_side_where_it_is_meant(place: str) -> None:
    item: dict[str, Any] = {"tackle": "disc", "setting": "x", "side": "starboard"}
    rod: dict[str, Any] = {"key": "1", "tip": TIP, "chain": [{"line": "a", "out": "9 m"}, item]}
    (item if place == "item" else rod)["crossing"] = True
    assert _rigs(rod).rods[0].key == "1"


def test_an_independent_validator_agrees_with_the_schema() -> None:
    jsonschema = pytest.importorskip("jsonschema", reason="the independent validator is not installed")
    schema = json_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema)
    for path in (EXAMPLE, shipped("demo_logs") / "evening.toml"):
        assert validator.is_valid(tomllib.loads(path.read_text(encoding="utf-8")))
    for change in (
        {"key": "11"},
        {"name": "much too long"},
        {"side": "left"},
        {"chain": []},
        {"target_depth": 60},
        {"target_depth": "60 lb"},
        {"odd": 1},
    ):
        data = tomllib.loads(EXAMPLE.read_text(encoding="utf-8"))
        data["rod"][0].update(change)
        assert not validator.is_valid(data), change


def test_the_schema_is_json_schema_and_knows_every_key_of_the_example() -> None:
    schema = json_schema()
    text = str(schema)
    assert schema["$schema"].endswith("2020-12/schema")
    assert schema["additionalProperties"] is False
    for key in re.findall(r"(\w+) = ", EXAMPLE.read_text(encoding="utf-8")):
        assert f"'{key}'" in text or key in ("straight", "low", "high"), key
    for definition in schema["$defs"].values():
        for name, field in definition.get("properties", {}).items():
            assert not re.search(r"_(m|kg|N|m2|m_s|rad|c)$", name), f"{name}: {field} is a Python name"
