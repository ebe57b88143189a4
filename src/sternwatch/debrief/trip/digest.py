"""Computes a trip once from its two streams: fishing time, hits with their moments, alerts, separations.

The same feed, actions, spread and calibration give the same digest to the last digit on any machine. So a trip sent
to another machine has the same debrief there.
"""

from __future__ import annotations

import hashlib
import json
from bisect import bisect_left
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from sternwatch import __version__
from sternwatch.debrief.trip.touches import Touch, Touches, of_chains
from sternwatch.debrief.trip.trip_events import AlertRow, Separation, answered, follow, separations
from sternwatch.feed.recording.reader import Recording
from sternwatch.logbook.actions.kinds import Action, lines
from sternwatch.logbook.crew.fold import fold
from sternwatch.logbook.crew.state import Crew, CrewHit
from sternwatch.logbook.store.samples import HitRow, Sample
from sternwatch.watch.chains.encounters import Encounters
from sternwatch.watch.chains.encounters import Sample as Towed
from sternwatch.watch.chains.ensemble import required_of
from sternwatch.watch.chains.spread_in_force import Rigging
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.memory.hits import HitContext, hit_row, hit_time
from sternwatch.watch.memory.moments import STANDS_S, Moment


@dataclass(frozen=True, slots=True)
class Digest:
    """All that a debrief is made from, except alerts from forecasts: those are only in the trip's events."""

    samples: tuple[Sample, ...]
    hits: tuple[HitRow, ...]
    alerts: tuple[AlertRow, ...]
    separations: tuple[Separation, ...]
    crew: Crew
    span_s: float  # of the feed
    utc_offset_s: float | None  # feed time + this = Unix time
    touches: tuple[Touch, ...] = ()  # of rods that are fished on the bottom on purpose

    def body(self) -> str:
        """The part that is stored as text beside the rows."""
        kept = {
            "alerts": [asdict(alert) for alert in self.alerts],
            "separations": [asdict(one) for one in self.separations],
            "span_s": self.span_s,
            "utc_offset_s": self.utc_offset_s,
            "touches": [asdict(touch) for touch in self.touches],
        }
        return json.dumps(kept, ensure_ascii=False, sort_keys=True)


def from_body(body: str, samples: Sequence[Sample], hits: Sequence[HitRow], crew: Crew) -> Digest:
    """The digest from its stored ``body``."""
    given: dict[str, Any] = json.loads(body)
    alerts = tuple(
        AlertRow(**{**a, "keys": tuple(a["keys"]), "answered": tuple((t, what) for t, what in a["answered"])})
        for a in given["alerts"]
    )
    apart = tuple(Separation(**{**one, "keys": tuple(one["keys"])}) for one in given["separations"])
    touches = tuple(Touch(**one) for one in given.get("touches", ()))  # older ones lack them
    return Digest(tuple(samples), tuple(hits), alerts, apart, crew, given["span_s"], given["utc_offset_s"], touches)


def basis(feed: Path, actions: Iterable[Action], spread_text: str, calibration: str, about: Mapping[str, Any]) -> str:
    """A short code of all that a digest is made from. If it differs, the digest is out of date."""
    digest = hashlib.sha256()
    with feed.open("rb") as file:
        while block := file.read(1 << 20):
            digest.update(block)
    for part in (lines(actions), spread_text, calibration, json.dumps(dict(about), sort_keys=True), __version__):
        digest.update(b"\0" + part.encode())
    return digest.hexdigest()[:24]


def make_digest(
    recording: Recording,
    setup: Setup,
    actions: Sequence[Action],
    progress: Callable[[float], None] = lambda _: None,
) -> Digest:
    """Play a trip from end to end.

    Parameters
    ----------
    progress
        Called with the share done, about every minute of feed time.
    """
    player = Player(recording, setup, actions)
    span = recording.span_s
    at_hits = _Moments(fold(actions, Rigging.of(setup.spread), setup.start), recording.start_utc)
    alerts: dict[str, AlertRow] = {}
    standing: frozenset[str] = frozenset()
    met, touches = Encounters(required_of(setup.spread)), Touches()
    step_s = None
    while not player.ended:
        player.to(player.t_s + 1.0)
        watch = player.watch
        if watch.t_s is None or watch.t_s == step_s:
            continue
        step_s = watch.t_s
        at_hits.look(watch.memory.moments)
        now = watch.alerts.standing()
        follow(alerts, standing, now, step_s)
        standing = frozenset(alert.id for alert in now)
        met.take(Towed.of(step_s, watch.chains, watch.boat), watch.chains)
        touches.take(step_s, of_chains(watch.bottom.ground, watch.chains))
        if round(step_s) % 60 == 0:
            progress(min(player.t_s / span, 1.0) if span else 1.0)
    watch = player.watch
    crew = watch.crew
    offset = watch.board.utc_offset(watch.now_s)
    samples = without_fights(
        [*watch.memory.fishing.since(), *watch.memory.rest(watch.crew, watch.boat.running)],
        crew.hits,
        offset,
    )
    hits = tuple(
        hit_row(hit, _context(hit, crew, offset, at_hits.found.get(hit.id)), learnt=watch.memory.learning.all)
        for hit in crew.hits
        if hit.rod is not None
    )
    hits = tuple(sorted(hits, key=lambda hit: (hit.time_ms, hit.id)))
    told = tuple(answered(alert, crew, hits, offset) for alert in alerts.values())
    apart = tuple(separations(met))
    return Digest(tuple(samples), hits, told, apart, crew, round(span, 3), offset, touches.all)


def _context(hit: CrewHit, crew: Crew, offset_s: float | None, moment: Moment | None) -> HitContext:
    t_s = hit_time(hit, offset_s)
    over = t_s is not None and crew.facts.over_at(t_s)
    return HitContext(t_s, hit.rod, moment, hit.from_memory, over)


class _Moments:
    """Catches the moments of hits as the play passes them, even of hits entered later."""

    def __init__(self, crew: Crew, start_utc_s: float | None) -> None:
        times = [(hit_time(hit, start_utc_s), hit.id) for hit in crew.hits if hit.rod is not None]
        self._wanted = sorted((t, hit_id) for t, hit_id in times if t is not None)
        self.found: dict[str, Moment] = {}

    def look(self, moments: Sequence[Moment]) -> None:
        newest = moments[-1]
        while self._wanted and self._wanted[0][0] <= newest.t_s:
            t_s, hit_id = self._wanted.pop(0)
            for moment in (moments[-1], moments[-2] if len(moments) > 1 else moments[-1]):
                if moment.t_s < t_s or (moment.t_s == t_s == moments[0].t_s):
                    if t_s - moment.t_s <= STANDS_S:
                        self.found[hit_id] = moment
                    break


def without_fights(samples: list[Sample], hits: Iterable[CrewHit], offset_s: float | None) -> list[Sample]:
    """Change the samples in place: a rod fights its fish from the strike on, not from the entry on."""
    times = [sample.boat.at_s for sample in samples]
    for hit in hits:
        begun = hit_time(hit, offset_s)
        entered = hit.entered.elapsed_s
        if not hit.counts or begun is None or entered is None:
            continue
        for i in range(bisect_left(times, begun), bisect_left(times, entered)):
            kept = tuple(row for row in samples[i].rods if row.rig.rod != hit.rod)
            samples[i] = replace(samples[i], rods=kept)
    return samples
