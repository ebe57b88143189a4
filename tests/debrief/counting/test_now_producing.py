"""What the console is handed: the panel, put back, lines unseen, the trip in words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from sternwatch.debrief.counting.now_producing import PutBack, panel, put_back, trip_words
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import Crew, RodDefaults
from sternwatch.logbook.store.samples import HitRow, Sample

US = SYSTEMS["us"]
RODS = (
    RodDefaults("3", "P LOW", 50.0, "low", None, ("low", "high")),
    RodDefaults("5", "S DOWN", 20.0, None, 9.0, ()),
)
BEGIN = datetime(2026, 7, 18, 23, 0, tzinfo=UTC)


def crew_of(*acts: tuple[Any, ...]) -> Crew:
    """From (id, seconds, kind, rod, fields)."""
    made: list[Action] = []
    for name, t_s, kind, rod, fields in acts:
        given = {"id": name, "time": BEGIN + timedelta(seconds=t_s), "elapsed_s": t_s, "kind": kind, **fields}
        made.append(parse(given if rod is None else given | {"rod": rod}))
    return fold(made, RODS)


FISHING = (("a", 0, "set", "3", {}), ("b", 1, "set", "5", {}), ("h", 60, "hit", "3", {}))


class TestPutBack:
    def test_what_it_had_beside_what_it_has(self) -> None:
        crew = crew_of(
            *FISHING, ("o", 70, "outcome", None, {"of": "h", "outcome": "boxed"}),
            ("l", 80, "length", "3", {"line_out_m": 60.96}), ("s", 81, "setting", "3", {"setting": "high"}),
        )  # fmt: skip
        back = put_back(crew, "3", US)
        assert isinstance(back, PutBack)
        assert (back.then, back.now) == ("164 ft low", "200 ft high")
        assert back.text == "3 P LOW had 164 ft low at its hit, now 200 ft high; r again puts it back"
        act = parse({"id": "p", "time": BEGIN, "kind": "put back", "rod": "3", **back.fields})
        rod = fold([*crew.entries.values(), act], RODS).rods["3"]
        assert (rod.line_out_m, rod.setting, rod.state) == (50.0, "low", "letting out")

    def test_a_downriggers_lead_comes_back_with_it(self) -> None:
        crew = crew_of(*FISHING, ("h5", 65, "hit", "5", {}), ("d", 80, "lead", "5", {"lead_m": 3.0}))
        back = put_back(crew, "5", US)
        assert isinstance(back, PutBack)
        assert back.fields == {"of": "h5", "line_out_m": 20.0, "lead_m": 9.0}

    def test_of_a_hit_moved_in_time_it_is_what_the_rod_had_then(self, day: list[Sample]) -> None:
        crew = crew_of(*FISHING)
        then = replace(day[0].rods[2], line_out_m=42.0)
        row = HitRow("h", "3", 30.0, 0, True, True, rod_row=then)
        back = put_back(crew, "3", US, row)
        assert isinstance(back, PutBack)
        assert back.fields["line_out_m"] == 42.0

    @pytest.mark.parametrize(
        ("acts", "key", "said"),
        [
            (FISHING, "5", "5 S DOWN has had no hit this trip"),
            (FISHING, "9", "There is no rod 9"),
            (
                (*FISHING, ("n", 70, "outcome", None, {"of": "h", "outcome": "no fish"})),
                "3",
                "3 P LOW has had no hit",
            ),
        ],
    )
    def test_nothing_to_put_back_is_a_sentence(self, acts: Sequence[tuple[Any, ...]], key: str, said: str) -> None:
        back = put_back(crew_of(*acts), key, US)
        assert isinstance(back, str)
        assert back.startswith(said)


def test_the_trip_in_words() -> None:
    crew = crew_of(
        *FISHING, ("o", 70, "outcome", None, {"of": "h", "outcome": "boxed"}),
        ("c", 71, "catch", None, {"of": "h", "species": "coho"}),
        ("t", 80, "trip", None, {"people": 2, "target": ["coho"], "limits": {"coho": 5}, "wind": "SW 10"}),
    )  # fmt: skip
    assert trip_words(crew, rods_per_person=3) == (
        "2 aboard; rods out: 1, allowed by your own numbers: 6", "After coho", "Wind SW 10", "Box: coho 1 of 5",
    )  # fmt: skip
    assert trip_words(crew_of(*FISHING)) == ()


class TestPanel:
    def test_today_beside_the_last_hour(self, day: list[Sample], make_hits: Callable[..., list[HitRow]]) -> None:
        early = [replace(hit, at_s=100.0) for hit in make_hits(np.random.default_rng(0), {1: 2})]
        late = [replace(hit, at_s=17_900.0, id="late") for hit in make_hits(np.random.default_rng(0), {1: 1})]
        shown = panel(day, [*early, *late], 17_990.0, US)
        high = next(row for row in shown.rows if row.name == "2 P HIGH")
        assert (high.hits, high.last_hits) == (3, 1)
        assert (high.hours, high.last_hours) == pytest.approx((5.0, 1.0), abs=0.01)
        assert high.text == "2 P HIGH  3 in 5.0 h · last hour 1"
        assert high.behind == "0.6 an hour (0.2–1.6)"

    def test_one_sentence_for_the_radio(self, day: list[Sample], make_hits: Callable[..., list[HitRow]]) -> None:
        hits = make_hits(np.random.default_rng(1), {1: 8, 6: 8, 0: 1, 3: 1, 4: 1, 5: 1})
        shown = panel(day, hits, 17_990.0, US)
        assert shown.radio.startswith("20 hits, 20 in the box. 16 of them on 2 and 7, most ")
        assert panel(day, [], 17_990.0, US).radio == "No hits so far."
