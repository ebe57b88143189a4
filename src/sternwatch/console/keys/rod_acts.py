"""Acts about rods: hits, lines, and what is looked ahead at."""

from __future__ import annotations

from sternwatch.console.keys.acting import AHEAD, HITS, RODS, STATIONS, Act, Keyboard, both, helm, replay

ROD_ACTS: tuple[Act, ...] = (
    *(
        Act(
            f"rod {station}",
            HITS,
            f"hit on {station}",
            "A hit on that rod, at this moment; it becomes the chosen one. In a replay it only chooses.",
            both(station),
        )
        for station in STATIONS
    ),
    Act("bite", HITS, "bite", "A bite, rod not known: the next rod key within 60 s takes this time.", helm("space")),
    Act(
        "undo",
        HITS,
        "take back",
        "Takes back your newest entry and names it. Nothing is deleted.",
        both("u"),
        brief="undo",
    ),
    Act("restore", HITS, "put back", "Puts back what was taken back last.", both("y"), brief="redo"),
    Act("boxed", HITS, "boxed", "The fish now on the line is kept and goes in the box.", both("b")),
    Act("freed", HITS, "freed", "The fish now on the line is let go.", both("f")),
    Act("dropped", HITS, "dropped", "The fish now on the line came off.", both("d")),
    Act("no fish", HITS, "no fish", "A false release or weed: it does not count as a hit.", both("e")),
    Act("confirm", HITS, "confirm doubtful", "Makes the chosen rod's doubtful hit count.", both()),
    Act("fish", HITS, "what fish", "What fish it was and how long; both may be skipped.", both("w"), brief="fish"),
    Act(
        "earlier",
        HITS,
        "a minute earlier",
        "The chosen rod's last hit was a minute earlier.",
        helm("t"),
        brief="minute earlier",
    ),
    Act("undersized", HITS, "undersized", "The fish was too small to keep; pressed again, it was not.", both()),
    Act("hit note", HITS, "about the hit", "A few words about the last fish; Enter keeps them.", both()),
    Act(
        "hit time",
        HITS,
        "when the hit was",
        "You type the time of day of the chosen rod's last hit; depth, speed and the rest are then those of that "
        "time.",
        both(),
    ),
    Act("late hit", HITS, "late hit", "A hit that was missed: this key, then its rod.", replay("t")),
    Act("left", RODS, "choose", "Chooses the next rod to port as drawn. No hit.", helm("left")),
    Act("right", RODS, "choose", "Chooses the next rod to starboard as drawn. No hit.", helm("right")),
    Act("fighting", RODS, "next fish on", "Chooses the next rod with a fish on.", both("tab")),
    Act("deeper", RODS, "let out", "Lets out a little line on the chosen rod.", helm("down")),
    Act("shallower", RODS, "take in", "Takes in a little line on the chosen rod.", helm("up")),
    Act("much deeper", RODS, "a lot out", "Lets out a lot of line on the chosen rod.", helm("pagedown")),
    Act("much shallower", RODS, "a lot in", "Takes in a lot of line on the chosen rod.", helm("pageup")),
    Act(
        "length",
        RODS,
        "type length",
        "Opens the typing line for the chosen rod's length: digits, then this key sets it; Esc or 6 s without a "
        "key drops it. While it is open, and for a second after it closed by itself, digits are not hits.",
        helm("enter"),
        brief="type",
    ),
    Act(
        "gauge",
        RODS,
        "gauge at a depth",
        "Takes a reading of a gauge lowered to a depth: the depth, Enter, the temperature there, Enter; Tab takes "
        "the speed there instead. From then on the temperature is known at every lure between two readings; the "
        "surface counts as one.",
        both("g"),
        brief="gauge",
    ),
    Act("less", RODS, "set less", "The diver's setting a step lower, or the downrigger's lead shorter.", helm("[")),
    Act("more", RODS, "set more", "The diver's setting a step higher, or the downrigger's lead longer.", helm("]")),
    Act("out", RODS, "going out", "The chosen rod is going out; pressed again, it is set.", helm("o"), brief="out"),
    Act("in", RODS, "in", "The chosen rod is in.", helm("i")),
    Act(
        "as hit",
        RODS,
        "out as at its hit",
        "Shows what the chosen rod had at its last hit beside what it has; the second press within 8 s lets it out "
        "so: length, setting and lead.",
        helm("r"),
        twice=True,
        brief="as hit",
        twice_s=8.0,
    ),
    Act(
        "pull",
        RODS,
        "pull all lines",
        "Says in which order to pull all lines and how long it takes. It stands until they are in, or until Esc.",
        helm("z"),
        twice=True,
        brief="pull all",
    ),
    Act(
        "change",
        RODS,
        "change lure or rig",
        "Another lure, attractor, leader, setting or whole rig on the chosen rod, from two lists: the shelf's, the "
        "spread's, the other rods'. Hits before it keep what was on then.",
        helm("c"),
        brief="change",
    ),
    Act(
        "move",
        RODS,
        "move rig",
        "The chosen rod's rig changes places with another station's, with its length and any fish on it. Keys stay "
        "with the stations.",
        helm("x"),
        brief="move",
    ),
    Act("checked", RODS, "line checked", "The chosen rod's line was looked at and is clean.", helm("k")),
    Act(
        "plan",
        AHEAD,
        "plan a turn",
        "Plans a turn, a new speed or a stop: left and right its degrees, up and down quicker and slower, PgUp and "
        "PgDn the speed, Tab a stop. What it would do is drawn dotted and said in one line. Enter keeps it, Esc "
        "drops it. After 20 s without a key it is kept; for a second after that these keys do nothing.",
        both("p"),
        brief="plan",
    ),
    Act(
        "acknowledge",
        AHEAD,
        "acknowledge",
        "Says that you have seen the worst alarm or warning, and others of its kind. Cautions need no key.",
        both("a"),
        brief="ack",
    ),
    Act(
        "mark",
        AHEAD,
        "mark this place",
        "Marks where the boat is: a net, a snag, bait or a break. You are warned when a line comes near a net or "
        "snag, on later trips too.",
        both("m"),
        brief="mark",
    ),
    Act(
        "fish seen",
        AHEAD,
        "fish seen",
        "Fish on the sounder at a depth: drawn from the side, with the rods that pass near their depth and "
        "the line out that would bring the others there.",
        both("s"),
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
        both(),
    ),
    Act(
        "again seen",
        AHEAD,
        "again, at fish seen",
        "The same for the chosen rod's lure and the fish seen last, at their depth, or a bait or break that you "
        "marked. Chosen again, it takes the one before.",
        both(),
    ),
    Act(
        "again by ground",
        AHEAD,
        "again, speed over ground",
        "Passes again with the speed over ground of the hit instead of the speed through the water; chosen again, "
        "it changes back.",
        both(),
    ),
    Act(
        "plan a pass",
        AHEAD,
        "plan a pass",
        "Plans legs and turns for the next minutes that keep the lures longest at a height over the bottom, at a "
        "depth or in the zone of temperatures. Then it says what to steer, and goes on looking for a better way.",
        both(),
    ),
    Act(
        "pass in view",
        AHEAD,
        "plan a pass in the chart's view",
        "The same; lures count only inside what the chart shows.",
        both(),
    ),
    Act("no more pass", AHEAD, "pass no more", "Drops the planned pass.", both()),
    Act("no more again", AHEAD, "again no more", "Drops the place that was to be passed again.", both()),
    Act(
        "touched",
        RODS,
        "touched bottom",
        "The chosen rod touched bottom just now: an observation for the fit, with the bottom as it was sounded where "
        "the tackle was.",
        both("h"),
        brief="bottom",
    ),
    Act(
        "observed seen on sounder",
        RODS,
        "its depth on the sounder",
        "The chosen rod's ball or device seen on the sounder: its depth; Tab for the lure. For the fit.",
        both(),
    ),
    Act(
        "observed logger",
        RODS,
        "a logger's depth",
        "What a depth logger at the lure read; Tab for the device.",
        both(),
    ),
    Act(
        "observed entry angle",
        RODS,
        "angle of the line",
        "The angle below the horizontal at which the chosen rod's line enters the water.",
        both(),
    ),
    Act("observed cable angle", RODS, "angle of the cable", "A downrigger cable's angle off the vertical.", both()),
    Act("observed pull", RODS, "pull at the rod", "The pull at the chosen rod's tip, by a scale.", both()),
    Act(
        "spread plan",
        AHEAD,
        "plan the spread",
        "Settings and line out for every rod between two depths, lines kept apart in U-turns, and the order to let "
        "out in; entered with one key.",
        both(),
    ),
    Act("ahead", AHEAD, "outlook", "Shows limits, pairs and every rod's coming minutes.", both()),
    Act(
        "call turn",
        AHEAD,
        "call the turn",
        "Tells the deck that the planned turn begins in 40 s; chosen again, calls it off.",
        both(),
    ),
)
