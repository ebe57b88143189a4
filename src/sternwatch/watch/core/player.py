"""Plays two streams into a watch: a recorded feed and the actions of its crew.

The same player serves the headless replay, the replay on the screen and its background pass. They differ only in the
moments that they request.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line
from sternwatch.feed.recording.reader import UNNAMED, Recording
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.hydro.motion.fleet import State
from sternwatch.logbook.actions.kinds import Action
from sternwatch.watch.core.engine import HOLE_S, Watch, new_watch
from sternwatch.watch.core.intake import JUST_BEFORE_S, Intake
from sternwatch.watch.core.moments_file import MomentsFile, OnDisk
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture


@dataclass(frozen=True, slots=True)
class Checkpoint:
    """A moment from which a play can continue."""

    t_s: float
    intake: Intake  # without what is on the disk
    on_disk: Mapping[str, OnDisk] = field(default_factory=dict)  # by rod: the chains of its members

    @classmethod
    def of(cls, t_s: float, intake: Intake, file: MomentsFile | None) -> Checkpoint:
        """What members' chains need is nearly all of it, and goes into the file where there is one."""
        made, on_disk = intake.copy(), {}
        for key, chain in made.watch.chains.items():
            if file is not None and chain.members is not None:
                state = chain.members.state
                put = file.put([getattr(state, one.name) for one in fields(state)])
                if put is not None:
                    on_disk[key], chain.members.state = put, state.take(())
        return cls(t_s, made, on_disk)

    def copy(self) -> Intake:
        """Raises OSError where the file cannot be read any more."""
        made = self.intake.copy()
        for key, put in self.on_disk.items():
            members = made.watch.chains[key].members
            assert members is not None
            members.state = State(*put.read())
        return made


class Player:
    """Plays a recording. Only ``to`` goes forward, and only a checkpoint goes back."""

    def __init__(
        self, recording: Recording, setup: Setup, actions: Iterable[Action] = (), unchecked: bool = False
    ) -> None:
        self.recording = recording
        self.actions = list(actions)
        self._setup = setup
        self._unchecked = unchecked  # by choice no source's checksums are checked
        self.rewind()

    def rewind(self, added: Iterable[Action] = (), since_s: float = 0.0) -> None:
        """Go back to the beginning. ``added``: actions entered since the player was made.

        ``since_s`` [s]: begin later, as if the trip were resumed there. The lines hang settled on the first course
        received. Of the time before, only the crew's entries are known.
        """
        sources = self.recording.sources
        unchecked = {s.name for s in sources if self._unchecked or not s.checked}
        if self._unchecked:
            unchecked.add(UNNAMED)
        decoder = Decoder(
            probes=[s.name for s in sources if s.probe],
            unchecked=unchecked,
            speech={s.name: s.speech for s in sources},
            written=self.recording.written,
        )
        acted = (*self.actions, *added)
        before = [one for one in acted if since_s > 0.0 and one.elapsed_s is not None and one.elapsed_s < since_s]
        watch = new_watch(self._setup, SensorBoard({s.name: s.priority for s in sources}), before, since_s)
        folded = {one.id for one in before}
        for action in acted:
            if action.id not in folded:
                watch.act(action)
        self._intake = Intake(watch, decoder)
        self._lines: Iterator[Line] = self.recording.lines_from(since_s) if since_s > 0.0 else self.recording.lines()
        self._next: Line | None = next(self._lines, None)
        self.t_s = since_s

    @property
    def watch(self) -> Watch:
        return self._intake.watch

    @property
    def decoder(self) -> Decoder:
        return self._intake.decoder

    @property
    def ended(self) -> bool:
        return self._next is None

    @property
    def next_line_s(self) -> float | None:
        """Feed time of the next line; None at the end."""
        return None if self._next is None else self._next.t_s

    def to(self, t_s: float, each: Callable[[Picture], None] | None = None) -> None:
        """Play everything up to ``t_s``. An earlier time changes nothing. ``each`` gets the picture of every step."""
        while self._next is not None and self._next.t_s <= t_s:
            self._intake.take(self._next, each)
            self._next = next(self._lines, None)
        if t_s > self.t_s:
            self._intake.to(t_s, each)
            self.t_s = t_s

    def checkpoint(self, file: MomentsFile | None = None) -> Checkpoint:
        """``file``: to which most of it goes; None: it stays in memory."""
        return Checkpoint.of(self.t_s, self._intake, file)

    def restore(self, at: Checkpoint, added: Iterable[Action] = ()) -> None:
        """Continue from a checkpoint, which does not change. ``added``: actions that it may not know.

        Raises OSError, with the player where it was, if the checkpoint's file cannot be read any more.
        """
        self._intake, self.t_s = at.copy(), at.t_s
        self._lines = self.recording.lines_from(at.t_s)
        self._next = next(self._lines, None)
        while self._next is not None and self._next.t_s <= at.t_s:
            self._next = next(self._lines, None)
        for action in added:
            if not self.watch.knows(action.id):
                self.watch.act(action)


def rows_of(player: Player, to_row: Callable[[Picture], dict[str, Any]]) -> Iterator[dict[str, Any]]:
    """A row for every whole second of the feed, but none inside holes of more than a minute.

    ``to_row`` is called while the player's watch is at the picture's own step.
    """
    made: list[tuple[Picture, dict[str, Any]]] = []

    def take(picture: Picture) -> None:
        made.append((picture, to_row(picture)))

    last_utc: float | None = None
    while True:
        begin = player.next_line_s
        if begin is None:
            break
        if begin - player.t_s > HOLE_S:
            player.to(begin - JUST_BEFORE_S)
            last_utc = None  # it may be another piece, with its own time
        # Up to the next line's own second: a step needs every line stamped before it.
        player.to(begin, take)
        for picture, row in made:
            if picture.utc_s is not None and last_utc is not None and picture.utc_s <= last_utc:
                continue
            last_utc = picture.utc_s if picture.utc_s is not None else last_utc
            yield row
        made.clear()
