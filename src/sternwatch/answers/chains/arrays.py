"""Makes chains from the spread file: counter to true length, gear to lines and bodies, names in chain order."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from sternwatch.answers.chains.bodies import body_of
from sternwatch.answers.chains.discrepancy import NO_DISCREPANCY, Discrepancy, dragged
from sternwatch.answers.chains.varied import varied_body, varied_line
from sternwatch.gear.spread_file.counter import offset_m, true_line_m
from sternwatch.gear.spread_file.lines import LineNumbers, resolve_line
from sternwatch.gear.spread_file.models import LineItem, Rod, RodLineSpec, Spread, TackleItem, Tip
from sternwatch.gear.values import defaults
from sternwatch.gear.values.units import STANDARD_GRAVITY_M_S2 as G
from sternwatch.gear.values.words import listed
from sternwatch.hydro.chain.model import Body, Chain, Line, RodLine
from sternwatch.water.properties import Water, fresh_water

# Between two pieces of tackle without line between them: a snap and swivel.
LINK_M = 0.05


@dataclass(frozen=True, slots=True)
class RodNow:
    """How a rod is now. None: as in the file. Lengths as the counter reads."""

    line_out_as_counter_m: float | None = None
    setting: str | None = None
    lead_m: float | None = None
    tripped: bool = False
    on_reel: int = (
        0  # how many of its lines, from the one at the tip on, are still on the reel, with the tackle between
    )


AS_FILED = RodNow()


@dataclass(frozen=True)
class Rig:
    """A rod's chain with the names of its parts.

    ``what`` and ``kinds`` name its bodies in chain order. ``lure``: the index of the last body, None for a bare
    line. ``adjust_item``: the index in ``chain.items`` of the line, besides the first, that keys change.
    ``attach``: a rod clipped to another's cable starts at (that rod's key, distance above its ball in metres). Its
    ``chain.tip_m`` is then only the rod's tip, and the place on the cable replaces it.
    """

    key: str
    name: str
    chain: Chain
    what: tuple[str, ...]
    kinds: tuple[str, ...]
    lure: int | None
    adjust_item: int | None
    attach: tuple[str, float] | None
    beside: Discrepancy = NO_DISCREPANCY
    read_m: float | None = None  # line out as the counter reads
    past_m: float = 0.0  # line past the tip when the counter read zero

    def towed(self, speed_m_s: float, read_m: float | None = None) -> Rig:
        """The rig with the drag of the model's discrepancy at a speed. ``read_m``: for another line out."""
        off = self.beside.log_factor(speed_m_s, self.read_m if read_m is None else read_m)
        return self if off == 0.0 else replace(self, chain=dragged(self.chain, off))

    @cached_property
    def length_m(self) -> float:
        """Length of the whole chain, unstretched."""
        return sum(item.length_m for item in self.chain.items if isinstance(item, Line))


def water_of(spread: Spread) -> Water:
    """The file's water. Values that it leaves out follow from its temperature."""
    spec = spread.water
    made = fresh_water(max(0.0, spec.temperature_c))
    return Water(
        density_kg_m3=made.density_kg_m3 if spec.density_kg_m3 is None else spec.density_kg_m3,
        viscosity_m2_s=made.viscosity_m2_s if spec.viscosity_m2_s is None else spec.viscosity_m2_s,
    )


def rig_of(spread: Spread, rod: Rod, now: RodNow = AS_FILED, water: Water | None = None) -> Rig:
    """The present chain of a rod, with the names of its parts.

    Raises ``ValueError`` for a setting that its diver does not have. A spread from ``load_spread`` can have no other
    fault.
    """
    if now.setting is not None and now.setting not in spread.settings(rod):
        raise ValueError(
            f'rod {rod.key} ({rod.name}) has no setting "{now.setting}"; accepted: {listed(spread.settings(rod))}'
        )
    density = (water or water_of(spread)).density_kg_m3
    items: list[Line | Body] = []
    what: list[str] = []
    kinds: list[str] = []
    adjust_item = None
    spec: LineNumbers | None = None
    lines = 0
    for number, item in enumerate(rod.deployed):
        lines += isinstance(item, LineItem)
        if lines <= now.on_reel:
            continue
        if isinstance(item, LineItem):
            if item.adjust:
                adjust_item = len(items)
            spec = _spec(spread, item.line)
            items.append(line_of(spec, _length_m(spread, rod, item, now, first=number == 0), density))
            continue
        if items and isinstance(items[-1], Body) and spec is not None:
            items.append(line_of(spec, LINK_M, density))
        items.append(_body(spread, rod, item, now, density))
        what.append(item.tackle)
        kinds.append(spread.tackle[item.tackle].kind)
    return Rig(
        key=rod.key,
        name=rod.name,
        chain=Chain(_tip(spread, rod), tuple(items)),
        what=tuple(what),
        kinds=tuple(kinds),
        lure=len(what) - 1 if what else None,
        adjust_item=adjust_item,
        attach=(rod.clipped_to.rod, rod.clipped_to.above_ball_m) if rod.clipped_to else None,
        beside=Discrepancy.of(spread, rod) if spread.values else NO_DISCREPANCY,
        read_m=rod.line_out_m if now.line_out_as_counter_m is None else now.line_out_as_counter_m,
        past_m=0.0 if rod.line_out_m is None else offset_m(spread, rod, now.lead_m),
    )


