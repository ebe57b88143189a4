"""The forecasts from a picture: one immutable value with the feed time at which it was made.

SI units; times count from the moment it was made unless said otherwise. Unknown values are None or nan.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.picture.alert import Alert
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre, Side
from sternwatch.watch.picture.meetings import COUNTS, NONE, Contact, NearPass, Shares

Floats = NDArray[np.float64]

# The risk of any crossing, touch or worse, unless the crew set another. At most one member of sixteen is within
# ten per cent.
RISK = 0.10


@dataclass(frozen=True, slots=True)
class Advice:
    """A simulated change, and the risk left after it."""

    text: str
    change: dict[str, str | float]  # what, rod, SI values with their unit in the name
    probability_after: float
    short: str = ""  # the change alone, short enough for an alert: "slow to 180° in 2:13"


@dataclass(frozen=True, slots=True)
class Touch:
    """A rod whose tackle touches sounded bottom; medians of the members."""

    key: str
    time_s: float  # from now; 0: it already touches
    by_m: float  # how far it must come up to clear all known bottom
    advice: tuple[Advice, ...] = ()  # tried changes that keep it off


@dataclass(frozen=True, slots=True)
class PairForecast:
    """Two rods. ``probability``: share of the members that touch or worse.

    The rest is the median member's closest point unless said otherwise.

    Closest is relative to the required distance: 1 m between lures is closer than 0.5 m between lines.
    """

    keys: tuple[str, str]
    probability: float | None  # None where no member's chains are known, and for a rod clipped to the other's cable
    time_s: float | None  # from the manoeuvre's start
    separation_m: float | None
    required_m: float | None
    depth_m: float | None
    astern_m: float | None
    abeam_m: float | None
    undercut_s: float | None = None  # from now: the median first time in the members that come too near
    shares: Shares = NONE  # of the members, by verdict
    contact: Contact | None = None  # where some member has one
    near_pass: NearPass | None = None  # where the median member has one and nothing worse
    members: int = 0  # that know both rods; more than of other pairs where further members had to decide

    @property
    def known_probability(self) -> float:
        """``probability``; none where it is unknown, which raises and hinders nothing."""
        return self.probability or 0.0

    @property
    def verdict(self) -> Verdict | None:
        """The worst in at least one member in ten. None where nothing is known."""
        return None if self.probability is None else self.shares.verdict

    @property
    def counting_contact(self) -> Contact | None:
        """The contact, if it happens in enough members to count."""
        return self.contact if self.shares.contact >= COUNTS else None

    @property
    def meet_s(self) -> float | None:
        """Seconds until they touch; where no member touches, until they come too near."""
        return self.undercut_s if self.contact is None else self.contact.time_s


@dataclass(frozen=True, slots=True, eq=False)
class RodForecast:
    """One rod. ``depth_m`` (samples, 3): the strip of the coming minutes: 5 %, median and 95 % of the members."""

    key: str
    depth_min_m: float | None  # medians over the members
    depth_max_m: float | None
    depth_low_m: float | None  # the least and greatest of any member
    depth_high_m: float | None
    speed_min_m_s: float | None  # of the lure through the water
    slack_s: float | None  # how long its diver hangs slack
    out_of_zone_s: float | None
    known: float  # share of the members whose chain could be followed
    depth_m: Floats
    # Its tackle in chain order, the lure last: medians (bodies, samples, 3) [astern, abeam, depth], present axes.
    bodies_m: Floats | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Forecast:
    """The effect of one manoeuvre on every chain."""

    manoeuvre: Manoeuvre
    members: int  # behind ``any_crossing``
    ends_s: float  # when the manoeuvre is over, from now
    horizon_s: float
    any_crossing: float | None  # share of the members in which any pair touches or worse
    pairs: tuple[PairForecast, ...]  # all, in file order
    rods: tuple[RodForecast, ...]  # in file order
    time_s: Floats  # (samples,) of the strips
    track_m: Floats  # (samples, 3) astern, abeam (axes of now), heading change
    # The member whose worst moment is shown: the median of those in which the worst pair touches, if that counts;
    # else of all.
    worst_member: int | None = None
    worst_s: float | None = None  # from now until the pair touches in it, or comes closest
    # Every chain at that moment, key -> (n, 3) [astern, abeam, depth] in the boat's axes of then.
    worst_shapes_m: dict[str, Floats] = field(default_factory=dict)
    touches: tuple[Touch, ...] = ()  # rods that touch the bottom, in file order, without those fished on it

    @property
    def known_crossing(self) -> float:
        """``any_crossing``; none where it is unknown."""
        return self.any_crossing or 0.0

    @property
    def worst(self) -> PairForecast | None:
        """The pair most likely to cross; of equals the closest one relative to its required distance."""
        known = [pair for pair in self.pairs if pair.probability is not None and pair.separation_m is not None]
        return max(known, key=_badness, default=None)


def _badness(pair: PairForecast) -> tuple[float, float]:
    assert pair.probability is not None
    assert pair.separation_m is not None
    ratio = pair.separation_m / pair.required_m if pair.required_m else np.inf
    return pair.probability, -ratio


@dataclass(frozen=True, slots=True)
class SideLimit:
    """The tightest turn of 180 degrees to one side. None: even the widest turn tried exceeds the risk."""

    side: str  # port | starboard
    radius_m: float | None
    rate_deg_s: float | None
    half_circle_s: float | None
    limited_by: tuple[str, str] | None  # the pair that crosses most at the next tighter radius
    tried_m: tuple[tuple[float, float], ...]  # (radius, share of the members with any crossing), widest first


@dataclass(frozen=True, slots=True)
class SpeedLimit:
    """The slowest speed through the water that keeps lines apart and lures off the bottom."""

    speed_m_s: float | None  # None: even the present speed is too slow
    limited_by: str  # "crossing" | "bottom" | "" (none of the speeds tried is too slow)
    keys: tuple[str, ...]  # the rods concerned at the next slower speed
    tried_m_s: tuple[tuple[float, float], ...]  # (speed, share of the members in trouble), fastest first


@dataclass(frozen=True, slots=True)
class Limits:
    """Tightest turns and slowest speed, with the feed time they were computed from."""

    t_s: float
    port: SideLimit
    starboard: SideLimit
    slowest: SpeedLimit
    risk: float = 0.1  # the risk of any crossing that they allow

    def of(self, side: Side) -> SideLimit:
        """The tightest turn to a side."""
        return self.starboard if side == "starboard" else self.port


@dataclass(frozen=True, slots=True)
class Outlook:
    """All forecasts made from one picture."""

    t_s: float  # feed time of the picture
    took_s: float  # seconds of computing
    forecasts: tuple[Forecast, ...]  # hold, as it goes, and the plan if there is one
    limits: Limits | None = None
    advice: tuple[Advice, ...] = ()
    advice_for: str = ""  # name of the manoeuvre that the advice cures
    alerts: tuple[Alert, ...] = ()  # its standing alerts, worst first
    if_slowed: Forecast | None = None  # with a fish on: the other rods if the boat slows now; raises no alert

    @property
    def touches(self) -> tuple[Touch, ...]:
        """Each rod that touches the bottom in what the boat is doing (not in a plan), with its soonest touch."""
        found: dict[str, Touch] = {}
        for made in self.forecasts:
            for touch in made.touches if made.manoeuvre.name != PLAN else ():
                before = found.get(touch.key)
                if before is None or touch.time_s < before.time_s:
                    found[touch.key] = touch
        return tuple(found.values())

    def age_s(self, now_s: float) -> float:
        return now_s - self.t_s
