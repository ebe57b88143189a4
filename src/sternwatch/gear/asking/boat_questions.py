"""Sets up a boat from questions that a crew can answer in the boat, without having measured anything.

The answers make a spread file. Its comments and ranges say what was typed, what is typical and from memory, and what
was weighed. What the crew already knows of its depths becomes observations (``[[known]]``).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

from sternwatch.gear.asking.holders import BUTT_M, LAYS, Lay, tip_of
from sternwatch.gear.asking.interview import Asking, Question
from sternwatch.gear.asking.line_questions import Pieces, choice, length_question
from sternwatch.gear.asking.rig_questions import RIGS, RigAnswers, rig_of
from sternwatch.gear.editing.edits import free_name, mirrored
from sternwatch.gear.shelf.onto_rod import show_length
from sternwatch.gear.shelf.pieces import Shelf
from sternwatch.gear.spread_file.models import ROD_KEYS
from sternwatch.gear.values.toml_text import spread_text
from sternwatch.gear.values.units import FOOT_M, Dimension, DisplaySystem, parse_quantity

HEAD = """Made from questions answered in the boat. Whatever is "typical, from memory" carries a wide interval;
[prior."…"] says how wide. Measure, weigh, or enter what touched bottom, and the intervals narrow."""
MIRROR, MORE, DONE = "the same rod on the other side", "another rod", "that is all"
PASSES = "I count passes"
ZEROS = {
    "at the rod tip": "tip",
    "at the water": "water",
    "with the lure at the water": "lure at water",
    PASSES: "tip",
}
NOTHING, TICKS, SOUNDER, LOGGER = "nothing yet", "it touches bottom", "seen on the sounder", "its lure, by a logger"
TAPED = ("not yet", "yes, it reads true", "yes, it is off")
_TROLLING = {"us": 2.3, "metric": 3.7, "knots": 2.0}  # defaults, in the system's unit: common practice, no source
_COUNTED = {"low": 0.9, "high": 1.1, "source": "passes counted, the spool's fill unknown: memory"}


@dataclass
class Rods:
    """The rods described so far. They get their keys at the end, in order across the stern."""

    tables: list[dict[str, Any]] = field(default_factory=list)
    comments: dict[str, str] = field(default_factory=dict)  # by the rod's name
    known: list[dict[str, Any]] = field(default_factory=list)  # the rod's name stands where its key will
    passes: set[str] = field(default_factory=set)  # names of rods whose crew counts passes


def script(units: DisplaySystem, shelf: Shelf) -> Callable[[Asking], str]:
    """The questions as a script that makes the text of a spread file."""

    def ask(asking: Asking) -> str:
        pieces = Pieces(units, shelf)
        boat = boat_of(asking, pieces)
        rods = Rods()
        n = 0
        more = MORE
        while more == MORE and len(rods.tables) < len(ROD_KEYS):
            n += 1
            ask_rod(asking, pieces, rods, str(n), boat)
            more = _more(asking, rods, str(n))
        return text_of(boat, pieces, rods)

    return ask


def boat_of(asking: Asking, pieces: Pieces) -> dict[str, str]:
    """Ask about the boat; returns her table for the file."""
    name = asking.ask(
        Question(
            "boat",
            "What is the boat called?",
            "It stands at the top of your trips and files. Any name will do.",
            default="my boat",
        )
    )
    says = "Gunwale to gunwale at the stern. You can measure it with a rod."
    beam = asking.ask(length_question("beam", "How wide is she at the stern?", says, pieces, low=1.0, high=10.0))
    says = "Through the water, when the fish bite. Depths are shown for this speed until the feed tells another."
    speed = asking.ask(Question(
        "speed", "At what speed do you troll?", says, "quantity", Dimension.SPEED, pieces.units.speed,
        low=0.2, high=5.0, default=f"{_TROLLING.get(pieces.units.name, 2.0)} {pieces.units.speed}",
    ))  # fmt: skip
    return {"name": name, "beam": beam, "trolling_speed": speed}


def _more(asking: Asking, rods: Rods, n: str) -> str:
    last = rods.tables[-1]
    room = len(rods.tables) < len(ROD_KEYS)
    if not room:
        return DONE
    ways = (MIRROR, MORE, DONE) if last["side"] != "centre" else (MORE, DONE)
    says = f"{len(rods.tables)} so far. What differs on the other side can be changed in the editor."
    given = asking.ask(replace(choice(f"{n}.more", "What next?", says, ways), likely=DONE if int(n) > 2 else ways[0]))
    if given != MIRROR:
        return given
    mirror(rods, len(rods.tables) - 1)
    if len(rods.tables) == len(ROD_KEYS):
        return DONE
    says = f"{len(rods.tables)} so far."
    return asking.ask(replace(choice(f"{n}.more still", "What next?", says, (MORE, DONE)), likely=DONE))


def mirror(rods: Rods, at: int) -> None:
    """Add a copy of one rod of the list on the other side."""
    last = rods.tables[at]
    other = mirrored({"rod": rods.tables}, at)
    rods.comments[other["name"]] = f"as {last['name']}, on the other side"
    if last["name"] in rods.passes:
        rods.passes.add(other["name"])
    rods.tables.append(other)


def ask_rod(asking: Asking, pieces: Pieces, rods: Rods, n: str, boat: dict[str, str]) -> None:
    """Ask everything about one rod; ``n`` begins the ids of its questions."""
    beam_m, speed = parse_quantity(boat["beam"], Dimension.LENGTH), boat["trolling_speed"]
    number = f"Rod number {len(rods.tables) + 1}. "
    sides = ("port", "starboard", "centre")
    side = asking.ask(choice(f"{n}.side", f"{number}Which side?", "Looking forward, port is left.", sides))
    tip, comment = _tip(asking, pieces, n, side, beam_m)
    says = "What takes the lure down. A board, if one carries it to the side, comes next."
    rig = asking.ask(choice(f"{n}.rig", "What is on it?", says, tuple(RIGS)))
    made = rig_of(asking, pieces, n, rig, side)
    prefix = {"port": "P ", "starboard": "S "}.get(side, "")
    wanted = free_name({"rod": rods.tables}, prefix + made.short_name)
    says = "A short name to call out, at most eight letters. Enter takes this one."
    name = asking.ask(Question(f"{n}.name", "What do you call this rod?", says, default=wanted, longest=8))
    if any(rod["name"] == name for rod in rods.tables):
        asking.reopen(f"{n}.name", f"{name} is another rod's name already")
    rod: dict[str, Any] = {"key": "1", "name": name, "side": side, "tip": tip}
    if made.rod_line:
        rod["rod_line"] = {"line": made.rod_line, "tip": tip}
        rod["tip"] = made.cable_tip
    counter, out, comment_out = _counter(asking, pieces, n, made)
    if counter:
        rod["counter"] = counter
    if "per_pass" in counter:
        rods.passes.add(name)
    rod["rod_length"] = asking.answers[f"{n}.rod length"]
    rod["chain"] = made.chain(out)
    rods.tables.append(rod)
    rods.comments[name] = "\n".join(line for line in (comment, comment_out) if line)
    ask_known(asking, pieces, rods, n, name, speed, out, made.kind)


def _tip(asking: Asking, pieces: Pieces, n: str, side: str, beam_m: float) -> tuple[dict[str, str], str]:
    """The rod tip, from questions about the holder: nobody knows tip coordinates, but everybody sees the holder."""

    def number(text: str) -> float:
        return parse_quantity(text, Dimension.LENGTH)

    before = "" if n == "1" else str(int(n) - 1)

    def usual(what: str, otherwise: str) -> str:
        """The answer given for the rod before, as the default."""
        return asking.answers.get(f"{before}.{what}") or otherwise

    def length(what: str, asks: str, says: str, default: tuple[str, str], **more: Any) -> str:
        there = usual(what, pieces.length(*default))
        return asking.ask(length_question(f"{n}.{what}", asks, says, pieces, there, **more))

    says = "From the transom forward to the holder; 0 if it is on the transom."
    ahead_default = _next_holder(asking, pieces, n, side)
    ahead = asking.ask(length_question(
        f"{n}.ahead", "How far ahead of the transom is its holder?", says, pieces, ahead_default, high=20.0
    ))  # fmt: skip
    inside = "0 ft"
    if side != "centre":
        says = "From the outer edge of the gunwale in to the holder; 0 if it is on the gunwale."
        inside = length("inside", "How far in from the gunwale?", says, ("0", "0"), high=beam_m / 2)
    says = "From the water up to the holder, with the boat at rest."
    up = length("up", "How high above the water is its holder?", says, ("3", "1"), high=6.0)
    says = "Butt to tip."
    rod = length(
        "rod length",
        "How long is the rod?",
        says,
        ("8.5", "2.6"),
        low=BUTT_M + 0.3,
        high=8,
    )
    lays = tuple(LAYS) if side != "centre" else ("flat, straight aft", "upright")
    laid = usual("lay", lays[0])
    says = "As it stands in its holder, fishing. The tip's place is computed from it."
    lay: Lay = asking.ask(choice(f"{n}.lay", "Laid flat or upright?", says, lays, laid if laid in lays else lays[0]))  # type: ignore[assignment]
    place = tip_of(
        number(ahead), beam_m / 2 - number(inside), number(up), number(rod), lay, centre=side == "centre"
    )  # fmt: skip

    def show(value_m: float) -> str:
        return show_length(round(value_m / FOOT_M * 4) / 4 * FOOT_M if not pieces.metric else value_m, pieces.units)

    tip = {"astern": show(place.astern_m), "abeam": show(place.abeam_m), "height": show(place.height_m)}
    if side == "centre":
        del tip["abeam"]
    comment = f"tip computed: holder {ahead} ahead of the transom, {inside} inside, {up} up; {rod} rod, {lay}"
    return tip, comment


def _next_holder(asking: Asking, pieces: Pieces, n: str, side: str) -> str:
    """The default for a holder: a foot and a half ahead of the foremost one on that side so far."""
    told = [
        parse_quantity(asking.answers[f"{k}.ahead"], Dimension.LENGTH)
        for k in range(1, int(n))
        if asking.answers.get(f"{k}.side") == side and f"{k}.ahead" in asking.answers
    ]
    if not told:
        return pieces.length("1", "0.3")
    unit_m = 1.0 if pieces.metric else FOOT_M
    return pieces.length(f"{max(told) / unit_m + 1.5:.3g}", f"{max(told) / unit_m + 0.5:.3g}")


def _counter(asking: Asking, pieces: Pieces, n: str, made: RigAnswers) -> tuple[dict[str, Any], str, str]:
    """How the crew measures line out: the counter, the usual reading, a comment."""
    counted = "cable" if made.what_out == "cable" else "line"
    says = "Where the end of the line was when the counter read zero; or there is no counter."
    # No lure hangs below a downrigger's cable: another counter on board may be zeroed by one, this one is not.
    zeros = tuple(zero for zero, at in ZEROS.items() if counted == "line" or at != "lure at water")
    zero = asking.ask(choice(f"{n}.zero", f"How is the {counted}'s counter zeroed?", says, zeros))
    to_board = " to the board" if made.short_name == "BOARD" else ""
    if zero != PASSES:
        says, out = "As the counter reads, on a usual day.", made.out
        if ZEROS[zero] == "lure at water":
            says += " It counts all that goes out after the lure."
            out = show_length(parse_quantity(out, Dimension.LENGTH) + made.behind_m, pieces.units)
        elif to_board or made.what_out == "backing":
            says += f" What goes out before the {'board' if to_board else 'backing'} does not count."
        usual = asking.ask(length_question(
            f"{n}.out", f"How much {made.what_out} do you usually let out{to_board}?", says, pieces, out,
            low=0.5, high=1500.0,
        ))  # fmt: skip
        table = {} if zero == "at the rod tip" else {"zero": ZEROS[zero]}
        return {**table, **ask_taped(asking, n, counted)}, usual, ""
    says = "Pull off one pass (from one side of the spool to the other) and measure it."
    per = asking.ask(length_question(
        f"{n}.per pass", "How much line does one pass lay on?", says, pieces, pieces.length("10", "3"),
        low=0.3, high=50.0,
    ))  # fmt: skip
    says = "On a usual day."  # the defaults of 10 ft a pass and 15 passes: memory
    count = asking.ask(Question(
        f"{n}.passes", f"How many passes do you usually let out{to_board}?", says, "number",
        low=0.5, high=500.0, default="15",
    ))  # fmt: skip
    length = show_length(float(count) * parse_quantity(per, Dimension.LENGTH), pieces.units)
    return {"per_pass": per}, length, f"{count} passes of {per}"


def ask_taped(asking: Asking, n: str, what: str) -> dict[str, Any]:
    """Ask whether the counter was checked against a tape, and with what result."""
    says = (
        "A counter may be off by a tenth, since it does not know how full the spool is. Pull off 100 and lay a "
        "tape beside it."
    )
    found = asking.ask(choice(f"{n}.taped", f"Was the {what}'s counter checked against a tape?", says, TAPED))
    if found == TAPED[0]:
        return {}
    if found == TAPED[1]:
        return {"taped": True}
    says = "In the counter's own unit."
    tape = asking.ask(Question(
        f"{n}.tape", "What did the tape say when the counter read 100?", says, "number", low=60.0, high=160.0,
        default="95",
    ))  # fmt: skip
    return {"taped": True, "scale": round(float(tape) / 100.0, 4)}


def ask_known(asking: Asking, pieces: Pieces, rods: Rods, n: str, name: str, speed: str, out: str, kind: str) -> None:
    """Ask what the crew already knows of the rod's depth."""
    says = "For example “it ticks bottom in 75 ft at 2.3”. It is kept as an observation and narrows the intervals."
    ways = (NOTHING, TICKS, SOUNDER, LOGGER) if kind in ("diver", "ball", "weight") else (NOTHING, TICKS, LOGGER)
    given = asking.ask(choice(f"{n}.known", f"What do you know of {name}'s depth?", says, ways))
    if given == NOTHING:
        return
    depth = asking.ask(length_question(
        f"{n}.known depth", "At what depth?", "Of the bottom, or of what was seen.", pieces, low=0.5, high=300.0
    ))  # fmt: skip
    says = "Through the water, as near as you know."
    at = asking.ask(Question(
        f"{n}.known speed", "At what speed?", says, "quantity", Dimension.SPEED, pieces.units.speed,
        low=0.2, high=5.0, default=speed,
    ))  # fmt: skip
    says = "As the counter read then."
    length = asking.ask(length_question(
        f"{n}.known out", "With how much line out?", says, pieces, out, low=0.5, high=1500.0
    ))  # fmt: skip
    entry = {"rod": name, "depth": depth, "speed": at, "out": length}
    if given == SOUNDER:
        entry["at"] = "ball" if kind == "ball" else "device"
    elif given == LOGGER:
        entry["at"] = "lure"
    rods.known.append(entry | {"note": f"said when setting up: {given}"})


