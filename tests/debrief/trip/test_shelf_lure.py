"""A lure of the shelf carries its name and colour into hits and statistics."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from sternwatch import places
from sternwatch.debrief.counting.factors import Factor, Value
from sternwatch.debrief.counting.tally import tally
from sternwatch.debrief.trip import sources as tripdata
from sternwatch.debrief.trip.sources import TripData
from sternwatch.gear.editing import edits
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.gear.shelf import onto_rod as rigging
from sternwatch.gear.shelf.adding import Piece, put_on_shelf
from sternwatch.gear.shelf.pieces import load_shelf
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import load_actions

UNTIL_S = 420.0
BEGUN = "2026-07-18T23:02:00Z"


def test_the_name_and_colour_go_with_every_hit_and_hour(tmp_path: Path) -> None:
    shelf_file = tmp_path / "shelf.toml"
    put_on_shelf(shelf_file, Piece("tackle", "frog", {"kind": "lure", "form": "spoon", "colour": "green"}))
    shelf = load_shelf(shelf_file)
    document = SpreadDocument.open(tmp_path / "boat.toml")

    def add(made: Any) -> None:
        chain = [*shelf.tables["rig"]["flat line"]["chain"][:-1], {"tackle": "frog"}]
        placed = rigging.put_chain(made, shelf, chain)
        edits.add_rod(made, rigging.new_rod(made.unwrap(), placed, "port", SYSTEMS["us"]))

    assert document.change("add", add) == ""

    lines = (places.shipped("demo_logs") / "evening.nmea").read_bytes().splitlines(keepends=True)
    late = (i for i, line in enumerate(lines) if int(re.search(rb",r:(\d+)", line)[1]) > UNTIL_S * 1000)  # type: ignore[index]
    feed = tmp_path / "part.nmea"
    feed.write_bytes(b"".join(lines[: next(late)]))
    acts = tmp_path / "acts.jsonl"
    hit = {"id": "h1", "time": BEGUN, "elapsed_s": 300.0, "kind": "hit", "rod": "1"}
    acts.write_text(json.dumps(hit) + "\n", encoding="utf-8")
    actions = load_actions(acts)
    trip = TripData("20260718T230200Z-000shelf", actions[0].time, document.text, actions, feed, start="fishing")
    digest = tripdata.digest_of(trip)

    assert [row.rod_row.rig.lure for row in digest.hits if row.rod_row is not None] == ["frog"]
    counted = tally(digest.samples, digest.hits)
    for value in (Value(Factor.LURE, word="frog"), Value(Factor.COLOUR, word="green")):
        assert counted.by_value[value].hits == 1
        assert counted.by_value[value].seconds > 200
