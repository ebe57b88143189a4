"""Who is aboard, what is wanted, limits, notes; rods put back as at their hit; lines looked at. No screen."""

from dataclasses import replace

import fake_picture
import pytest

from console.controls.test_hits import Table
from console.frame.test_app import console, settled, turns, words
from sternwatch.cautions import COLD
from sternwatch.console.acts import trip
from sternwatch.console.acts.table import EFFECTS, FIRST, typed
from sternwatch.console.frame import footer
from sternwatch.console.frame.notices import standing
from sternwatch.console.keys import keymap
from sternwatch.console.keys.registry import BY_ID
from sternwatch.feed.readings import Quantity
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import RodDefaults
from sternwatch.watch.picture.model import RodState, Session

FOOT = 0.3048
KEYS = keymap.build({})
RODS = tuple(
    RodDefaults(rod.key, rod.name, rod.line_out_m, rod.setting, rod.lead_m, None) for rod in fake_picture.rods()
)


def crew(*acts):
    """From (seconds, kind, rod, fields): the crew's entries, ids a0, a1 …"""
    made = []
    for number, (t_s, kind, rod, fields) in enumerate(acts):
        given = {"id": f"a{number}", "time": f"2026-08-20T01:{int(t_s) // 60:02d}:{t_s % 60:02.0f}+00:00",
                 "elapsed_s": t_s, "kind": kind, **fields}  # fmt: skip
        made.append(parse(given if rod is None else given | {"rod": rod}))
    return fold(made, RODS, "fishing")


def table(*acts, **changes):
    picture = replace(fake_picture.straight(Session.LIVE), crew=crew(*acts), hits=(), **changes)
    return Table(picture)


def types(controls, t_s, text):
    for sign in text:
        assert typed(controls, "space" if sign == " " else sign, t_s)


HIT = ((60.0, "hit", "3", {}), (90.0, "outcome", "3", {"of": "a0", "outcome": "boxed"}))
MOVED = (*HIT, (100.0, "length", "3", {"line_out_m": 40.0}), (101.0, "setting", "3", {"setting": "high"}))


class TestAsAtItsHit:
    def test_the_first_press_shows_both_and_changes_nothing(self):
        at = table(*MOVED)
        at.controls.chosen = "3"
        FIRST["as hit"](at.controls, 5.0)
        assert at.controls.said.text == "3 P LOW, hit: 120 ft low; now 131 ft high; press again to put it back"
        assert at.runner.actions == []

    def test_the_second_lets_it_out_as_it_was(self):
        at = table(*MOVED)
        at.controls.chosen = "3"
        at.press("as hit")
        assert (at.last.kind, at.last.rod, at.last.of, at.last.setting) == ("put back", "3", "a0", "low")
        assert at.last.line_out_m == pytest.approx(120.0 * FOOT)
        rod = at.controls.rod("3")
        assert at.controls.expect.get(("state", "3"), rod.state, at.now) is RodState.LETTING_OUT
        # The next step of line builds on where it is going.
        at.press("deeper")
        assert at.last.line_out_m == pytest.approx(125.0 * FOOT)

    def test_a_rod_without_a_hit_says_so(self):
        at = table(*MOVED)
        at.controls.chosen = "5"
        for effect in (FIRST["as hit"], EFFECTS["as hit"]):
            effect(at.controls, 5.0)
            assert at.controls.said.text == "5 S RIG has had no hit this trip"
        assert at.runner.actions == []


def test_a_line_looked_at_is_an_entry_that_says_how_long_it_was_not():
    at = table()
    at.controls.chosen = "4"
    at.press("checked")
    assert (at.last.kind, at.last.rod) == ("checked", "4")
    assert at.controls.said.text == "4 P RIG line checked, clean; last set or checked 20 min ago"


