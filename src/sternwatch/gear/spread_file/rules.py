"""Finds faults of a spread that no single field shows. Each says in a sentence where it is and what is accepted."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import pairwise

from sternwatch.gear.spread_file.models import ROD_KEYS, LineItem, Rod, Spread, TackleItem
from sternwatch.gear.spread_file.tackle import Ball, Board, Diver
from sternwatch.gear.values.faults import Fault
from sternwatch.gear.values.words import a, listed, nearest

NO_ROD = "there is no rod; at least one [[rod]] is wanted"


def find_faults(spread: Spread) -> list[Fault]:
    """Every fault that the models alone cannot find, in file order."""
    faults = list(_water(spread))
    if not spread.rod:
        faults.append(Fault("", "rod", None, NO_ROD))
    faults += _keys(spread)
    for number, rod in enumerate(spread.rod, 1):
        where = rod_words(rod.key, rod.name, number)
        faults += [Fault(where, field, given, reason) for field, given, reason in _rod(spread, rod)]
    return faults


def rod_words(key: object, name: object, number: int) -> str:
    """A rod's words in a sentence: key and name, or its place in the file where it has no key."""
    if key is None:
        return f"rod number {number} in the file"
    return f"rod {key} ({name})" if name else f"rod {key}"


_Found = tuple[str, object, str]


def _water(spread: Spread) -> Iterator[Fault]:
    for field, depths in (
        ("current", [layer.depth_m for layer in spread.water.current]),
        ("profile", [point.depth_m for point in spread.water.profile]),
    ):
        if any(b <= a for a, b in pairwise(depths)):
            yield Fault("water", field, None, "depths must increase from one entry to the next")


def _keys(spread: Spread) -> Iterator[Fault]:
    seen: dict[str, str] = {}
    for number, rod in enumerate(spread.rod, 1):
        if rod.key in seen:
            free = " ".join(k for k in ROD_KEYS if k not in {r.key for r in spread.rod})
            yield Fault(
                rod_words(rod.key, rod.name, number), "key", rod.key,
                f"this key is already {seen[rod.key]}'s; every rod needs its own, free are {free}",
            )  # fmt: skip
        else:
            seen[rod.key] = rod.name


def _rod(spread: Spread, rod: Rod) -> Iterator[_Found]:
    if rod.tip is None and rod.clipped_to is None:
        yield "tip", None, 'is missing, for example tip = { astern = "1 ft", abeam = "7 ft", height = "5 ft" }'
    if rod.tip is not None and rod.side == "centre" and rod.tip.abeam_m > 0:
        yield "tip.abeam", None, "a rod at the centre has no side to be abeam of; leave it out or name the side"
    if rod.clearance_m is not None and rod.bottom is None:
        yield "clearance", None, 'is for a rod fished on the bottom; add bottom = "on purpose" or leave it out'
    if rod.rod_line is not None:
        if rod.rod_line.line not in spread.line:
            yield "rod_line.line", rod.rod_line.line, _unknown("line", rod.rod_line.line, spread.line)
        if not _has(spread, rod, Ball):
            yield "rod_line", None, "is the line to a downrigger's release, but there is no ball in the chain"
    yield from _clipped(spread, rod)
    yield from _lengths(rod)
    for number, item in enumerate(rod.chain, 1):
        if isinstance(item, LineItem):
            if item.line not in spread.line:
                yield f"chain item {number}, line", item.line, _unknown("line", item.line, spread.line)
        else:
            yield from _tackle_item(spread, rod, number, item)


def _unknown(kind: str, name: str, known: Iterable[str]) -> str:
    names = list(known)
    return f"no {kind} of that name{nearest(name, names)}; defined under [{kind}.…]: {listed(names)}"


def _has(spread: Spread, rod: Rod, kind: type) -> bool:
    return any(
        isinstance(item, TackleItem) and isinstance(spread.tackle.get(item.tackle), kind) for item in rod.chain
    )


def _clipped(spread: Spread, rod: Rod) -> Iterator[_Found]:
    clip = rod.clipped_to
    if clip is None:
        return
    other = spread.rod_by_key(clip.rod)
    if other is None or other is rod:
        keys = listed(r.key for r in spread.rod if r is not rod)
        yield "clipped_to.rod", clip.rod, f"no other rod has that key; accepted: {keys}"
    elif other.clipped_to is not None or not _has(spread, other, Ball):
        yield "clipped_to.rod", clip.rod, f"rod {clip.rod} ({other.name}) has no cable with a ball to be clipped to"
    else:
        cable = other.line_out_m
        if cable is not None and clip.above_ball_m >= cable:
            yield (
                "clipped_to.above_ball",
                None,
                f"reaches above rod {clip.rod}'s tip; it must be less than that rod's line out",
            )


