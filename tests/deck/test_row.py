"""What the page is told: every number from the picture, in the crew's units, in few bytes."""

import json
from dataclasses import replace

import pytest

from console import fake_picture
from deck.served import Listener, answer, asking, path_of, serving, shown
from sternwatch.cautions import COMPUTED, NEUTRAL, WIRE
from sternwatch.deck.about import about
from sternwatch.deck.row import MOST_BYTES, now_words, packed, row
from sternwatch.deck.shown import Turn
from sternwatch.deck.views import views
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import FightPicture, RodState, Session

FOOT = 0.3048


def rods_of(given, now_s=None):
    said = row(given, given.told_s if now_s is None else now_s)
    return {rod["key"]: values for rod, values in zip(about(given)["rods"], said["rods"], strict=True)}


def test_a_rod_says_depth_interval_state_line_temperature_zone_and_hits():
    rods = rods_of(shown(fake_picture.straight()))
    assert rods["6"] == [69, 51, 79, "f", 125, 50, 1, "", 3]
    assert rods["1"][:4] == [31, None, None, "f"]


def test_metres_go_by_halves_and_what_is_not_known_stays_so():
    picture = fake_picture.changed(
        fake_picture.straight(), "6", depth_m=20.7, temperature_c=None, in_zone=None, hits=0
    )
    given = replace(shown(picture), units=SYSTEMS["metric"])
    assert rods_of(given)["6"][:6] == [20.5, 15, 24, "f", 38.1]
    lost = fake_picture.changed(picture, "6", depth_m=float("nan"))
    assert rods_of(shown(lost))["6"][0] is None


def test_every_state_has_its_letter():
    rods = rods_of(shown(fake_picture.troubled()))
    assert {key: values[3] for key, values in rods.items()} == dict(zip("12345678", "foxifffr", strict=True)) | {
        "2": "o", "3": "x", "4": "i"
    }  # fmt: skip
    assert [rods[key][7] for key in "15678"] == ["p", "u", "e", "s", "o"]
    assert rods["4"][0] is None


def test_rods_stand_port_to_starboard():
    keys = [rod["key"] for rod in about(shown(fake_picture.many(12)))["rods"]]
    assert keys == [*"1234", "0", "9", *"5678", "-", "="]


def test_what_to_let_out_now():
    going = fake_picture.changed(
        fake_picture.straight(), "6", state=RodState.LETTING_OUT, line_out_m=90 * FOOT, moving_to_m=172 * FOOT
    )
    assert now_words(shown(going)) == "6 S LOW: out to 172 ft, setting low"
    fighting = replace(going, fights=(FightPicture("3", 30.0, 0.0, ("2",)),))
    assert now_words(shown(fighting)) == ""
    resting = going
    for key in "38":
        resting = fake_picture.changed(resting, key, state=RodState.IN, moving_to_m=None)
    resting = fake_picture.changed(resting, "6", state=RodState.FISHING)
    assert now_words(shown(resting, order=("1", "8", "3"))) == "Next 8 S BOARD: out to 300 ft"


def test_the_usual_order_begins_near_the_boat():
    picture = fake_picture.straight()
    for key, rig in {"1": "board", "8": "board", "4": "ball", "5": "ball", "2": "diver", "7": "diver"}.items():
        picture = fake_picture.changed(picture, key, rig=rig)
    order = about(shown(picture))["order"]
    assert set(order[:2]) == {"4", "5"}
    assert set(order[-2:]) == {"1", "8"}
    assert about(shown(picture, order=("8", "1")))["order"] == ["8", "1"]


def test_a_called_turn_counts_down_and_then_she_turns():
    given = shown(fake_picture.turning(), turn=Turn("port U-turn", 0.0))
    given = replace(given, turn=Turn("port U-turn", given.told_s + 40.0))
    assert row(given, given.told_s)["turn"] == "port U-turn in 40 s"
    assert row(given, given.told_s + 39.0)["turn"] == "port U-turn in 1 s"
    assert row(given, given.told_s + 41.0)["turn"] == "turning to starboard 22° per 10 s"


def test_age_is_in_every_message_and_counts_from_the_helm():
    given = shown()
    assert row(given, given.told_s + 4.26)["age"] == 4.3
    waiting = replace(given, picture=None, busy="The solver is being made ready")
    assert row(waiting, given.told_s)["age"] == 0.0
    assert row(waiting, given.told_s)["busy"] == "The solver is being made ready"


