"""Temperatures that fish are found at: wide zones, each with where it comes from. None counts until it is chosen.

A preferendum is measured in tanks, where food, light and current do not matter; where lake fish are caught is
another thing. So the zones are wide, and whoever knows better writes their own. A width that no source gives is from
memory, and says so.
"""

from __future__ import annotations

from dataclasses import dataclass

MEMORY = "memory"
OWN = "your own"


@dataclass(frozen=True, slots=True)
class Zone:
    """Temperatures wanted [°C], ``low_c`` < ``high_c``, and the source of them, for the screen."""

    name: str
    low_c: float
    high_c: float
    source: str = OWN


_KNOWN = (
    Zone("coho", 10.0, 14.0, "memory: most at 11–13 °C"),
    Zone(
        "lake trout",
        4.0,
        12.5,
        "preferendum 10.1–12.5 °C, Edsall & Cleland 2000; caught at 4–10 °C: memory",
    ),
    Zone("chinook", 11.0, 15.0, "catches at 13–14 °C in late summer, Stewart & Bowlby 2009; width: memory"),
    Zone("steelhead", 10.0, 16.0, "preferendum 13 °C, Garside & Tait 1958; width: memory"),
    Zone("brown trout", 10.0, 15.0, "J. Exp. Biol. 22, 145"),
    Zone("Atlantic salmon", 12.0, 17.0, "memory: most at 13–16 °C"),
    Zone("walleye", 18.0, 24.0, "memory: most at 20–23 °C"),
)
ZONES: dict[str, Zone] = {zone.name: zone for zone in _KNOWN}
