"""The observations of a trip, with the watch's state at each. It plays the trip once, without members."""

from __future__ import annotations

from dataclasses import replace

from sternwatch.answers.belief.observations import Observation, known_of
from sternwatch.debrief.trip.sources import TripData, TripError
from sternwatch.feed.recording.reader import open_recording
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.crew.fold import fold
from sternwatch.watch.chains.spread_in_force import Rigging, spread_of
from sternwatch.watch.core.player import Player


def observed_on(data: TripData) -> tuple[Spread, tuple[Observation, ...]]:
    """The spread in force at the trip's end, with its observations and known facts, from the recording as live.

    Raises FeedError, SpreadError, TripError.
    """
    setup = replace(data.setup(), members=0)
    crew = fold(data.actions, Rigging.of(setup.spread), data.start)
    spread = spread_of(crew, setup.spread)
    if not crew.observed:
        return spread, known_of(spread)
    if data.feed is None:
        raise TripError(f"the recording of {data.id} is not there: what was observed cannot be placed")
    with open_recording(data.feed) as recording:
        player = Player(recording, setup, data.actions)
        last = max((action.elapsed_s or 0.0 for action in data.actions), default=0.0)
        while not player.ended:
            next_s = player.next_line_s
            assert next_s is not None  # it has not ended
            player.to(next_s)
        player.to(max(last, player.t_s) + 2.0)
        made = player.watch.memory.observed.all
    missing = [one for one in crew.observed if one.id not in {found.id for found in made}]
    if missing:
        raise TripError(f"{len(missing)} of the observations of {data.id} are of moments outside its recording")
    return spread, (*(replace(one, id=f"{data.id} {one.id}") for one in made), *known_of(spread))
