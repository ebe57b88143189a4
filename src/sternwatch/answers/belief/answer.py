"""Depths as crews see them: the median and quantiles of what is believed, instead of the nominal depth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.predictive import depth_quantiles
from sternwatch.answers.belief.priors import believed
from sternwatch.answers.chains.arrays import AS_FILED, RodNow
from sternwatch.answers.depths.depth import DepthAnswer, RodAnswer, depth_answer
from sternwatch.answers.depths.inverse import LineForDepth, line_out_for_depth
from sternwatch.answers.depths.sensitivity import Sensitivity, sensitivities
from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.water.profile import TemperatureProfile

# A chain nearer to the surface than this is not stretched to end at the median.
LEAST_DEPTH_M = 0.1


def stretch(nominal_m: float, median_m: float) -> float:
    """The factor on all depths of a chain that makes it end at the median."""
    return median_m / nominal_m if nominal_m > LEAST_DEPTH_M and median_m > LEAST_DEPTH_M else 1.0


def believed_answer(
    spread: Spread,
    speed_m_s: float,
    *,
    rods: Sequence[Rod] | None = None,
    heading_rad: float | None = None,
    now: Mapping[str, RodNow] | None = None,
    learned: Calibration | None = None,
) -> DepthAnswer:
    """Median places of the lures at a known speed through the surface water.

    ``rods``: only these rods; None: all. ``learned``: a calibration of this very spread. Astern, abeam and pull are
    the most likely ones. The depths of the points are stretched to end at the median.
    """
    answer = depth_answer(believed(spread, learned), speed_m_s, heading_rad=heading_rad, now=now)
    held = now or {}
    asked = None if rods is None else {rod.key for rod in rods}
    profile = TemperatureProfile.from_pairs((p.depth_m, p.temperature_c) for p in spread.water.profile)
    return replace(
        answer,
        rods=tuple(
            _with_law(
                own,
                spread,
                rod,
                speed_m_s,
                heading_rad or 0.0,
                held.get(rod.key, AS_FILED),
                held.get(rod.clipped_to.rod, AS_FILED) if rod.clipped_to else AS_FILED,
                learned,
                profile,
            )
            for own, rod in zip(answer.rods, spread.rods, strict=True)
            if asked is None or rod.key in asked
        ),
    )


def _with_law(
    own: RodAnswer, spread: Spread, rod: Rod, speed_m_s: float, heading_rad: float, now: RodNow, carrier: RodNow,
    learned: Calibration | None, profile: TemperatureProfile,
) -> RodAnswer:  # fmt: skip
    if own.depth_m is None:
        return own
    spread = carried_now(spread, rod, carrier)
    found = depth_quantiles(spread, rod, speed_m_s, now=now, heading_rad=heading_rad, learned=learned)
    if found is None:
        return own
    by = stretch(own.depth_m, found[2])
    points = tuple(
        replace(p, depth_m=p.depth_m * by if p.depth_m is not None and p.depth_m > 0.0 else p.depth_m)
        for p in own.points
    )
    return replace(
        own, depth_m=found[2], depth_quantiles_m=found, points=points, temperature_c=profile.temperature_c(found[2])
    )


def carried_now(spread: Spread, rod: Rod, carrier: RodNow) -> Spread:
    """The spread with the cable out that the carrier has now, where a rod is clipped to another's cable."""
    if rod.clipped_to is None or carrier.line_out_as_counter_m is None:
        return spread
    other = spread.rod_by_key(rod.clipped_to.rod)
    if other is None or other.out_index is None:
        return spread
    chain = tuple(
        item.model_copy(update={"out_m": carrier.line_out_as_counter_m}) if n == other.out_index else item
        for n, item in enumerate(other.chain)
    )
    moved = other.model_copy(update={"chain": chain})
    return spread.model_copy(update={"rod": tuple(moved if one is other else one for one in spread.rods)})


def believed_line(
    spread: Spread,
    rod: Rod,
    target_depth_m: float,
    speed_m_s: float,
    *,
    heading_rad: float | None = None,
    now: RodNow = AS_FILED,
    learned: Calibration | None = None,
) -> LineForDepth:
    """Line out at which the median is at a depth: found with the nominal chain, corrected by the median."""
    nominal = believed(spread, learned)
    found = line_out_for_depth(nominal, rod, target_depth_m, speed_m_s, heading_rad=heading_rad, now=now)
    if found.line_out_as_counter_m is None or found.depth_m is None:
        return found
    there = replace(now, line_out_as_counter_m=found.line_out_as_counter_m)
    law = depth_quantiles(spread, rod, speed_m_s, now=there, heading_rad=heading_rad or 0.0, learned=learned)
    if law is None:
        return found
    by = stretch(found.depth_m, law[2])
    again = line_out_for_depth(nominal, rod, target_depth_m / by, speed_m_s, heading_rad=heading_rad, now=now)
    return replace(
        again,
        target_depth_m=target_depth_m,
        depth_m=None if again.depth_m is None else again.depth_m * by,
        deepest_m=None if again.deepest_m is None else again.deepest_m * by,
    )


def believed_sensitivities(
    spread: Spread,
    speed_m_s: float,
    *,
    rods: Sequence[Rod] | None = None,
    heading_rad: float | None = None,
    learned: Calibration | None = None,
) -> tuple[Sensitivity, ...]:
    """Slopes around the median, and the median at each setting, for these rods; None: all."""
    heading = heading_rad or 0.0
    out = []
    keys = None if rods is None else [rod.key for rod in rods]
    for one in sensitivities(believed(spread, learned), speed_m_s, keys=keys, heading_rad=heading_rad):
        rod = spread.rod_by_key(one.key)
        assert rod is not None  # the names are the spread's
        law = depth_quantiles(spread, rod, speed_m_s, heading_rad=heading, learned=learned)
        if law is None or one.depth_m is None:
            out.append(one)
            continue
        by = stretch(one.depth_m, law[2])
        settings = []
        for label, depth in one.by_setting_m:
            own = depth_quantiles(
                spread, rod, speed_m_s, now=RodNow(setting=label), heading_rad=heading, learned=learned
            )
            settings.append((label, depth if own is None else own[2]))
        out.append(
            replace(
                one,
                depth_m=law[2],
                per_line_out=None if one.per_line_out is None else by * one.per_line_out,
                per_speed_s=None if one.per_speed_s is None else by * one.per_speed_s,
                by_setting_m=tuple(settings),
            )
        )
    return tuple(out)
