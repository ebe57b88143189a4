"""Judges accidental presses of rod keys: which are repeats, which are doubtful. No clock, no screen.

Both hands were on the rod, the gloves are wet and a sleeve touches the keyboard. The same rod key again within
2 s is a repeat. A neighbouring key within 120 ms makes the second press doubtful. Three or more different rod
keys within a second make all of them doubtful, even those stored already.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from sternwatch.console.keys.acting import STATIONS

REPEAT_S = 2.0
NEIGHBOUR_S = 0.120
MANY_S = 1.0
MANY = 3


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict on a press of a rod key."""

    repeat: bool = False
    doubtful: bool = False
    why: str = ""
    also_doubt: tuple[str, ...] = ()  # ids of hits already entered that this press makes doubtful


@dataclass(slots=True)
class _Press:
    key: str
    t_s: float
    entry: str = ""
    doubtful: bool = False


@dataclass(slots=True)
class RodKeys:
    """The presses of the last seconds."""

    _presses: list[_Press] = field(default_factory=list)
    _last: dict[str, float] = field(default_factory=dict)

    def press(self, key: str, t_s: float) -> Verdict:
        """Judge a press of station ``key`` at monotonic time ``t_s`` [s]. Call ``entered`` when it becomes a hit."""
        before = self._last.get(key)
        self._last[key] = t_s  # a held key repeats as long as it is held
        if before is not None and t_s - before < REPEAT_S:
            return Verdict(repeat=True)
        self._presses = [p for p in self._presses if t_s - p.t_s <= MANY_S]
        others = [p for p in self._presses if p.key != key]
        press = _Press(key, t_s)
        verdict = Verdict()
        if len({p.key for p in others}) + 1 >= MANY:
            press.doubtful = True
            count = len({p.key for p in others}) + 1
            newly = tuple(p.entry for p in others if p.entry and not p.doubtful)
            for other in others:
                other.doubtful = True
            verdict = Verdict(doubtful=True, why=f"{count} rod keys within a second", also_doubt=newly)
        elif near := [p for p in others if t_s - p.t_s <= NEIGHBOUR_S and neighbours(p.key, key)]:
            press.doubtful = True
            verdict = Verdict(doubtful=True, why=f"pressed together with {near[-1].key}")
        self._presses.append(press)
        return verdict

    def entered(self, key: str, entry: str) -> None:
        """Note that the press of ``key`` just judged was stored as hit ``entry``."""
        for press in reversed(self._presses):
            if press.key == key:
                press.entry = entry
                return


def neighbours(one: str, other: str) -> bool:
    """Whether two stations' keys are neighbours in the number row."""
    if one not in STATIONS or other not in STATIONS:
        return False
    return abs(STATIONS.index(one) - STATIONS.index(other)) == 1
