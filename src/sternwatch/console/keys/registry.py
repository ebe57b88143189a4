"""Every act of the console, once: its id, its keys, its words and its help.

Footer, help, command palette and key map all come from this table. So no screen can show a key that does nothing, and
every key's act is shown somewhere. Keys are tokens: a printable key is its character, the others have the names in
``tokens.NAMED``.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from sternwatch.console.keys.lock import TWICE_S
from sternwatch.gear.spread_file.models import ROD_KEYS

STATIONS = ROD_KEYS
"""The number row is the stern, port to starboard."""


class Keyboard(StrEnum):
    """The set of key meanings: at the helm, over a recording, or in the demo, where both can be tried."""

    HELM = "helm"
    REPLAY = "replay"
    DEMO = "demo"

    @property
    def hits(self) -> bool:
        """Whether a rod's key enters a hit; over a recording it only chooses the rod."""
        return self is not Keyboard.REPLAY


@dataclass(frozen=True, slots=True)
class Act:
    """One thing that the crew can do.

    ``words`` are for the footer and the palette; ``help`` is one sentence. ``on`` maps each keyboard where the act
    exists to its default keys; an empty tuple means: by the palette only. ``twice``: the key needs two presses in a
    row.
    """

    id: str
    group: str
    words: str
    help: str
    on: dict[Keyboard, tuple[str, ...]]
    twice: bool = False
    brief: str = ""  # the footer's shorter words, where there is little room
    twice_s: float = TWICE_S  # the longest time between the two presses

    def tokens(self, keyboard: Keyboard) -> tuple[str, ...] | None:
        """Its default keys on a keyboard; None where it does not exist.

        The demo has a recording's keys for playing, and the helm's remaining keys for all else.
        """
        if keyboard is not Keyboard.DEMO:
            return self.on.get(keyboard)
        if self.group == RECORDING:
            return self.on[Keyboard.REPLAY]
        helm = self.on.get(Keyboard.HELM)
        return None if helm is None else tuple(key for key in helm if key not in PLAYS)

    @property
    def foot(self) -> str:
        """The footer's words."""
        return self.brief or self.words

    @property
    def station(self) -> str | None:
        """The station of a rod key's act."""
        return self.id.removeprefix("rod ") if self.id.startswith("rod ") else None


def _both(*keys: str) -> dict[Keyboard, tuple[str, ...]]:
    return {Keyboard.HELM: keys, Keyboard.REPLAY: keys}


def _helm(*keys: str) -> dict[Keyboard, tuple[str, ...]]:
    return {Keyboard.HELM: keys}


def _replay(*keys: str) -> dict[Keyboard, tuple[str, ...]]:
    return {Keyboard.REPLAY: keys}


def _recording(*keys: str) -> dict[Keyboard, tuple[str, ...]]:
    """Keys for a recording and the demo. With the helm's keys only the palette has the act."""
    return {Keyboard.REPLAY: keys, Keyboard.HELM: ()}


HITS = "Hits"
RODS = "Rods and lines"
TRIP = "Trip"
SCREEN = "Screen"
RECORDING = "Recording"
AHEAD = "Looking ahead"
BOAT = "Practice boat"
GROUPS = (HITS, RODS, AHEAD, TRIP, BOAT, RECORDING, SCREEN)

