"""Readings and actions that wait for their step."""

from __future__ import annotations

import math
from bisect import insort
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field

from sternwatch.feed.readings import Reading
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.logbook.actions.kinds import Action

# A feed without a clock starts its grid this long after its first reading: until then a clock may still come.
WAIT_FOR_CLOCK_S = 3.0
# Without any reading it starts this long after the session's beginning: the picture must say that nothing comes.
WAIT_FOR_FEED_S = 10.0


@dataclass(slots=True)
class Inbox:
    """Holds what no step has used yet. ``hear`` and ``enter`` fill it; each step empties it up to its moment."""

    since_s: float = 0.0  # feed time at which the session began; later than 0 where a trip is resumed
    heard_s: float | None = None  # feed time of the last reading that was used
    _readings: deque[Reading] = field(default_factory=deque)
    _actions: list[tuple[float, int, Action]] = field(default_factory=list)  # in order of time, then of entry
    _undated: list[Action] = field(default_factory=list)  # actions that have only UTC: they wait for the feed's clock
    _serial: int = 0
    _first_s: float | None = None  # feed time of the first reading
    _begin_s: float | None = None  # feed time of the first step, once it is known
    _early: list[Reading] = field(default_factory=list)  # on the board since before the first step, which uses them

    def copy(self) -> Inbox:
        return Inbox(
            self.since_s, self.heard_s, self._readings.copy(), list(self._actions), list(self._undated), self._serial,
            self._first_s, self._begin_s, list(self._early),
        )  # fmt: skip

    def hear(self, reading: Reading) -> None:
        """Queue a reading. Times must not run backwards."""
        self._readings.append(reading)

    def enter(self, action: Action) -> None:
        """Queue an action for the first step at or after its moment."""
        if action.elapsed_s is None:
            self._undated.append(action)
        else:
            self._due(action.elapsed_s, action)

    def _due(self, t_s: float, action: Action) -> None:
        self._serial += 1
        insort(self._actions, (t_s, self._serial, action), key=lambda entry: entry[:2])

    def holds(self, action_id: str) -> bool:
        """Whether an action waits."""
        waiting = (*self._undated, *(action for _, _, action in self._actions))
        return any(action.id == action_id for action in waiting)

    def begin(self, to_s: float, board: SensorBoard) -> float | None:
        """Feed time of the first step: a whole UTC second once a clock is known. None while it waits.

        It gives the readings up to there to the ``board``. However often it is called, the first step is the same.
        """
        if self._begin_s is None:
            self._begin_s = self._found(to_s, board)
        return self._begin_s

    def _found(self, to_s: float, board: SensorBoard) -> float | None:
        while self._readings and self._readings[0].t_s <= to_s:
            reading = self._readings[0]
            if self._first_s is None:
                self._first_s = reading.t_s
            if reading.t_s > self._first_s + WAIT_FOR_CLOCK_S:
                break
            self._early.append(self._take_reading(board))
            offset = board.utc_offset(reading.t_s)
            if offset is not None:
                return round(math.ceil(reading.t_s + offset - 1e-6) - offset, 3)
        if self._first_s is None and to_s >= self.since_s + WAIT_FOR_FEED_S:
            return math.ceil(self.since_s + WAIT_FOR_FEED_S)
        if self._first_s is not None and to_s >= self._first_s + WAIT_FOR_CLOCK_S:
            return math.ceil(self._first_s + WAIT_FOR_CLOCK_S)
        return None

    def readings(self, t_s: float, board: SensorBoard) -> list[Reading]:
        """Take the readings stamped up to ``t_s``, and give them to the ``board``.

        The first step's contain those that the board got before it.
        """
        fresh, self._early = self._early, []
        while self._readings and self._readings[0].t_s <= t_s:
            fresh.append(self._take_reading(board))
        return fresh

    def _take_reading(self, board: SensorBoard) -> Reading:
        reading = self._readings.popleft()
        self.heard_s = reading.t_s
        board.take(reading)
        return reading

    def actions(self, t_s: float, utc_offset_s: float | None) -> list[Action]:
        """Take the actions due up to ``t_s``, in order. With a clock, the undated ones first get their moment."""
        if utc_offset_s is not None:
            for action in self._undated:
                self._due(round(action.time.timestamp() - utc_offset_s, 3), action)
            self._undated.clear()
        due = []
        while self._actions and self._actions[0][0] <= t_s:
            due.append(self._actions.pop(0)[2])
        return due

    def soon(self, now_s: float) -> Iterator[Action]:
        """The actions due up to ``now_s``; they stay in the box."""
        for t_s, _, action in self._actions:
            if t_s > now_s:
                break
            yield action
