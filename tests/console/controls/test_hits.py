"""What the rod keys and the keys of a fish do, without a screen."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import fake_picture
import pytest
from fake_runner import FakeRunner

from sternwatch.cautions import BOX
from sternwatch.config import Preferences
from sternwatch.console.acts import table as effects
from sternwatch.console.controls.controls import BITE_S, Controls, Tone
from sternwatch.console.frame.bars import KEPT
from sternwatch.logbook.actions.kinds import parse
from sternwatch.logbook.crew.fold import fold
from sternwatch.watch.picture.model import HitPicture, RodState, Session
from sternwatch.watch.sessions.runner import Saved


class Table:
    """A controls with its runner, and fingers."""

    def __init__(self, picture=None, session=Session.LIVE, **preferences):
        picture = picture or replace(fake_picture.straight(session), hits=(), alerts=())
        self.runner = FakeRunner(session, storing=False)
        self.controls = Controls(self.runner, Preferences(**preferences))
        self.now = 1000.0
        self.controls.take(picture, self.now)

    def press(self, *acts, after=3.0):
        for act in acts:
            self.now += after
            effects.EFFECTS[act](self.controls, self.now)

    def key(self, *tokens, after=0.2):
        for token in tokens:
            self.now += after
            assert effects.typed(self.controls, token, self.now)

    def show(self, **changes):
        self.now += 3.0
        self.controls.take(replace(self.controls.picture, **changes), self.now)

    @property
    def last(self):
        return self.runner.actions[-1]


@pytest.fixture
def table():
    return Table()


def a_hit(id_, rod, **more):
    given = {"t_s": 1700.0, "utc_s": fake_picture.UTC_0 - 100.0, "state": "open", "doubtful": False, "depth_m": 20.0}
    return HitPicture(id=id_, rod=rod, **{**given, **more})


def test_a_rod_key_is_a_hit_at_once_and_chooses_the_rod(table):
    table.press("rod 3")
    assert table.runner.did() == [("hit", "3")]
    assert not table.last.doubtful
    assert table.controls.chosen == "3"
    assert table.controls.said.text.startswith("HIT  3 P LOW")
    assert not table.controls.said.kept


def test_saved_is_said_only_when_it_is_stored(table):
    table.press("rod 3")
    table.controls.saved(Saved("other", table.last), table.now)
    assert not table.controls.said.kept
    table.controls.saved(Saved(table.last.id, table.last), table.now)
    assert table.controls.said.kept == "logbook"


def test_only_what_is_on_the_disk_is_called_saved(table):
    table.press("rod 3")
    for kept, mark in (("memory", "NOT SAVED YET"), ("aside", "saved aside"), ("logbook", "saved")):
        table.controls.saved(Saved(table.last.id, table.last, "the disk is full", kept), table.now)
        assert KEPT[table.controls.said.kept][0] == mark


def test_what_could_not_be_stored_is_said_until_it_is_put_away(table):
    table.press("rod 3")
    table.controls.saved(Saved(table.last.id, None, "the disk is full"), table.now)
    table.press("left")
    assert table.controls.failed == ["the disk is full"]
    assert table.controls.open_fish(table.now) is None


def test_an_answer_whose_entry_could_not_be_stored_is_no_longer_being_stored(table):
    table.press("rod 3")
    assert KEPT[table.controls.said.kept][0] == "storing"
    table.controls.saved(Saved(table.last.id, None, "the disk is full"), table.now)
    assert KEPT[table.controls.said.kept] == ("NOT SAVED", "alarm")


def test_the_same_key_again_is_a_repeat_and_nothing_is_entered(table):
    table.press("rod 3")
    table.press("rod 3", after=1.0)
    assert table.runner.did() == [("hit", "3")]
    assert "same hit" in table.controls.said.text


def test_a_neighbour_at_once_is_kept_and_doubtful(table):
    table.press("rod 3")
    table.press("rod 4", after=0.1)
    assert [(a.rod, a.doubtful) for a in table.runner.actions] == [("3", False), ("4", True)]
    assert table.controls.said.tone is Tone.DOUBT
    assert [hit.rod for hit in table.controls.doubtful(table.now)] == ["4"]


def test_three_within_a_second_doubt_the_two_already_stored(table):
    table.press("rod 1")
    table.press("rod 4", "rod 8", after=0.4)
    assert table.runner.did() == [("hit", "1"), ("hit", "4"), ("hit", "8"), ("doubt", None), ("doubt", None)]
    assert [a.of for a in table.runner.actions[3:]] == ["a1", "a2"]
    assert [hit.rod for hit in table.controls.doubtful(table.now)] == ["1", "4", "8"]


def test_a_key_without_a_rod_enters_nothing_but_counts_as_a_finger(table):
    table.press("rod =")
    assert table.runner.actions == []
    assert "No rod at =" in table.controls.said.text
    table.press("rod 1", "rod 8", after=0.3)
    assert [a.doubtful for a in table.runner.actions if a.kind == "hit"] == [False, True]


def test_a_hit_on_a_rod_that_is_in_is_kept_and_flagged():
    table = Table(fake_picture.troubled())
    table.press("rod 4")
    assert table.runner.did() == [("hit", "4")]
    assert table.last.why == "the rod was in"
    assert "kept" in table.controls.said.text
    assert "in" in table.controls.said.text


def test_a_bite_gives_its_time_to_the_next_rod_key(table):
    table.press("bite")
    table.press("rod 6", after=BITE_S)
    assert table.runner.did() == [("bite", None), ("hit", "6")]
    assert table.last.bite == "a1"
    table.press("rod 7")
    assert table.last.bite is None


def test_a_bite_waits_for_sixty_seconds_only(table):
    table.press("bite")
    table.press("rod 6", after=BITE_S + 0.1)
    assert table.last.bite is None


def test_a_bite_taken_back_waits_for_no_rod(table):
    table.press("bite", "undo", "rod 6")
    assert table.runner.did() == [("bite", None), ("undo", None), ("hit", "6")]
    assert table.last.bite is None


@pytest.mark.parametrize("how", ["boxed", "freed", "dropped", "no fish"])
def test_an_outcome_goes_to_the_fish_just_hit(table, how):
    table.press("rod 3")
    table.press(how, after=0.05)
    assert table.last.kind == "outcome"
    assert (table.last.of, table.last.outcome) == ("a1", how)
    assert table.controls.open_fish(table.now) is None


def test_an_outcome_goes_to_the_chosen_rods_fish_first_then_to_the_newest(table):
    table.press("rod 3", "rod 6", "left", "left", "left")
    assert table.controls.chosen == "3"
    table.press("boxed", "boxed")
    assert [a.of for a in table.runner.actions if a.kind == "outcome"] == ["a1", "a2"]
    assert table.controls.chosen == "6"


def test_boxing_a_fish_tells_the_local_rules_once_more(table):
    table.press("rod 3", "boxed")
    assert BOX in table.controls.said.text
    brief = table.controls.said.brief
    assert brief == "3 P LOW: boxed; w says what fish. Limits: see your local rules"
    assert len(brief) + len(" saved") + 3 <= 80  # whole on the smallest screen


def test_no_open_fish_no_outcome(table):
    table.press("boxed")
    assert table.runner.actions == []


def test_confirming_takes_the_chosen_rods_doubtful_hit(table):
    table.show(hits=(a_hit("h1", "3", doubtful=True), a_hit("h2", "4", doubtful=True)))
    table.controls.chosen = "3"
    table.press("confirm")
    assert (table.last.kind, table.last.of) == ("confirm", "h1")
    table.press("confirm", after=0.5)
    assert table.last.of == "h2"


def test_earlier_goes_back_a_minute_each_time(table):
    table.show(hits=(a_hit("h1", "3"),))
    table.controls.chosen = "3"
    table.press("earlier", after=0.5)
    table.press("earlier", after=0.5)
    first, second = table.runner.actions
    assert (first.of, first.to_elapsed_s) == ("h1", 1640.0)
    assert second.to_elapsed_s == 1580.0
    assert first.to.timestamp() == pytest.approx(fake_picture.UTC_0 - 160.0)


def test_a_boxed_fish_is_counted_against_the_limit_typed(table):
    def act(n, kind, **fields):
        return parse(
            {"id": f"a{n}", "time": f"2026-08-18T20:00:{n:02d}Z", "elapsed_s": float(n), "kind": kind, **fields}
        )

    crew = fold(
        [
            act(1, "trip", limits={"coho": 2}), act(2, "hit", rod="4"),
            act(3, "outcome", rod="4", of="a2", outcome="boxed"),
            act(4, "catch", of="a2", species="coho"), act(5, "hit", rod="3"),
        ],
        (),
    )  # fmt: skip
    table.show(hits=(a_hit("a5", "3"),), crew=crew)
    table.press("boxed")
    table.press("fish")
    assert table.controls.listing.choice == "coho"
    table.key("enter")
    assert table.controls.said.text == "3 P LOW: coho. Box: coho 2 of 2, by your own number"


class TestSaidOfAFish:
    def test_undersized_and_not_again(self, table):
        table.show(hits=(a_hit("h", "3"),))
        table.press("undersized", "undersized", after=0.5)
        assert [(a.kind, a.of, a.undersized) for a in table.runner.actions] == [
            ("catch", "h", True), ("catch", "h", False),
        ]  # fmt: skip

    def test_a_few_words(self, table):
        table.show(hits=(a_hit("h", "3"),))
        table.press("hit note")
        table.key(*"fat", "space", *"hen", "enter")
        assert (table.last.kind, table.last.of, table.last.note) == ("catch", "h", "fat hen")

    def test_nothing_typed_is_no_entry(self, table):
        table.show(hits=(a_hit("h", "3"),))
        table.press("hit note")
        table.key("enter")
        assert table.runner.actions == []

    def test_without_a_fish_nothing_is_asked(self, table):
        table.press("hit note", "undersized")
        assert table.controls.typing is None
        assert table.controls.said.text == "No fish to name"


class TestTypedTime:
    """The picture's moment is 2026-08-18 20:00 UTC in feed second 1800; the crew's clock four hours behind."""

    @pytest.fixture
    def at(self, table):
        facts = fold([parse({"id": "f", "time": "2026-08-18T20:00:00Z", "kind": "trip", "utc_offset_min": -240})], ())
        table.show(hits=(a_hit("h", "3"),), crew=facts)
        table.controls.chosen = "3"
        table.press("hit time")
        return table

    def typed(self, at, text):
        at.key(*text, "enter")
        return at.last if at.runner.actions else None

    def test_the_hit_moves_to_that_time_of_day_on_the_crews_clock(self, at):
        now = at.controls.picture
        wanted = datetime.fromtimestamp(now.utc_s, UTC) - timedelta(minutes=7, hours=4)
        action = self.typed(at, f"{wanted:%H%M}")
        assert (action.kind, action.of) == ("retime", "h")
        moved = now.utc_s - action.to.timestamp()
        assert 420.0 - 0.001 <= moved < 480.0
        assert action.to.astimezone(UTC).second == 0
        assert action.to_elapsed_s == pytest.approx(now.t_s - moved, abs=2e-3)
        assert "from memory" in at.controls.said.text

    def test_with_seconds_too(self, at):
        wanted = datetime.fromtimestamp(at.controls.picture.utc_s, UTC) - timedelta(seconds=95, hours=4)
        action = self.typed(at, f"{wanted:%H:%M:%S}")
        assert at.controls.picture.utc_s - action.to.timestamp() == pytest.approx(95.0, abs=1.0)

    @pytest.mark.parametrize("text", ["2561", "7", "99:99"])
    def test_what_is_no_time_is_refused_with_what_would_be(self, at, text):
        assert self.typed(at, text) is None
        assert "19:42" in at.controls.said.text
        assert at.controls.typing is not None

    def test_before_the_trip_is_refused(self, at):
        wanted = datetime.fromtimestamp(at.controls.picture.utc_s - at.controls.picture.t_s, UTC) - timedelta(
            hours=4.5
        )
        assert self.typed(at, f"{wanted:%H%M}") is None
        assert "before the trip began" in at.controls.said.text

    def test_without_a_hit_nothing_is_asked(self, table):
        table.press("hit time")
        assert table.controls.typing is None
        assert "has no hit" in table.controls.said.text


def test_earlier_without_a_hit_says_so(table):
    table.press("earlier")
    assert table.runner.actions == []
    assert "no hit" in table.controls.said.text


def test_taking_back_names_what_it_takes_and_works_before_it_is_shown(table):
    table.press("rod 3")
    table.press("undo", after=0.05)
    assert (table.last.kind, table.last.of) == ("undo", "a1")
    assert "hit on 3 P LOW" in table.controls.said.text
    assert table.controls.open_fish(table.now) is None
    table.press("restore", after=0.05)
    assert (table.last.kind, table.last.of) == ("restore", "a1")


def test_a_digit_just_after_the_typing_line_closed_by_itself_goes_nowhere_and_it_is_said(table):
    table.press("length")
    table.key("1")
    table.now += 6.0
    table.controls.tick(table.now)
    assert table.controls.typing is None
    table.key("3", after=0.9)
    assert table.runner.actions == []
    assert table.controls.said.text == "3 was not used: the typing line had just closed. Press again for a hit"
    table.press("rod 3", after=0.2)
    assert table.runner.did() == [("hit", "3")]


def test_a_digit_after_the_line_was_dropped_by_hand_is_a_hit_at_once(table):
    table.press("length")
    table.key("1", "escape")
    table.press("rod 3", after=0.2)
    assert table.runner.did() == [("hit", "3")]


def test_enter_just_after_the_list_closed_by_itself_opens_nothing_and_the_list_says_that_it_closed(table):
    table.press("rod 3", "fish")
    table.key("down")
    table.now += 20.0
    table.controls.tick(table.now)
    assert table.controls.listing is None
    assert table.controls.said.text == "What fish on 3 P LOW: closed, nothing chosen"
    before = table.runner.did()
    table.key("enter", after=0.5)
    assert table.controls.said.text == "Enter was not used: the list had just closed. Press again to use it"
    assert not effects.typed(table.controls, "3", table.now)  # a digit was never the list's: it is a hit
    assert not effects.typed(table.controls, "escape", table.now)
    assert not effects.typed(table.controls, "down", table.now + 0.6)
    assert table.runner.did() == before


def test_letters_just_after_a_line_for_words_closed_by_itself_are_no_acts(table):
    table.press("note")
    table.key("o", "n")
    table.now += 30.0
    table.controls.tick(table.now)
    assert table.controls.typing is None
    table.key("b", after=0.3)
    assert table.controls.said.text == "b was not used: the typing line had just closed. Press again to use it"


def test_nothing_to_take_back(table):
    table.press("undo", "restore")
    assert table.runner.actions == []


def test_what_fish_then_how_long(table):
    table.press("rod 3", "boxed", "fish")
    table.key("down", "enter")
    assert (table.last.kind, table.last.of, table.last.species) == ("catch", "a1", "lake trout")
    table.key("2", "7", ".", "5", "enter")
    assert table.last.length_m == pytest.approx(27.5 * 0.0254)
    assert table.last.of == "a1"
    assert table.controls.typing is None


def test_both_may_be_skipped(table):
    table.press("rod 3", "boxed", "fish")
    table.key("escape", "escape")
    assert [a.kind for a in table.runner.actions] == ["hit", "outcome"]
    table.press("fish")
    table.key("enter", "enter")
    assert [a.kind for a in table.runner.actions] == ["hit", "outcome", "catch"]


def test_a_weight_instead_of_a_length():
    table = Table(units="metric")
    table.press("rod 3", "boxed", "fish")
    table.key("escape", "tab", "2", ".", "4", "enter")
    assert table.last.mass_kg == pytest.approx(2.4)


def test_a_size_out_of_range_is_asked_again(table):
    table.press("rod 3", "boxed", "fish")
    table.key("escape", "9", "9", "9", "enter")
    assert [a.kind for a in table.runner.actions] == ["hit", "outcome"]
    assert table.controls.typing.text == ""


def test_a_rod_key_hits_while_the_list_is_open_and_types_in_the_typing_line(table):
    table.press("rod 3", "boxed", "fish")
    assert not effects.typed(table.controls, "6", table.now)
    table.key("enter")
    assert effects.typed(table.controls, "6", table.now)


def test_over_a_recording_a_rod_key_only_chooses():
    table = Table(session=Session.REPLAY)
    table.press("rod 6")
    assert table.runner.actions == []
    assert table.controls.chosen == "6"


def test_a_late_hit_takes_the_moment_of_its_own_key():
    table = Table(session=Session.REPLAY)
    table.press("late hit")
    at = table.controls.picture.t_s
    table.show(t_s=at + 40.0, utc_s=fake_picture.UTC_0 + 40.0)
    table.press("rod 6")
    assert table.runner.did() == [("hit", "6"), ("retime", None)]
    assert table.last.of == table.last.part_of == "a1"  # one act, taken back as one
    assert table.last.to_elapsed_s == at
    assert table.last.to.timestamp() == pytest.approx(fake_picture.UTC_0)
    table.press("rod 5")
    assert len(table.runner.actions) == 2


def test_a_fighting_rod_is_found(table):
    table.show(rods=fake_picture.troubled().rods)
    table.controls.chosen = "8"
    table.press("fighting")
    assert table.controls.chosen == "3"
    assert table.controls.rod("3").state is RodState.FIGHTING


def test_the_moment_of_a_feed_without_a_clock_is_the_computers(table):
    table.show(utc_s=None, hits=(a_hit("h1", "3", utc_s=None),))
    table.controls.chosen = "3"
    table.press("earlier")
    assert table.last.to_elapsed_s == 1640.0
    assert table.last.to.year >= 2020
