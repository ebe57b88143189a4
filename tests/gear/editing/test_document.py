"""Editing a spread file: its comments stay, a wrong edit changes nothing, every change can be taken back."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from sternwatch import places
from sternwatch.gear.editing import edits, rows
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.gear.editing.in_units import shown_in
from sternwatch.gear.shelf import onto_rod as rigging
from sternwatch.gear.shelf.pieces import parse_shelf
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.values.faults import SpreadError
from sternwatch.gear.values.units import FOOT_M, SYSTEMS, Dimension, DisplaySystem

US, METRIC = SYSTEMS["us"], SYSTEMS["metric"]
EVENING = (places.shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8")


@pytest.fixture
def evening() -> SpreadDocument:
    return SpreadDocument(EVENING, "evening.toml")


def changed(before: str, after: str) -> list[str]:
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0)
    return [line for line in lines if line[:1] in "+-" and not line.startswith(("+++", "---"))]


def setting(path: edits.Path, value: Any) -> Callable[[Any], None]:
    return lambda document: edits.set_value(document, path, value)


def test_a_value_changes_its_own_line_and_nothing_else(evening: SpreadDocument) -> None:
    assert evening.change("out", setting(("rod", 1, "chain", 0, "out"), "170 ft")) == ""
    assert changed(EVENING, evening.text) == [
        '-  { line = "wire", out = "165 ft" },',
        '+  { line = "wire", out = "170 ft" },',
    ]
    assert evening.change("people", setting(("boat", "people"), 4)) == ""
    assert "rods_per_person = 3                  # a reminder; look up your local rules" in evening.text


def test_a_comment_behind_a_value_stays(evening: SpreadDocument) -> None:
    assert evening.change("rods", setting(("boat", "rods_per_person"), 2)) == ""
    assert "rods_per_person = 2                  # a reminder; look up your local rules" in evening.text


def test_a_flag_is_answered_again_and_keeps_its_comment() -> None:
    """Pressed ashore, seed 850046: the second answer ended the editor."""
    document = tomlkit.parse("[a]\nchain = [{ adjust = true }]\nflag = false # why\n")
    for value in (True, False, True):
        edits.set_value(document, ("a", "flag"), value)
        edits.set_value(document, ("a", "chain", 0, "adjust"), not value)
    assert document.as_string() == "[a]\nchain = [{ adjust = false }]\nflag = true # why\n"
    parted = tomlkit.parse("[a]\nflag = true # why\n[b]\n[a.c]\n")  # a table in two places
    edits.set_value(parted, ("a", "flag"), False)
    assert tomlkit.parse(parted.as_string()).unwrap() == {"a": {"flag": False, "c": {}}, "b": {}}


def test_what_is_wrong_changes_nothing_and_says_why(evening: SpreadDocument) -> None:
    says = evening.change("out", setting(("rod", 1, "chain", 0, "out"), "170"))
    assert says.startswith('rod 2 (P HIGH), chain item 1, out = "170": the unit is missing')
    assert evening.text == EVENING
    assert not evening.changed
    assert evening.undo() == ""


def test_every_change_is_taken_back_and_done_again(evening: SpreadDocument) -> None:
    texts = [evening.text]
    for feet in (170, 175, 180):
        evening.change(f"{feet}", setting(("rod", 1, "chain", 0, "out"), f"{feet} ft"))
        texts.append(evening.text)
    for text in reversed(texts[:-1]):
        assert evening.undo()
        assert evening.text == text
    assert evening.undo() == ""
    for text in texts[1:]:
        assert evening.redo()
        assert evening.text == text
    assert evening.redo() == ""


def test_an_entry_is_made_where_there_was_none_and_taken_out_again(evening: SpreadDocument) -> None:
    evening.change("zero", setting(("rod", 0, "counter", "zero"), "water"))
    assert evening.spread is not None
    assert evening.spread.rods[0].counter.zero == "water"
    assert 'counter = {zero = "water"}' in evening.text.replace("{ ", "{").replace(" }", "}")
    evening.change("zero", setting(("rod", 0, "counter", "zero"), None))
    assert changed(EVENING, evening.text) == []


def test_items_come_go_and_change_places_within_a_chain(evening: SpreadDocument) -> None:
    evening.change("in", lambda d: edits.insert_item(d, 0, 2, {"tackle": "snub"}))
    assert '  { tackle = "board" },\n  { tackle = "snub" },\n  { line = "backing", length' in evening.text
    evening.change("move", lambda d: edits.move_item(d, 0, 2, 3))
    assert [item.get("tackle") for item in evening.tables["rod"][0]["chain"]][:4] == [None, "board", None, "snub"]
    evening.change("out", lambda d: edits.remove_item(d, 0, 3))
    evening.change("end", lambda d: edits.insert_item(d, 0, 99, {"tackle": "fly"}))
    assert evening.tables["rod"][0]["chain"][-1] == {"tackle": "fly"}
    assert len(changed(EVENING, evening.text)) == 1


def test_a_rod_is_copied_and_mirrored(evening: SpreadDocument) -> None:
    assert evening.change("copy", lambda d: edits.add_rod(d, edits.copied(evening.tables, 1))) == ""
    assert evening.spread is not None
    copy = evening.spread.rods[-1]
    assert (copy.key, copy.name, copy.side) == ("9", "P HIGH 2", "port")
    assert evening.change("mirror", lambda d: edits.add_rod(d, edits.mirrored(evening.tables, 1))) == ""
    mirror = evening.spread.rods[-1]
    assert (mirror.key, mirror.side) == ("0", "starboard")
    assert mirror.tip_abeam_m == pytest.approx(-evening.spread.rods[1].tip_abeam_m)
    assert evening.text.startswith(EVENING)  # added at the end, nothing before it touched
    assert parse_spread(evening.text).rods[-1] == mirror


def test_the_thirteenth_rod_is_refused(evening: SpreadDocument) -> None:
    for _ in range(4):
        assert evening.change("copy", lambda d: edits.add_rod(d, edits.copied(evening.tables, 1))) == ""
    says = evening.change("copy", lambda d: edits.add_rod(d, edits.copied(evening.tables, 1)))
    assert says == "every station has a rod; there are 12"


def test_the_last_rod_may_go_and_a_first_one_come(evening: SpreadDocument) -> None:
    for _ in range(8):
        assert evening.change("remove", lambda d: edits.remove_rod(d, 0)) == ""
    assert evening.spread is None
    assert "[line.wire]" in evening.text
    rod = parse_rod(EVENING, 0)
    assert evening.change("add", lambda d: edits.add_rod(d, rod)) == ""
    assert evening.spread is not None
    assert evening.spread.rods[0].name == "P BOARD"


def parse_rod(text: str, index: int) -> dict[str, Any]:
    import tomllib

    return tomllib.loads(text)["rod"][index]  # type: ignore[no-any-return]


def test_keys_go_port_to_starboard(evening: SpreadDocument) -> None:
    evening.change("key", setting(("rod", 0, "key"), "="))
    assert evening.change("keys", edits.keys_in_order) == ""
    assert evening.spread is not None
    across = sorted(evening.spread.rods, key=lambda rod: rod.tip_abeam_m)
    assert "".join(rod.key for rod in across) == "12345678"


def test_a_carrier_of_a_clipped_rod_keeps_it_when_keys_change_and_cannot_go(evening: SpreadDocument) -> None:
    clipped = {
        "key": "9", "name": "STACK", "side": "port", "clipped_to": {"rod": "4", "above_ball": "10 ft"},
        "chain": [{"line": "mono", "length": "20 ft"}, {"tackle": "spoon"}],
    }  # fmt: skip
    assert evening.change("add", lambda d: edits.add_rod(d, clipped)) == ""
    assert "no other rod has that key" in evening.change("remove", lambda d: edits.remove_rod(d, 3))
    assert evening.change("keys", edits.keys_in_order) == ""
    assert evening.spread is not None
    rod = evening.spread.rods[-1]
    assert rod.clipped_to is not None
    carrier = evening.spread.rod_by_key(rod.clipped_to.rod)
    assert carrier is not None
    assert carrier.name == "P DOWN"


def test_every_shelf_rig_goes_on_every_side_with_and_without_a_board() -> None:
    shelf = parse_shelf("")
    for name in shelf.rigs:
        for side in ("port", "starboard", "centre"):
            for board in (False, True):
                document = SpreadDocument.open(Path("nowhere.toml"))
                chain = shelf.tables["rig"][name]["chain"]
                wanted = rigging.behind_board(chain, US) if board else chain

                def add(d: Any, wanted: Any = wanted, side: str = side) -> None:
                    placed = rigging.put_chain(d, shelf, wanted)
                    edits.add_rod(d, rigging.new_rod(d.unwrap(), placed, side, US))

                assert document.change("add", add) == "", (name, side, board)
                assert document.spread is not None
                assert rigging.has_board(document.tables, document.tables["rod"][0]["chain"]) is board
                if board:
                    back = rigging.without_board(document.tables, document.tables["rod"][0]["chain"])
                    assert [item.get("out") for item in back] == [item.get("out") for item in chain]


def test_a_piece_that_another_file_named_so_gets_a_name_of_its_own(evening: SpreadDocument) -> None:
    shelf = parse_shelf('[tackle.spoon]\nkind = "lure"\nform = "spoon"\ncolour = "green"\n')
    names: list[rigging.Chain] = []
    evening.change("put", lambda d: names.append(rigging.put_chain(d, shelf, [{"tackle": "spoon"}])))
    assert names[0] == [{"tackle": "spoon (2)"}]
    assert evening.tables["tackle"]["spoon (2)"]["colour"] == "green"
    assert evening.tables["tackle"]["spoon"] == {"kind": "lure", "form": "spoon"}
    evening.change("put", lambda d: names.append(rigging.put_chain(d, shelf, [{"tackle": "spoon"}])))
    assert names[1] == [{"tackle": "spoon (2)"}]  # it is there already


def test_how_far_off_a_shipped_piece_may_be_comes_with_it_and_follows_its_rod(evening: SpreadDocument) -> None:
    shelf = parse_shelf("")
    names: list[rigging.Chain] = []
    evening.change(
        "put", lambda d: names.append(rigging.put_chain(d, shelf, [{"line": "wire 30 lb", "out": "9 ft"}]))
    )
    assert evening.tables["prior"]["line wire 30 lb diameter"]["high"] == 1.1
    believed = {"low": 0.9, "high": 1.1}
    evening.change("prior", lambda d: edits.define(d, "prior", "rod 1 counter", believed) and None)
    evening.change("key", setting(("rod", 0, "tip", "abeam"), "0.5 ft"))
    assert evening.change("keys", edits.keys_in_order) == ""
    key = next(rod.key for rod in evening.spread.rods if rod.name == "P BOARD") if evening.spread else ""
    assert key != "1"
    assert evening.tables["prior"][f"rod {key} counter"] == believed
    index = [rod["key"] for rod in evening.tables["rod"]].index(key)
    assert evening.change("remove", lambda d: edits.remove_rod(d, index)) == ""
    assert list(evening.tables["prior"]) == ["line wire 30 lb diameter"]


def test_new_tips_stand_apart_and_metric_crews_read_metres() -> None:
    document = SpreadDocument.open(Path("nowhere.toml"))
    shelf = parse_shelf("")
    for side in ("port", "port", "port", "starboard", "centre", "centre"):

        def add(d: Any, side: str = side) -> None:
            placed = rigging.put_chain(d, shelf, shelf.tables["rig"]["diver on wire"]["chain"])
            edits.add_rod(d, rigging.new_rod(d.unwrap(), placed, side, METRIC))

        assert document.change("add", add) == ""
    assert document.spread is not None
    tips = {(rod.side, rod.tip.astern_m, rod.tip.abeam_m) for rod in document.spread.rods if rod.tip}
    assert len(tips) == 6
    assert document.tables["rod"][0]["tip"]["height"].endswith(" m")


def test_a_file_that_is_wrong_is_not_opened(tmp_path: Path) -> None:
    path = tmp_path / "boat.toml"
    path.write_text("[boat]\nbeem = 3\n", encoding="utf-8")
    with pytest.raises(SpreadError, match='did you mean "beam"'):
        SpreadDocument.open(path)


def test_rows_offer_every_field_with_its_dimension(evening: SpreadDocument) -> None:
    for index in range(8):
        for row in rows.rod_rows(evening.tables, index, US):
            if row.path and row.ask is not None:
                assert row.written == edits.value_at(evening.tables, row.path)
                assert row.value == "–" if row.written is None else row.value != "–"
    tip = next(row for row in rows.rod_rows(evening.tables, 0, US) if row.label == "tip abeam")
    assert tip.ask is not None
    assert tip.ask.dimension == "length"
    assert "outward from the boat's middle" in rows.hint(tip, US)
    disc = rows.piece_rows(evening.tables, "tackle", "disc", US)
    assert disc[0].label == "TACKLE “disc”, ON P HIGH, P LOW, S LOW, S HIGH"
    assert [row.value for row in disc if row.label == "set “low”"] == ["20°"]


@pytest.mark.parametrize(
    ("text", "field", "dimension", "us", "metric"),
    [
        ("0.3 m", ("boat", "required", "line"), Dimension.LENGTH, "0.984 ft", "0.3 m"),
        ("180 ft", ("rod", 0, "chain", 0, "out"), Dimension.LENGTH, "180 ft", "54.9 m"),
        ("22 in", ("rod", 0, "chain", 4, "length"), Dimension.LENGTH, "22 in", "0.559 m"),
        ("7 colours", ("rod", 0, "chain", 0, "out"), Dimension.LENGTH, "7 colours", "7 colours"),
        ("0.38 mm", ("line", "wire", "diameter"), Dimension.LENGTH, "0.38 mm", "0.38 mm"),
        ("0.015 in", ("line", "wire", "diameter"), Dimension.LENGTH, "0.015 in", "0.381 mm"),
        ("120 mm", ("tackle", "disc", "diameter"), Dimension.LENGTH, "120 mm", "120 mm"),
        ("4.7 in", ("tackle", "disc", "diameter"), Dimension.LENGTH, "4.7 in", "11.9 cm"),
        ("8 in", ("tackle", "paddle", "length"), Dimension.LENGTH, "8 in", "20.3 cm"),
        ("40 lbf", ("line", "wire", "strength"), Dimension.FORCE, "40 lb", "178 N"),
        ("12 N", ("rod", 3, "rod_line", "pull"), Dimension.FORCE, "2.7 lb", "12 N"),
        ("10 degC", ("water", "temperature"), Dimension.TEMPERATURE, "50 °F", "10 °C"),
        ("1.0 m/s", ("boat", "trolling_speed"), Dimension.SPEED, "2.24 mph", "3.6 km/h"),
        ("4.5 kg", ("tackle", "ball", "mass"), Dimension.MASS, "9.92 lb", "4.5 kg"),
        ("20 deg", ("tackle", "disc", "settings", "low"), Dimension.ANGLE, "20°", "20°"),
        ("7930 kg/m^3", ("line", "wire", "density"), Dimension.DENSITY, "7930 kg/m^3", "7930 kg/m^3"),
        ("what?", ("boat", "beam"), Dimension.LENGTH, "what?", "what?"),
    ],
)
def test_a_files_quantity_is_shown_in_the_users_unit(
    text: str, field: tuple[str | int, ...], dimension: Dimension, us: str, metric: str
) -> None:
    assert shown_in(text, field, dimension, US) == us
    assert shown_in(text, field, dimension, METRIC) == metric


def test_hints_name_the_users_units(evening: SpreadDocument) -> None:
    def hints(units: DisplaySystem) -> dict[str, str]:
        made = [*rows.boat_rows(evening.tables, units), *rows.rod_rows(evening.tables, 1, units)]
        made += rows.piece_rows(evening.tables, "line", "wire", units)
        return {row.label.strip(): rows.hint(row, units) for row in made}

    us, metric = hints(US), hints(METRIC)
    assert "as 9 ft" in us["beam"]
    assert "as 2.7 m" in metric["beam"]
    assert "as 50 °F" in us["temperature"]
    assert "as 10 °C" in metric["temperature"]
    assert "as 40 lb" in us["strength"]
    assert "as 180 N" in metric["strength"]
    assert "as 1.8 to 2.6 mph" in us["lure speeds"]
    assert "as 2.9 to 4.2 km/h" in metric["lure speeds"]
    for said in (*us.values(), *metric.values()):
        assert "lbf" not in said
        assert "deg" not in said


def test_lengths_are_written_in_the_users_unit() -> None:
    assert rigging.show_length(7.5 * FOOT_M, US) == "7.5 ft"
    assert rigging.show_length(2.3, METRIC) == "2.3 m"


@pytest.mark.parametrize("text", [EVENING.rstrip("\n"), EVENING.replace("\n", "\r\n")])
def test_a_file_without_its_last_newline_and_one_from_windows_take_a_rod_more(text: str) -> None:
    document = SpreadDocument(text, "evening.toml")
    assert document.change("copy", lambda d: edits.add_rod(d, edits.copied(document.tables, 1))) == ""
    assert document.spread is not None
    assert len(document.spread.rods) == 9
    assert document.text.startswith(text)


def test_other_ways_of_writing_a_chain_are_edited_or_answered_in_a_sentence() -> None:
    spelled_out = """
