"""The pages of the check and of what is producing: their words, and how they come to the screen."""

import time
from dataclasses import replace

import fake_picture
import pytest
from fake_runner import FakeReplay

from console.controls.test_trip import HIT, crew
from console.frame.test_app import console, settled, words
from sternwatch.answers.checks.check import Check
from sternwatch.answers.checks.findings import Finding
from sternwatch.answers.checks.loads import Loads, Part
from sternwatch.cautions import WIRE
from sternwatch.console.pages import check, producing
from sternwatch.debrief.report import following as followings
from sternwatch.debrief.report.following import EVERY_S, utc_offset_min
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.store.samples import BoatRow, HitRow, Rig, RodRow, Sample
from sternwatch.watch.picture.fishing import Fishing
from sternwatch.watch.picture.model import RodState, Session, SolverState
from sternwatch.watch.planner.check import Checked, Question

US = SYSTEMS["us"]
MPH = 0.44704
PLENTY = 400  # columns: nothing is wrapped


def text(lines):
    return "\n".join(" ".join(span[1] for span in line) for line in lines)


# -- the check -----------------------------------------------------------------------------------------------

CLOSE = Finding(
    "neighbours",
    ("1", "2"),
    "rod 1 (P HIGH) and rod 2 (P LOW)",
    "their lines come too close",
    "they wrap",
    "move one",
    {},
)
LEADER = Finding("leader", ("2",), "rod 2 (P LOW)", "20 ft to the lure", "it hangs beyond the net", "shorter", {})
PARTS = (Part("wire", True, 12.0, 178.0, True), Part("fly", False, None, None, True))
LOADS = Loads("1", "P HIGH", PARTS, 30.0, None, None, True)


def a_check(*findings, unchecked=("the bottom: not given",), cautions=("wire",)):
    made = Check(2.3 * MPH, findings, tuple(unchecked), (LOADS,), tuple(cautions))
    return Checked(made, Question((), 2.3 * MPH, False, None, 30.48, None))


class TestCheck:
    def test_a_finding_says_what_why_and_cure_the_worst_first(self):
        said = text(check.page(a_check(LEADER, CLOSE), US, PLENTY))
        assert "Straight course, 2.3 mph through the water (the usual; she is not trolling), bottom 100 ft" in said
        assert said.index("their lines come too close") < said.index("they wrap") < said.index("move one")
        assert said.index("move one") < said.index("20 ft to the lure")

    def test_what_is_not_known_is_a_dash_and_what_was_not_looked_at_is_said(self):
        said = text(check.page(a_check(), US, PLENTY))
        assert "1 P HIGH 2.7 wire 14.8 7 –" in said
        assert "· the bottom: not given" in said

    def test_finding_nothing_is_no_promise(self):
        said = text(check.page(a_check(), US, PLENTY))
        assert "found nothing. This is not a guarantee" in said
        assert not any(word in said.lower() for word in (" safe", "clear", " ok "))

    def test_a_check_that_could_not_be_made_says_why_beside_the_last_one(self):
        said = text(check.page(replace(a_check(CLOSE), trouble="no setting “x”"), US, PLENTY))
        assert "no setting “x”" in said
        assert "their lines come too close" in said
        alone = Checked(None, a_check().question, "no setting “x”")
        assert "no setting “x”" in text(check.page(alone, US, PLENTY))

    def test_before_the_first_it_says_that_it_is_being_made(self):
        assert text(check.page(None, US, 80)) == "Checking the spread."

    @pytest.mark.parametrize("width", [80, 120])
    def test_no_line_is_wider_than_the_screen_and_no_column_runs_into_another(self, width):
        for line in check.page(a_check(CLOSE, LEADER), US, width):
            end = 0
            for x, said, _ in sorted(line):
                assert x >= end
                end = x + len(said)
            assert end <= width

    @pytest.mark.parametrize("size", [(80, 24), (120, 36)])
    async def test_it_is_a_view_with_the_caution_on_it_and_help_explains_it(self, size):
        app = console()
        app.runner.checked = a_check(CLOSE)
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            while app.view != "check":
                await pilot.press("v")
            await settled(pilot)
            assert WIRE in words(app)
            assert "their lines come too close" in words(app)
            await pilot.press("question_mark")
            await settled(pilot)
            assert "not a guarantee" in words(app)
            await pilot.press("escape")
            assert app.view == "helm"

    async def test_one_quiet_line_on_the_helm_while_every_rod_is_in(self):
        app = console(session=Session.LIVE)
        app.runner.checked = a_check(CLOSE, LEADER)
        line = "Check: 2 findings, worst: 1 and 2, too close on a straight course (v shows it)"
        async with app.run_test(size=(80, 24)) as pilot:
            begun = app.started_s
            app.started_s = begun - 1000.0  # the cautions of the trip's start have gone
            await settled(pilot)
            assert line not in words(app)  # rods are out
            at_rest = tuple(
                replace(rod, state=RodState.IN, solver=SolverState.NONE, **fake_picture._NOTHING)
                for rod in fake_picture.rods()
            )
            app.runner.show(replace(app.runner.first, rods=at_rest, alerts=()))
            await settled(pilot)
            app.started_s = begun - 1000.0  # the trip's first picture had them stand anew
            await settled(pilot)
            assert line in words(app)
            await pilot.press("v")
            await settled(pilot)
            assert line in words(app)  # above: still the helm
            while app.view != "glance":
                await pilot.press("v")
            await settled(pilot)
            assert line not in words(app)


