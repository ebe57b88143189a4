"""The sensor board: every quantity from every speaker, and which speaker counts now.

What counts at a moment depends only on the readings taken and that moment, not on how often anyone asks. So live,
replay and a jump to a checkpoint agree. The board is plain data: ``copy.deepcopy`` makes a checkpoint.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from sternwatch.feed.readings import Quantity, Reading, Sensors, SensorState, SensorValue, Value
from sternwatch.feed.sensors.candidates import Candidate
from sternwatch.feed.sensors.utc import UtcClock
from sternwatch.quickly import quickly_made

# The sentences of one source, best first for each quantity.
_RANKS: dict[Quantity, tuple[str, ...]] = {
    Quantity.POSITION: ("RMC", "GNS", "GGA", "GLL", "PGN 129025", "PGN 129029"),
    Quantity.SOG: ("RMC", "VTG"),
    Quantity.COG: ("RMC", "VTG"),
    Quantity.HEADING: ("HDT", "HDG", "VHW", "HDM", "PGN 127250", "headingTrue", "headingMagnetic"),
    Quantity.BOTTOM: ("DPT", "DBS", "DBT", "DBK", "belowSurface", "belowTransducer", "belowKeel"),
    Quantity.WATER_TEMPERATURE: ("MTW", "PGN 130316", "PGN 130312", "PGN 130311", "PGN 130310"),
    Quantity.CLOCK: ("RMC", "ZDA", "GNS", "GGA", "GLL", "PGN 126992", "PGN 129033", "PGN 129029"),
}
_POOR_REFERENCES = ("magnetic", "keel")
_MOST_SPEAKERS = 64  # speakers of one quantity
_UNNAMED = 1000  # priority of a source without one
_NEVER = {quantity: SensorValue(quantity, SensorState.NEVER, None, None) for quantity in Quantity}
_FIX = (Quantity.POSITION, Quantity.SOG, Quantity.COG)

_Speaker = tuple[str, str]  # source and talker


@quickly_made
@dataclass(frozen=True, slots=True)
class SensorEntry:
    """One speaker's quantity, for the sensor screen."""

    source: str
    talker: str
    sentence: str
    quantity: Quantity
    state: SensorState
    value: Value | None
    age_s: float | None
    rate_hz: float | None
    timeout_s: float
    count: int
    suspect: str
    reference: str
    in_use: bool


@lru_cache(maxsize=256)
def _rank(quantity: Quantity, sentence: str) -> int:
    ranks = _RANKS.get(quantity, ())
    said_in = sentence.partition("/")[0]  # whichever of several such devices it is
    return ranks.index(said_in) if said_in in ranks else len(ranks)


