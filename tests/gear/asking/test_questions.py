"""Setting up from questions: every way through them makes a spread file that is accepted, and says what was said."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sternwatch.gear.asking.boat_questions import DONE, MIRROR, MORE, PASSES, TICKS, script
from sternwatch.gear.asking.interview import Question, stand_of
from sternwatch.gear.asking.rig_questions import RIGS
from sternwatch.gear.shelf.pieces import parse_shelf
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS, Dimension

FT = 0.3048
SHELF = parse_shelf('[tackle."green fly"]\nkind = "lure"\nform = "fly"\ncolour = "green"\n')
OWN = {"beam": "8.5"}


def interview(said: dict[str, str], units: str = "us") -> tuple[str, dict[str, str]]:
    """Answer by ``said``, with the default where it says nothing; the file made and every answer."""
    answers: dict[str, str] = {}
    for _ in range(400):
        stand = stand_of(script(SYSTEMS[units], SHELF), answers)
        if stand.open is None:
            assert stand.made is not None
            return stand.made, answers
        answers[stand.open.id] = stand.open.checked(said.get(stand.open.id, ""))
    raise AssertionError("no end of questions")


def rods(said: dict[str, str], units: str = "us") -> tuple[Spread, dict[str, Any]]:
    text, _ = interview({**OWN, **said} if units == "us" else {"beam": "2.6", **said}, units)
    return parse_spread(text), tomllib.loads(text)


def test_every_rig_is_asked_for_and_made() -> None:
    said = {f"{n}.rig": rig for n, rig in enumerate(RIGS, 1)} | {f"{n}.more": MORE for n in range(1, len(RIGS))}
    spread, _ = rods({**said, f"{len(RIGS)}.more": DONE})
    assert {rod.name for rod in spread.rods} == {"P LOW", "P DOWN", "P LEAD", "P COPPER", "P WEIGHT", "P FLAT"}
    down = next(rod for rod in spread.rods if rod.name == "P DOWN")
    assert down.rod_line is not None
    assert spread.tackle["ball 10 lb"].mass_kg == pytest.approx(4.5359237)
    lead = next(rod for rod in spread.rods if rod.name == "P LEAD")
    core = next(item for item in lead.chain if getattr(item, "line", "") == "lead-core 27 lb")
    assert core.length_m == pytest.approx(7 * 30 * FT)  # type: ignore[union-attr]


def test_a_rod_is_mirrored_in_one_answer() -> None:
    spread, _ = rods({"1.more": MIRROR, "1.more still": DONE})
    port, starboard = spread.rods
    assert (port.name, starboard.name) == ("P LOW", "S LOW")
    assert (port.key, starboard.key) == ("1", "2")
    assert starboard.tip_abeam_m == pytest.approx(-port.tip_abeam_m)


def test_keys_stand_port_to_starboard_and_what_is_known_follows_its_rod() -> None:
    said = {
        "1.side": "starboard", "1.more": MORE, "1.zero": PASSES, "1.known": TICKS, "1.known depth": "75",
        "2.side": "port", "2.inside": "1", "2.more": DONE,
    }  # fmt: skip
    spread, tables = rods(said)
    assert [(rod.key, rod.side) for rod in spread.rods] == [("1", "port"), ("2", "starboard")]
    assert tables["known"] == [
        {"rod": "2", "depth": "75 ft", "speed": "2.3 mph", "out": "150 ft",
         "note": "said when setting up: it touches bottom"}
    ]  # fmt: skip
    assert "rod 2 counter" in tables["prior"]
    assert spread.rods[1].counter.per_pass_m == pytest.approx(10 * FT)


def test_passes_are_told_in_feet() -> None:
    spread, tables = rods({"1.zero": PASSES, "1.per pass": "11 ft", "1.passes": "14", "1.more": DONE})
    assert tables["rod"][0]["chain"][0]["out"] == "154 ft"
    assert spread.rods[0].line_out_m == pytest.approx(154 * FT)
    text, _ = interview({**OWN, "1.zero": PASSES, "1.passes": "14", "1.more": DONE})
    assert "# 14 passes of 10 ft" in text


def test_the_label_and_the_scale_are_kept_as_said() -> None:
    spread, tables = rods({"1.line.test": "20", "1.line.weighed": "3.7 g", "1.more": DONE})
    line = spread.line["wire 20 lb"]
    assert tables["prior"]["line wire 20 lb diameter"]["high"] == pytest.approx(1.034, abs=1e-3)  # a tenth of a gram
    assert line.note == "diameter from 3.7 g in 20 ft"
    assert tables["prior"]["line wire 20 lb diameter"]["source"] == "weighed on a kitchen scale"


def test_a_weight_that_does_not_go_with_its_label_opens_the_question_again() -> None:
    answers = dict(OWN)
    stand = stand_of(script(SYSTEMS["us"], SHELF), answers)
    while stand.open is not None and stand.open.id != "1.disc":
        answers[stand.open.id] = "55 g" if stand.open.id == "1.line.weighed" else stand.open.checked("")
        stand = stand_of(script(SYSTEMS["us"], SHELF), answers)
        if stand.stale:
            break
    assert stand.open is not None
    assert stand.open.id == "1.line.weighed"
    assert "should weigh about 5 g, not 55 g" in stand.stale


def test_an_answer_said_anew_keeps_what_still_holds() -> None:
    _, answers = interview({**OWN, "1.more": DONE})
    changed = {**answers, "1.rig": "a flat line"}
    stand = stand_of(script(SYSTEMS["us"], SHELF), changed)
    assert stand.open is not None
    assert stand.open.id == "1.line.kind"  # wire is no answer there
    assert "wire" in stand.stale
    assert changed["1.ahead"] == answers["1.ahead"]


def test_a_lure_of_the_shelf_comes_with_its_colour() -> None:
    spread, _ = rods({"1.lure": "green fly", "1.more": DONE})
    assert spread.tackle["green fly"].colour == "green"  # type: ignore[union-attr]


def test_the_speed_she_trolls_at_is_kept() -> None:
    spread, _ = rods({"speed": "2.5", "1.more": DONE})
    assert spread.boat.usual_m_s == pytest.approx(2.5 * 0.44704)


def test_two_rods_cannot_have_one_name() -> None:
    answers = dict(OWN)
    said = {"1.more": MORE, "2.name": "P LOW"}
    for _ in range(200):
        stand = stand_of(script(SYSTEMS["us"], SHELF), answers)
        assert stand.open is not None
        if stand.stale:
            assert stand.open.id == "2.name"
            assert stand.stale == "P LOW is another rod's name already"
            return
        answers[stand.open.id] = stand.open.checked(said.get(stand.open.id, ""))
    raise AssertionError("it was taken")


@settings(max_examples=10)
@given(st.data())
def test_every_way_through_makes_a_file_that_is_accepted(data: st.DataObject) -> None:
    units = data.draw(st.sampled_from(sorted(SYSTEMS)))
    answers: dict[str, str] = {}
    made = None
    for _ in range(250):
        stand = stand_of(script(SYSTEMS[units], SHELF), answers)
        if stand.open is None:
            made = stand.made
            break
        question = stand.open
        given_text = question.default
        if question.kind == "choice":
            assert len(set(question.choices)) == len(question.choices)
            enough = question.id.endswith((".more", ".more still")) and int(question.id.split(".")[0]) >= 3
            given_text = DONE if enough else data.draw(st.sampled_from(question.choices))
        elif question.id.endswith(".name"):
            given_text = question.default
        elif not question.default and not question.optional:
            given_text = {"beam": "2.6 m"}.get(question.id, "12 m")
        answers[question.id] = question.checked(given_text)
    assert made is not None
    spread = parse_spread(made)
    assert len({rod.key for rod in spread.rods}) == len(spread.rods)
    for rod in spread.rods:
        assert rod.tip is not None


@pytest.mark.parametrize(
    ("given_text", "says"),
    [
        ("", "a length is wanted, in ft unless you write another unit"),
        ("wide", "a number and its unit are wanted"),
        ("9 lb", "lb measures a mass"),
        ("90", "this wants 3.3 to 32 ft"),
    ],
)
def test_what_cannot_be_is_answered_in_a_sentence(given_text: str, says: str) -> None:
    stand = stand_of(script(SYSTEMS["us"], SHELF), {"boat": "boat"})
    assert stand.open is not None
    assert stand.open.id == "beam"
    with pytest.raises(ValueError, match=says):
        stand.open.checked(given_text)


def test_a_bare_number_has_the_unit_asked_for_and_a_comma_is_a_point() -> None:
    question = Question("q", "?", "", "quantity", Dimension.LENGTH, "m", high=100.0)
    assert question.checked("2,5") == "2.5 m"
    assert question.checked("8 ft") == "8 ft"


def test_a_choice_is_taken_by_number_or_its_beginning() -> None:
    question = Question("q", "?", "", "choice", choices=("wire", "braid", "mono"), default="wire")
    assert [question.checked(text) for text in ("", "2", "mo")] == ["wire", "braid", "mono"]
    with pytest.raises(ValueError, match='"wira" is none of wire, braid, mono'):
        question.checked("wira")
