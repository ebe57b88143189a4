"""What causes a rod's ±: how much of its variance comes from each uncertain quantity, by a linear law.

Around the most likely values, each quantity is moved by half a standard deviation to either side, and the steady
state is solved again; g is how far one standard deviation moves the lure. With the covariance S of what is believed
the variance of the depth is g' S g, and a quantity's share of it is g_i (S g)_i / g' S g (the covariance share; where
the quantities are independent, Sobol's first-order index of 1993: from memory). Shares add up to one; correlated ones
may be negative. All widths are scaled to that of the whole law (``answers.belief.predictive``).
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.narrowing import Narrowing, narrowing
from sternwatch.answers.belief.observations import Observation, What, concerns, predicted
from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.answers.belief.priors import Z90, believed_of, value_at
from sternwatch.answers.chains.arrays import AS_FILED, RodNow
from sternwatch.gear.spread_file.models import Rod, Spread, TackleItem
from sternwatch.gear.spread_file.uncertain_words import group
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.water.properties import Water

Floats = NDArray[np.float64]

# Half a secant's width in prior standard deviations: priors have a kink at 0.
REACH = 0.5


@dataclass(frozen=True, slots=True)
class Part:
    """One group of quantities: its share of the variance, and the ± [m] that it alone would leave (90 %)."""

    what: str
    names: tuple[str, ...]
    share: float
    off_m: float


@dataclass(frozen=True, slots=True)
class Attribution:
    """The parts of one lure's ± on a straight course, the largest share first. ``why``: why it is unknown."""

    key: str
    speed_m_s: float
    depth_m: float | None
    off_m: float | None  # half width at 90 %
    parts: tuple[Part, ...]
    why: str = ""
    narrowed: Narrowing | None = None  # the cheapest thing worth doing, and its effect


def attribution(
    spread: Spread,
    rod: Rod,
    speed_m_s: float,
    *,
    now: RodNow = AS_FILED,
    heading_rad: float = 0.0,
    over_ground: bool = False,
    told: float = 1.0,
    learned: Calibration | None = None,
    water: Water | None = None,
) -> Attribution:
    """Find the parts of the ± of a rod's depth.

    ``speed_m_s``: through the surface water, as believed; ``over_ground``: from speed over ground, so that the
    current counts, else from a paddle wheel; ``told``: the share left of the spread of the current or of that wheel's
    error. A rod clipped to another's cable is computed with that rod as filed. ``water`` None: the file's.
    """
    quantities = believed_of(spread, learned)
    names = concerns(spread, rod, quantities)
    mean, covariance = _law(names, learned)
    at = "lure" if any(isinstance(item, TackleItem) for item in rod.deployed) else None
    one = Observation(
        "", rod.key, What.DEPTH, 0.0, 1.0, speed_m_s, "", at=at, now=now, over_ground=over_ground, told=told,
        heading_rad=heading_rad, water=water,
    )  # fmt: skip

    def depth(z: Floats) -> float:
        values = {name: float(value_at(z[j], quantities[name])) for j, name in enumerate(names)}
        return predicted(spread, one, values)

    middle = depth(mean)
    if not math.isfinite(middle):
        return Attribution(rod.key, speed_m_s, None, None, (), "no steady shape is known for it at this speed")
    slopes = np.zeros(len(names))
    for j, sd in enumerate(np.sqrt(np.diag(covariance))):
        reach = REACH * max(float(sd), 0.05)
        ends = []
        for side in (reach, -reach):
            z = mean.copy()
            z[j] += side
            ends.append(depth(z))
        slopes[j] = (ends[0] - ends[1]) / (2.0 * reach)
    if not np.isfinite(slopes).all():
        return Attribution(rod.key, speed_m_s, middle, None, (), "near here it loses its steady shape")
    off, parts = _parts(names, slopes, covariance)
    turned = told < 1.0 or not over_ground

    def narrowed(half: float) -> Narrowing | None:
        return narrowing(names, slopes, covariance, quantities, half, Z90, turned=turned)

    law = depth_quantiles(
        spread, rod, speed_m_s, now=now, heading_rad=heading_rad, over_ground=over_ground, told=told,
        learned=learned, water=water,
    )  # fmt: skip
    if law is None or off <= 0.0:
        return Attribution(rod.key, speed_m_s, middle, off, parts, narrowed=narrowed(off))
    # Shares come from the linear law, widths from the whole law.
    half = 0.5 * (law[4] - law[0])
    scaled = tuple(replace(part, off_m=part.off_m * half / off) for part in parts)
    return Attribution(rod.key, speed_m_s, law[2], half, scaled, narrowed=narrowed(half))


