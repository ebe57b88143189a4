"""Where exactly an entry turns the crew's state one way or the other, and every entry in words in both units."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from pydantic import ValidationError

from sternwatch.local_time import BoatTime
from sternwatch.logbook.actions.kinds import KINDS, Action, lines, parse
from sternwatch.logbook.crew.facts import BoxCount, Facts, box_counts, rods_allowed
from sternwatch.logbook.crew.fold import fold, start_state
from sternwatch.logbook.crew.state import CrewHit, RodDefaults, When
from sternwatch.logbook.crew.words import describe

Act = Callable[..., Action]
Rods = tuple[RodDefaults, ...]


@pytest.mark.parametrize(("set_s", "state"), [(10, "fighting"), (10.001, "fishing")])
def test_a_hit_of_the_moment_in_which_its_rod_was_set_is_fought(
    act: Act, rods: Rods, set_s: float, state: str
) -> None:
    """One confirmed after its rod was set anew is not."""
    acts = [
        act("o", 1, "set", "3"), act("h", 10, "hit", "3", doubtful=True), act("s", set_s, "set", "3"),
        act("c", 20, "confirm", of="h"),
    ]  # fmt: skip
    assert fold(acts, rods).rods["3"].state == state


@pytest.mark.parametrize(("moved_s", "state"), [(10, "fighting"), (10.001, "fishing")])
def test_a_hit_is_not_fought_by_a_rig_that_came_after_it(act: Act, rods: Rods, moved_s: float, state: str) -> None:
    class Same:
        """Gear in which any change is possible and changes nothing of the lengths."""

        def __init__(self) -> None:
            self.rods = rods

        def changed(self, _: object) -> Same:
            return self

    acts = [
        act("s", 1, "set", "3"), act("h", 10, "hit", "3", doubtful=True), act("m", moved_s, "move", "3", to="3"),
        act("c", 20, "confirm", of="h"),
    ]  # fmt: skip
    assert fold(acts, Same()).rods["3"].state == state


@pytest.mark.parametrize(("hit_s", "ran_s"), [(10.5, 0.5), (10.0, 0.0), (25.0, 15.0)])
def test_a_line_has_run_as_long_as_it_ran(act: Act, rods: Rods, hit_s: float, ran_s: float) -> None:
    acts = [act("o", 10, "going out", "3"), act("h", hit_s, "hit", "3")]
    assert fold(acts, rods).rods["3"].let_out_s == ran_s


@pytest.mark.parametrize(
    ("outcome", "after_s", "lost"),
    [("dropped", 15.0, False), ("dropped", 15.001, True), ("no fish", 40.0, False), ("no fish", 40.001, True)],
)
def test_line_is_wound_in_a_fight_of_more_than_fifteen_seconds_and_felt_for_forty(
    act: Act, rods: Rods, outcome: str, after_s: float, lost: bool
) -> None:
    acts = [
        act("s", 1, "set", "3"), act("h", 10, "hit", "3"),
        act("x", 10 + after_s, "outcome", of="h", outcome=outcome),
    ]  # fmt: skip
    rod = fold(acts, rods).rods["3"]
    assert (rod.state, rod.length_lost) == ("fishing", lost)
    assert fold([*acts, act("h2", 100, "hit", "3")], rods).hits[-1].line_out_m == (None if lost else 50.0)


def test_a_setting_stays_through_a_change_that_leaves_it_possible(act: Act, rods: Rods) -> None:
    class Changed:
        def __init__(self) -> None:
            self.rods = (*rods[:2], RodDefaults("5"))

        def changed(self, _: object) -> Changed:
            return self

    acts = [act("s", 1, "setting", "3", setting="high"), act("c", 2, "change", "3", what="lure", name="spoon")]
    assert fold(acts, Changed()).rods["3"].setting == "high"
    free = [act("s", 1, "setting", "5", setting="any"), act("c", 2, "change", "5", what="lure", name="spoon")]
    assert fold(free, Changed()).rods["5"].setting == "any", "no list of settings is known of it"


def test_a_hits_state_and_whether_it_counts() -> None:
    begun = When(parse({"id": "a", "time": "2026-07-18T23:00:00Z", "kind": "bite"}).time, 1.0)

    def told(**more: Any) -> tuple[str, bool]:
        hit = CrewHit("h", **{"rod": "3", "when": begun, "entered": begun} | more)
        return hit.state, hit.counts

    assert told() == ("open", True)
    assert told(outcome="boxed") == ("boxed", True)
    assert told(outcome="no fish") == ("no fish", False)
    assert told(doubtful=True) == ("open", False)
    assert told(rod=None) == ("open", False)


def test_a_hit_is_found_by_its_own_name_or_by_that_of_its_bite(act: Act, rods: Rods) -> None:
    crew = fold([act("s", 1, "set", "3"), act("b", 2, "bite"), act("h", 9, "hit", "3", bite="b")], rods)
    hit = crew.hit("h")
    assert hit is not None
    assert (hit.id, hit.rod, crew.hit("b"), crew.hit("s")) == ("h", "3", hit, None)


def test_an_entry_once_made_cannot_be_changed(act: Act) -> None:
    """The fold keeps entries, and what follows from them, for as long as the session."""
    hit, plan = act("h", 1, "hit", "3"), act("p", 1, "planned", rods=[{"rod": "3", "line_out_m": 5.0}])
    for thing, name, value in ((hit, "rod", "5"), (plan.rods[0], "line_out_m", 6.0)):  # type: ignore[union-attr]
        with pytest.raises(ValidationError, match="frozen"):
            setattr(thing, name, value)
    with pytest.raises(ValidationError, match="not permitted"):
        type(plan.rods[0])(rod="3", line_out=6.0)  # type: ignore[union-attr]
    note = act("n", 1, "note", text="ünïcode ✓")
    assert "ünïcode ✓" in lines([note]), "whoever opens the file can read it"


def test_a_place_is_told_where_it_is_whole(act: Act) -> None:
    marked = act("m", 1, "mark", what="net", latitude_deg=47.0, longitude_deg=-89.0)
    assert marked.place_deg == (47.0, -89.0)  # type: ignore[union-attr]
    assert act("m", 1, "mark", what="net").place_deg is None  # type: ignore[union-attr]
    assert marked.model_copy(update={"longitude_deg": None}).place_deg is None  # type: ignore[union-attr]


WORDS: tuple[tuple[str, dict[str, Any], str, str], ...] = (
    ("going out", {"rod": "3", "line_out_m": 50.0}, "3 P LOW going out to 164 ft", "3 P LOW going out to 50.0 m"),
    ("set", {"rod": "3"}, "3 P LOW set", ""),
    ("in", {"rod": "3"}, "3 P LOW in", ""),
    ("length", {"rod": "3", "line_out_m": 30.48}, "3 P LOW line out 100 ft", "3 P LOW line out 30.5 m"),
    ("lead", {"rod": "5", "lead_m": 9.144}, "5 S DOWN lead 30 ft", "5 S DOWN lead 9.1 m"),
    ("setting", {"rod": "3", "setting": "high"}, "3 P LOW setting high", ""),
    ("hit", {"rod": "3"}, "hit on 3 P LOW", ""),
    ("hit", {"rod": "3", "doubtful": True}, "doubtful hit on 3 P LOW", ""),
    ("bite", {}, "bite, rod not known yet", ""),
    ("confirm", {"of": "h0"}, "hit on 3 P LOW confirmed", ""),
    ("confirm", {"of": "b0"}, "bite confirmed", ""),
    ("doubt", {"of": "nobody"}, "hit doubted", ""),
    ("outcome", {"of": "h0", "outcome": "boxed"}, "hit on 3 P LOW boxed", ""),
    ("catch", {"of": "h0"}, "hit on 3 P LOW: catch", ""),
    (
        "catch", {"of": "h0", "species": "coho", "length_m": 0.635, "mass_kg": 3.0, "undersized": True, "note": "n"},
        "hit on 3 P LOW: coho, 25.0 in, 6.6 lb, undersized, “n”",
        "hit on 3 P LOW: coho, 64 cm, 3.0 kg, undersized, “n”",
    ),
    ("catch", {"of": "h0", "undersized": False}, "hit on 3 P LOW: catch", ""),
    ("undo", {"of": "h0"}, "hit on 3 P LOW taken back", ""),
    ("undo", {"of": "nobody"}, "an entry taken back", ""),
    ("restore", {"of": "u0"}, "an entry restored", ""),
    ("restore", {"of": "h0"}, "hit on 3 P LOW restored", ""),
    ("acknowledge", {"alert": "bottom 3"}, "alert acknowledged", ""),
    ("gauge", {"depth_m": 18.288, "temperature_c": 10.0}, "50.0 °F at 60 ft", "10.0 °C at 18.3 m"),
    ("gauge", {"depth_m": 18.288, "speed_m_s": 1.0}, "2.2 mph at 60 ft", "3.6 km/h at 18.3 m"),
    (
        "gauge", {"depth_m": 18.288, "temperature_c": -1.5, "speed_m_s": 1.2},
        "29.3 °F and 2.7 mph at 60 ft", "-1.5 °C and 4.3 km/h at 18.3 m",
    ),
    ("helm", {"heading_deg": 7.0}, "holding 007°", ""), ("helm", {"rudder_deg": 0.0}, "helm amidships", ""),
    ("helm", {"rudder_deg": -0.8}, "helm 1° port", ""), ("helm", {"rudder_deg": 12.0}, "helm 12° starboard", ""),
    ("fault", {"what": "mended"}, "instruments mended", ""),
    ("throttle", {"engine": "kicker", "lever": 0.85}, "kicker at 85 %", ""),
    ("put back", {"rod": "3", "of": "h0"}, "3 P LOW put back", ""),
    ("checked", {"rod": "3"}, "3 P LOW line checked", ""),
    (
        "ran", {"keys": ["1"], "since": "2026-07-18T23:05:00Z"},
        "rod 1 taken as in: she has been running since 23:05", "",
    ),
    (
        "ran", {"keys": ["1", "3"], "since": "2026-07-18T23:05:00Z"},
        "rods 1 3 taken as in: she has been running since 23:05", "",
    ),
    ("end", {}, "trip ended", ""), ("trip", {}, "trip", ""), ("trip", {"target": []}, "no target", ""),
    ("trip", {"limits": {}}, "limits none", ""),
    (
        "trip",
        {"people": 3, "target": ["coho", "chinook"], "limits": {"coho": 5, "chinook": 2}, "wind": "SW 8",
         "sea": "calm", "note": "fog", "utc_offset_min": -240},
        "3 aboard, after coho, chinook, limits coho 5, chinook 2, wind SW 8, sea calm, note fog, "
        "the boat's clock is UTC-4", "",
    ),
    ("current", {"speed_m_s": 0.44704, "towards_deg": 9.0}, "current 1.0 mph to 009°", "current 1.6 km/h to 009°"),
    ("noted", {"of": "h0"}, "hit on 3 P LOW as in the notebook", ""), ("mark", {"what": "net"}, "net marked", ""),
    ("observed", {"rod": "3", "what": "touched bottom"}, "3 P LOW touched bottom", ""),
    (
        "observed", {"rod": "5", "what": "seen on sounder", "at": "ball", "depth_m": 15.24},
        "5 S DOWN ball seen on sounder 50 ft", "5 S DOWN ball seen on sounder 15.2 m",
    ),
    (
        "observed", {"rod": "3", "what": "pull", "pull_N": 44.482216152605, "speed_m_s": 1.0},
        "3 P LOW pull 10.0 lb at 2.2 mph", "3 P LOW pull 44 N at 1.00 m/s",
    ),
    ("observed", {"rod": "3", "what": "entry angle", "angle_deg": 30.4}, "3 P LOW entry angle 30°", ""),
    ("fish seen", {"depth_m": 15.24}, "fish seen at 50 ft", "fish seen at 15.2 m"),
    ("change", {"rod": "3", "what": "lure", "name": "spoon"}, "3 P LOW lure spoon", ""),
    ("move", {"rod": "3", "to": "1"}, "rigs of 3 P LOW and 1 P BOARD changed places", ""),
    ("planned", {"rods": [{"rod": "1"}, {"rod": "3"}]}, "rods 1 3 as planned", ""),
    ("note", {"text": "x" * 40}, f"note “{'x' * 40}”", ""), ("note", {"text": "x" * 41}, f"note “{'x' * 39}…”", ""),
)  # fmt: skip


def test_every_kind_of_entry_in_words(act: Act, rods: Rods) -> None:
    known = [act("h0", 1, "hit", "3"), act("b0", 2, "bite"), act("u0", 3, "undo", of="x")]
    for kind, given, feet, metres in WORDS:
        action = act("a", 60, kind, given.get("rod"), **{name: v for name, v in given.items() if name != "rod"})
        crew = fold([*known, action], rods)
        assert describe(action, crew, BoatTime(0)) == f"{feet} 23:01", (kind, given)
        assert describe(action, crew, BoatTime(0), "m") == f"{metres or feet} 23:01", (kind, given)
    moved = act("r", 60, "retime", of="h0", to="2026-07-18T22:59:00Z")
    assert describe(moved, fold([*known, moved], rods), BoatTime(0)) == "hit on 3 P LOW moved to 22:59"
    assert {kind for kind, *_ in WORDS} | {"retime"} == set(KINDS)


@pytest.mark.parametrize(
    ("boxed", "limit", "left", "words"),
    [(3, 5, 2, "coho 3 of 5"), (5, 5, 0, "coho 5 of 5"), (6, 5, -1, "coho 6 of 5, 1 too many"),
     (2, None, None, "coho 2")],
)  # fmt: skip
def test_the_box_against_a_limit(boxed: int, limit: int | None, left: int | None, words: str) -> None:
    count = BoxCount("coho", boxed, 0, limit)
    assert (count.left, count.words) == (left, words)


def test_the_box_counts_what_was_kept_and_what_was_freed(act: Act, rods: Rods) -> None:
    acts = []
    for k, (species, outcome) in enumerate(
        [("coho", "boxed"), ("coho", "boxed"), ("coho", "freed"), (None, "boxed"), ("lake trout", "dropped"),
         ("lake trout", "no fish"), ("brown", "freed")]
    ):  # fmt: skip
        acts += [act(f"h{k}", k, "hit", "3"), act(f"o{k}", k, "outcome", of=f"h{k}", outcome=outcome)]
        if species:
            acts.append(act(f"c{k}", k, "catch", of=f"h{k}", species=species))
    crew = fold(acts, rods)
    counts = box_counts(crew.hits, Facts(limits={"chinook": 2, "coho": 5}))
    assert [(c.species, c.boxed, c.freed, c.limit) for c in counts] == [
        ("chinook", 0, 0, 2), ("coho", 2, 1, 5), ("brown", 0, 1, None), ("unnamed fish", 1, 0, None),
    ]  # fmt: skip


def test_facts_of_a_trip(act: Act, rods: Rods) -> None:
    crew = fold([act("t", 1, "trip", people=2, wind="SW"), act("u", 2, "trip", people=3), act("e", 30, "end")], rods)
    assert (crew.facts.people, crew.facts.wind, crew.facts.ended_s) == (3, "SW", 30.0)
    assert [crew.facts.over_at(t) for t in (29.9, 30.0, 31.0)] == [False, True, True]
    assert not Facts().over_at(1e9)
    assert [rods_allowed(Facts(people=p), per, aboard) for p, per, aboard in (
        (2, 3, None), (2, 3, 5), (None, 3, 5), (None, 3, None), (2, None, None), (0, 3, 5),
    )] == [6, 6, 15, None, None, 0]  # fmt: skip


def test_rods_begin_in_where_any_entry_takes_one_out_or_in(act: Act) -> None:
    for kind in ("going out", "set", "in"):
        assert start_state([act("n", 0, "note", text="x"), act("a", 1, kind, "3")]) == "in"
    assert start_state([act("n", 0, "note", text="x"), act("l", 1, "length", "3", line_out_m=5.0)]) == "fishing"
