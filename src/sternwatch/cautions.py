"""The cautions of every screen, command and page, in one or two sentences each."""

from __future__ import annotations

COMPUTED = "Depths are computed, not measured. Not for navigation."
NOT_FOR_NAVIGATION = "Not for navigation."
COLREG = (
    "Trolling gives you no special status: under COLREG 3(d) and US Inland Rule 3(d) you are a power-driven vessel. "
    "Keep a lookout; one person steers, another reads."
)
COLD = "Cold water disables you in minutes: life jackets on; if alone, wear the engine cut-off."
KNOWS_NO = "It knows no weather, no other boats, no nets but those you marked; it calls no help."
WIRE = "Wire and cable under load cut: gloves, cutters at hand, no wraps round a hand."
NEUTRAL = (
    "Neutral before clearing a line near the propeller. Keep clear of a swinging ball. "
    "Hooks fly when a fish shakes in the net."
)
BOX = "Rods, seasons, limits: see your local rules; the numbers here are your own."
IN_CHARGE = "The person in charge of the boat, her rules and local regulations come first."
NO_GUARANTEE = "This is not a guarantee."
ALL = (COMPUTED, IN_CHARGE, COLREG, COLD, KNOWS_NO, WIRE, NEUTRAL, BOX)
