"""Temperatures at which fish are found: wide zones, each with its source. No zone counts until it is chosen.

A preferendum is measured in tanks, where food, light and current do not matter; lake fish may be caught elsewhere.
So the zones are wide, and a crew that knows better writes its own. A width without a source is from
memory, and says so. The works are in ``hydro.sources.REFERENCES``; the abstracts were read, not the whole papers.
"""

from __future__ import annotations

from dataclasses import dataclass

OWN = "your own"


@dataclass(frozen=True, slots=True)
class Zone:
    """Wanted temperatures [°C], ``low_c`` < ``high_c``, with their source for the screen."""

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
        "age-0 fish in tanks: preferendum 10.1–10.2 °C, growth fastest near 12.5 °C (Edsall & Cleland 2000); that "
        "grown fish are caught at 4–10 °C: memory",
    ),
    Zone(
        "chinook",
        11.0,
        15.0,
        "mean temperature of catches in Lake Ontario 13–14 °C in August and September, no preference or growth "
        "(Stewart & Bowlby 2009); width: memory",
    ),
    Zone(
        "steelhead",
        10.0,
        16.0,
        "rainbow trout in tanks: final preferendum 13 °C, 11–16 °C by what they were used to (Garside & Tait 1958); "
        "width: memory",
    ),
    Zone(
        "brown trout",
        10.0,
        15.0,
        "yearlings in tanks: growth fastest at 10–15 °C, approximate, no preference (Pentelow 1939 and "
        "Wingfield 1940, as reported by Brown 1946)",
    ),
    Zone("Atlantic salmon", 12.0, 17.0, "memory: most at 13–16 °C"),
    Zone("walleye", 18.0, 24.0, "memory: most at 20–23 °C"),
)
ZONES: dict[str, Zone] = {zone.name: zone for zone in _KNOWN}
