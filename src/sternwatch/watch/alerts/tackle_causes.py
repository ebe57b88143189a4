"""Causes from one rod's tackle: the bottom under it, its release, the propeller near it, its speed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sternwatch.feed.readings import Quantity, Sensors
from sternwatch.gear.spread_file.counter import per_read
from sternwatch.gear.spread_file.models import Spread, TackleItem
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.watch.alerts.rod_care import RodCare
from sternwatch.watch.alerts.rules import Cause
from sternwatch.watch.boat.axes import share_along
from sternwatch.watch.boat.motion_filter import wrap_deg
from sternwatch.watch.boat.own_boat import usable
from sternwatch.watch.bottom.room import CLOSE_M, TOUCH_M, Ahead, Below, Ground
from sternwatch.watch.chains.chains import Chains
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.memory.step import Step
from sternwatch.watch.picture.model import SpeedSource

# A release set for more than this share of what pulls at it lets go at the next wave (memory).
RELEASE_SHARE = 0.85
# Slower than this through the water the boat is stopping (memory: nobody trolls at it).
STOPPING_M_S = 0.35
# A course this far from where she points means that she goes astern.
ASTERN_DEG = 120.0
ASTERN_FROM_M_S = 0.2
# Where the propeller turns, from the transom's centre, and how near a line must not come (memory).
PROPELLER_ASTERN_M, PROPELLER_DEPTH_M = 0.3, 0.6
PROPELLER_REACH_M = 2.0
# A lure fished on the bottom may be computed this far under it before that is said (memory: a crew's error of line).
DRAGS_M = 1.0
# A warning shorter than this is useless: raising a ball takes longer (memory).
LITTLE_WARNING_S = 20.0


def cautions(step: Step, rod_care: RodCare, units: DisplaySystem) -> Iterator[Cause]:
    """Everything of the kind that holds at this step."""
    if step.boat.source is SpeedSource.NONE:
        return
    yield from _propeller(step.boat.speed_m_s, step.chains, step.sensors)
    for key, chain in step.chains.items():
        if not chain.out or chain.dark or chain.place is None:
            continue
        name = f"{key} {chain.rod.name}"
        yield from _bottom(step.bottom.ground, chain, name, units)
        yield from _release(step.spread, chain, name)
        yield from _speed(rod_care.mean_speed_m_s(key, step.t_s), chain, name, units)


def _bottom(ground: Ground, chain: RodChain, name: str, units: DisplaySystem) -> Iterator[Cause]:
    key = chain.rod.key
    ahead = ground.ahead.get(key)
    if chain.rod.bottom is not None:
        yield from _dragging(ground, chain, name, units)
        if ahead is not None and ahead.touches_s is not None and ahead.what == _lure(chain):
            return  # it is meant to be there
    if ahead is None:
        return
    if ahead.touches_s is None:
        below = next((b for b in ground.below[key] if b is not None and b.what == ahead.what), None)
        if below is not None and _too_little_warning(ground, chain, below, ahead):
            yield Cause(
                "bottom near",
                f"{name}: {ahead.what} {_length(below.room_m, units)} off the bottom, "
                f"at most {ahead.known_s:.0f} s of warning",
                "The bottom ahead of it is not known: watch the sounder",
                (key,),
            )
        return
    now = ahead.touches_s <= 0.0
    where = f" at {_length(ahead.bottom_m, units)}" if ahead.bottom_m is not None else ""
    text = f"{name}: {ahead.what} {'is on the bottom' if now else 'touches bottom'}{where}"
    if ahead.sloped:
        text += " if the bottom keeps rising like this"
    yield Cause("bottom touch", text, raise_words(chain, ahead, units), (key,), ahead.touches_s)


def _lure(chain: RodChain) -> str:
    return chain.rig.what[-1] if chain.rig is not None and chain.rig.what else ""


def _dragging(ground: Ground, chain: RodChain, name: str, units: DisplaySystem) -> Iterator[Cause]:
    """A rod fished on the bottom with far more line out than that needs: its lure would lie under the bottom."""
    below = (ground.below.get(chain.rod.key) or (None,))[-1]
    if below is None or chain.place is None or below.room_m > -DRAGS_M:
        return
    by = _length(-below.room_m, units)
    came_up = Ahead(below.what, None, -below.room_m, None, False, None)
    yield Cause("dragging", f"{name}: {below.what} drags, its depth would be {by} below the bottom",
                raise_words(chain, came_up, units), (chain.rod.key,))  # fmt: skip


def _too_little_warning(ground: Ground, chain: RodChain, below: Below, ahead: Ahead) -> bool:
    """Whether a ball hangs close to the bottom and hardly anything is sounded ahead of it."""
    hangs = chain.attached_to is not None or (chain.rig is not None and "ball" in chain.rig.kinds)
    little = hangs and ahead.known_s is not None and ahead.known_s < LITTLE_WARNING_S and not ground.turning
    return below.room_m <= CLOSE_M and little and ground.velocity_m_s is not None


def raise_words(chain: RodChain, ahead: Ahead, units: DisplaySystem) -> str:
    """How to make a rod pass clear of the bottom, in one sentence."""
    by = _length(max(ahead.raise_m, TOUCH_M), units, up=True)
    kinds = chain.rig.kinds if chain.rig is not None else ()
    place = chain.place
    depth_m = place.depth_m if place is not None and chain.state is not None else 0.0
    if 0.0 < depth_m <= ahead.raise_m:
        what = f"rod {chain.attached_to}'s ball" if chain.attached_to is not None else "it"
        return f"Take {what} in: the water is too shallow for it"
    if chain.attached_to is not None:
        return f"Raise rod {chain.attached_to}'s ball {by}"
    if "ball" in kinds:
        return f"Raise the ball {by}"
    if "board" in kinds:  # its line out sets where the board runs, not how deep the lure runs
        return f"Speed up, or take it in: {by} too deep"
    if depth_m <= 0.0:
        return f"Raise it {by}"
    # Depth goes nearly with all that is past the tip, weighted line and backing alike; hence "about".
    line = ahead.raise_m * chain.past_tip_m / depth_m / per_read(chain.spread, chain.rod)
    return f"Take in about {_length(line, units, up=True)}: it must come up {by}"


def _length(value_m: float | None, units: DisplaySystem, *, up: bool = False) -> str:
    """Whole feet, or tenths of a metre. ``up`` rounds up, for a length that must at least be wound."""
    step = 0.3048 if units.length == "ft" else 0.1
    if value_m is not None and up:
        value_m = -(-value_m // step) * step
    return units.show(value_m, Dimension.LENGTH, 0 if units.length == "ft" else 1)


def release_share(spread: Spread, chain: RodChain) -> float | None:
    """The pull on a release as a share of its setting. None where the rod has no release with a known setting."""
    if chain.state is None or chain.rows is None or chain.rig is None:
        return None
    shares = []
    items = [item for item in chain.rod.deployed if isinstance(item, TackleItem)]
    if chain.reel.on_reel:  # the outermost part went out first
        items = items[-len(chain.rig.what) :] if chain.rig.what else []
    # A chain that a fish has shortened ends before its tackle does.
    for item, node in zip(items, chain.rows.body_node[0].tolist(), strict=False):
        tackle = spread.tackle[item.tackle]
        most = tackle.release_pull_N if tackle.kind in ("diver", "ball", "board") else None
        if most is not None and not item.tripped and 0 <= node < int(chain.rows.n_nodes[0]) - 1:
            shares.append(float(chain.state.tension_N[0, node]) / most)
    return max(shares, default=None)


def _release(spread: Spread, chain: RodChain, name: str) -> Iterator[Cause]:
    share = release_share(spread, chain)
    if share is not None and share >= RELEASE_SHARE:
        yield Cause(
            "release",
            f"{name}: its release may open: it holds {100 * share:.0f} % of what opens it",
            "Slow down, or set the release harder",
            (chain.rod.key,),
        )


def _propeller(speed_m_s: float, chains: Chains, sensors: Sensors) -> Iterator[Cause]:
    """Lines by the propeller while the boat stops or goes astern; one alert for all of them."""
    sog, course = usable(sensors.get(Quantity.SOG)), usable(sensors.get(Quantity.COG))
    heading = usable(sensors.get(Quantity.HEADING))
    astern = (
        sog is not None and course is not None and heading is not None and sog >= ASTERN_FROM_M_S
        and abs(wrap_deg(course - heading)) > ASTERN_DEG
    )  # fmt: skip
    if not astern and speed_m_s >= STOPPING_M_S:
        return
    near = tuple(
        key for key, chain in chains.items()
        if chain.place is not None and not chain.dark and _near_propeller(chain.place.shape_m)
    )  # fmt: skip
    if near:
        lines = "Line" if len(near) == 1 else "Lines"
        how = "going astern" if astern else "stopping"
        yield Cause(
            "propeller",
            f"{lines} {' '.join(near)} near the propeller, {how}",
            "Neutral before clearing a line near the propeller",
            near,
            about="propeller",
        )


def _near_propeller(shape_m: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> bool:
    """Whether a chain (n, 3) [astern, abeam, depth] comes within reach of where the propeller turns."""
    at = np.array([PROPELLER_ASTERN_M, 0.0, PROPELLER_DEPTH_M])
    start, along = shape_m[:-1], np.diff(shape_m, axis=0)
    nearest = start + share_along(start, along, at)[:, None] * along
    under = nearest[:, 2] > 0.0
    return bool((np.linalg.norm(nearest - at, axis=1)[under] < PROPELLER_REACH_M).any())


def _speed(mean_m_s: float | None, chain: RodChain, name: str, units: DisplaySystem) -> Iterator[Cause]:
    wanted, mean = chain.rod.speeds_m_s, mean_m_s
    if wanted is None or mean is None or wanted[0] <= mean <= wanted[1]:
        return
    low, high = (units.show(v, Dimension.SPEED, 1, label=False) for v in wanted)
    slow = mean < wanted[0]
    yield Cause(
        "lure speed",
        f"{name}: lure at {units.show(mean, Dimension.SPEED, 1)}, too {'slow' if slow else 'fast'} for {low}–{high}",
        "Quicken" if slow else "Slow down",
        (chain.rod.key,),
    )