# -- what is producing ---------------------------------------------------------------------------------------

RIGS = (
    Rig("3", "P LOW", "port", "low diver", "diver: fly", "fly", "green", "low"),
    Rig("7", "S HIGH", "starboard", "high diver", "diver: fly", "fly", "blue", "high"),
)


def day(count=720):
    """Two hours with two rods, of which one stands 15 m down and the other 22 m."""
    made = []
    for number in range(count):
        boat = BoatRow(10.0 * number, 1_784_415_720_000 + 10_000 * number, speed_m_s=1.0)
        rods = tuple(RodRow(rig, 50.0, depth_m=depth) for rig, depth in zip(RIGS, (15.0, 22.0), strict=True))
        made.append(Sample(boat, rods))
    return made


def hits(samples, count):
    """Hits on rod 3, one every 500 s."""
    return tuple(
        HitRow(
            f"h{n}", "3", at.boat.at_s, at.boat.time_ms, counts=True, in_hours=True, boat=at.boat, rod_row=at.rods[0],
            state="fishing",
        )
        for n, at in enumerate(samples[50 * n] for n in range(count))
    )  # fmt: skip


def pictured(count=0):
    samples = day()
    return replace(
        fake_picture.straight(Session.LIVE), t_s=7200.0, crew=crew(*HIT), fishing=Fishing.of(samples),
        hit_rows=hits(samples, count), people=3, rods_per_person=2,
    )  # fmt: skip


@pytest.fixture
def following():
    made = followings.following(US)
    yield made
    made.stop()


def followed(following, picture):
    following.offer(picture)
    end = time.monotonic() + 20.0
    while following.made is None:
        assert time.monotonic() < end
        time.sleep(0.005)
    return following