[line.mono]
material = "nylon"
diameter = "0.45 mm"

[[rod]]
key = "1"
name = "ONE"
side = "port"
[rod.tip]
height = "4 ft"
[[rod.chain]]
line = "mono"
out = "100 ft"
"""
    document = SpreadDocument(spelled_out, "spelled.toml")
    assert document.change("out", setting(("rod", 0, "chain", 0, "out"), "90 ft")) == ""
    assert document.change("tip", setting(("rod", 0, "tip", "abeam"), "3 ft")) == ""
    assert document.change("counter", setting(("rod", 0, "counter", "zero"), "water")) == ""
    assert document.spread is not None
    assert document.spread.rods[0].counter.zero == "water"
    says = document.change("in", lambda d: edits.insert_item(d, 0, 1, {"line": "mono", "length": "3 ft"}))
    assert says.startswith("its chain is written as tables of their own")
    assert document.change("copy", lambda d: edits.add_rod(d, edits.copied(document.tables, 0))) == ""
    assert len(document.spread.rods) == 2
    in_a_list = 'rod = [ { key = "1", name = "A", side = "port", tip = { height = "4 ft" }, chain = [ { line = "m", '
    in_a_list += 'out = "9 ft" } ] } ]\n[line.m]\nmaterial = "nylon"\ndiameter = "0.4 mm"\n'
    document = SpreadDocument(in_a_list, "list.toml")
    assert document.change("out", setting(("rod", 0, "chain", 0, "out"), "90 ft")) == ""
    says = document.change("copy", lambda d: edits.add_rod(d, edits.copied(document.tables, 0)))
    assert says == "the rods are written as a list; write each as [[rod]] to add one here"
