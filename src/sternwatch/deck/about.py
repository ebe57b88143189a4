"""The data that seldom change: the rods, their wanted lengths, the cautions. Sent first, then on change."""

from __future__ import annotations

from typing import Any

from sternwatch.cautions import COMPUTED, NEUTRAL, NO_GUARANTEE, WIRE
from sternwatch.deck.figures import line, whole
from sternwatch.deck.shown import Shown
from sternwatch.gear.spread_file.counter import true_line_m
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import Dimension
from sternwatch.watch.picture.model import Picture, RodPicture, RodState
from sternwatch.watch.picture.stern import SESSION_WORDS, across_stern


def about(shown: Shown) -> dict[str, Any]:
    """The session, the units, the cautions, and every rod from port to starboard. Lengths are in the crew's units."""
    picture, units = shown.picture, shown.units
    tag, words = SESSION_WORDS.get(shown.session, ("", ""))
    rods = across_stern(picture.rods) if picture is not None else ()
    order = letting_out_order(shown)
    return {
        "tag": tag,
        "session": words,
        "length": units.label(Dimension.LENGTH),
        "degrees": units.label(Dimension.TEMPERATURE),
        "computed": COMPUTED,
        "fish": [NEUTRAL, WIRE],
        "guarantee": NO_GUARANTEE,
        "mirrored": shown.mirrored,
        "order": list(order),
        "planned": bool(shown.order),
        "rods": [] if picture is None else [_rod(picture, rod, shown) for rod in rods],
    }


def _rod(picture: Picture, rod: RodPicture, shown: Shown) -> dict[str, Any]:
    units = shown.units
    wanted_m = wanted_line_m(picture, rod)
    counter, true_m = line(wanted_m, units), _true_m(picture, rod, wanted_m)
    return {
        "key": rod.key,
        "name": rod.name,
        "side": rod.side,
        "want": whole(rod.target_depth_m, units),
        "out": counter,
        "true": None if true_m is None or line(true_m, units) == counter else line(true_m, units),
        "setting": rod.setting,
        "lead": line(rod.lead_m, units),
        "rig": rod.rig,
    }


def wanted_line_m(picture: Picture, rod: RodPicture) -> float | None:
    """The wanted counter reading: where moving line will end, else the crew's value, else the spread file's."""
    if rod.moving_to_m is not None and rod.state is RodState.LETTING_OUT:
        return rod.moving_to_m
    mine = picture.crew.rods.get(rod.key) if picture.crew is not None else None
    return rod.line_out_m if mine is None else mine.line_out_m


def _true_m(picture: Picture, rod: RodPicture, reading_m: float | None) -> float | None:
    """Line past the tip at a reading; None where the counter is unknown."""
    spread = getattr(picture.crew.gear, "spread", None) if picture.crew is not None else None
    filed = spread.rod_by_key(rod.key) if isinstance(spread, Spread) else None
    if reading_m is None or filed is None or filed.tip is None:
        return None
    assert isinstance(spread, Spread)
    return true_line_m(spread, filed, reading_m, rod.lead_m)


def letting_out_order(shown: Shown) -> tuple[str, ...]:
    """The plan's order, else the usual one: balls first, then lines near the boat, the longest last."""
    picture = shown.picture
    if shown.order or picture is None:
        return shown.order
    from sternwatch.watch.chains.clearing_order import pull_place  # by now the watch has loaded what this imports

    def place(rod: RodPicture) -> tuple[float, ...]:
        far = rod.tip_abeam_m if rod.abeam_m is None else rod.abeam_m
        return tuple(-part for part in pull_place(rod.rig, far, wanted_line_m(picture, rod) or 0.0))

    return tuple(rod.key for rod in sorted(picture.rods, key=lambda rod: (place(rod), rod.key)))
