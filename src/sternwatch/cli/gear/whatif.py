"""Two more answers of ``sternwatch depth``: line out for a wanted depth, and how depths change with conditions."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from sternwatch.cli.common.exits import InputError
from sternwatch.cli.common.options import quantity
from sternwatch.gear.values.units import COLOUR_M, UNITS, Dimension, DisplaySystem, convert

if TYPE_CHECKING:
    from rich.table import Table

    from sternwatch.answers.belief.attribution import Attribution
    from sternwatch.answers.belief.calibration import Calibration
    from sternwatch.answers.depths.colours import ColoursForDepth
    from sternwatch.answers.depths.depth import DepthAnswer
    from sternwatch.answers.depths.inverse import LineForDepth
    from sternwatch.answers.depths.sensitivity import Sensitivity
    from sternwatch.gear.spread_file.models import Rod, Spread

# The trade's steps: ten feet of line and a tenth of a mile an hour, with like steps in other units.
_LINE_STEP = {"ft": 10.0, "m": 5.0}
_OWN = "own"


def add_options(parser: argparse.ArgumentParser) -> None:
    """Add the two options."""

    def target(given: str) -> float | str:
        if given == _OWN:
            return given
        depth = quantity(Dimension.LENGTH)(given)
        if not 0.0 < depth <= 500.0:
            raise argparse.ArgumentTypeError(f'"{given}": accepted is more than 0, at most 1640 ft (500 m)')
        return depth

    parser.add_argument(
        "--target",
        nargs="?",
        const=_OWN,
        type=target,
        metavar="DEPTH",
        help='line out for this depth, "60 ft"; without a depth, for each rod\'s own target_depth',
    )
    parser.add_argument(
        "--sensitivity",
        action="store_true",
        help="what a little line, a little speed and another setting change, and what each ± is made of",
    )


def lines_for(
    spread: Spread, rods: Sequence[Rod], args: argparse.Namespace, speed_m_s: float, learned: Calibration | None
) -> dict[str, LineForDepth]:
    """The line for each rod with a target, by key; none without ``--target``."""
    if args.target is None:
        return {}
    from sternwatch.answers.belief.answer import believed_line

    wanted = {rod.key: rod.target_depth_m if args.target == _OWN else args.target for rod in spread.rods}
    if not any(wanted.values()):
        raise InputError(f"--target without a depth: no rod of the spread has a target_depth; give one, {_example()}")
    return {
        rod.key: believed_line(spread, rod, depth, speed_m_s, heading_rad=args.heading, learned=learned)
        for rod in rods
        if (depth := wanted[rod.key])
    }


def _example() -> str:
    return 'for example --target "60 ft"'


def slopes_of(
    spread: Spread, rods: Sequence[Rod], args: argparse.Namespace, speed_m_s: float, learned: Calibration | None
) -> dict[str, Sensitivity]:
    """The slopes of each rod, by key; none without ``--sensitivity``."""
    if not args.sensitivity:
        return {}
    from sternwatch.answers.belief.answer import believed_sensitivities

    found = believed_sensitivities(spread, speed_m_s, rods=rods, heading_rad=args.heading, learned=learned)
    return {one.key: one for one in found}


def parts_of(
    spread: Spread, rods: Sequence[Rod], args: argparse.Namespace, speed_m_s: float, learned: Calibration | None
) -> dict[str, Attribution]:
    """The parts of each rod's ± at a known speed, by key; none without ``--sensitivity``."""
    if not args.sensitivity:
        return {}
    from sternwatch.answers.belief.attribution import attribution

    heading = args.heading or 0.0
    return {
        rod.key: attribution(spread, rod, speed_m_s, heading_rad=heading, told=0.0, learned=learned) for rod in rods
    }


def parts_json(found: Attribution) -> dict[str, Any]:
    """The fields that ``--sensitivity`` adds for the ±: the half width at 90 %, and its parts."""
    return {
        "depth_off_m": found.off_m,
        "depth_off_parts": [
            {"what": part.what, "names": list(part.names), "share": part.share, "off_m": part.off_m}
            for part in found.parts
        ],
        "narrowed_by": None if found.narrowed is None else found.narrowed.deed,
        "depth_off_narrowed_m": None if found.narrowed is None else found.narrowed.after_m,
    }


def parts_lines(spread: Spread, found: Sequence[Attribution], units: DisplaySystem) -> list[str]:
    """One line per rod."""
    from sternwatch.answers.belief.attribution import advice, sentence

    out = []
    for one in found:
        rod = spread.rod_by_key(one.key)
        name = f"{one.key} {rod.name}" if rod is not None else one.key
        off = units.show(one.off_m, Dimension.LENGTH, 0 if units.length == "ft" else 1)
        out.append(f"{name}: {one.why or f'± {off}. {sentence(one)} {advice(one, units)}'.rstrip()}")
    return out


