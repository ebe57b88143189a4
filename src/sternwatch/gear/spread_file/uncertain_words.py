"""The words for each uncertain quantity, and for its group."""

from __future__ import annotations

import re

# The words for a property of a line, a piece of tackle or a rod; then its group.
_LINE = {
    "drag": ("drag", "drag"),
    "strumming": ("hum", "drag"),
    "diameter": ("diameter", "drag"),
    "tangential": ("lengthwise drag", "drag"),
    "weight": ("weight", "weight"),
}
_TACKLE = {
    "trim": ("trim", "pull"),
    "knock": ("trim today", "pull"),
    "plate": ("pull as a flat plate", "pull"),
    "ring": ("pull of the ring", "pull"),
    "tripped": ("drag when tripped", "drag"),
    "drag": ("drag", "drag"),
    "weight": ("weight in water", "weight in water"),
    "lift": ("lift", "lift"),
    "buoyancy": ("buoyancy", "buoyancy"),
}
UNMODELLED = "what the model leaves out"
_ROD = {
    "zero": ("zero of rod {}'s counter today", "its counter"),
    "discrepancy": ("drag of rod {} beside its parts'", UNMODELLED),
    "discrepancy speed": ("how rod {}'s drag grows with speed", UNMODELLED),
    "discrepancy length": ("how rod {}'s drag grows with length", UNMODELLED),
    "counter": ("counter of rod {}", "its counter"),
    "pull": ("pull of rod {}'s own line", "pull of its rod's line"),
    "roll": ("roll of rod {}'s diver beside its kind's", "its diver's roll"),
}
OVER_GROUND = "speed is over ground"
LOG = "the paddle wheel's error"
BELOW = "the water below moves differently"
_OTHER = {
    "speed": (LOG, LOG),
    "speed over ground noise": ("noise of speed over ground", OVER_GROUND),
    "current north": ("current to the north", OVER_GROUND),
    "current east": ("current to the east", OVER_GROUND),
    "shear north": ("water below moving north", BELOW),
    "shear east": ("water below moving east", BELOW),
    "water temperature": ("temperature where the lines are", "temperature where the lines are"),
}


def words(name: str) -> str:
    """The words for a quantity: "hum of wire", "roll of disc at high"; its name where it has no words."""
    return _both(name)[0]


def group(name: str) -> str:
    """A crew's words for a quantity and its like together: "drag of wire"."""
    return _both(name)[1]


def _both(name: str) -> tuple[str, str]:
    if name in _OTHER:
        return _OTHER[name]
    rod = re.fullmatch(r"rod (\S+) (counter|zero|pull|roll|discrepancy(?: speed| length)?)", name)
    if rod is not None:
        own, together = _ROD[rod[2]]
        return own.format(rod[1]), together
    roll = re.fullmatch(r"tackle (.+) roll (.+)", name)
    if roll is not None:
        return f"roll of {roll[1]} at {roll[2]}", "its diver's roll"
    kind, _, rest = name.partition(" ")
    subject, _, what = rest.rpartition(" ")
    known = (_LINE if kind == "line" else _TACKLE if kind == "tackle" else {}).get(what)
    if known is None or not subject:
        return name, name
    return f"{known[0]} of {subject}", f"{known[1]} of {subject}"
