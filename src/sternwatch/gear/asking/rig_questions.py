"""Questions about one rod's rig, by kind of rig, and the chain that the answers make."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from sternwatch.gear.asking.interview import Asking, Question
from sternwatch.gear.asking.line_questions import (
    Pieces,
    choice,
    label_of,
    leader_of,
    length_question,
    line_of,
    lure_of,
)
from sternwatch.gear.shelf.onto_rod import BOARD, Chain, show_length
from sternwatch.gear.values.units import Dimension, parse_quantity

RIGS: dict[str, str] = {  # the answer, and the rod's short name
    "a diver": "DIVER",
    "a downrigger": "DOWN",
    "lead-core": "LEAD",
    "copper": "COPPER",
    "an in-line weight": "WEIGHT",
    "a flat line": "FLAT",
}
_SETTINGS = {"straight": "0 deg", "low": "20 deg", "high": "45 deg"}
_OZ_KG = 0.028349523125
WHOLE, PART = "all of it, and backing behind it", "a part of it"


@dataclass(frozen=True, slots=True)
class RigAnswers:
    """What the answers for a rod make. ``chain`` is called with the line out."""

    kind: str  # diver, ball, weight; "" where only its line takes it down
    short_name: str
    chain: Callable[[str], Chain]
    what_out: str  # the word for what is let out: line, cable, backing, the heavy line itself
    out: str  # the usual length of it past the tip, offered as the default
    rod_line: str = ""
    cable_tip: dict[str, str] | None = None

    @property
    def behind_m(self) -> float:
        """Line between the end of what is let out and the lure [m]."""
        lengths = (str(item.get("length", "0 m")) for item in self.chain(self.out)[1:])
        return sum(parse_quantity(length, Dimension.LENGTH) for length in lengths)


def rig_of(asking: Asking, pieces: Pieces, n: str, rig: str, side: str) -> RigAnswers:
    """Ask for a rod's rig."""
    match rig:
        case "a diver":
            return _diver(asking, pieces, n, side)
        case "a downrigger":
            return _downrigger(asking, pieces, n, side)
        case "lead-core" | "copper":
            return _heavy_line(asking, pieces, n, rig, side)
        case "an in-line weight":
            return _weight(asking, pieces, n, side)
    line = line_of(asking, pieces, f"{n}.line", "What line is on the reel?", ("mono", "braid", "fluoro"), 20)
    items = leader_of(asking, pieces, n, ("6", "2"))
    return _maybe_board(asking, pieces, n, side, "", "FLAT", line, items, pieces.length("120", "40"))


def _maybe_board(
    asking: Asking, pieces: Pieces, n: str, side: str, kind: str, short_name: str, line: str, items: Chain, out: str
) -> RigAnswers:
    """Ask whether a board carries the rig; if so, it hangs behind the board on a length of the same line."""
    says = "A board that planes on the surface and carries the line outward."
    if asking.ask(choice(f"{n}.board", "Is it behind a side board?", says, ("no", "yes"))) == "no":
        return RigAnswers(kind, short_name, lambda o: [{"line": line, "out": o}, *items], "line", out)
    says = "From the board back to what it carries."
    lead = asking.ask(length_question(
        f"{n}.board lead", "How much line is behind the board?", says, pieces, pieces.length("20", "6"), low=0.3
    ))  # fmt: skip
    board: dict[str, Any] = {"tackle": pieces.from_shelf(BOARD)}
    if side == "centre":
        says = "It pulls to one side."
        board["side"] = asking.ask(choice(f"{n}.board side", "To which side?", says, ("port", "starboard")))
    carried = {"line": line, "length": lead}
    return RigAnswers(
        kind, "BOARD", lambda o: [{"line": line, "out": o}, board, carried, *items], "line", pieces.length("60", "20")
    )


def _diver(asking: Asking, pieces: Pieces, n: str, side: str) -> RigAnswers:
    line = line_of(asking, pieces, f"{n}.line", "What line is on the reel?", ("wire", "braid", "mono"), 30)
    says = "Measure straight across the disc with a ruler."
    across = asking.ask(Question(
        f"{n}.disc", "How wide is the disc?", says, "quantity", Dimension.LENGTH, "mm" if pieces.metric else "in",
        low=0.04, high=0.3, default="120 mm" if pieces.metric else "4.7 in",
    ))  # fmt: skip
    says = "A ring clipped around the disc makes it larger."
    ring = asking.ask(choice(f"{n}.ring", "Is there a ring around it?", says, ("no", "yes"))) == "yes"
    table: dict[str, Any] = {"kind": "diver", "diameter": across, **({"ring": True} if ring else {})}
    table |= {"settings": dict(_SETTINGS), "note": "angles of the settings typical, from memory"}
    disc = pieces.put_tackle(f"disc {across}{', ring' if ring else ''}", table)
    says = "Straight astern; low: steep and near the boat; high: shallow and far out. Labels can be changed later."
    labels = tuple(_SETTINGS) if side != "centre" else ("straight",)
    setting = asking.ask(
        choice(f"{n}.setting", "How is it set? Its own marks", says, labels, labels[min(1, len(labels) - 1)])
    )
    says = "An elastic link behind the diver that softens strikes."
    snubber = asking.ask(choice(f"{n}.snubber", "Is there a snubber behind it?", says, ("no", "yes"))) == "yes"
    items: Chain = [{"tackle": disc, "setting": setting}]
    if snubber:
        items.append({"tackle": pieces.from_shelf("snubber")})
    items += leader_of(asking, pieces, n, ("7", "2"))
    short_name = {"low": "LOW", "high": "HIGH"}.get(setting, "DIVER")
    return _maybe_board(asking, pieces, n, side, "diver", short_name, line, items, pieces.length("150", "45"))


