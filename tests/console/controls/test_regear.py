"""Changing what hangs from the rods, at the controls: two lists, one entry, nothing that cannot be."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import fake_picture
import pytest

from console.controls.test_hits import Table
from sternwatch import places
from sternwatch.console.frame.footer import offered
from sternwatch.console.keys.keymap import build
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.watch.chains.spread_in_force import Rigging, spread_of
from sternwatch.watch.picture.model import RodState

DEMO = Path(__file__).parents[3] / "demo_logs" / "evening.toml"
SHELF = '[tackle."green spoon"]\nkind = "lure"\nform = "spoon"\n'


@pytest.fixture
def table() -> Table:
    places.config_dir().mkdir(parents=True)
    (places.config_dir() / "shelf.toml").write_text(SHELF, encoding="utf-8")
    made = Table(replace(fake_picture.straight(), hits=(), alerts=(), crew=fold((), Rigging.of(load_spread(DEMO)))))
    made.controls.chosen = "3"
    return made


def take_in(table: Table) -> None:
    """The next picture, with what was entered in it."""
    crew = table.controls.picture.crew
    for action in table.runner.actions:
        crew = apply(crew, action)
    table.show(crew=crew)


def lure_of(table: Table, key: str) -> str:
    rod = spread_of(table.controls.picture.crew, load_spread(DEMO)).rod_by_key(key)
    return rod.chain[-1].tackle


def test_three_keys_put_another_lure_on(table: Table) -> None:
    table.press("change")
    assert table.controls.listing.title == "3 P LOW: change what"
    assert [option.split()[0] for option in table.controls.listing.options] == [
        "lure", "attractor", "leader", "setting", "rig",
    ]  # fmt: skip
    assert table.controls.listing.options[0] == "lure      fly"
    assert offered(table.controls, build({}), table.now)[0] == "CHANGE"
    table.key("enter", "enter")
    assert table.runner.did() == [("change", "3")]
    assert (table.last.what, table.last.name) == ("lure", "green spoon")
    assert table.controls.said.text == "3 P LOW lure green spoon; its depth settles anew"
    assert table.controls.ledger.newest().words == "3 P LOW lure green spoon"
    take_in(table)
    assert lure_of(table, "3") == "green spoon"


def test_what_was_put_on_lately_comes_first(table: Table) -> None:
    table.press("change")
    table.key("enter", "down", "down", "enter")
    lately = table.last.name
    assert lately != "green spoon"
    table.controls.chosen = "6"
    table.press("change")
    table.key("enter")
    assert table.controls.listing.options[0] == lately


def test_a_setting_is_the_entry_that_it_always_was(table: Table) -> None:
    table.press("change")
    table.key("down", "down", "down", "enter")
    assert table.controls.listing.options == ("straight", "high")
    table.key("down", "enter")
    assert (table.last.kind, table.last.setting) == ("setting", "high")


def test_a_whole_rig_as_another_rod_has_it_now(table: Table) -> None:
    table.controls.chosen = "2"
    table.press("change")
    table.key("up", "enter")
    options = table.controls.listing.options
    at = next(n for n, option in enumerate(options) if option.startswith("as 3 P LOW: 185 ft wire, disc low"))
    table.key(*["down"] * at, "enter")
    assert (table.last.what, table.last.name) == ("rig", "as 3 P LOW")
    take_in(table)
    crew = table.controls.picture.crew
    assert crew.rods["2"].setting == "low"
    assert crew.problems == ()


def test_rigs_change_places_and_the_chosen_rod_goes_with_its_rig(table: Table) -> None:
    table.controls.chosen = "1"
    table.press("move")
    assert [option[:8] for option in table.controls.listing.options] == [
        "2 P HIGH", "3 P LOW ", "6 S LOW ", "7 S HIGH", "8 S BOAR",
    ]  # fmt: skip
    table.key("enter")
    assert table.runner.did() == [("move", "1")]
    assert table.last.to == "2"
    assert table.controls.chosen == "2"
    take_in(table)
    assert lure_of(table, "2") == "spoon"


def test_esc_and_rod_keys_change_nothing_but_hits_go_on(table: Table) -> None:
    table.press("change")
    table.press("rod 5")
    table.key("escape")
    assert table.runner.did() == [("hit", "5")]
    assert table.controls.said.text.endswith("nothing changed")


def test_a_rod_with_a_fish_on_is_not_changed(table: Table) -> None:
    rods = [replace(rod, state=RodState.FIGHTING) if rod.key == "3" else rod for rod in table.controls.picture.rods]
    table.show(rods=tuple(rods))
    table.press("change")
    assert table.controls.listing is None
    assert "fish on" in table.controls.said.text


def test_a_wrong_shelf_is_said_and_the_shipped_pieces_are_offered(table: Table) -> None:
    (places.config_dir() / "shelf.toml").write_text("[tackle.x]\nkind = 3\n", encoding="utf-8")
    table.press("change")
    table.key("enter")
    assert "shelf.toml" in table.controls.said.text
    assert "spoon 5 in" in table.controls.listing.options


def test_without_a_spread_it_is_said(table: Table) -> None:
    table.show(crew=None)
    table.press("change")
    assert table.controls.listing is None
    assert table.controls.said.text == "What hangs from 3 P LOW is not known"


def test_a_list_taken_after_another_change_is_refused_with_a_sentence(table: Table) -> None:
    table.controls.chosen = "1"
    table.press("move")
    table.controls.listing.values = (
        "4",
        *table.controls.listing.values[1:],
    )  # as if that station had got a ball meanwhile
    table.key("up", "down", "enter")
    assert table.runner.did() == []
    assert "stay at their station" in table.controls.said.text