def text_of(boat: dict[str, str], pieces: Pieces, rods: Rods) -> str:
    """The text of the file, with keys from port to starboard and each rod's observations under its key."""
    order = sorted(rods.tables, key=_abeam)
    keys = {rod["name"]: key for rod, key in zip(order, ROD_KEYS, strict=False)}
    tables: dict[str, Any] = {"boat": boat, "line": pieces.line, "tackle": pieces.tackle}
    tables["rod"] = [{**rod, "key": keys[rod["name"]]} for rod in order]
    prior = dict(pieces.prior)
    for name in rods.passes:
        prior[f"rod {keys[name]} counter"] = _COUNTED
    if prior:
        tables["prior"] = prior
    if rods.known:
        tables["known"] = [{**entry, "rod": keys[entry["rod"]]} for entry in rods.known]
    comments = {f"rod.{keys[name]}": comment for name, comment in rods.comments.items()}
    return spread_text(tables, comments, HEAD)


def _abeam(rod: dict[str, Any]) -> float:
    tip = rod["rod_line"]["tip"] if "rod_line" in rod else rod["tip"]
    sign = {"port": -1.0, "starboard": 1.0}.get(rod["side"], 0.0)
    return sign * parse_quantity(tip.get("abeam", "0 ft"), Dimension.LENGTH)
