"""The words of the screen, each in a sentence: the trade's and the field's own. No screen."""

from __future__ import annotations

Entry = tuple[str, str]

SECTIONS: tuple[tuple[str, tuple[Entry, ...]], ...] = (
    (
        "The spread",
        (
            ("spread", "All rods fishing now, as one pattern."),
            ("rod, key, station", "One rod; the keyboard key that stands for it; its place on the boat. The number "
             "row is the stern, port to starboard."),
            ("chute", "The middle, straight astern."),
            ("low, high diver", "One set steep, near the boat and deep; one set shallow, far out to the side."),
            ("side", "Port is left looking forward and is written P, starboard right and S."),
            ("line out", "Length past the rod tip, as the reel's counter reads after its zero and scale."),
            ("set", "Out at its length and fishing. A rod going out is not set yet."),
        ),
    ),
    (
        "What hangs from a rod",
        (
            ("rig", "What hangs from a rod tip, in order outward: lengths of line and tackle."),
            ("lead, leader", "Line between release or ball and lure; line between device and lure."),
            ("lead-core", "Line with a core of lead, which sinks by its own weight. A colour is 30 ft of it."),
            ("copper", "Line of copper wire, heavy in itself."),
            ("diver", "A bridled disc that dives against the pull; its setting rolls it so that it also pulls to a "
             "side."),
            ("setting", "Your own label for how a diver's side weight stands, with the roll that it gives."),
            ("ball, cable", "A downrigger's weight, and its wire. The lure's line leaves the ball at a release."),
            ("blowback", "How far aft the stream carries the ball, so that it hangs less deep than its cable."),
            ("board", "A board that planes on the surface and carries a line outward."),
            ("attractor", "Flasher, dodger or blade string before the lure. It has no hook."),
            ("lure", "What the fish should bite: fly, spoon, plug. A depth is the lure's unless something else is "
                     "named."),
            ("snubber", "A stretch of rubber that softens a strike."),
            ("stacked rod", "A rod clipped to another's cable above its ball."),
        ),
    ),
    (
        "Where it is",
        (
            ("depth", "Below the surface. Computed from line, tackle, speed and what the boat just did."),
            ("astern, abeam", "Behind the transom; to the side of the boat's middle."),
            ("±, 90 % within", "The value lies between the two ends nine times in ten, by what is known of tackle, "
             "speed and current."),
            (
                "room",
                "From the lure, or the tackle named, down to the bottom under it. A minus: it lies on the bottom, "
                "and would be so much deeper without it.",
            ),
            ("~", "Before the room to the bottom: the sounding was beside the lure, not under it."),
            ("180d, ~13", "In the plain theme, which has only a typewriter's signs: 180 degrees, plus or minus 13."),
            ("zone", "The temperatures wanted; a rod whose lure is in it is marked."),
            ("rising, sinking", "The arrow beside a depth: more than a foot in ten seconds."),
        ),
    ),
    (
        "One word at a rod",
        (
            ("out, reel", "The line goes out, or comes in, to the length behind the arrow."),
            ("in", "Aboard, not in the water."),
            ("fighting, fight", "A fish is on."),
            ("unsettled, settles", "The line was just let out or changed, or the session has just begun: it has not "
             "taken its shape yet."),
            ("old", "The feed has no speed now: the depth is from before, and disappears when it no longer tells "
                    "anything."),
            ("no depth, depth ?", "There is no speed to compute it from, or the ball alone is down."),
            ("line unknown, line ?", "Nobody has said how much line is out: type the length, or check the rod."),
            ("slack", "A diver with too little flow or pull to dive: do not rely on its depth."),
            ("pulled under, under", "A board that its line holds under water."),
            ("failed, solver", "The computation found no shape for this line: no depth until it finds one."),
            ("bottom touch", "It will come to the sounded bottom, or is on it."),
            ("bottom near, bottom", "It hangs close above the bottom, and little is known of the bottom ahead."),
            ("dragging", "It fishes on the bottom with more line out than that needs."),
            ("snag ahead, snag", "The line comes near a snag that you marked."),
            ("net ahead, net", "The line comes near a net that you marked."),
            ("release", "Its line pulls nearly hard enough to open the release."),
            ("propeller, prop", "The line is near the propeller, and she stops or goes astern."),
            ("lure speed, speed", "The lure runs slower or faster than the rod's file wants."),
            ("left zone", "Its lure left the temperatures wanted, so long ago."),
            ("check line, check", "Nobody has looked at the line for 40 minutes: it may tow weed."),
        ),
    ),
    (
        "Speed and water",
        (
            ("over ground (SOG)", "The speed that the GPS gives; the current is in it."),
            ("through water (STW)", "The speed that the lures feel. The strip says which of the two the depths use."),
            ("current", "How the water moves over the ground. It may differ below."),
            ("thermocline", "The layer in which the water turns cold quickly as one goes down."),
            ("sounding", "A depth of the bottom from the sounder: several readings in a row make one."),
            ("silent, suspect", "A sensor that has been quiet for longer than usual; one whose value jumped."),
        ),
    ),
    (
        "What may happen",
        (
            ("outlook", "What is forecast, and how old the forecast is."),
            ("versions", "Every line is computed many times, each with other believable weights, drags and currents. "
             "In none of 16 means that it happened in none of them. That does not mean never."),
            ("crossing", "A touch or worse. Lines that only pass over one another in plan, as in every turn, do not "
             "cross."),
            ("near pass", "Two lines come nearer than the required distance and part again without touching."),
            ("touch", "Lines: one meets the other or passes through it, and would come free. Tackle: it comes to "
                      "the sounded bottom."),
            ("wrapped", "Lines pass through one another and do not come free by themselves, or one passes through a "
             "leader or tackle. After a first touch the forecast is a rough guess."),
            ("separation", "The least distance between two lines, in depth as well as from above."),
            ("hold, as it goes", "Two forecasts: she holds course and speed, or goes on turning as now."),
            ("limit", "The tightest turn, or the slowest speed, at which the risk of a crossing is still as low as "
                      "you asked."),
            ("alarm, warning, caution", "Act at once; act soon; take note. Alarms and warnings are acknowledged."),
        ),
    ),
    (
        "Fish",
        (
            ("hit", "A fish strikes on a rod, landed or not."),
            ("bite", "A strike, rod not known yet."),
            ("boxed, freed, dropped", "Kept; let go; came off."),
            ("no fish", "A false release or weed: it is not a hit any more."),
            ("doubtful", "Pressed together with its neighbours, as a sleeve does: it counts only once confirmed."),
            ("from memory", "Its time was entered afterwards; everything about it is computed for that time."),
            ("rod-hour", "One lure swimming for one hour: what hits are counted against."),
            ("producing", "Catching more than luck explains."),
        ),
    ),
    (
        "Sessions",
        (
            ("watch", "The live session on the water."),
            ("replay", "A recorded session, forwards and back. Late hits can be written down in it."),
            ("practice, drill", "A simulated boat, lake and fish; a set task on it."),
            ("debrief", "What is learned afterwards."),
            ("trip", "From its beginning to its end: one recording, one list of entries."),
            ("calibration", "What your own observations say about your tackle, with date and name."),
        ),
    ),
)  # fmt: skip
