"""The scripted helmsmen at the wheel of a boat made here: she does what she is told, and nothing else is computed."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.practice.helmsmen import advised as advised_module
from sternwatch.practice.helmsmen import seeking
from sternwatch.practice.helmsmen.advised import Advised
from sternwatch.practice.helmsmen.scripted import Novice, Scripted
from sternwatch.practice.sessions.headless import Order
from sternwatch.watch.picture.model import RodState


@dataclass
class Rod:
    key: str
    state: RodState = RodState.FISHING
    line_out_m: float | None = 30.0
    moving_to_m: float | None = None
    depth_m: float | None = 10.0
    clearance_m: float | None = None
    points: tuple[Any, ...] = ()


@dataclass
class Boat:
    """She turns at once at two degrees a second, line runs a metre a second, and speed is what is wanted."""

    rods: list[Rod] = field(default_factory=lambda: [Rod("1"), Rod("2")])
    t_s: float = 0.0
    heading_deg: float = 350.0
    held_deg: float | None = 350.0
    rudder_deg: float = 0.0
    turned_deg: float = 0.0
    lever: float = 0.4
    speed_m_s: float | None = 1.0
    place_m: tuple[float, float] | None = (0.0, 0.0)
    course_deg: float | None = None
    bottom_m: float | None = None
    events: list[Any] = field(default_factory=list)
    hits: list[Any] = field(default_factory=list)
    vessel: Any = None
    marks_passed: int = 0
    done: list[tuple[float, Order]] = field(default_factory=list)

    def view(self) -> Any:
        own = SimpleNamespace(
            heading_deg=self.heading_deg, speed_mean_m_s=self.speed_m_s, speed_m_s=self.speed_m_s,
            course_deg=self.course_deg,
        )  # fmt: skip
        shown = SimpleNamespace(
            vessel=self.vessel, events=self.events, marks_passed=self.marks_passed, lever=self.lever, engine="main",
            turned_deg=self.turned_deg, heading_held_deg=self.held_deg, rudder_deg=self.rudder_deg,
        )  # fmt: skip
        picture = SimpleNamespace(own=own, rods=self.rods, hits=self.hits, bottom_m=self.bottom_m)
        return SimpleNamespace(
            t_s=self.t_s, drill_s=self.t_s, picture=picture, shown=shown, watch=None, place_m=self.place_m
        )

    def obey(self, order: Order) -> None:
        self.done.append((self.t_s, order))
        rod = next((one for one in self.rods if one.key == order.rod), None)
        match order.kind:
            case "helm":
                self.held_deg = order.fields.get("heading_deg")
                self.rudder_deg = order.fields.get("rudder_deg", 0.0)
            case "throttle":
                self.lever = order.fields["lever"]
            case "going out" if rod is not None:
                rod.state, rod.line_out_m, rod.moving_to_m = RodState.LETTING_OUT, 0.0, 30.0
            case "set" if rod is not None:
                rod.line_out_m = 30.0
            case "length" if rod is not None:
                rod.moving_to_m = order.fields["line_out_m"]
            case "in" if rod is not None:
                rod.state, rod.line_out_m, rod.moving_to_m = RodState.IN, 0.0, None

    def second(self) -> None:
        self.t_s += 1.0
        by = self.rudder_deg / 15.0
        if self.held_deg is not None:
            off = (self.held_deg - self.heading_deg + 180.0) % 360.0 - 180.0
            by = max(-2.0, min(off, 2.0))
        self.heading_deg = (self.heading_deg + by) % 360.0
        self.turned_deg += by
        for rod in self.rods:
            if rod.moving_to_m is not None and rod.line_out_m is not None:
                rod.line_out_m += max(-1.0, min(rod.moving_to_m - rod.line_out_m, 1.0))
                if rod.line_out_m == rod.moving_to_m:
                    rod.moving_to_m = None
                    if rod.state is RodState.LETTING_OUT:
                        rod.state = RodState.FISHING

    def go(self, helmsman: Scripted, seconds: int) -> list[tuple[float, Order]]:
        """What was ordered meanwhile."""
        begun = len(self.done)
        for _ in range(seconds):
            for order in helmsman.acts(self.view()):
                self.obey(order)
            self.second()
        return self.done[begun:]


def task(do: str, **more: Any) -> Any:
    fields = {"turn": None, "heading_rad": None, "speed_m_s": None, "for_s": 0.0, "rods": (), "to_m": None}
    return SimpleNamespace(do=do, **{**fields, "between_m": None, "meanwhile": False, **more})


def drill(*tasks: Any, **more: Any) -> Any:
    start = SimpleNamespace(speed_m_s=1.0, heading_rad=math.radians(350.0))
    fields = {"goal": None, "vessel": None, "lake": SimpleNamespace(shelf=None), "wanted": None, "time_s": 900.0}
    return SimpleNamespace(start=start, task=tasks, **{**fields, **more})


class Easy(Advised):
    """The console allows any turn and any speed."""

    radius_m = 40.0
    risks: tuple[float, ...] = ()

    def ask_radius(self, side: Any, widest_m: float = 160.0) -> float:  # noqa: ARG002
        return self.radius_m

    def ask_risk(self, side: Any, degrees: float) -> float:  # noqa: ARG002
        return 0.0

    def _fleet(self) -> Any:
        return None


def kinds(done: list[tuple[float, Order]]) -> list[tuple[str, str | None]]:
    return [(one.kind, one.rod) for _, one in done]


# -- both ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("made", [Novice, Easy])
@pytest.mark.parametrize("degrees", [90.0, -120.0])
def test_both_end_on_the_course_that_is_asked_for(made: type[Scripted], degrees: float) -> None:
    boat = Boat()
    boat.go(made(drill(task("turn", turn=degrees))), 300)
    assert boat.heading_deg == pytest.approx((350.0 + degrees) % 360.0, abs=0.2)
    boat = Boat()
    boat.go(made(drill(task("steer", heading_rad=math.radians(40.0)))), 300)
    assert boat.heading_deg == pytest.approx(40.0, abs=0.2)


def test_the_novice_turns_at_full_rudder_and_the_other_as_wide_as_the_console_says() -> None:
    boat = Boat()
    done = boat.go(Novice(drill(task("turn", turn=90.0))), 100)
    assert next(one.fields for _, one in done) == {"rudder_deg": Novice.HARD_DEG}
    times = {}
    for radius in (40.0, 80.0):
        boat, helmsman = Boat(), Easy(drill(task("turn", turn=90.0)))
        helmsman.radius_m = radius
        done = boat.go(helmsman, 400)
        assert len(done) == 18, "five degrees at a time"
        times[radius] = done[-1][0] - done[0][0]
        assert times[radius] == pytest.approx(17 * math.radians(5.0) * radius, abs=20.0)
    assert times[80.0] > 1.7 * times[40.0]


def test_tasks_in_order_and_one_beside_the_others() -> None:
    tasks = (
        task("out", rods=("1",), meanwhile=True), task("wait", for_s=10.0), task("speed", speed_m_s=1.4),
        task("turn", turn=20.0),
    )  # fmt: skip
    boat = Boat(rods=[Rod("1", RodState.IN, 0.0)])
    helmsman = Easy(drill(*tasks))
    done = boat.go(helmsman, 60)
    assert done[0][1].kind == "going out"
    assert next(t for t, one in done if one.kind == "helm") >= 10.0
    assert helmsman.speed_m_s == 1.4


def test_the_lever_is_moved_every_four_seconds_toward_the_speed_wanted() -> None:
    boat = Boat(speed_m_s=0.5)
    done = boat.go(Easy(drill()), 13)
    assert [t for t, _ in done] == [0.0, 4.0, 8.0, 12.0]
    assert boat.lever == pytest.approx(0.4 + 4 * 0.12 * 0.5)
    for still in (1.0, 0.97, 1.03, None):
        assert Boat(speed_m_s=still).go(Easy(drill()), 9) == []
    fast = Boat(speed_m_s=9.0)
    fast.go(Easy(drill()), 9)
    assert fast.lever == 0.0


@pytest.mark.parametrize("made", [Novice, Easy])
def test_a_strike_is_entered_its_outcome_too_and_the_rod_goes_out_again(made: type[Scripted]) -> None:
    boat, helmsman = Boat(), made(drill())
    if isinstance(helmsman, Advised):
        helmsman._turned_s = -500.0
    boat.events = [SimpleNamespace(kind="strike", key="1", t_s=0.0), SimpleNamespace(kind="tick", key="2", t_s=0.0)]
    assert [(t, one.kind, one.rod) for t, one in boat.go(helmsman, 10)] == [(3.0, "hit", "1")]
    boat.events.append(SimpleNamespace(kind="net", key="1", t_s=9.0))
    assert boat.go(helmsman, 5) == [], "no hit of it is open"
    boat.hits = [SimpleNamespace(id="h", rod="1", state="open")]
    done = boat.go(helmsman, 2)
    assert [(one.kind, one.fields) for _, one in done] == [("outcome", {"of": "h", "outcome": "boxed"})]
    boat.rods[0].state = RodState.IN
    done = boat.go(helmsman, 60)
    assert kinds(done) == [("going out", "1")]
    assert done[0][0] == pytest.approx(15.0 + 12.0)
    assert helmsman._back == {}


def test_a_rod_whose_length_is_not_known_is_set_again() -> None:
    boat, helmsman = Boat(), Novice(drill())
    boat.rods[0].line_out_m = None
    helmsman._back["1"] = 0.0
    assert kinds(boat.go(helmsman, 20)) == [("set", "1")]
    assert helmsman._back == {}


@pytest.mark.parametrize(
    ("bearing", "closing", "waits"),
    [(10.0, 1.0, True), (101.0, 1.0, False), (-101.0, 1.0, False), (10.0, -0.6, False)],
)
def test_he_holds_on_until_the_other_boat_has_passed(bearing: float, closing: float, waits: bool) -> None:
    boat = Boat(vessel=SimpleNamespace(bearing_deg=bearing, closing_m_s=closing, distance_m=100.0))
    helmsman = Novice(drill(task("give way"), task("out", rods=("1",))))
    assert bool(boat.go(helmsman, 5)) is not waits
    boat.vessel = None
    boat.go(helmsman, 2)
    assert boat.done


def test_the_novice_turns_from_another_boat_when_it_is_close() -> None:
    boat = Boat(vessel=SimpleNamespace(bearing_deg=10.0, closing_m_s=1.0, distance_m=171.0))
    helmsman = Novice(drill(task("turn", turn=30.0), vessel=1))
    assert boat.go(helmsman, 3) == []
    boat.vessel.distance_m = 170.0
    assert kinds(boat.go(helmsman, 1)) == [("helm", None)]
    abeam = Boat(vessel=SimpleNamespace(bearing_deg=101.0, closing_m_s=1.0, distance_m=900.0))
    assert kinds(abeam.go(Novice(drill(task("turn", turn=30.0), vessel=1)), 1)) == [("helm", None)]


def test_feeling_for_the_bottom() -> None:
    """A metre and a half more every twelve seconds until it ticks; that is entered, and fifteen come in."""
    boat, helmsman = Boat(), Easy(drill(task("touch", rods=("1",))))
    assert [one.fields["line_out_m"] for _, one in boat.go(helmsman, 28)] == [31.5, 33.0, 34.5]
    assert helmsman._feeling
    boat.events = [SimpleNamespace(kind="tick", key="1", t_s=28.0)]
    done = boat.go(helmsman, 100)
    assert [(one.kind, one.fields.get("line_out_m")) for _, one in done[-2:]] == [
        ("observed", None), ("length", pytest.approx(boat.rods[0].line_out_m)),
    ]  # fmt: skip
    assert boat.rods[0].line_out_m == pytest.approx(19.5)
    assert not helmsman._feeling


@pytest.mark.parametrize("made", [Novice, Easy])
def test_each_steers_for_the_marks_in_turn(made: type[Scripted]) -> None:
    marks = (SimpleNamespace(north_m=0.0, east_m=500.0), SimpleNamespace(north_m=-500.0, east_m=0.0))
    boat = Boat()
    helmsman = made(drill(task("marks"), goal=SimpleNamespace(marks=marks)))
    boat.go(helmsman, 150)
    assert boat.heading_deg == pytest.approx(90.0, abs=10.0)
    boat.marks_passed, boat.place_m = 1, None
    boat.go(helmsman, 2)
    boat.place_m = (0.0, 0.0)
    boat.go(helmsman, 150)
    assert boat.heading_deg == pytest.approx(180.0, abs=10.0)
    boat.marks_passed = 2
    assert boat.go(helmsman, 20) == []
    assert Boat().go(made(drill(task("marks"))), 5) == []


# -- lines ---------------------------------------------------------------------------------------------------------


def test_the_novice_lets_out_the_nearest_first_and_waits_for_none() -> None:
    boat = Boat(rods=[Rod(key, RodState.IN, 0.0) for key in "123"])
    done = boat.go(Novice(drill(task("out", rods=("1", "2", "3")))), 80)
    assert [one.rod for _, one in done] == ["3", "2", "1"]
    assert [t for t, _ in done] == pytest.approx([0.0, 25.0, 50.0], abs=2.0)
    done = boat.go(Novice(drill(task("in", rods=("2", "1")))), 80)
    assert [one.rod for _, one in done] == ["1", "2"]
    assert [t - 80.0 for t, _ in done] == pytest.approx([0.0, 40.0], abs=1.0)


def test_the_novice_turns_home_first_and_sees_to_the_lines_later() -> None:
    helmsman = Novice(drill(task("in", rods=("1",)), task("wait", for_s=5.0), task("turn", turn=90.0)))
    assert [one.do for one in helmsman._in_order(helmsman.drill.task)] == ["turn", "in", "wait"]
    calm = Novice(drill(task("wait"), task("turn", turn=9.0)))
    assert [one.do for one in calm._in_order(calm.drill.task)] == ["wait", "turn"]
    ignores = Novice(drill(task("length", rods=("1",), to_m=9.0), task("depth", rods=("1",), between_m=(1.0, 2.0))))
    assert Boat().go(ignores, 9) == []


def test_each_line_is_nearly_out_before_the_next_goes_over() -> None:
    boat = Boat(rods=[Rod(key, RodState.IN, 0.0) for key in "12"])
    helmsman = Easy(drill(task("out", rods=("1", "2")), task("turn", turn=5.0)))
    done = boat.go(helmsman, 200)
    (first, second, then) = (t for t, _ in done)
    assert kinds(done)[:2] == [("going out", "1"), ("going out", "2")]
    assert second - first == pytest.approx(0.85 * 30.0, abs=2.0)
    assert then - second == pytest.approx(30.0 + 60.0, abs=5.0), "a minute of straight course after the last"


def test_two_are_reeled_in_together() -> None:
    boat = Boat(rods=[Rod(key) for key in "123"])
    done = boat.go(Easy(drill(task("in", rods=("1", "2", "3")))), 90)
    assert kinds(done) == [("length", "1"), ("length", "2"), ("in", "1"), ("in", "2"), ("length", "3"), ("in", "3")]
    assert all(rod.state is RodState.IN for rod in boat.rods)


def test_a_length_is_waited_for() -> None:
    boat = Boat()
    done = boat.go(Easy(drill(task("length", rods=("1", "2"), to_m=41.234), task("turn", turn=5.0))), 120)
    assert [(one.rod, one.fields.get("line_out_m")) for _, one in done[:2]] == [("1", 41.23), ("2", 41.23)]
    assert done[2][0] == pytest.approx(12.0 + 60.0, abs=5.0)


def test_lines_near_the_sounded_bottom_are_shortened_and_restored() -> None:
    """Ten metres down: with less than three metres of room he goes for a metre and a half more than that."""
    boat, helmsman = Boat(rods=[Rod("1")], bottom_m=13.0), Easy(drill())
    assert boat.go(helmsman, 3) == [], "three metres are room enough"
    boat.bottom_m = 12.0
    done = boat.go(helmsman, 8)
    assert [one.fields for _, one in done[:1]] == [{"line_out_m": round(30.0 * (10.0 - 2.5) / 10.0, 2)}]
    boat.rods[0].depth_m, boat.bottom_m = 7.5, 13.5
    assert boat.go(helmsman, 15) == [], "six metres are not enough to let it out again"
    boat.bottom_m = 14.0
    done = boat.go(helmsman, 11)
    assert [one.fields for _, one in done] == [
        {"line_out_m": pytest.approx(22.5 * (7.5 + 6.5 - 4.0) / 7.5, abs=0.01)}
    ]
    assert helmsman._wanted_m == {}
    boat.bottom_m, helmsman._feeling = 1.0, True
    assert boat.go(helmsman, 11) == []


@pytest.mark.parametrize(("share", "changes"), [(1.06, 0), (1.2, 2), (0.8, 2)])
def test_line_is_changed_for_a_depth_one_rod_after_the_other(
    monkeypatch: pytest.MonkeyPatch, share: float, changes: int
) -> None:
    monkeypatch.setattr(Easy, "_share", lambda *_: share)
    boat = Boat()
    boat.rods.append(Rod("3", RodState.IN))
    done = boat.go(Easy(drill(task("depth", rods=("1", "2", "3", "9"), between_m=(5.0, 9.0)))), 19)
    assert [(t, one.rod) for t, one in done] == [(0.0, "1"), (11.0, "2")][:changes]
    assert all(one.fields == {"line_out_m": round(30.0 * share, 2)} for _, one in done)


def test_a_fish_is_landed_slowly() -> None:
    for made, slow in ((Novice, Novice.CRAWL_M_S), (Easy, 0.75)):
        boat, helmsman = Boat(), made(drill(task("land")))
        boat.rods[0].state = RodState.FIGHTING
        boat.go(helmsman, 3)
        assert helmsman.speed_m_s == slow
        boat.rods[0].state = RodState.FISHING
        boat.go(helmsman, 2)
        assert helmsman.speed_m_s == 1.0
    assert boat.lever == 0.4


def test_no_rod_goes_out_in_a_turn_nor_two_minutes_after_it() -> None:
    boat, helmsman = Boat(), Easy(drill(task("turn", turn=30.0)))
    assert helmsman._may_go_out(boat.view())
    boat.go(helmsman, 5)
    assert not helmsman._may_go_out(boat.view())
    boat.go(helmsman, 60)
    ended = helmsman._turned_s
    for after, may in ((120.0, False), (120.1, True)):
        assert helmsman._may_go_out(SimpleNamespace(t_s=ended + after)) is may  # type: ignore[arg-type]


# -- advice --------------------------------------------------------------------------------------------------------


class Told(Easy):
    """The console says that the turn is risky, and what would help."""

    advised: tuple[dict[str, Any], ...] = ()

    def ask_risk(self, side: Any, degrees: float) -> float:  # noqa: ARG002
        return 0.5

    def ask_advice(self, side: Any, degrees: float, radius_m: float) -> Any:  # noqa: ARG002
        return tuple(SimpleNamespace(change=one) for one in self.advised)


def _first_helm(boat: Boat) -> float:
    return next(t for t, one in boat.done if one.kind == "helm")


@pytest.mark.parametrize(
    ("change", "seen"),
    [
        ({"what": "turn", "radius_m": 90.0}, lambda h, _: h._radius_m == 90.0),
        ({"what": "speed", "to_speed_m_s": 1.3}, lambda h, b: h.speed_m_s == 1.3 and _first_helm(b) >= 15.0),
        ({"what": "line", "rod": "2", "by_m": -5.0}, lambda _, b: b.rods[1].line_out_m == 25.0),
    ],
)
def test_the_first_advice_that_he_can_follow_is_followed(
    change: dict[str, Any], seen: Callable[[Advised, Boat], bool]
) -> None:
    boat, helmsman = Boat(), Told(drill(task("turn", turn=20.0)))
    helmsman.advised = ({"what": "side"}, change, {"what": "line", "rod": "1", "by_m": -9.0})
    helmsman.speed_m_s = 1.0
    boat.go(helmsman, 120)
    assert seen(helmsman, boat)
    assert boat.rods[0].line_out_m == 30.0
    assert boat.heading_deg == pytest.approx(10.0, abs=0.2)


@pytest.mark.parametrize(
    ("risks", "radius"), [((0.1,), 50.0), ((0.2, 0.1), 70.0), ((0.2, 0.2, 0.05), 98.0), ((0.2,) * 9, 137.2)]
)
def test_a_turn_that_becomes_risky_is_widened(
    monkeypatch: pytest.MonkeyPatch, risks: tuple[float, ...], radius: float
) -> None:
    found = iter(risks)
    monkeypatch.setattr(advised_module, "risk", lambda *_, **__: SimpleNamespace(any=next(found)))
    helmsman = Easy(drill())
    monkeypatch.setattr(Easy, "_fleet", lambda _: (None, 1.0, None))
    helmsman._radius_m = 50.0
    helmsman._ease("port", 90.0)
    assert helmsman._radius_m == pytest.approx(radius)


def test_what_the_console_is_asked_where_nothing_is_in_the_water() -> None:
    helmsman = Advised(drill())
    helmsman._fleet = lambda: None  # type: ignore[method-assign]
    helmsman.view = Boat().view()
    assert helmsman.ask_radius("port", 120.0) == 120.0
    helmsman.view = Boat(rods=[Rod("1", RodState.IN)]).view()
    assert helmsman.ask_radius("port") == 25.0
    assert (helmsman.ask_limits(), helmsman.ask_risk("port", 90.0), helmsman.ask_advice("port", 90.0, 50.0)) == (
        None, 0.0, (),
    )  # fmt: skip
    assert helmsman._slowest() == 0.75


def test_what_the_console_says_of_turns_and_speed(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []

    def limit(_fleet: object, side: str, **more: Any) -> Any:
        asked.append((side, more.get("radii_m")))
        return SimpleNamespace(radius_m=None if side == "port" else 60.0)

    monkeypatch.setattr(advised_module, "side_limit", limit)
    monkeypatch.setattr(advised_module, "slowest", lambda *_, **__: SimpleNamespace(speed_m_s=0.9))
    monkeypatch.setattr(advised_module, "finish", lambda found: found)
    monkeypatch.setattr(advised_module, "risk", lambda *_, **__: SimpleNamespace(any=0.3))
    helmsman = Advised(drill())
    helmsman._fleet = lambda: (None, 1.0, None)  # type: ignore[method-assign,assignment,return-value]
    helmsman.view = Boat().view()
    assert [helmsman.ask_radius(side, 80.0) for side in ("port", "starboard")] == [80.0, 60.0]  # type: ignore[arg-type]
    assert max(asked[0][1]) == 80.0
    limits = helmsman.ask_limits()
    assert limits is not None
    assert (limits.port.radius_m, limits.starboard.radius_m) == (None, 60.0)
    assert (helmsman.ask_risk("port", 30.0), helmsman._slowest()) == (0.3, 0.9)


# -- places and edges ----------------------------------------------------------------------------------------------


def test_back_along_his_track_through_the_mark() -> None:
    """Struck on 350 degrees; then 20 m to starboard of the mark's line he steers 20 degrees back to it."""
    boat, helmsman = Boat(course_deg=350.0), Novice(drill(task("again")))
    assert boat.go(helmsman, 3) == []
    boat.hits = [SimpleNamespace(id="h", rod="1", state="open")]
    boat.rods[0].state = RodState.FIGHTING
    boat.go(helmsman, 3)
    boat.rods[0].state = RodState.FISHING
    boat.go(helmsman, 150)
    assert boat.heading_deg == pytest.approx(170.0, abs=0.5)
    back = math.radians(170.0)
    for off, steered in ((20.0, 150.0), (-20.0, 190.0), (60.0, 145.0), (-60.0, 195.0)):
        boat.place_m = (-off * math.sin(back), off * math.cos(back))
        boat.go(helmsman, 1)
        assert boat.done[-1][1].fields["heading_deg"] == pytest.approx(steered, abs=0.1)
    boat.place_m = None
    done = len(boat.done)
    boat.go(helmsman, 3)
    assert len(boat.done) == done