class SensorBoard:
    """Takes readings in order of feed time and gives the values that hold at a moment.

    Parameters
    ----------
    priorities
        Source name to priority; the lowest number is preferred. Sources not named follow in the order first heard.
    """

    def __init__(self, priorities: Mapping[str, int] | None = None) -> None:
        self._priorities = dict(priorities or {})
        self._by_quantity: dict[Quantity, dict[tuple[str, str, str], Candidate]] = {}
        self._clocks: dict[tuple[str, str, str], UtcClock] = {}
        self._heard: dict[str, int] = {}
        self._count = 0
        # What was found for one moment, until another reading comes: the table, the speakers that count, and who
        # gives position and velocity.
        self._told: tuple[float, Sensors] | None = None
        self._counts: tuple[float, dict[Quantity, Candidate | None]] | None = None
        self._giving: tuple[float, dict[Quantity, _Speaker | None]] | None = None

    def take(self, reading: Reading) -> None:
        """Take the next reading, in order of feed time."""
        self._told = self._counts = self._giving = None
        key = (reading.source, reading.talker, reading.sentence)
        speakers = self._by_quantity.setdefault(reading.quantity, {})
        candidate = speakers.get(key)
        if candidate is None:
            if (
                len(speakers) >= _MOST_SPEAKERS
            ):  # rubbish from a source without checksums: forget the speaker silent for longest
                oldest = min(speakers, key=lambda k: speakers[k].heard_t)
                del speakers[oldest]
                self._clocks.pop(oldest, None)
            self._heard.setdefault(reading.source, len(self._heard))
            candidate = speakers[key] = Candidate(reading, self._count)
            self._count += 1
        candidate.take(reading)
        if reading.quantity is Quantity.CLOCK and isinstance(reading.value, float):
            self._clocks.setdefault(key, UtcClock()).take(reading.t_s, reading.value)

    def table(self, t_s: float) -> Sensors:
        """Every quantity at feed time ``t_s``."""
        if self._told is None or self._told[0] != t_s:
            table = dict(_NEVER)
            for quantity in self._by_quantity:
                table[quantity] = self._value(quantity, self._winner(quantity, t_s), t_s)
            self._told = t_s, table
        return self._told[1]

    def others(self, quantity: Quantity, t_s: float) -> tuple[SensorValue, ...]:
        """Fresh, undoubted values of a quantity from speakers not in use. The speaker in use does not change."""
        speakers = self._by_quantity.get(quantity)
        if speakers is None or len(speakers) == 1:
            return ()
        winner = self._winner(quantity, t_s)
        return tuple(
            self._value(quantity, c, t_s)
            for c in speakers.values()
            if c is not winner and c.state(t_s) is SensorState.FRESH and c.trusted(t_s) and not c.suspect
        )

    def utc_offset(self, t_s: float) -> float | None:
        """The offset for UTC (Unix seconds) = feed time + offset; None before any sentence gives a clock.

        A clock once heard stays when its speaker falls silent.
        """
        known = self._counts is not None and self._counts[0] == t_s  # else another moment is asked for, by the way
        winner = self._winner(Quantity.CLOCK, t_s) if known else self._best(Quantity.CLOCK, t_s)
        if winner is None:
            return None
        clock = self._clocks.get((winner.source, winner.talker, winner.sentence))
        return clock.offset_s if clock else None

    def entries(self, t_s: float) -> tuple[SensorEntry, ...]:
        """Every speaker of every quantity, used or not."""
        result = []
        for quantity, speakers in self._by_quantity.items():
            winner = self._winner(quantity, t_s)
            for c in speakers.values():
                state, age_s = c.state(t_s), None if c.value_t is None else t_s - c.value_t
                result.append(
                    SensorEntry(
                        c.source, c.talker, c.sentence, quantity, state, c.value, age_s,
                        1 / c.rhythm_s if c.rhythm_s else None, c.timeout_s, c.count, c.suspect, c.reference,
                        c is winner and state is SensorState.FRESH,
                    )
                )  # fmt: skip
        return tuple(result)

    def _priority(self, source: str) -> int:
        return self._priorities.get(source, _UNNAMED + self._heard[source])

    def _order(self, candidate: Candidate, t_s: float) -> tuple[bool, int, bool, int, int]:
        rank, poor = _rank(candidate.quantity, candidate.sentence), candidate.reference in _POOR_REFERENCES
        return (not candidate.trusted(t_s), self._priority(candidate.source), poor, rank, candidate.order)

    def _winner(self, quantity: Quantity, t_s: float) -> Candidate | None:
        """The speaker that counts."""
        if self._counts is None or self._counts[0] != t_s:
            self._counts = t_s, {}
        found = self._counts[1]
        if quantity not in found:
            found[quantity] = self._best(quantity, t_s)
        return found[quantity]

    def _best(self, quantity: Quantity, t_s: float) -> Candidate | None:
        """The best fresh speaker; where none is fresh, the one with the newest value."""
        speakers = self._by_quantity.get(quantity)
        if not speakers:
            return None
        candidates: Iterable[Candidate] = speakers.values()
        if len(speakers) == 1:
            return next(iter(candidates))
        if quantity in _FIX:
            if self._giving is None or self._giving[0] != t_s:
                self._giving = t_s, self._providers(t_s)
            provider = self._giving[1][quantity]
            own = [c for c in candidates if (c.source, c.talker) == provider]
            candidates = own or candidates
        fresh = [c for c in candidates if c.state(t_s) is SensorState.FRESH]
        if fresh:
            return fresh[0] if len(fresh) == 1 else min(fresh, key=lambda c: self._order(c, t_s))
        return max(candidates, key=lambda c: (c.value_t is not None, c.value_t or 0.0, c.heard_t))

    def _providers(self, t_s: float) -> dict[Quantity, _Speaker | None]:
        """Who supplies position, speed and course.

        A speaker of both position and velocity is preferred to one of either. If nobody gives both, each comes from
        its own best speaker.
        """
        places, speeds = self._orders(Quantity.POSITION, t_s), self._orders(Quantity.SOG, t_s)
        both = {s: max(order, speeds[s]) for s, order in places.items() if s in speeds}
        place, velocity = (
            min(choice, key=lambda s: (choice[s], s)) if choice else None
            for choice in (both or places, both or speeds)
        )
        return {Quantity.POSITION: place, Quantity.SOG: velocity, Quantity.COG: velocity}

    def _orders(self, quantity: Quantity, t_s: float) -> dict[_Speaker, tuple[bool, int, int]]:
        """The fresh speakers of a quantity, the best with the least."""
        orders: dict[_Speaker, tuple[bool, int, int]] = {}
        for c in self._by_quantity.get(quantity, {}).values():
            if c.state(t_s) is SensorState.FRESH:
                speaker, order = (c.source, c.talker), (not c.trusted(t_s), self._priority(c.source), c.order)
                orders[speaker] = min(order, orders.get(speaker, order))
        return orders

    def _value(self, quantity: Quantity, winner: Candidate | None, t_s: float) -> SensorValue:
        if winner is None:
            return _NEVER[quantity]
        state = winner.state(t_s)
        if state is SensorState.SILENT:
            # Another speaker may report that it has no value: that is not silence.
            others = self._by_quantity[quantity].values()
            if any(c.state(t_s) is SensorState.NONE for c in others):
                state = SensorState.NONE
        age_s = None if winner.value_t is None else t_s - winner.value_t
        return SensorValue(
            quantity, state, winner.value, age_s, winner.source, winner.sentence, winner.suspect, winner.talker,
            winner.reference,
        )  # fmt: skip
