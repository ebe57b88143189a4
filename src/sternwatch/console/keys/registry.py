"""Every act of the console, once: its id, its keys, its words and its help.

Footer, help, command palette and key map all come from this table. So no screen can show a key that does nothing, and
every key's act is shown somewhere. Keys are tokens: a printable key is its character, the others have the names in
``tokens.NAMED``.
"""

from __future__ import annotations

from sternwatch.console.keys.acting import BOAT, RECORDING, SCREEN, TRIP, Act, Keyboard, both, helm, recording
from sternwatch.console.keys.rod_acts import ROD_ACTS

ACTS: tuple[Act, ...] = (
    *ROD_ACTS,
    Act("note", TRIP, "jot a note", "You type a few words; Enter keeps them.", both("j"), brief="note"),
    Act(
        "begin trip",
        TRIP,
        "begin a trip",
        "Ends the trip and begins another, with a recording of its own; then asks who is aboard, the fish wanted, "
        "wind and sea. Enter on nothing skips a question, Esc skips all of them.",
        helm(),
    ),
    Act(
        "end trip",
        TRIP,
        "end the trip",
        "Rods that are out count as in, and no fishing time counts from now on. It can be taken back like any entry.",
        helm(),
    ),
    Act(
        "people",
        TRIP,
        "people aboard",
        "How many people are aboard, and so how many rods your own number allows.",
        both(),
    ),
    Act("target", TRIP, "fish wanted", "Which fish you want; choosing it again takes it off.", both()),
    Act("limit", TRIP, "box limit", "How many of a kind of fish you will box: your own number.", both()),
    Act(
        "current",
        TRIP,
        "current",
        "The surface current as you know it: how fast, and the degrees it goes to, as 0.3 090. It is used until "
        "the console learns the current from straight courses in different directions.",
        both(),
    ),
    Act("wind", TRIP, "wind", "The wind of this trip, in a few words.", both()),
    Act("sea", TRIP, "sea", "The sea of this trip, in a few words.", both()),
    Act("helm port", BOAT, "helm to port", "The wheel 5° to port; the heading where one is held.", helm(";")),
    Act("helm starboard", BOAT, "helm to starboard", "The same to starboard.", helm("'")),
    Act("hold", BOAT, "hold heading, steer", "She holds her present heading; pressed again, you steer.", helm("\\")),
    Act("throttle less", BOAT, "throttle less", "The throttle a step back.", helm(",")),
    Act("throttle more", BOAT, "throttle more", "The throttle a step open.", helm(".")),
    Act("engine", BOAT, "other engine", "Changes between kicker and main engine, with the throttle shut.", helm("`")),
    Act(
        "fault",
        BOAT,
        "instruments fail",
        "An instrument falls silent, sticks or loses its fix, until you mend them all: to learn what you have left.",
        helm(),
    ),
    Act("drill", BOAT, "drill", "The briefing, how the drill is going, and afterwards the truth.", helm("/")),
    Act("play", RECORDING, "play, pause", "Plays or pauses the recording.", recording("space")),
    Act("back", RECORDING, "10 s back", "Goes back 10 s.", recording("left")),
    Act("on", RECORDING, "10 s on", "Goes on 10 s.", recording("right")),
    Act(
        "step back", RECORDING, "step back", "Pauses, and goes one step of the watch back: a second.", recording(",")
    ),
    Act("step on", RECORDING, "step on", "Pauses, and goes one step of the watch on: a second.", recording(".")),
    Act(
        "moment",
        RECORDING,
        "go to a time",
        "You type where to go: 19:42 or 19:42:30 on the boat's clock, or from the recording's start +5 for "
        "minutes, +1:20 or +1:20:00 for hours. A full stop may stand for the colon, = for +.",
        recording("enter"),
        brief="to a time",
    ),
    Act("faster", RECORDING, "faster", "Plays faster, up to 200 times.", recording("up")),
    Act("slower", RECORDING, "slower", "Plays slower, down to a quarter.", recording("down")),
    Act("event before", RECORDING, "event before", "Goes to the hit, turn or alert before this.", recording("[")),
    Act(
        "event after",
        RECORDING,
        "event after",
        "Goes to the next hit, turn or alert. Warnings of crossing are known only where the recording has been "
        "played.",
        recording("]"),
    ),
    Act("view", SCREEN, "next view", "Shows the next view.", both("v"), brief="view"),
    Act("chart", SCREEN, "chart", "Track, hits, marks, lines and bottom over ground. Not for navigation.", both()),
    Act("sensors", SCREEN, "sensors", "Shows every source and sensor, and why there is no depth.", both()),
    Act("check", SCREEN, "check", "Shows what could break, trip, tangle or drag with the present lengths.", both()),
    Act("how sure", SCREEN, "how sure", "How sure the chosen rod's depth is, and what its ± is made of.", both()),
    Act(
        "fit",
        SCREEN,
        "fit",
        "What this trip's observations teach of lines, tackle and counters, and what to observe next.",
        both(),
    ),
    Act(
        "calibrate",
        SCREEN,
        "calibrate",
        "A quarter of an hour with the chosen rod: three touches of flat bottom make its depth known better.",
        {Keyboard.HELM: ()},
    ),
    Act("producing", SCREEN, "producing", "Which rods, rigs and depths catch, and how sure that is.", both()),
    Act(
        "debrief",
        SCREEN,
        "debrief",
        "The trip so far, or a past one as a whole: timeline, chart, hits, rates, alerts and what followed.",
        both(),
    ),
    Act(
        "deck",
        SCREEN,
        "deck page",
        "Shows where the page for the deck is; begins it for this machine alone.",
        both(),
    ),
    Act(
        "deck lan",
        SCREEN,
        "deck page for phones",
        "Opens the page for the deck to the boat's network, with a code to scan.",
        both(),
    ),
    Act(
        "deck off",
        SCREEN,
        "end the deck page",
        "Ends the page for the deck: phones are shown nothing more.",
        both(),
    ),
    Act("night", SCREEN, "night, dusk, day", "Changes to the next palette.", both("n"), brief="night"),
    Act(
        "lock",
        SCREEN,
        "wiping lock",
        "Locks the keys so that the keyboard can be wiped; the same again unlocks it. Keys pressed meanwhile are "
        "counted and do nothing.",
        both("l"),
        twice=True,
        brief="lock",
    ),
    Act(
        "palette",
        SCREEN,
        "every act",
        "Lists every act; type a few letters of the one wanted.",
        both("ctrl+p"),
        brief="all",
    ),
    Act("words", SCREEN, "what the words mean", "The words of the screen, each in a sentence.", both()),
    Act("manual", SCREEN, "the manual", "First day, helm, turns, how sure, every key. Letters search it.", both()),
    Act("help", SCREEN, "help", "Explains this screen and lists its keys.", both("?")),
    Act("helm", SCREEN, "back to the helm", "Closes what is open and goes back to the helm.", both("escape")),
    Act("quit", SCREEN, "quit", "Ends the console; the trip stays open.", both("ctrl+q"), twice=True),
)

BY_ID: dict[str, Act] = {act.id: act for act in ACTS}
PLAYS = frozenset(key for act in ACTS if act.group == RECORDING for key in act.on.get(Keyboard.REPLAY, ()))
"""The keys that play a recording."""


def tokens_of(act: Act, keyboard: Keyboard) -> tuple[str, ...] | None:
    """An act's default keys on a keyboard; None where it does not exist.

    The demo has a recording's keys for playing, and the helm's remaining keys for all else.
    """
    if keyboard is not Keyboard.DEMO:
        return act.on.get(keyboard)
    if act.group == RECORDING:
        return act.on[Keyboard.REPLAY]
    helm_keys = act.on.get(Keyboard.HELM)
    return None if helm_keys is None else tuple(key for key in helm_keys if key not in PLAYS)