def down_to_ball(rig: Rig) -> Rig:
    """A downrigger whose line has left its ball: cable and ball alone. Other rigs are unchanged."""
    if "ball" not in rig.kinds:
        return rig
    number = rig.kinds.index("ball")
    bodies = [i for i, item in enumerate(rig.chain.items) if isinstance(item, Body)]
    ball = rig.chain.items[bodies[number]]
    assert isinstance(ball, Body)
    items = (*rig.chain.items[: bodies[number]], replace(ball, rod_line=None))
    what, kinds = rig.what[: number + 1], rig.kinds[: number + 1]
    return replace(
        rig, chain=replace(rig.chain, items=items), what=what, kinds=kinds, lure=number, adjust_item=None
    )  # fmt: skip


def _spec(spread: Spread, name: str) -> LineNumbers:
    """The numbers of a kind of line, as believed."""
    spec = spread.line[name]
    return varied_line(name, spec, spread.values) if spread.values else resolve_line(spec)


def line_of(numbers: LineNumbers, length_m: float, density_kg_m3: float) -> Line:
    """A length of a kind of line in water of the given density."""
    return Line(
        length_m=length_m,
        diameter_m=numbers.diameter_m,
        mass_kg_m=numbers.mass_kg_m,
        wet_weight_N_m=(numbers.mass_kg_m - density_kg_m3 * numbers.displaced_m3_m) * G,
        stiffness_N=numbers.stiffness_N,
        normal_drag=numbers.normal_drag,
        drag_factor=numbers.drag_factor,
        tangential_drag=numbers.tangential_drag,
    )


def tip_m(tip: Tip, sign: float) -> tuple[float, float, float]:
    """A rod tip in boat axes: forward, to starboard, down [m]; ``sign`` is the rod's side."""
    return (-tip.astern_m, sign * tip.abeam_m, -tip.height_m)


def _tip(spread: Spread, rod: Rod) -> tuple[float, float, float]:
    if rod.tip is not None:
        return tip_m(rod.tip, rod.sign)
    other = spread.rod_by_key(rod.clipped_to.rod) if rod.clipped_to else None
    if other is None or other.tip is None:
        return (0.0, 0.0, 0.0)
    return tip_m(other.tip, other.sign)


def _length_m(spread: Spread, rod: Rod, item: LineItem, now: RodNow, *, first: bool) -> float:
    if first and item.out_m is not None:
        reading = item.out_m if now.line_out_as_counter_m is None else now.line_out_as_counter_m
        return true_line_m(spread, rod, reading, now.lead_m)
    if item.adjust and now.lead_m is not None:
        return now.lead_m
    assert item.length_m is not None  # gear.rules ensures it: every other length is given
    return item.length_m


def _body(spread: Spread, rod: Rod, item: TackleItem, now: RodNow, density: float) -> Body:
    tackle = spread.tackle[item.tackle]
    keyed = item is spread.setting_item(rod)
    setting = now.setting if keyed and now.setting is not None else item.setting
    side = item.side if item.side is not None else rod.side
    body = body_of(
        tackle,
        density,
        pulls={"port": -1.0, "starboard": 1.0}.get(side, 0.0),
        setting=setting,
        tripped=item.tripped or (keyed and now.tripped),
    )
    if rod.rod_line is not None and tackle.kind == "ball":
        body = replace(body, rod_line=_rod_line(spread, rod, rod.rod_line))
    return varied_body(spread, rod, item, setting, body, spread.values) if spread.values else body


def _rod_line(spread: Spread, rod: Rod, given: RodLineSpec) -> RodLine:
    numbers = _spec(spread, given.line)
    return RodLine(
        tip_m=tip_m(given.tip, rod.sign),
        pull_N=defaults.ROD_LINE_PULL.value if given.pull_N is None else given.pull_N,
        diameter_m=numbers.diameter_m if given.diameter_m is None else given.diameter_m,
        # The kernel has one coefficient: it includes strumming in a given one; else it goes by Reynolds number.
        normal_drag=None if numbers.normal_drag is None else numbers.normal_drag * numbers.drag_factor,
    )