ACTS: tuple[Act, ...] = (
    *(
        Act(
            f"rod {station}",
            HITS,
            f"hit on {station}",
            "A hit on that rod, at this moment; it becomes the chosen one. In a replay it only chooses.",
            _both(station),
        )
        for station in STATIONS
    ),
    Act("bite", HITS, "bite", "A bite, rod not known: the next rod key within 60 s takes this time.", _helm("space")),
    Act(
        "undo",
        HITS,
        "take back",
        "Takes back your newest entry and names it. Nothing is deleted.",
        _both("u"),
        brief="undo",
    ),
    Act("restore", HITS, "put back", "Puts back what was taken back last.", _both("y"), brief="redo"),
    Act("boxed", HITS, "boxed", "The fish now on the line is kept and goes in the box.", _both("b")),
    Act("freed", HITS, "freed", "The fish now on the line is let go.", _both("f")),
    Act("dropped", HITS, "dropped", "The fish now on the line came off.", _both("d")),
    Act("no fish", HITS, "no fish", "A false release or weed: it does not count as a hit.", _both("e")),
    Act("confirm", HITS, "confirm doubtful", "Makes the chosen rod's doubtful hit count.", _both()),
    Act("fish", HITS, "what fish", "What fish it was and how long; both may be skipped.", _both("w"), brief="fish"),
    Act(
        "earlier",
        HITS,
        "a minute earlier",
        "The chosen rod's last hit was a minute earlier.",
        _helm("t"),
        brief="minute earlier",
    ),
    Act("undersized", HITS, "undersized", "The fish was too small to keep; pressed again, it was not.", _both()),
    Act("hit note", HITS, "about the hit", "A few words about the last fish; Enter keeps them.", _both()),
    Act(
        "hit time",
        HITS,
        "when the hit was",
        "You type the time of day of the chosen rod's last hit; depth, speed and the rest are then those of that "
        "time.",
        _both(),
    ),
    Act("late hit", HITS, "late hit", "A hit that was missed: this key, then its rod.", _replay("t")),
    Act("left", RODS, "choose", "Chooses the next rod to port as drawn. No hit.", _helm("left")),
    Act("right", RODS, "choose", "Chooses the next rod to starboard as drawn. No hit.", _helm("right")),
    Act("fighting", RODS, "next fish on", "Chooses the next rod with a fish on.", _both("tab")),
    Act("deeper", RODS, "let out", "Lets out a little line on the chosen rod.", _helm("down")),
    Act("shallower", RODS, "take in", "Takes in a little line on the chosen rod.", _helm("up")),
    Act("much deeper", RODS, "a lot out", "Lets out a lot of line on the chosen rod.", _helm("pagedown")),
    Act("much shallower", RODS, "a lot in", "Takes in a lot of line on the chosen rod.", _helm("pageup")),
    Act(
        "length",
        RODS,
        "type length",
        "Opens the typing line for the chosen rod's length: digits, then this key sets it; Esc or 6 s without a "
        "key drops it. While it is open, and for a second after it closed by itself, digits are not hits.",
        _helm("enter"),
        brief="type",
    ),
    Act(
        "gauge",
        RODS,
        "gauge at a depth",
        "Takes a reading of a gauge lowered to a depth: the depth, Enter, the temperature there, Enter; Tab takes "
        "the speed there instead. From then on the temperature is known at every lure between two readings; the "
        "surface counts as one.",
        _both("g"),
        brief="gauge",
    ),
    Act("less", RODS, "set less", "The diver's setting a step lower, or the downrigger's lead shorter.", _helm("[")),
    Act("more", RODS, "set more", "The diver's setting a step higher, or the downrigger's lead longer.", _helm("]")),
    Act("out", RODS, "going out", "The chosen rod is going out; pressed again, it is set.", _helm("o"), brief="out"),
    Act("in", RODS, "in", "The chosen rod is in.", _helm("i")),
    Act(
        "as hit",
        RODS,
        "out as at its hit",
        "Shows what the chosen rod had at its last hit beside what it has; the second press within 8 s lets it out "
        "so: length, setting and lead.",
        _helm("r"),
        twice=True,
        brief="as hit",
        twice_s=8.0,
    ),
    Act(
        "pull",
        RODS,
        "pull all lines",
        "Says in which order to pull all lines and how long it takes. It stands until they are in, or until Esc.",
        _helm("z"),
        twice=True,
        brief="pull all",
    ),
    Act(
        "change",
        RODS,
        "change lure or rig",
        "Another lure, attractor, leader, setting or whole rig on the chosen rod, from two lists: the shelf's, the "
        "spread's, the other rods'. Hits before it keep what was on then.",
        _helm("c"),
        brief="change",
    ),
    Act(
        "move",
        RODS,
        "move rig",
        "The chosen rod's rig changes places with another station's, with its length and any fish on it. Keys stay "
        "with the stations.",
        _helm("x"),
        brief="move",
    ),
    Act("checked", RODS, "line checked", "The chosen rod's line was looked at and is clean.", _helm("k")),
    Act(
        "plan",
        AHEAD,
        "plan a turn",
        "Plans a turn, a new speed or a stop: left and right its degrees, up and down quicker and slower, PgUp and "
        "PgDn the speed, Tab a stop. What it would do is drawn dotted and said in one line. Enter keeps it, Esc "
        "drops it.",
        _both("p"),
        brief="plan",
    ),
    Act(
        "acknowledge",
        AHEAD,
        "acknowledge",
        "Says that you have seen the worst alarm or warning, and others of its kind. Cautions need no key.",
        _both("a"),
        brief="ack",
    ),
    Act(
        "mark",
        AHEAD,
        "mark this place",
        "Marks where the boat is: a net, a snag, bait or a break. You are warned when a line comes near a net or "
        "snag, on later trips too.",
        _both("m"),
        brief="mark",
    ),
    Act(
        "fish seen",
        AHEAD,
        "fish seen",
        "Fish on the sounder at a depth: drawn from the side, with the rods that pass within five feet of them and "
        "the line out that would bring the others there.",
        _both("s"),
        brief="fish seen",
    ),
    Act(
        "again",
        AHEAD,
        "again",
        "Plans how to bring the lure of the chosen rod's newest hit (else the newest of all) through that place "
        "again, and says what to steer. Pressed once more it steers the next way.",
        {Keyboard.HELM: ("q",), Keyboard.REPLAY: ()},
        brief="again",
    ),
    Act(
        "again here",
        AHEAD,
        "again, here",
        "The same for the hit, mark or fish at the place chosen on the chart, else for the chosen rod and the place.",
        _both(),
    ),
    Act(
        "again seen",
        AHEAD,
        "again, at fish seen",
        "The same for the chosen rod's lure and the fish seen last, at their depth, or a bait or break that you "
        "marked. Chosen again, it takes the one before.",
        _both(),
    ),
    Act(
        "again by ground",
        AHEAD,
        "again, speed over ground",
        "Passes again with the speed over ground of the hit instead of the speed through the water; chosen again, "
        "it changes back.",
        _both(),
    ),
    Act(
        "plan a pass",
        AHEAD,
        "plan a pass",
        "Plans legs and turns for the next minutes that keep the lures longest at a height over the bottom, at a "
        "depth or in the zone of temperatures. Then it says what to steer, and goes on looking for a better way.",
        _both(),
    ),
    Act(
        "pass in view",
        AHEAD,
        "plan a pass in the chart's view",
        "The same; lures count only inside what the chart shows.",
        _both(),
    ),
    Act("no more pass", AHEAD, "pass no more", "Drops the planned pass.", _both()),
    Act("no more again", AHEAD, "again no more", "Drops the place that was to be passed again.", _both()),
    Act(
        "touched",
        RODS,
        "touched bottom",
        "The chosen rod touched bottom just now: an observation for the fit, with the bottom as it was sounded where "
        "the tackle was.",
        _both("h"),
        brief="bottom",
    ),
    Act(
        "observed seen on sounder",
        RODS,
        "its depth on the sounder",
        "The chosen rod's ball or device seen on the sounder: its depth; Tab for the lure. For the fit.",
        _both(),
    ),
    Act(
        "observed logger",
        RODS,
        "a logger's depth",
        "What a depth logger at the lure read; Tab for the device.",
        _both(),
    ),
    Act(
        "observed entry angle",
        RODS,
        "angle of the line",
        "The angle below the horizontal at which the chosen rod's line enters the water.",
        _both(),
    ),
    Act("observed cable angle", RODS, "angle of the cable", "A downrigger cable's angle off the vertical.", _both()),
    Act("observed pull", RODS, "pull at the rod", "The pull at the chosen rod's tip, by a scale.", _both()),
    Act(
        "spread plan",
        AHEAD,
        "plan the spread",
        "Settings and line out for every rod between two depths, lines kept apart in U-turns, and the order to let "
        "out in; entered with one key.",
        _both(),
    ),
    Act("ahead", AHEAD, "outlook", "Shows limits, pairs and every rod's coming minutes.", _both()),
    Act(
        "call turn",
        AHEAD,
        "call the turn",
        "Tells the deck that the planned turn begins in 40 s; chosen again, calls it off.",
        _both(),
    ),
    Act("note", TRIP, "jot a note", "You type a few words; Enter keeps them.", _both("j"), brief="note"),
    Act(
        "begin trip",
        TRIP,
        "begin a trip",
        "Ends the trip and begins another, with a recording of its own; then asks who is aboard, the fish wanted, "
        "wind and sea. Enter on nothing skips a question, Esc skips all of them.",
        _helm(),
    ),
    Act(
        "end trip",
        TRIP,
        "end the trip",
        "Rods that are out count as in, and no fishing time counts from now on. It can be taken back like any entry.",
        _helm(),
    ),
    Act(
        "people",
        TRIP,
        "people aboard",
        "How many people are aboard, and so how many rods your own number allows.",
        _both(),
    ),
    Act("target", TRIP, "fish wanted", "Which fish you want; choosing it again takes it off.", _both()),
    Act("limit", TRIP, "box limit", "How many of a kind of fish you will box: your own number.", _both()),
    Act(
        "current",
        TRIP,
        "current",
        "The surface current as you know it: how fast, and the degrees it goes to, as 0.3 090. It is used until "
        "the console learns the current from straight courses in different directions.",
        _both(),
    ),
    Act("wind", TRIP, "wind", "The wind of this trip, in a few words.", _both()),
    Act("sea", TRIP, "sea", "The sea of this trip, in a few words.", _both()),
    Act("helm port", BOAT, "helm to port", "The wheel 5° to port; the heading where one is held.", _helm(";")),
    Act("helm starboard", BOAT, "helm to starboard", "The same to starboard.", _helm("'")),
    Act("hold", BOAT, "hold heading, steer", "She holds her present heading; pressed again, you steer.", _helm("\\")),
    Act("throttle less", BOAT, "throttle less", "The throttle a step back.", _helm(",")),
    Act("throttle more", BOAT, "throttle more", "The throttle a step open.", _helm(".")),
    Act(
        "engine", BOAT, "other engine", "Changes between kicker and main engine, with the throttle shut.", _helm("`")
    ),
    Act(
        "fault",
        BOAT,
        "instruments fail",
        "An instrument falls silent, sticks or loses its fix, until you mend them all: to learn what you have left.",
        _helm(),
    ),
    Act("drill", BOAT, "drill", "The briefing, how the drill is going, and afterwards the truth.", _helm("/")),
    Act("play", RECORDING, "play, pause", "Plays or pauses the recording.", _recording("space")),
    Act("back", RECORDING, "10 s back", "Goes back 10 s.", _recording("left")),
    Act("on", RECORDING, "10 s on", "Goes on 10 s.", _recording("right")),
    Act(
        "step back", RECORDING, "step back", "Pauses, and goes one step of the watch back: a second.", _recording(",")
    ),
    Act("step on", RECORDING, "step on", "Pauses, and goes one step of the watch on: a second.", _recording(".")),
    Act(
        "moment",
        RECORDING,
        "go to a time",
        "You type where to go: 19:42 or 19:42:30 on the boat's clock, or from the recording's start +5 for "
        "minutes, +1:20 or +1:20:00 for hours. A full stop may stand for the colon, = for +.",
        _recording("enter"),
        brief="to a time",
    ),
    Act("faster", RECORDING, "faster", "Plays faster, up to 200 times.", _recording("up")),
    Act("slower", RECORDING, "slower", "Plays slower, down to a quarter.", _recording("down")),
    Act("event before", RECORDING, "event before", "Goes to the hit, turn or alert before this.", _recording("[")),
    Act(
        "event after",
        RECORDING,
        "event after",
        "Goes to the next hit, turn or alert. Warnings of crossing are known only where the recording has been "
        "played.",
        _recording("]"),
    ),
    Act("view", SCREEN, "next view", "Shows the next view.", _both("v"), brief="view"),
    Act("chart", SCREEN, "chart", "Track, hits, marks, lines and bottom over ground. Not for navigation.", _both()),
    Act("sensors", SCREEN, "sensors", "Shows every source and sensor, and why there is no depth.", _both()),
    Act("check", SCREEN, "check", "Shows what could break, trip, tangle or drag with the present lengths.", _both()),
    Act("how sure", SCREEN, "how sure", "How sure the chosen rod's depth is, and what its ± is made of.", _both()),
    Act(
        "fit",
        SCREEN,
        "fit",
        "What this trip's observations teach of lines, tackle and counters, and what to observe next.",
        _both(),
    ),
    Act(
        "calibrate",
        SCREEN,
        "calibrate",
        "A quarter of an hour with the chosen rod: three touches of flat bottom make its depth known better.",
        {Keyboard.HELM: ()},
    ),
    Act("producing", SCREEN, "producing", "Which rods, rigs and depths catch, and how sure that is.", _both()),
    Act(
        "debrief",
        SCREEN,
        "debrief",
        "The trip so far, or a past one as a whole: timeline, chart, hits, rates, alerts and what followed.",
        _both(),
    ),
    Act(
        "deck",
        SCREEN,
        "deck page",
        "Shows where the page for the deck is; begins it for this machine alone.",
        _both(),
    ),
    Act(
        "deck lan",
        SCREEN,
        "deck page for phones",
        "Opens the page for the deck to the boat's network, with a code to scan.",
        _both(),
    ),
    Act(
        "deck off",
        SCREEN,
        "end the deck page",
        "Ends the page for the deck: phones are shown nothing more.",
        _both(),
    ),
    Act("night", SCREEN, "night, dusk, day", "Changes to the next palette.", _both("n"), brief="night"),
    Act(
        "lock",
        SCREEN,
        "wiping lock",
        "Locks the keys so that the keyboard can be wiped; the same again unlocks it. Keys pressed meanwhile are "
        "counted and do nothing.",
        _both("l"),
        twice=True,
        brief="lock",
    ),
    Act(
        "palette",
        SCREEN,
        "every act",
        "Lists every act; type a few letters of the one wanted.",
        _both("ctrl+p"),
        brief="all",
    ),
    Act("words", SCREEN, "what the words mean", "The words of the screen, each in a sentence.", _both()),
    Act(
        "manual", SCREEN, "the manual", "The manual: first day, helm, turns, how sure, questions, every key.", _both()
    ),
    Act("help", SCREEN, "help", "Explains this screen and lists its keys.", _both("?")),
    Act("helm", SCREEN, "back to the helm", "Closes what is open and goes back to the helm.", _both("escape")),
    Act("quit", SCREEN, "quit", "Ends the console; the trip stays open.", _both("ctrl+q"), twice=True),
)

BY_ID: dict[str, Act] = {act.id: act for act in ACTS}
PLAYS = frozenset(key for act in ACTS if act.group == RECORDING for key in act.on.get(Keyboard.REPLAY, ()))
"""The keys that play a recording."""
