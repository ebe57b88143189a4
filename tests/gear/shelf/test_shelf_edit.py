"""Putting things on the shelf: by questions, from a spread; the file keeps its comments and is never made wrong."""

from __future__ import annotations

from pathlib import Path

import pytest

from sternwatch import places
from sternwatch.files import earlier
from sternwatch.gear.asking.interview import stand_of
from sternwatch.gear.asking.shelf_questions import WHAT, script
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.gear.shelf.adding import Piece, piece_of, pieces_of, put_on_shelf
from sternwatch.gear.shelf.pieces import load_shelf, parse_shelf
from sternwatch.gear.values.faults import SpreadError
from sternwatch.gear.values.units import SYSTEMS

OWN = """# my own
[tackle."green fly"]   # the good one
kind = "lure"
form = "fly"
colour = "green"
"""


def answered(units: str = "us", **said: str) -> Piece:
    answers: dict[str, str] = {}
    for _ in range(30):
        stand = stand_of(script(SYSTEMS[units], parse_shelf("")), answers)
        if stand.made is not None:
            return stand.made
        assert stand.open is not None
        answers[stand.open.id] = stand.open.checked(said.get(stand.open.id.replace(" ", "_"), ""))
    raise AssertionError("no end of questions")


def test_comments_stay_and_the_version_before_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "shelf.toml"
    path.write_text(OWN, encoding="utf-8")
    put_on_shelf(path, Piece("tackle", "blue spoon", {"kind": "lure", "form": "spoon", "colour": "blue"}))
    assert path.read_text(encoding="utf-8").startswith(OWN)
    assert list(load_shelf(path).lures)[:2] == ["green fly", "blue spoon"]
    assert [kept.read_text(encoding="utf-8") for kept in earlier(path)] == [OWN]


def test_one_of_the_same_name_takes_the_old_ones_place(tmp_path: Path) -> None:
    path = tmp_path / "shelf.toml"
    path.write_text(OWN.rstrip("\n"), encoding="utf-8")
    put_on_shelf(path, Piece("tackle", "green fly", {"kind": "lure", "form": "fly", "colour": "dark green"}))
    shelf = load_shelf(path)
    assert shelf.lures["green fly"].colour == "dark green"


def test_nothing_is_written_that_would_be_wrong(tmp_path: Path) -> None:
    path = tmp_path / "shelf.toml"
    with pytest.raises(SpreadError, match="its mass is missing"):
        put_on_shelf(path, Piece("tackle", "ball", {"kind": "ball"}))
    assert not path.exists()
    path.write_text("[tackle.x]\nkind = 3\n", encoding="utf-8")
    with pytest.raises(SpreadError):
        put_on_shelf(path, Piece("tackle", "ball", {"kind": "ball", "mass": "10 lb"}))
    assert path.read_text(encoding="utf-8") == "[tackle.x]\nkind = 3\n"


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("what", WHAT)
def test_every_kind_of_thing_is_asked_for_and_put_there(tmp_path: Path, what: str, units: str) -> None:
    path = tmp_path / "shelf.toml"
    piece = answered(units, what=what, note="a good one")
    put_on_shelf(path, piece)
    shelf = load_shelf(path)
    assert (piece.kind, piece.name) in shelf.own
    assert piece.table["note"].startswith("a good one")


def test_a_lure_has_name_colour_size_and_note(tmp_path: Path) -> None:
    piece = answered(what="a lure", form="spoon", colour="green", length="4", name="frog", note="caught in June")
    assert piece == Piece(
        "tackle", "frog",
        {"kind": "lure", "form": "spoon", "colour": "green", "length": "4 in", "note": "caught in June"},
    )  # fmt: skip
    put_on_shelf(tmp_path / "shelf.toml", piece)
    assert load_shelf(tmp_path / "shelf.toml").lures["frog"].length_m == pytest.approx(0.1016)


def test_a_lines_wide_interval_comes_with_it(tmp_path: Path) -> None:
    put_on_shelf(tmp_path / "shelf.toml", answered(what="a line", kind="wire", name="my wire"))
    shelf = load_shelf(tmp_path / "shelf.toml")
    assert shelf.priors("line", "my wire")["diameter"]["source"] == "typical, from memory"


def test_a_line_has_no_priors_of_one_whose_longer_name_begins_alike(tmp_path: Path) -> None:
    """Pressed ashore, seed 850298: a line "fluoro" was shelved, then the shipped "fluoro 20 lb" replaced."""
    path, wide = tmp_path / "shelf.toml", {"low": 0.3, "high": 0.5, "unit": "mm", "source": "measured"}
    shipped = parse_shelf("").priors("line", "fluoro 20 lb")
    assert shipped
    line = {"material": "fluorocarbon", "diameter": "0.4 mm"}
    put_on_shelf(path, Piece("line", "fluoro", line))
    assert load_shelf(path).priors("line", "fluoro 20 lb") == shipped
    assert load_shelf(path).priors("line", "fluoro") == {}
    put_on_shelf(path, Piece("line", "fluoro 20 lb", line))
    assert load_shelf(path).priors("line", "fluoro 20 lb") == {}
    assert load_shelf(path).priors("line", "fluoro 30 lb") != {}
    spread = {"line": {"a": line, "a 2": line}, "prior": {"line a diameter": wide, "line a 2 weight": wide}}
    assert piece_of(spread, "line", "a").priors == {"diameter": wide}
    assert piece_of(spread, "line", "a 2").priors == {"weight": wide}


def test_a_whole_rig_goes_on_the_shelf_and_back_on_a_rod(tmp_path: Path) -> None:
    document = SpreadDocument.open(places.shipped("demo_logs") / "evening.toml")
    chain = document.tables["rod"][1]["chain"]
    path = tmp_path / "shelf.toml"
    put_on_shelf(path, *pieces_of(document.tables, chain), Piece("rig", "P HIGH", {"chain": chain}))
    shelf = load_shelf(path)
    assert ("rig", "P HIGH") in shelf.own
    assert shelf.tables["line"]["wire"] == piece_of(document.tables, "line", "wire").table
    lines, tackle = shelf.parts(shelf.rigs["P HIGH"].chain)
    assert set(lines) == {"wire", "leader"}
    assert set(tackle) == {"disc", "snub", "paddle", "fly"}