def test_the_worst_alert_and_who_has_a_fish():
    picture = replace(fake_picture.troubled(), fights=(FightPicture("3", 30.0, 0.0, ("2", "1"), True),))
    said = row(shown(picture), 0.0)
    assert said["alert"][:2] == ["alarm", "Entries cannot be saved: disk full."]
    assert said["fish"] == [["3", ["2", "1"], 1]]
    unknown = replace(picture, fights=(FightPicture("3", None, None, None),))
    assert row(shown(unknown), 0.0)["fish"] == [["3", None, 0]]


def test_last_hits_newest_first():
    assert row(shown(), 0.0)["hits"] == [["6", 95, "boxed"], ["6", 700, "freed"], ["3", 720, "boxed"]]


def test_a_row_of_twelve_with_everything_is_under_a_thousand_bytes():
    alert = Alert(
        "a", "crossing", Priority.WARNING, AlertState.ACTIVE, ("1",), "long words " * 40, "more words " * 40
    )
    fights = tuple(FightPicture(key, 1.0, 1.0, tuple("1234567890-="), True) for key in "12")
    picture = replace(fake_picture.many(12), alerts=(alert,), fights=fights)
    given = shown(picture, turn=Turn("starboard full circle", 1e12))
    data = packed(row(given, given.told_s, number=10**7, positions=True))
    assert len(data) <= MOST_BYTES
    assert len(json.loads(data)["rods"]) == 12


@pytest.mark.parametrize("letter", ["w", "深"])
def test_a_row_is_short_whatever_its_words_are(letter):
    picture = fake_picture.many(12)
    for rod in picture.rods:
        going = {"state": RodState.LETTING_OUT, "moving_to_m": 999 * FOOT, "name": letter * 14, "setting": letter * 9}
        picture = fake_picture.changed(picture, rod.key, **going)
    alert = Alert("a", "x", Priority.ALARM, AlertState.ACTIVE, ("1",), letter * 300, letter * 300)
    given = shown(replace(picture, alerts=(alert,)), turn=Turn(letter * 60, 1e12))
    data = packed(row(given, given.told_s, number=10**7, positions=True))
    assert len(data) <= MOST_BYTES
    assert len(json.loads(data)["rods"]) == 12


def test_of_many_that_go_out_at_once_three_are_told_in_words():
    picture = fake_picture.straight()
    for key in "12345":
        picture = fake_picture.changed(picture, key, state=RodState.LETTING_OUT, moving_to_m=30.48)
    words = now_words(shown(picture))
    assert words.count("out to 100 ft") == 3
    assert words.endswith(" · and 2 more")


def test_places_are_told_only_when_asked_for():
    given = shown()
    assert "at" not in row(given, 0.0)
    assert row(given, 0.0, positions=True)["at"] == [47.31, -91.02]
    with serving() as server:
        assert b"47.3" not in Listener(server, "views").got + answer(server, asking(server))[2]


@pytest.mark.parametrize("session", list(Session))
def test_every_kind_of_session_says_so(session):
    said = about(replace(shown(), session=session))
    assert said["tag"] == ("" if session is Session.LIVE else session.value.upper())
    assert said["computed"] == COMPUTED
    assert said["fish"] == [NEUTRAL, WIRE]


def test_views_are_the_chains_in_decimetres():
    picture = fake_picture.straight()
    said = views(shown(picture))
    lure = said["rods"][5][-3:]
    rod = picture.rods[5]
    assert lure == pytest.approx([rod.astern_m * 10, rod.abeam_m * 10, rod.depth_m * 10], abs=0.51)
    assert all(len(points) == 24 for points in said["rods"])
    assert views(replace(shown(), picture=None)) == {"rods": [], "bottom": []}
    gone = fake_picture.changed(picture, "1", shape_m=None)
    assert views(shown(gone))["rods"][0] == []


def test_every_phone_is_told_the_same_once_a_second():
    with serving() as server:
        phones = [Listener(server, what) for what in ("news", "news", "views")]
        told = [phone.events(4 if n < 2 else 6) for n, phone in enumerate(phones)]
        assert path_of(server).count("/") == 2
        for phone in phones:
            phone.close()
    assert told[0][0][0] == "about"
    rows = [{value["n"]: raw for name, value, raw in events if name == ""} for events in told]
    both = rows[0].keys() & rows[1].keys()
    assert len(both) >= 2
    assert all(rows[0][n] == rows[1][n] for n in both)
    assert "views" in {name for name, _, _ in told[2]}
    assert "views" not in {name for name, _, _ in told[0]}