class TestProducing:
    @pytest.mark.parametrize(
        ("begun_s", "since_s", "clock_s", "said"),
        [
            (0.0, 0.0, 0.0, ""),
            (60.0, 60.0, 0.0, ""),
            (0.0, 600.0, 3600.0, "What was fished before 01:10:00 does not count yet"),
            (60.0, 600.0, None, "What was fished before 0:09:00 does not count yet"),
        ],
    )
    def test_what_a_recording_has_not_read_yet_is_said(self, begun_s, since_s, clock_s, said):
        at = replace(FakeReplay().at, span_s=(begun_s, 3600.0), since_s=since_s, utc_offset_s=clock_s)
        assert producing.not_read(at).startswith(said)
        assert bool(producing.not_read(at)) is bool(said)

    async def test_it_stands_first_on_the_page(self):
        app = console(session=Session.REPLAY)
        app.runner.replay.at = replace(app.runner.replay.at, since_s=300.0)
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            app.show_view("producing")
            await settled(pilot)
            assert "before 0:05:00 does not count yet" in words(app)

    def test_what_stands_out_is_said_first_with_how_easily_luck_would_do_it(self, following):
        picture = pictured(14)
        said = text(producing.page(followed(following, picture), picture, PLENTY, intervals=False))
        # All of fourteen in half of the time, or none of them: 2 in 2^14.
        assert said.startswith(
            "40–60 ft down: 14 of 14 hits in 50 % of the rod time; by luck, that happens about 1 time in 8,000"
        )
        assert "FOR THE RADIO 14 hits" in said.replace("\n", " ")
        assert "3 aboard; rods out: 7, allowed by your own numbers: 6" in said  # the boxed fish's rod is in

    def test_too_little_is_called_too_little(self, following):
        picture = pictured(2)
        said = text(producing.page(followed(following, picture), picture, PLENTY, intervals=False))
        assert said.startswith("Not enough to tell: 2 hits in 4.0 rod-hours")

    def test_intervals_are_behind_a_key(self, following):
        picture = pictured(14)
        followed(following, picture)
        plain = text(producing.page(following, picture, PLENTY, intervals=False))
        told = text(producing.page(following, picture, PLENTY, intervals=True))
        assert "(90 %)" not in plain
        # Fourteen in two rod-hours: Garwood's 90 % limits of 14 are 8.46 and 21.89.
        assert "3 P LOW, more than the rest 14 in 2.0 6 in 1.0 7.0 (4.2–10.9)" in told

    def test_before_the_first_it_says_that_it_is_being_made_out(self, following):
        assert "Working out what is producing" in text(producing.page(following, None, 80, intervals=False))

    @pytest.mark.parametrize("width", [80, 120])
    @pytest.mark.parametrize("intervals", [False, True])
    def test_no_line_is_wider_than_the_screen_and_no_column_runs_into_another(self, following, width, intervals):
        picture = pictured(14)
        for line in producing.page(followed(following, picture), picture, width, intervals=intervals):
            end = 0
            for x, said, _ in sorted(line):
                assert x >= end, said
                end = x + len(said)
            assert end <= width

    def test_a_hit_makes_a_new_panel_at_once_and_hours_after_a_while(self, following):
        first = followed(following, pictured(2)).made
        following.offer(replace(pictured(2), t_s=7200.0 + EVERY_S / 2))
        time.sleep(0.1)
        assert following.made is first
        following.offer(replace(pictured(2), t_s=7200.0 + EVERY_S))
        following.offer(pictured(3))
        end = time.monotonic() + 20.0
        while following.made.today.hits != 3:
            assert time.monotonic() < end
            time.sleep(0.005)

    def test_the_crews_own_clock_counts_hours(self):
        said = crew((1.0, "trip", None, {"utc_offset_min": -240}))
        assert utc_offset_min(replace(pictured(), crew=said)) == -240

    async def test_it_is_a_view_and_enter_shows_the_intervals(self):
        app = console(session=Session.LIVE)
        app.runner.first = pictured(14)
        async with app.run_test(size=(120, 36)) as pilot:
            await settled(pilot)
            while app.view != "producing":
                await pilot.press("v")
            end = time.monotonic() + 20.0
            while "14 of 14 hits" not in words(app):
                assert time.monotonic() < end
                await settled(pilot)
            assert "an hour (90 %)" not in words(app)
            await pilot.press("enter")
            await settled(pilot)
            assert "an hour (90 %)" in words(app)
            assert app.runner.actions == []


# -- keys that show before they act ----------------------------------------------------------------------------


async def test_the_key_of_a_rod_put_back_shows_first_and_acts_when_pressed_again_in_time():
    app = console(session=Session.LIVE, step=1.0)
    app.runner.first = pictured(0)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        app.controls.chosen = "3"
        await pilot.press("r")
        await settled(pilot)
        assert "3 P LOW, hit: 120 ft low; now the same; press again to put it back" in words(app)
        assert app.runner.actions == []
        await pilot.press("r")
        assert app.runner.did() == [("put back", "3")]
        await pilot.press("r")
        await pilot.press("k")  # another key between the two: no pair
        await pilot.press("r")
        assert app.runner.did() == [("put back", "3"), ("checked", "3")]


async def test_words_typed_at_the_helm_are_no_hits():
    app = console(session=Session.LIVE)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("j", "3", "space", "b", "u", "question_mark")
        await settled(pilot)
        assert "no key is a hit" in words(app)
        assert "3 bu?_" in words(app)
        await pilot.press("enter")
        assert app.runner.did() == [("note", None)]
        assert app.runner.actions[0].text == "3 bu?"