class TestPeople:
    def test_people_are_typed_and_make_a_number_of_rods(self):
        at = table(rods_per_person=3, people=2)
        at.press("people")
        types(at.controls, at.now, "4")
        assert typed(at.controls, "enter", at.now)
        assert (at.last.kind, at.last.people) == ("trip", 4)
        assert at.controls.said.text == "4 aboard: 12 rods by your own number"

    @pytest.mark.parametrize("text", ["0", "2.5", "99"])
    def test_what_cannot_be_is_refused_with_what_can(self, text):
        at = table()
        at.press("people")
        types(at.controls, at.now, text)
        typed(at.controls, "enter", at.now)
        assert at.runner.actions == []
        assert "1 to 50" in at.controls.said.text
        assert at.controls.typing is not None
        assert at.controls.typing.text == ""

    def test_more_rods_out_than_the_own_number_is_said_while_it_is_so(self):
        at = table(rods_per_person=2, people=3)
        said = [notice.text for notice in standing(at.controls, KEYS, 1000.0, at.now)]
        assert "8 rods are out; with 3 aboard your own numbers allow 6" in said
        at = table(rods_per_person=2, people=4)
        assert not any("own numbers" in notice.text for notice in standing(at.controls, KEYS, 1000.0, at.now))


class TestBoxAndTarget:
    def test_a_limit_is_a_fish_and_a_number_beside_the_other_limits(self):
        at = table((1.0, "trip", None, {"limits": {"lake trout": 2}}))
        at.press("limit")
        assert typed(at.controls, "enter", at.now)  # the first of the list
        types(at.controls, at.now, "5")
        typed(at.controls, "enter", at.now)
        assert at.last.limits == {"lake trout": 2, "coho": 5}

    def test_a_full_box_is_said(self):
        full = (
            *HIT,
            (95.0, "catch", None, {"of": "a0", "species": "coho"}),
            (96.0, "trip", None, {"limits": {"coho": 1}}),
        )
        at = table(*full)
        assert "Box: coho 1 of 1, by your own numbers" in [
            notice.text for notice in standing(at.controls, KEYS, 1000.0, at.now)
        ]

    def test_a_fish_wanted_twice_is_not(self):
        at = table((1.0, "trip", None, {"target": ["coho"]}))
        at.press("target")
        typed(at.controls, "down", at.now)
        typed(at.controls, "enter", at.now)
        assert at.last.target == ("coho", "lake trout")
        at.press("target")
        typed(at.controls, "enter", at.now)
        assert at.last.target == ()

    def test_escape_leaves_everything(self):
        at = table()
        at.press("target")
        assert typed(at.controls, "escape", at.now)
        assert at.controls.listing is None
        assert at.runner.actions == []


class TestCurrent:
    def test_two_numbers_are_an_entry(self):
        at = table()
        at.press("current")
        types(at.controls, at.now, "0.3 090")
        assert typed(at.controls, "enter", at.now)
        assert (at.last.kind, at.last.towards_deg) == ("current", 90.0)
        assert at.last.speed_m_s == pytest.approx(0.3 * 0.44704)
        assert "CURRENT  0.3 mph to 090°" in at.controls.said.text

    def test_what_is_no_current_is_told_what_one_is(self):
        at = table()
        at.press("current")
        for wrong in ("fast", "0.3", "0.3 400", "9 090", ""):
            types(at.controls, at.now, wrong)
            typed(at.controls, "enter", at.now)
            assert "will not do: type two numbers, up to 7 mph and 0 to 360°, as 0.3 090" in at.controls.said.text
        assert at.runner.actions == []
        types(at.controls, at.now, "0")  # still water
        typed(at.controls, "enter", at.now)
        assert at.last.speed_m_s == 0.0


class TestWords:
    def test_words_take_rod_keys_and_spaces_as_they_are(self):
        at = table()
        at.press("note")
        types(at.controls, at.now, "Bait at 45, gulls - N")
        assert typed(at.controls, "enter", at.now)
        assert (at.last.kind, at.last.text) == ("note", "Bait at 45, gulls - N")

    def test_the_wind_is_a_fact_of_the_trip_and_can_be_amended(self):
        at = table((1.0, "trip", None, {"wind": "SW 8"}))
        at.press("wind")
        types(at.controls, at.now, " kn")
        typed(at.controls, "enter", at.now)
        assert (at.last.kind, at.last.wind) == ("trip", "SW 8 kn")

    def test_nothing_typed_is_no_entry(self):
        at = table()
        at.press("note")
        typed(at.controls, "space", at.now)
        typed(at.controls, "enter", at.now)
        assert at.runner.actions == []

    def test_words_wait_longer_than_a_number(self):
        at = table()
        at.press("note")
        opened = at.controls.typing.last_t_s
        assert not at.controls.typing.expired(opened + 29.0)
        assert at.controls.typing.expired(opened + 30.0)