@pytest.mark.parametrize(
    ("towards_deg", "bottom_m", "steered"),
    [(80.0, 15.0, 350.0), (80.0, 17.0, 2.0), (80.0, 13.0, 338.0), (260.0, 17.0, 338.0), (80.0, 40.0, 30.0)],
)
def test_an_edge_is_followed_by_the_sounder(towards_deg: float, bottom_m: float, steered: float) -> None:
    """Lures at 10 m are wanted 5 m over the bottom: too deep, he steers to the side that shoals."""
    lake = SimpleNamespace(shelf=SimpleNamespace(towards_rad=math.radians(towards_deg)))
    wanted = SimpleNamespace(over_bottom_m=(4.0, 6.0))
    boat = Boat(bottom_m=bottom_m)
    done = boat.go(Novice(drill(task("pass"), lake=lake, wanted=wanted)), 11)
    assert [t for t, _ in done] == [0.0, 5.0, 10.0]
    assert done[0][1].fields["heading_deg"] == pytest.approx(steered)
    assert Boat().go(Novice(drill(task("pass"), lake=lake, wanted=wanted)), 6) == [], "nothing is sounded"
    assert Boat(bottom_m=9.0).go(Novice(drill(task("pass"))), 6) == []
    by_hand = Easy(drill(task("pass"), lake=lake, wanted=wanted), plans=False)
    assert len(Boat(bottom_m=bottom_m).go(by_hand, 1)) >= 1


