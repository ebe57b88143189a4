"""What stands at the foot of the body: pressing words whole, the rest by turns on one line."""

from sternwatch.cautions import COLD, NEUTRAL, WIRE
from sternwatch.console.frame.notices import TURN_S, Notice, fitted
from sternwatch.console.words.text import read_alone


def test_a_line_is_a_sentence_that_can_be_read_by_itself():
    assert read_alone(NEUTRAL, 118, "FISH ON.") == [
        "FISH ON. Neutral before clearing a line near the propeller.",
        "FISH ON. Keep clear of a swinging ball.",
        "FISH ON. Hooks fly when a fish shakes in the net.",
    ]
    assert read_alone(WIRE, 78, "FISH ON.") == [WIRE], "the tag is dropped before the words are"


def test_a_sentence_that_is_too_long_breaks_at_a_comma_or_its_like():
    assert read_alone(COLD, 78) == [
        "Cold water disables you in minutes: life jackets on; …",
        "… if alone, wear the engine cut-off.",
    ]
    assert read_alone("one two three four", 9) == ["one two", "three", "four"]
    assert read_alone("abcdefghijkl", 5) == ["abcde", "fghij", "kl"]


def test_nothing_is_lost_at_any_width():
    for width in range(12, 140):
        lines = read_alone(f"{NEUTRAL} {COLD}", width)
        assert all(len(line) <= width for line in lines)
        assert " ".join(lines).replace(" … … ", " ") == f"{NEUTRAL} {COLD}"


def test_what_stands_for_long_takes_one_line_by_turns():
    notices = [Notice(NEUTRAL, stays=False, tag="FISH ON."), Notice(WIRE, stays=False, tag="FISH ON.")]
    seen = [fitted(notices, 78, 4, turn * TURN_S) for turn in range(5)]
    assert all(len(lines) == 1 for lines in seen)
    assert [lines[0].text[-9:] for lines in seen] == ["ropeller.", "ing ball.", " the net.", "d a hand.", "ropeller."]


def test_what_presses_stays_above_it():
    pressing, standing = Notice("BITE 3 s ago: which rod?", "caution band"), Notice(COLD, stays=False)
    assert [line.ink for line in fitted([pressing, standing], 100, 2, 0.0)] == ["caution band", "caution"]
    assert fitted([pressing, pressing, standing], 100, 2, 0.0) == [pressing, pressing]


def test_a_sentence_too_long_for_two_lines_gives_way_to_its_brief_form():
    long = Notice(f"{NEUTRAL} {COLD} {WIRE}", "state", brief="in brief")
    assert [line.text for line in fitted([long], 40, 4, 0.0)] == ["in brief"]
    assert len(fitted([long], 160, 4, 0.0)) == 2


def test_a_pressing_one_that_has_too_few_rows_is_read_by_turns():
    pressing = Notice(f"{NEUTRAL} {COLD}", "caution band")
    seen = [fitted([pressing], 78, 1, turn * TURN_S) for turn in range(5)]
    assert all(len(lines) == 1 for lines in seen)
    assert " ".join(lines[0].text for lines in seen).replace(" … … ", " ") == pressing.text
