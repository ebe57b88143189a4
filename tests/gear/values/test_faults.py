"""Every wrong input gives one sentence: file, rod, field, what was given, what would be accepted."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sternwatch.gear.spread_file.load import load_spread, parse_spread, spread_from
from sternwatch.gear.values.faults import SpreadError

EXAMPLE = (Path(__file__).parents[1] / "example.toml").read_text(encoding="utf-8")

# What stands in the example, what a slip makes of it, and the whole sentence (the file's name before it).
GOLDEN = [
    (
        '"180 ft"',
        '180',
        'rod 1 (P HIGH), chain item 1, out = 180: a bare number has no unit; write a length as text, '
        'for example "180 ft" (m, mm, cm, ft, in, fathom, colour)',
    ),
    (
        '"180 ft"',
        '"180 lb"',
        'rod 1 (P HIGH), chain item 1, out = "180 lb": lb measures a mass; here a length is wanted (m, '
        'mm, cm, ft, in, fathom, colour)',
    ),
    (
        '"180 ft"',
        '"180 feet"',
        'rod 1 (P HIGH), chain item 1, out = "180 feet": "feet" is not a unit known here (did you mean '
        '"ft"?); a length takes m, mm, cm, ft, in, fathom, colour',
    ),
    (
        '"180 ft"',
        '"-180 ft"',
        'rod 1 (P HIGH), chain item 1, out = "-180 ft": out of range; accepted is more than 0 m, at '
        'most 5000 m (16,400 ft)',
    ),
    (
        '"180 ft"',
        '"0 ft"',
        'rod 1 (P HIGH), chain item 1, out = "0 ft": out of range; accepted is more than 0 m, at most '
        '5000 m (16,400 ft)',
    ),
    (
        'out = "180',
        'length = "180',
        'rod 1 (P HIGH), chain: no item has `out`: the line at the rod tip needs it, for example { line '
        '= "…", out = "180 ft" }',
    ),
    (
        'length = "8 ft"',
        'out = "8 ft"',
        'rod 1 (P HIGH), chain: items 1 and 3 each have `out`; exactly one item may, the line at the '
        'rod tip',
    ),
    (
        'line = "wire"',
        'line = "wir"',
        'rod 1 (P HIGH), chain item 1, line = "wir": no line of that name (did you mean "wire"?); '
        'defined under [line.…]: wire, fluoro',
    ),
    (
        'setting = "high"',
        'setting = "hi"',
        'rod 1 (P HIGH), chain item 2, setting = "hi": no such setting (did you mean "high"?); accepted '
        'for disc: straight, low, high',
    ),
    (
        'setting = "high"',
        'setting = "high", side = "starboard"',
        'rod 1 (P HIGH), chain item 2, side = "starboard": the diver is set for the other side and '
        'would cross the stern and wrap lines; accepted: side = "port", or crossing = true where it is '
        'meant',
    ),
    (
        ', setting = "high"',
        '',
        'rod 1 (P HIGH), chain item 2, setting: is missing; accepted for disc: straight, low, high',
    ),
    (
        'tackle = "fly"',
        'tackle = "flie"',
        'rod 1 (P HIGH), chain item 6, tackle = "flie": no tackle of that name (did you mean "fly"?); '
        'defined under [tackle.…]: disc, paddle, fly',
    ),
    (
        'key = "1"',
        'key = "11"',
        'rod 11 (P HIGH), key = "11": a rod key is one of 1 2 3 4 5 6 7 8 9 0 - =',
    ),
    (
        'key = "1"',
        'key = 1',
        'rod 1 (P HIGH), key = 1: a rod key is text, for example "1"; one of 1 2 3 4 5 6 7 8 9 0 - =',
    ),
    (
        'name = "P HIGH"',
        'name = "PORT HIGH ONE"',
        'rod 1 (PORT HIGH ONE), name = "PORT HIGH ONE": a rod\'s name has at most 8 letters; this has 13',
    ),
    (
        'key = "1"',
        '',
        'rod number 1 in the file, key: is missing',
    ),
    (
        'side = "port"',
        'side = "left"',
        'rod 1 (P HIGH), side = "left": not known; accepted: port, starboard, centre',
    ),
    (
        'target_depth',
        'target_dept',
        'rod 1 (P HIGH), target_dept: unknown field (did you mean "target_depth"?); accepted: key, '
        'name, side, tip, counter, target_depth, rod_length, speeds, rod_line, clipped_to, crossing, bottom, '
        'clearance, chain',
    ),
    (
        'kind = "attractor"',
        'kind = "atractor"',
        'tackle.paddle: kind = "atractor" is not known (did you mean "attractor"?); accepted: diver, '
        'ball, weight, board, attractor, lure, snubber',
    ),
    (
        'kind = "attractor"\n',
        '',
        'tackle.paddle: its kind is missing; accepted: diver, ball, weight, board, attractor, lure, '
        'snubber',
    ),
    (
        'length = "8 in"',
        'lenth = "8 in"',
        'tackle.paddle, lenth: unknown field (did you mean "length"?); accepted: mass, volume, density, '
        'wet_weight, drag_area, strength, note, kind, length',
    ),
    (
        'material = "stainless steel"',
        'material = "stainles"',
        'line.wire, material = "stainles": not in the materials table (did you mean "stainless"?); '
        'known: stainless steel, steel, copper, stranded copper, copper 45 lb, lead-core 27 lb, '
        'lead-core 18 lb, lead-core 36 lb, nylon, polyester, UHMWPE braid, fluorocarbon, stainless, '
        'lead-core, braid, UHMWPE, mono, monofilament, PVDF',
    ),
    (
        'beam = "9 ft"',
        'beam = "9 ft',
        "not valid TOML: illegal character '\\n' (at line 3, column 13)",
    ),
    (
        'tip = {',
        'tip = 5 #',
        'rod 1 (P HIGH), tip = 5: a table is wanted, not 5',
    ),
    (
        '{ tackle = "paddle" }',
        '{ paddle = 1}',
        'rod 1 (P HIGH), chain item 4: an item is either line, { line = … }, or a piece of tackle, { '
        'tackle = … }',
    ),
    (
        '{ tackle = "paddle" }',
        '{ tackle = "paddle", setting="low"}',
        'rod 1 (P HIGH), chain item 4, setting = "low": "paddle" is an attractor; only a diver has '
        'settings',
    ),
    (
        '{ tackle = "paddle" }',
        '{ tackle = "paddle", line="wire"}',
        'rod 1 (P HIGH), chain item 4: an item is either line, { line = … }, or a piece of tackle, { '
        'tackle = … }',
    ),
    (
        '{ tackle = "paddle" }',
        '5',
        'rod 1 (P HIGH), chain item 4 = 5: an item is either line, { line = … }, or a piece of tackle, '
        '{ tackle = … }',
    ),
    (
        'setting = "high"',
        'seting = "high"',
        'rod 1 (P HIGH), chain item 2, seting: unknown field (did you mean "setting"?); accepted: '
        'tackle, setting, side, crossing, tripped',
    ),
    (
        '[tackle.paddle]',
        '[tackel.paddle]',
        'tackel: unknown field (did you mean "tackle"?); accepted: boat, water, line, tackle, rod, prior, known',
    ),
    (
        'height = "5 ft"',
        'hight = "5 ft"',
        'rod 1 (P HIGH), tip.hight: unknown field (did you mean "height"?); accepted: astern, abeam, '
        'height (1 more fault in this file)',
    ),
    (
        'abeam = "7 ft"',
        'abeam = "-7 ft"',
        'rod 1 (P HIGH), tip.abeam = "-7 ft": out of range; accepted is 0 m to 30 m (98 ft), toward the rod\'s '
        'side',
    ),
    (
        'scale = 1.0',
        'scale = "1.0"',
        'rod 1 (P HIGH), counter.scale = "1.0": a plain number without a unit is wanted',
    ),
    (
        'scale = 1.0',
        'scale = true',
        'rod 1 (P HIGH), counter.scale = true: a plain number without a unit is wanted',
    ),
    (
        'zero = "tip"',
        'zero = "tipp"',
        'rod 1 (P HIGH), counter.zero = "tipp": not known (did you mean "tip"?); accepted: tip, water, '
        'lure at water',
    ),
    (
        '[[rod]]',
        '[rod]',
        'rod: a list is wanted, not a table',
    ),
    (
        'high = "45 deg"',
        'high = 45',
        'tackle.disc, settings.high = 45: a bare number has no unit; write an angle as text, for '
        'example "20 deg" (deg)',
    ),
    (
        'diameter = "0.38 mm"',
        'diameter = "1e-300 mm"',
        'line.wire, diameter = "1e-300 mm": out of range; accepted is 0.01 mm to 50 mm',
    ),
    (
        'high = "45 deg"',
        'high = "95 deg"',
        'tackle.disc, settings.high = "95 deg": out of range; accepted is 0 deg to 85 deg (toward the '
        "rod's side)",
    ),
    (
        'rods_per_person = 3',
        'rods_per_person = "3"',
        'boat, rods_per_person = "3": a plain number without a unit is wanted',
    ),
    (
        'temperature = "50 degF"',
        'temperature = 50',
        'water, temperature = 50: a bare number has no unit; write a temperature as text, for example '
        '"50 degF" (degC, degF)',
    ),
    (
        'temperature = "50 degF"',
        'temperature = "50 ft"',
        'water, temperature = "50 ft": ft measures a length; here a temperature is wanted (degC, degF)',
    ),
    (
        '# current = [ { depth = "0 ft", speed = "0.3 mph", towards = "90 deg" }, { depth = "60 ft", … } ]',
        'current = [ { depth = "0 ft", speed = 0.3, towards = "90 deg" }]',
        'water, current, entry 1, speed = 0.3: a bare number has no unit; write a speed as text, for '
        'example "2.3 mph" (m/s, kn, mph, km/h, ft/s)',
    ),
    (
        '# current = [ { depth = "0 ft", speed = "0.3 mph", towards = "90 deg" }, { depth = "60 ft", … } ]',
        'current = [ { depth = "9 ft", speed = "0.3 kn", towards = "90 deg" },'
        '{ depth = "9 ft", speed = "0.3 kn", towards = "90 deg" }]',
        'water, current: depths must increase from one entry to the next',
    ),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "sentence"), GOLDEN, ids=[g[1].strip()[:40] for g in GOLDEN])
def test_the_sentence(old: str, new: str, sentence: str) -> None:
    assert old in EXAMPLE
    with pytest.raises(SpreadError) as error:
        parse_spread(EXAMPLE.replace(old, new, 1), "my.toml")
    assert str(error.value) == f"my.toml: {sentence}"
    assert "\n" not in str(error.value)


_HEAD, _ROD = EXAMPLE[: EXAMPLE.index("[[rod]]")], EXAMPLE[EXAMPLE.index("[[rod]]") :]
_NO_CHAIN = EXAMPLE[: EXAMPLE.index("chain = [")]


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (_NO_CHAIN + "chain = []", "rod 1 (P HIGH), chain: is empty; it starts with the line at the rod tip"),
        (_NO_CHAIN + "chain = 5", "rod 1 (P HIGH), chain = 5: a list is wanted, not 5"),
        (_NO_CHAIN, "rod 1 (P HIGH), chain: is missing"),
        (
            EXAMPLE + _ROD,
            'rod 1 (P HIGH), key = "1": this key is already P HIGH\'s; every rod needs its own, free are 2 3',
        ),
        (_HEAD, "rod: there is no rod; at least one [[rod]] is wanted"),
        ("", "rod: there is no rod; at least one [[rod]] is wanted"),
        ("rod = []", "rod: there is no rod"),
        ("rod = 5", "rod = 5: a list is wanted, not 5"),
        ("rod = [3]", "rod number 1 in the file = 3: a table is wanted, not 3"),
        ("line = 3", "line = 3: a table is wanted, not 3"),
        ("a = [", "not valid TOML: "),
        ("\x00", "not valid TOML: invalid statement (at line 1, column 1)"),
    ],
)
def test_whole_files(text: str, sentence: str) -> None:
    with pytest.raises(SpreadError) as error:
        parse_spread(text, "my.toml")
    assert str(error.value).startswith(f"my.toml: {sentence}")


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"clipped_to": {"rod": "9", "above_ball": "3 ft"}}, 'clipped_to.rod = "9": no other rod has that key'),
        ({"clipped_to": {"rod": "1", "above_ball": "3 ft"}}, 'clipped_to.rod = "1": no other rod has that key'),
        ({"bottom": "yes"}, 'bottom = "yes": not known; accepted: on purpose'),
        ({"clearance": "3 ft"}, "clearance: is for a rod fished on the bottom"),
        ({"rod_line": {"line": "x", "tip": {"height": "3 ft"}}}, 'rod_line.line = "x": no line of that name'),
        (
            {"rod_line": {"line": "wire", "tip": {"height": "3 ft"}}},
            "rod_line: is the line to a downrigger's release",
        ),
        ({"side": "centre"}, "tip.abeam: a rod at the centre has no side to be abeam of"),
        (
            {"side": "centre", "tip": {"height": "3 ft"}},
            "chain item 2, side: pulls to a side but the rod is at the centre",
        ),
        ({"tip": None}, "tip: is missing, for example tip = "),
    ],
)
def test_fields_of_a_rod(fields: dict[str, Any], sentence: str) -> None:
    data = tomllib.loads(EXAMPLE)
    data["rod"][0].update(fields)
    data["rod"][0] = {name: value for name, value in data["rod"][0].items() if value is not None}
    with pytest.raises(SpreadError) as error:
        spread_from(data, "my.toml")
    assert str(error.value).startswith(f"my.toml: rod 1 (P HIGH), {sentence}")


def _with_items(*items: dict[str, Any]) -> str:
    data = tomllib.loads(EXAMPLE)
    data["rod"][0]["chain"] = list(items)
    with pytest.raises(SpreadError) as error:
        spread_from(data, "my.toml")
    return str(error.value)


def test_faults_of_lengths() -> None:
    wire = {"line": "wire", "out": "180 ft"}
    assert "item 2: has both `out` and `length`" not in _with_items(wire, {"line": "fluoro"})
    assert "chain item 2, length: is missing" in _with_items(wire, {"line": "fluoro"})
    assert "chain item 1: has both `out` and `length`" in _with_items({**wire, "length": "3 ft"})
    assert "chain item 1, adjust: marks a length besides `out`" in _with_items({**wire, "adjust": True})
    both = {"line": "fluoro", "length": "3 ft", "adjust": True}
    assert "items 2 and 3 all have `adjust`; only one may" in _with_items(wire, both, both)
    assert "chain item 1, adjust: is on a line that is still on the reel" in _with_items(both, wire)


def test_all_faults_are_kept_and_counted() -> None:
    text = EXAMPLE.replace('"180 ft"', "180").replace('length = "8 in"', "length = 8").replace('"9 ft"', "9")
    with pytest.raises(SpreadError) as error:
        parse_spread(text, "my.toml")
    assert [fault.field for fault in error.value.faults] == ["beam", "length", "chain item 1, out"]
    assert str(error.value).endswith("(2 more faults in this file)")


def test_what_cannot_be_read(tmp_path: Path) -> None:
    def sentence(path: Path) -> str:
        with pytest.raises(SpreadError) as error:
            load_spread(path)
        assert str(error.value).startswith(f"{path}: ")
        return str(error.value).removeprefix(f"{path}: ")

    assert sentence(tmp_path / "none.toml") == "no such file"
    assert sentence(tmp_path) == "is a folder; a spread file is wanted"
    latin = tmp_path / "latin.toml"
    latin.write_bytes(b'[boat]\nname = "M\xf6we"\n')
    assert sentence(latin) == "line 2 is not UTF-8 text; save the file as UTF-8"
    large = tmp_path / "large.toml"
    large.write_bytes(b"#" * 1_000_001)
    assert sentence(large) == "is larger than 1 MB; nothing of its kind is"


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "bom.toml"
    path.write_bytes(b"\xef\xbb\xbf" + EXAMPLE.encode())
    assert load_spread(path).rods[0].name == "P HIGH"


_VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)
_PLACES = [
    ("boat",), ("boat", "required"), ("water", "current"), ("line", "wire"), ("line", "wire", "diameter"),
    ("tackle", "disc", "settings"), ("tackle", "disc", "kind"), ("rod",), ("rod", 0), ("rod", 0, "key"),
    ("rod", 0, "name"), ("rod", 0, "tip"), ("rod", 0, "tip", "height"), ("rod", 0, "chain"), ("rod", 0, "chain", 0),
    ("rod", 0, "chain", 1, "setting"), ("rod", 0, "clipped_to"), ("rod", 0, "rod_line"), ("rod", 0, "odd"),
]  # fmt: skip


@given(st.sampled_from(_PLACES), _VALUES)
def test_any_value_anywhere_is_read_or_refused_in_one_sentence(place: tuple[Any, ...], value: Any) -> None:
    data = tomllib.loads(EXAMPLE)
    owner: Any = data
    for part in place[:-1]:
        owner = owner[part]
    owner[place[-1]] = value
    try:
        outcome = len(spread_from(data, "my.toml").rods) > 0
    except SpreadError as error:
        outcome = str(error).startswith("my.toml: ") and str(error).isprintable()
    assert outcome