def target_json(found: LineForDepth | None, core: ColoursForDepth | None) -> dict[str, Any]:
    """The fields that ``--target`` adds to a rod."""
    if found is None:
        return {"target_depth_m": None, "line_out_for_target_m": None, "target_why": "no target depth is given"}
    core_m = None if core is None or core.colours is None else core.colours * COLOUR_M
    return {
        "lead_core_for_target_m": core_m,
        "target_depth_m": found.target_depth_m,
        "line_out_for_target_m": found.line_out_as_counter_m,
        "deepest_m": found.deepest_m,
        "deepest_line_out_m": found.deepest_line_out_as_counter_m,
        "target_why": found.why,
    }


def slopes_json(found: Sensitivity) -> dict[str, Any]:
    """The fields that ``--sensitivity`` adds to a rod."""
    return {
        "depth_per_line_out_m_per_m": found.per_line_out,
        "depth_per_speed_m_per_m_s": found.per_speed_s,
        "depth_by_setting_m": dict(found.by_setting_m),
    }


def target_lines(
    spread: Spread, found: Sequence[LineForDepth], cores: Mapping[str, ColoursForDepth], units: DisplaySystem
) -> list[str]:
    """One sentence per rod; lead-core in colours, with the counter's reading."""
    from sternwatch.answers.depths.colours import is_core
    from sternwatch.gear.spread_file.counter import true_line_m

    def length(value: float | None) -> str:
        return units.show(value, Dimension.LENGTH, 0)

    out = []
    for answer in found:
        setting = f", {answer.setting}" if answer.setting is not None else ""
        name = f"{answer.key} {answer.name}{setting}"
        rod = spread.rod_by_key(answer.key)
        if (core := cores.get(answer.key)) is not None:
            out.append(f"{name}: {_colours(core, answer.target_depth_m, length)}")
            continue
        reads = answer.line_out_as_counter_m
        if rod is not None and reads is not None and is_core(spread, rod.chain[rod.out_index or 0]):
            number, wanted = true_line_m(spread, rod, reads) / COLOUR_M, length(answer.target_depth_m)
            out.append(f"{name}: {number:.1f} colours out for {wanted}, the counter at {length(reads)}")
            continue
        if answer.line_out_as_counter_m is not None:
            out.append(f"{name}: {length(answer.line_out_as_counter_m)} out for {length(answer.target_depth_m)}")
        elif answer.deepest_m is not None:
            out.append(
                f"{name}: {answer.why} ({length(answer.target_depth_m)} wanted); "
                f"deepest is {length(answer.deepest_m)} with {length(answer.deepest_line_out_as_counter_m)} out"
            )
        else:
            out.append(f"{name}: {answer.why}")
    return out


def _colours(core: ColoursForDepth, target_m: float, length: Callable[[float | None], str]) -> str:
    reads = f"the counter at {length(core.counter_m)} as filed"
    if core.colours is None:
        return f"no number of colours gives {length(target_m)}; deepest is {length(core.deepest_m)}, {reads}"
    return f"{core.colours:.1f} colours out for {length(target_m)}, {reads}"


def cores_for(spread: Spread, found: Mapping[str, LineForDepth], answer: DepthAnswer) -> dict[str, ColoursForDepth]:
    """By key, for rods whose lead-core is beyond the line that the counter measures."""
    from sternwatch.answers.depths.colours import colours_for_depth

    heading = math.radians(answer.heading_deg or 0.0)
    medians = {rod.key: rod.depth_m for rod in answer.rods}
    made = {}
    for key, line in found.items():
        rod = spread.rod_by_key(key)
        if rod is None:
            continue
        core = colours_for_depth(
            spread, rod, line.target_depth_m, answer.speed_through_water_m_s, heading_rad=heading,
            median_m=medians.get(key),
        )  # fmt: skip
        if core is not None:
            made[key] = core
    return made


def slopes_table(found: Sequence[Sensitivity], units: DisplaySystem) -> Table:
    """A table of changes in depth, positive deeper, in the trade's steps."""
    from rich.table import Table

    step = _LINE_STEP[units.length]
    length, pace = units.label(Dimension.LENGTH), units.label(Dimension.SPEED)
    table = Table(box=None, pad_edge=False, padding=(0, 2, 0, 0))
    for heading in ("rod", f"depth\n{length}", f"{step:.0f} {length} more\nline out", f"0.1 {pace}\nfaster"):
        table.add_column(heading, justify="left" if heading == "rod" else "right", no_wrap=True)
    table.add_column(f"depth by setting\n{length}")

    def change(value: float | None) -> str:
        if value is None:
            return "–"
        text = f"{convert(value, units.length):+.1f}"
        return "0.0" if float(text) == 0.0 else text

    for one in found:
        settings = "  ".join(
            f"{label} {units.show(depth, Dimension.LENGTH, 0, label=False)}" for label, depth in one.by_setting_m
        )
        table.add_row(
            f"{one.key} {one.name}",
            units.show(one.depth_m, Dimension.LENGTH, 0, label=False),
            change(None if one.per_line_out is None else one.per_line_out * UNITS[units.length].to_si(step)),
            change(None if one.per_speed_s is None else one.per_speed_s * UNITS[units.speed].to_si(0.1)),
            settings or "–",
        )
    return table