def _lengths(rod: Rod) -> Iterator[_Found]:
    if not rod.chain:
        yield "chain", None, 'is empty; it starts with the line at the rod tip, { line = "…", out = "180 ft" }'
        return
    lines = [(n, item) for n, item in enumerate(rod.chain, 1) if isinstance(item, LineItem)]
    outs = [n for n, item in lines if item.out_m is not None]
    adjusts = [n for n, item in lines if item.adjust]
    yield from _line_outs(rod, outs)
    for n, item in lines:
        yield from _line_item(n, item)
    if len(adjusts) > 1:
        yield "chain", None, f"items {' and '.join(map(str, adjusts))} all have `adjust`; only one may"
    if outs and adjusts and adjusts[0] < outs[0]:
        yield f"chain item {adjusts[0]}, adjust", None, "is on a line that is still on the reel"


def _line_outs(rod: Rod, outs: list[int]) -> Iterator[_Found]:
    """Exactly one item must have `out`; none may where the rod is clipped to another's cable."""
    if rod.clipped_to is not None:
        if outs:
            yield (
                f"chain item {outs[0]}, out",
                None,
                "a rod clipped to another's cable has no line out of its own; write length",
            )
        if isinstance(rod.chain[0], TackleItem):
            yield "chain", None, "starts with tackle; a clipped rod's chain starts with its lead, a line"
    elif not outs:
        yield (
            "chain",
            None,
            'no item has `out`: the line at the rod tip needs it, for example { line = "…", out = "180 ft" }',
        )
    elif len(outs) > 1:
        yield (
            "chain",
            None,
            f"items {' and '.join(map(str, outs))} each have `out`; exactly one item may, the line at the rod tip",
        )


def _line_item(n: int, item: LineItem) -> Iterator[_Found]:
    """An item of line must have either `out` or `length`."""
    if item.out_m is not None and item.length_m is not None:
        yield (
            f"chain item {n}",
            None,
            "has both `out` and `length`; give `out` for the line at the rod tip, else `length`",
        )
    if item.out_m is None and item.length_m is None:
        yield f"chain item {n}, length", None, 'is missing, for example length = "8 ft"'
    if item.adjust and item.out_m is not None:
        yield f"chain item {n}, adjust", None, "marks a length besides `out`; keys always change `out`"


def _tackle_item(spread: Spread, rod: Rod, number: int, item: TackleItem) -> Iterator[_Found]:
    tackle = spread.tackle.get(item.tackle)
    field = f"chain item {number}, "
    if tackle is None:
        yield field + "tackle", item.tackle, _unknown("tackle", item.tackle, spread.tackle)
        return
    if isinstance(tackle, Diver):
        yield from ((field + "setting", given, reason) for given, reason in _setting(item, tackle))
    elif item.setting is not None:
        yield field + "setting", item.setting, f'"{item.tackle}" is {a(tackle.kind)}; only a diver has settings'
    if item.tripped and not isinstance(tackle, Diver):
        yield field + "tripped", None, f'"{item.tackle}" is {a(tackle.kind)}; only a diver trips'
    if not isinstance(tackle, Diver | Board):
        if item.side is not None:
            yield (
                field + "side",
                item.side,
                f'"{item.tackle}" is {a(tackle.kind)}; only a diver or a board pulls to a side',
            )
        return
    rolled = isinstance(tackle, Board) or tackle.settings.get(item.setting or "", 0.0) > 0
    pulls = item.side if item.side is not None else rod.side
    if rod.side == "centre":
        if rolled and pulls == "centre":
            yield (
                field + "side",
                item.side,
                'pulls to a side but the rod is at the centre; accepted: side = "port" or "starboard"',
            )
    elif item.side == "centre":
        yield field + "side", item.side, "accepted: port, starboard"
    elif pulls != rod.side and not (item.crossing or rod.crossing):
        yield (
            field + "side", item.side,
            f"the {tackle.kind} is set for the other side and would cross the stern and wrap lines; "
            f'accepted: side = "{rod.side}", or crossing = true where it is meant',
        )  # fmt: skip


def _setting(item: TackleItem, diver: Diver) -> Iterator[tuple[object, str]]:
    labels = list(diver.settings)
    if item.setting is None:
        if labels:
            yield None, f"is missing; accepted for {item.tackle}: {', '.join(labels)}"
    elif item.setting not in diver.settings:
        yield (
            item.setting,
            f"no such setting{nearest(item.setting, labels)}; accepted for {item.tackle}: {listed(labels)}",
        )
