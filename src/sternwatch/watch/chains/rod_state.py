"""A rod's state, its line out, and the device that carries it."""

from __future__ import annotations

from sternwatch.gear.spread_file.models import Rod, Spread, TackleItem
from sternwatch.logbook.crew.state import CrewRod
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.picture.model import RodState

_ENTERED = {state.value: state for state in RodState}


def device_of(spread: Spread, rod: Rod) -> str:
    """What carries a rod's line: the first device past its tip. A rod on another's cable goes with that ball."""
    if rod.clipped_to is not None:
        return "ball"
    kinds = (spread.tackle[item.tackle].kind for item in rod.deployed if isinstance(item, TackleItem))
    return next((kind for kind in kinds if kind in ("board", "ball", "diver", "weight")), "")


def rod_state(mine: CrewRod, chain: RodChain) -> RodState:
    """The state that the crew entered, or what the line does while it moves."""
    if mine.state == "fishing" and chain.moving:
        return RodState.LETTING_OUT if chain.moving > 0 else RodState.REELING
    if mine.state == "letting out" and chain.place is not None and not chain.moving:
        return RodState.FISHING  # it has its full length, even if nobody has said so
    return _ENTERED[mine.state]


def line_out_m(mine: CrewRod, chain: RodChain) -> float | None:
    """The counter's reading now. The last length of a rod that is in, and that of before a fight, is not line out."""
    if mine.state == "in" or mine.length_lost:
        return None
    return max(chain.reading_m, 0.0) if chain.out and chain.reading_m is not None else mine.line_out_m


def past_tip_m(mine: CrewRod, chain: RodChain) -> float | None:
    """The whole length past the rod tip, with the leader. None while in, after a fight, or without a counter."""
    return None if mine.state == "in" or mine.length_lost else chain.reel.past_tip_m