class Followed:
    """In place of what the console follows: a course for three seconds, and then it is over."""

    def __init__(self, **_: Any) -> None:
        self.wanted: Any = None
        self.wish: Any = None
        self.passed, self.waiting, self.offers, self.stopped = "", False, 0, False
        self.steering: Any = None
        Followed.last = self

    last: Followed

    def want_hit(self, hit_id: str) -> None:
        self.wanted = hit_id

    def want(self, wish: Any) -> None:
        self.wish = wish

    def offer(self, *_: object) -> None:
        self.offers += 1
        self.steering = None if self.offers == 1 else SimpleNamespace(course_deg=370.0 + self.offers)
        if self.offers == 4:
            self.wanted = self.wish = None

    def stop(self) -> None:
        self.stopped = True


def test_what_is_planned_is_steered_until_it_is_over(monkeypatch: pytest.MonkeyPatch) -> None:
    import sternwatch.watch.again.following as again
    import sternwatch.watch.whole_pass.following as whole

    monkeypatch.setattr(again, "Following", Followed)
    monkeypatch.setattr(whole, "Passing", Followed)
    boat = Boat(
        hits=[SimpleNamespace(id="h0", rod=None, state="open"), SimpleNamespace(id="h", rod="1", state="open")]
    )
    done = boat.go(Easy(drill(task("again"))), 8)
    assert [one.fields["heading_deg"] for _, one in done] == [12.0, 13.0, 14.0]
    assert Followed.last.stopped
    wanted = SimpleNamespace(over_bottom_m=(1.0, 3.0), depth_m=None)
    for goal, lasts_s in (
        (None, 900.0),
        (SimpleNamespace(elapsed_s=700.0), 700.0),
        (SimpleNamespace(elapsed_s=9e3), 2400.0),
    ):
        seen: list[Any] = []
        monkeypatch.setattr(
            Followed, "want", lambda self, wish, seen=seen: (seen.append(wish), setattr(self, "wish", wish))
        )
        done = Boat().go(Easy(drill(task("pass"), wanted=wanted, goal=goal)), 8)
        assert len(done) == 3
        assert seen[0].lasts_s == lasts_s
    assert Boat().go(Easy(drill(task("pass"))), 3) == []
    assert seeking.PLANNED_WITHIN_S > 0.0