class TestTrips:
    def test_the_end_names_the_rods_that_are_taken_in(self):
        at = table()
        at.press("end trip")
        assert at.runner.did() == [("end", None)]
        assert at.controls.said.text == "The trip is ended; rods 1 2 3 4 5 6 7 8 taken as in"

    def test_an_ended_trip_says_so_and_is_not_ended_twice(self):
        at = table((60.0, "end", None, {}))
        at.press("end trip")
        assert at.runner.actions == []
        assert at.controls.said.text.startswith("The trip is ended, since ")
        assert any("no fishing time counts" in notice.text for notice in standing(at.controls, KEYS, 1000.0, at.now))

    def test_another_trip_asks_its_facts_one_after_the_other(self):
        at = table()
        at.press("begin trip")
        assert at.runner.begun == 1
        assert at.controls.typing is None  # nothing is asked of a trip that has not begun
        trip.begun(at.controls, at.now)
        types(at.controls, at.now, "3")
        typed(at.controls, "enter", at.now)
        assert at.controls.listing.what == "target"
        typed(at.controls, "escape", at.now)  # passed over
        assert at.controls.typing.what == "wind"
        typed(at.controls, "enter", at.now)  # nothing typed
        types(at.controls, at.now, "flat")
        typed(at.controls, "enter", at.now)
        assert at.controls.typing is None
        said = [(a.kind, a.people, a.sea) for a in at.runner.actions]
        assert said == [("trip", 3, None), ("trip", None, "flat")]

    def test_the_first_question_may_be_passed_over_and_all_of_them_put_away(self):
        at = table()
        at.press("begin trip")
        trip.begun(at.controls, at.now)
        typed(at.controls, "enter", at.now)
        assert at.controls.listing.what == "target"
        typed(at.controls, "escape", at.now)
        typed(at.controls, "escape", at.now)
        assert at.controls.typing is None
        assert at.controls.asking == []
        assert at.runner.actions == []

    def test_questions_left_alone_go_away(self):
        at = table()
        at.press("begin trip")
        trip.begun(at.controls, at.now)
        at.controls.tick(at.now + 6.0)
        assert at.controls.typing is None
        assert at.controls.asking == []

    def test_what_was_pressed_belongs_to_the_trip_that_is_over(self):
        at = table()
        at.press("rod 3")
        at.controls.take(replace(at.controls.picture, trip="another", hits=()), at.now)
        assert at.controls.hits() == []
        at.press("undo")
        assert at.controls.said.text == "Nothing to take back"

    def test_over_a_recording_no_trip_begins(self):
        picture = replace(fake_picture.straight(Session.REPLAY), crew=crew())
        at = Table(picture, session=Session.REPLAY)
        assert not at.controls.offers(BY_ID["begin trip"])
        assert not at.controls.offers(BY_ID["end trip"])


@pytest.mark.parametrize("surface_c", [15.0, 16.0])
async def test_a_trip_begun_on_the_screen_has_its_cautions(surface_c):
    app = console(session=Session.LIVE)
    warm = fake_picture.sensors()[Quantity.WATER_TEMPERATURE]
    sensed = fake_picture.sensors(**{Quantity.WATER_TEMPERATURE.value: replace(warm, value=surface_c)})
    app.runner.first = replace(fake_picture.straight(Session.LIVE), crew=crew(), sensors=sensed, alerts=())
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        app.started_s -= 1000.0
        assert COLD not in await turns(pilot)
        app.perform(BY_ID["begin trip"], 1.0)
        app.runner.show(replace(app.runner.first, trip="another", t_s=1.0))
        await settled(pilot)
        assert "HOW MANY ARE ABOARD" in words(app)
        await pilot.press("escape")
        seen = await turns(pilot)
        assert "the numbers here are your own" in seen
        assert ("Cold water disables you in minutes" in seen) is (surface_c < 15.56)  # 60 °F


@pytest.mark.parametrize(
    ("state", "first"),
    [
        (RodState.IN, "choose"),
        (RodState.LETTING_OUT, "choose"),
        (RodState.FISHING, "bite"),
        (RodState.REELING, "bite"),
    ],
)
def test_while_lines_go_out_the_foot_says_how_to_choose_a_rod_without_a_hit(state, first):
    rods = tuple(replace(rod, state=state, hits=()) for rod in fake_picture.rods())
    at = table(rods=rods)
    at.controls.chosen = "3"
    words = [said for _, said in footer.offered(at.controls, KEYS, 5.0)[1]]
    assert words[:2] == ["HIT", first]
