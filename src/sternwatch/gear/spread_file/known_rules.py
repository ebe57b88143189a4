"""Finds faults of ``[prior]`` and ``[[known]]`` that show only against the rest of the spread."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from sternwatch.gear.spread_file.known import Known
from sternwatch.gear.spread_file.models import Spread, TackleItem
from sternwatch.gear.spread_file.uncertain import prior_names
from sternwatch.gear.values.faults import Fault
from sternwatch.gear.values.words import listed, nearest


def find_belief_faults(spread: Spread) -> Iterator[Fault]:
    """The faults in file order. The spread must have no other faults."""
    yield from _priors(spread)
    for number, known in enumerate(spread.known, 1):
        for fault in find_known_faults(spread, known):
            yield replace(fault, where=f"known, entry {number}")


def _priors(spread: Spread) -> Iterator[Fault]:
    laws = prior_names(spread)
    for name, own in spread.prior.items():
        law = laws.get(name)
        if law is None:
            hint = nearest(name, laws)
            some = f"; accepted: {listed(list(laws)[:8])} … (sternwatch fit SPREAD --priors lists all)"
            yield Fault(f"prior.{name}", "", None, f"nothing uncertain has that name{hint or some}")
            continue
        middle = 1.0 if law == "factor" else 0.0
        if law == "factor" and own.low <= 0.0:
            yield Fault(f"prior.{name}", "low", own.low, "a factor is more than 0")
        elif not own.low <= middle <= own.high:
            about = f"they are {law}s of the value in use; a field of its own gives that value"
            yield Fault(f"prior.{name}", "low and high", None, f"{middle:g} must lie between them: {about}")


def find_known_faults(spread: Spread, known: Known) -> Iterator[Fault]:
    """The faults of one ``[[known]]`` entry. The caller adds its place in the file."""
    where = ""
    rod = spread.rod_by_key(known.rod)
    if rod is None:
        keys = listed(one.key for one in spread.rods)
        yield Fault(where, "rod", known.rod, f"no rod has that key; accepted: {keys}")
        return
    if known.setting is not None and known.setting not in spread.settings(rod):
        yield Fault(where, "setting", known.setting, f"accepted: {listed(spread.settings(rod))}")
    if known.out_m is not None and rod.line_out_m is None:
        yield Fault(where, "out", None, f"rod {rod.key} ({rod.name}) is clipped to a cable and has no line out")
    if known.lead_m is not None and rod.lead_m is None:
        yield Fault(where, "lead", None, f"rod {rod.key} ({rod.name}) has no length that can be adjusted")
    kinds = {spread.tackle[item.tackle].kind for item in rod.deployed if isinstance(item, TackleItem)}
    if known.at == "ball" and "ball" not in kinds:
        yield Fault(where, "at", known.at, f"rod {rod.key} ({rod.name}) has no ball")
    if known.at == "device" and not kinds & {"diver", "ball", "weight"}:
        yield Fault(where, "at", known.at, f"rod {rod.key} ({rod.name}) has no diver, ball or weight")
    if known.cable_angle_rad is not None and "ball" not in kinds:
        yield Fault(where, "cable_angle", None, f"rod {rod.key} ({rod.name}) has no ball on a cable")