def _law(names: tuple[str, ...], learned: Calibration | None) -> tuple[Floats, Floats]:
    """Mean (k,) and covariance (k, k) of the named quantities, as believed."""
    mean, covariance = np.zeros(len(names)), np.eye(len(names))
    if learned is not None:
        here = [j for j, name in enumerate(names) if name in learned.index]
        there = [learned.index[names[j]] for j in here]
        mean[here] = learned.mean[there]
        covariance[np.ix_(here, here)] = learned.covariance[np.ix_(there, there)]
    return mean, covariance


def _parts(names: tuple[str, ...], slopes: Floats, covariance: Floats) -> tuple[float, tuple[Part, ...]]:
    """Half width [m] and the groups."""
    each = slopes * (covariance @ slopes)
    variance = float(each.sum())
    if variance <= 0.0:
        return 0.0, ()
    grouped = sorted(((group(name), j) for j, name in enumerate(names)), key=itemgetter(0))
    parts = []
    for what, members in itertools.groupby(grouped, itemgetter(0)):
        own = [j for _, j in members]
        alone = float(slopes[own] @ covariance[np.ix_(own, own)] @ slopes[own])
        if alone > 0.0:
            share = float(each[own].sum()) / variance
            parts.append(Part(what, tuple(names[j] for j in own), share, Z90 * math.sqrt(alone)))
    return Z90 * math.sqrt(variance), tuple(sorted(parts, key=lambda part: (-part.share, part.what)))


# The nearest of these names a share; both ends of "nearly" are open.
_FRACTIONS = (
    (0.9, "nearly all of it"), (0.75, "three quarters"), (0.667, "two thirds"), (0.5, "half of it"),
    (0.333, "a third"), (0.25, "a quarter"), (0.2, "a fifth"), (0.1, "a tenth"),
)  # fmt: skip
SAID = 0.08  # a smaller part is not mentioned
MOST = 3  # most parts in a sentence


def fraction(share: float) -> str:
    """A share in words: "half of it", "a third"."""
    return min(_FRACTIONS, key=lambda one: abs(one[0] - share))[1]


def sentence(found: Attribution) -> str:
    """The largest parts in words: "Half of it: drag of wire; a third: speed is over ground." Empty where unknown."""
    said = [f"{fraction(part.share)}: {part.what}" for part in found.parts[:MOST] if part.share >= SAID]
    if not said:
        return "" if not found.parts else "Many small parts; none stands out."
    text = "; ".join(said)
    return f"{text[0].upper()}{text[1:]}."


def advice(found: Attribution, units: DisplaySystem) -> str:
    """What to do about it: "Touch bottom once at 60 ft: ±16 becomes ±4 ft." Empty where nothing is worth it."""
    if found.narrowed is None or found.off_m is None:
        return ""
    decimals = 0 if units.length == "ft" else 1
    now = units.show(found.off_m, Dimension.LENGTH, decimals, label=False)
    after = units.show(found.narrowed.after_m, Dimension.LENGTH, decimals)
    match found.narrowed.deed:
        case "tape":
            what = "Check the counter against a tape"
        case "turn":
            what = "Turn back on your course once, so that the current shows"
        case _:
            what = f"Touch bottom once at {units.show(found.depth_m, Dimension.LENGTH, 0)}"
    return f"{what}: ±{now} becomes ±{after}."