def _downrigger(asking: Asking, pieces: Pieces, n: str, side: str) -> RigAnswers:
    cable = line_of(asking, pieces, f"{n}.cable", "What is its cable?", ("cable", "braid"), 150)
    unit = "kg" if pieces.metric else "lb"
    mass = asking.ask(Question(
        f"{n}.ball", "How heavy is the ball?", "As stamped on it.", "quantity", Dimension.MASS, unit,
        low=0.5, high=30.0, default="4.5 kg" if pieces.metric else "10 lb",
    ))  # fmt: skip
    ball = pieces.put_tackle(f"ball {mass}", {"kind": "ball", "mass": mass})
    line = line_of(asking, pieces, f"{n}.line", "What line is on the rod?", ("mono", "braid", "fluoro"), 20)
    says = "From the release back."
    lead = asking.ask(length_question(
        f"{n}.lead", "How far behind the ball is the lure?", says, pieces, pieces.length("25", "8")
    ))  # fmt: skip
    lure = lure_of(asking, pieces, n)
    # Every ball on a side has its own pulley.
    beside = sum(
        asking.answers.get(f"{k}.side") == side and asking.answers.get(f"{k}.rig") == "a downrigger"
        for k in range(1, int(n))
    )
    says = "Where the cable leaves the pulley at the boom's end: aft of the transom; ahead of it with a minus."
    astern = asking.ask(length_question(
        f"{n}.pulley astern", "How far aft of the transom is the pulley?", says, pieces,
        pieces.length(f"{2 - 1.5 * beside:g}", f"{0.6 - 0.5 * beside:g}"),
        low=-10.0, high=10.0,
    ))  # fmt: skip
    tip = {"astern": astern}
    if side != "centre":
        says = "From the boat's middle out to the pulley."
        tip["abeam"] = asking.ask(length_question(
            f"{n}.pulley abeam", "How far from the middle?", says, pieces, pieces.length("3", "1"), high=10.0
        ))  # fmt: skip
    tip["height"] = asking.ask(length_question(
        f"{n}.pulley up", "How high above the water?", "The pulley.", pieces, pieces.length("3", "1"), high=6.0
    ))  # fmt: skip

    def chain(out: str) -> Chain:
        return [
            {"line": cable, "out": out},
            {"tackle": ball},
            {"line": line, "length": lead, "adjust": True},
            {"tackle": lure},
        ]

    return RigAnswers("ball", RIGS["a downrigger"], chain, "cable", pieces.length("50", "15"), line, tip)


def _heavy_line(asking: Asking, pieces: Pieces, n: str, kind: str, side: str) -> RigAnswers:
    before = tuple(name for name, own in pieces.kind_of_line.items() if own == kind)
    heavy = ""
    if before:
        says = "One that you have described already, or another."
        heavy = asking.ask(choice(f"{n}.heavy", f"Which {kind}?", says, (*before, "another")))
    if heavy in ("", "another"):
        heavy = label_of(asking, pieces, f"{n}.heavy", kind, 45)
    if kind == "lead-core":
        # Ten yards a colour, and seven of them out: common practice, no source.
        says = "Its colour changes every ten yards; count those that are out."
        colours = asking.ask(Question(
            f"{n}.colours", "How many colours are out?", says, "number", low=0.5, high=30.0, default="7"
        ))  # fmt: skip
        length = f"{colours} colours"
    else:
        says = "All of it that is in the water."
        length = asking.ask(length_question(
            f"{n}.copper length", "How long is the copper?", says, pieces, pieces.length("250", "75"), low=5.0
        ))  # fmt: skip
    says = "If the whole spool is let out, there is backing behind it; of a longer one, part stays on the reel."
    if asking.ask(choice(f"{n}.whole", f"Is the whole {kind} out?", says, (WHOLE, PART))) == PART:
        behind = leader_of(asking, pieces, n, ("20", "6"))
        out = show_length(parse_quantity(length, Dimension.LENGTH), pieces.units)
        return RigAnswers("", RIGS[kind], lambda o: [{"line": heavy, "out": o}, *behind], kind, out)
    backing = line_of(asking, pieces, f"{n}.line", "What is the backing?", ("braid", "mono"), 30)
    items: Chain = [{"line": heavy, "length": length}, *leader_of(asking, pieces, n, ("20", "6"))]
    made = _maybe_board(asking, pieces, n, side, "", RIGS[kind], backing, items, pieces.length("50", "15"))
    return made if made.short_name == "BOARD" else replace(made, what_out="backing")


def _weight(asking: Asking, pieces: Pieces, n: str, side: str) -> RigAnswers:
    line = line_of(asking, pieces, f"{n}.line", "What line is on the reel?", ("mono", "braid", "fluoro", "wire"), 20)
    unit, usual = ("g", "230 g") if pieces.metric else ("oz", "8 oz")
    mass = asking.ask(Question(
        f"{n}.weight", "How heavy is the weight?", "As stamped on it.", "quantity", Dimension.MASS, unit,
        low=0.5 * _OZ_KG, high=200 * _OZ_KG, default=usual,
    ))  # fmt: skip
    weight = pieces.put_tackle(f"weight {mass}", {"kind": "weight", "mass": mass})
    items: Chain = [{"tackle": weight}, *leader_of(asking, pieces, n, ("6", "2"))]
    word = RIGS["an in-line weight"]
    return _maybe_board(asking, pieces, n, side, "weight", word, line, items, pieces.length("120", "40"))
