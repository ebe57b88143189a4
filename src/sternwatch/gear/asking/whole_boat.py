"""Sets up the whole boat in some twenty questions: rods on each side, their rigs, lines and discs by their labels.

All else is typical, and the file says that it is assumed. At the end the crew may go on with only the questions that
narrow depths most. Assumed holders, leaders, lures and rigs that stand together: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sternwatch.gear.asking import boat_questions as full
from sternwatch.gear.asking.assuming import Assuming
from sternwatch.gear.asking.interview import Asking
from sternwatch.gear.asking.line_questions import Pieces, choice
from sternwatch.gear.asking.rig_questions import WHOLE
from sternwatch.gear.shelf.pieces import Shelf
from sternwatch.gear.spread_file.models import ROD_KEYS
from sternwatch.gear.values.units import DisplaySystem

MOST_A_SIDE, MOST_CENTRE = 6, 3
SAME, OTHERS = "the same, mirrored", "different ones"
WRITE, NARROW = "that is all", "go on: what narrows depths most"
OF_ITS_OWN = ("colours", "copper length", "whole")  # asked again where a rig stands behind a board and without one
OUTS_UP_TO = 4  # with more kinds of rig than this, the usual line out is not asked


@dataclass(frozen=True, slots=True)
class Way:
    """A rig to choose: its name in the long questions, the answers that follow, and what to ask for the first one."""

    rig: str
    label: str  # in the drawing
    fixed: Mapping[str, str]
    asked: tuple[str, ...]


_DISC = ("line.kind", "line.test", "disc")
_FLY = {"lure": "a fly", "attractor": "paddle 8 in", "board": "no"}
_SPOON = {"lure": "a spoon", "board": "no"}
_BOARD = {"lure": "a spoon", "board": "yes", "whole": WHOLE}
WAYS: dict[str, Way] = {
    "a low diver": Way("a diver", "LOW", {**_FLY, "setting": "low"}, _DISC),
    "a high diver": Way("a diver", "HIGH", {**_FLY, "setting": "high"}, _DISC),
    "a diver straight astern": Way("a diver", "CHUTE", {**_FLY, "setting": "straight"}, _DISC),
    "a downrigger": Way("a downrigger", "DOWN", _SPOON, ("ball",)),
    "lead-core behind a board": Way("lead-core", "BOARD", _BOARD, ("heavy.grade", "colours")),
    "lead-core": Way("lead-core", "LEAD", _SPOON, ("heavy.grade", "colours", "whole")),
    "copper behind a board": Way("copper", "BOARD", _BOARD, ("heavy.grade", "copper length")),
    "copper": Way("copper", "COPPER", _SPOON, ("heavy.grade", "copper length", "whole")),
    "a flat line behind a board": Way("a flat line", "BOARD", _BOARD, ("line.kind",)),
    "a flat line": Way("a flat line", "FLAT", _SPOON, ("line.kind",)),
    "an in-line weight": Way("an in-line weight", "WEIGHT", _SPOON, ("weight",)),
}
CENTRE = tuple(name for name in WAYS if "board" not in name and name not in ("a low diver", "a high diver"))
SIDES = tuple(name for name in WAYS if name != "a diver straight astern")


@dataclass(frozen=True, slots=True)
class Place:
    """A rod's place: ``n`` begins its ids; it is number ``at`` (0: foremost) of the ``of`` rods on ``side``."""

    n: str
    side: str
    at: int
    of: int


def places_of(answers: Mapping[str, str]) -> list[Place]:
    """The places to ask about, in the order of the questions, as far as the answers tell."""
    sides = ("port", "centre") if _mirrored(answers) else ("port", "starboard", "centre")
    places: list[Place] = []
    for side in sides:
        count = int(answers.get(f"how many {side}", "0"))
        places += [Place(str(len(places) + k + 1), side, k, count) for k in range(count)]
    return places


def sketch(answers: Mapping[str, str]) -> dict[str, list[str]]:
    """The labels of the rigs on each side, from the foremost to the transom; "" for a rod not described yet."""
    drawn: dict[str, list[str]] = {"port": [], "starboard": [], "centre": []}
    for place in places_of(answers):
        way = WAYS.get(answers.get(f"{place.n}.way", ""))
        drawn[place.side].append("" if way is None else way.label)
    if _mirrored(answers):
        drawn["starboard"] = list(drawn["port"])
    return drawn


def script(units: DisplaySystem, shelf: Shelf) -> Callable[[Asking], str]:
    """The questions as a script that makes the text of a spread file."""

    def ask(asking: Asking) -> str:
        pieces = Pieces(units, shelf)
        boat = full.boat_of(asking, pieces)
        _how_many(asking)
        says = "Where the end of the line was when the counter read zero; or there are no counters."
        zero = asking.ask(choice("zero", "How are your counters zeroed?", says, tuple(full.ZEROS)))
        places = places_of(asking.answers)
        ways = [_way(asking, place) for place in places]
        making = _Making(asking, pieces, boat, zero, outs=len(set(ways)) <= OUTS_UP_TO)
        for place, way in zip(places, ways, strict=True):
            making.rod(place, way)
        if _mirrored(asking.answers):
            for at in range(sum(place.side == "port" for place in places)):
                full.mirror(making.rods, at)
        says = (
            f"{len(making.rods.tables)} rods. What was assumed can be changed in the editor. Going on asks of every "
            "rod whether its counter is right, and what you know of its depth: that narrows depths most."
        )
        if asking.ask(choice("end", "Is that all?", says, (WRITE, NARROW))) == NARROW:
            making.narrow()
        return full.text_of(boat, pieces, making.rods)

    return ask


def _mirrored(answers: Mapping[str, str]) -> bool:
    return answers.get("how many port", "0") != "0" and answers.get("same") == SAME


def _how_many(asking: Asking) -> None:
    def count(id: str, asks: str, says: str, most: int, default: int, least: int = 0) -> int:
        choices = tuple(str(n) for n in range(least, most + 1))
        return int(asking.ask(choice(id, asks, says, choices, str(default))))

    says = "Port is left, looking forward."
    port = starboard = count("how many port", "How many rods stand on the port side?", says, MOST_A_SIDE, 3)
    says = (
        "If the rigs and their order are the same, you answer half as many questions. You can change any rig later."
    )
    if not port or asking.ask(choice("same", "And on the starboard side?", says, (SAME, OTHERS))) == OTHERS:
        starboard = count("how many starboard", "How many on the starboard side?", "On the right.", MOST_A_SIDE, port)
    room = min(len(ROD_KEYS) - port - starboard, MOST_CENTRE)
    if room > 0:
        least = 0 if port + starboard else 1
        says = "Straight astern, down the middle: the chute."
        count("how many centre", "How many stand in the middle?", says, room, least, least)


def _way(asking: Asking, place: Place) -> str:
    says = "What takes the lure down. The picture shows it from the side."
    if place.side == "centre":
        return asking.ask(choice(f"{place.n}.way", "What is on the rod in the middle?", says, CENTRE))
    where = "the foremost rod" if place.at == 0 else "the next rod"
    if 0 < place.at == place.of - 1:
        where = "the rod at the transom"
    if place.of == 1:
        where = "the one"
    usual = {0: "lead-core behind a board", place.of - 1: "a downrigger", place.of - 2: "a low diver"}
    default = usual.get(place.at, "a high diver") if place.of > 1 else "a low diver"
    asks = f"What is on {where} to {place.side}? ({place.at + 1} of {place.of})"
    return asking.ask(choice(f"{place.n}.way", asks, says, SIDES, default))


class _Making:
    """The rods made so far from answers and assumptions."""

    def __init__(self, asking: Asking, pieces: Pieces, boat: dict[str, str], zero: str, *, outs: bool) -> None:
        self.rods = full.Rods()
        self._asking, self._pieces, self._boat, self._zero, self._outs = asking, pieces, boat, zero, outs
        self._of_rig: dict[str, dict[str, str]] = {}  # answers for the first rod of each rig
        self._of_way: dict[str, dict[str, str]] = {}
        self._made: list[tuple[Place, str]] = []

    def rod(self, place: Place, name: str) -> None:
        way, n = WAYS[name], place.n
        rig = self._of_rig.get(way.rig)
        counted = ["per pass", "passes"] if self._zero == full.PASSES else ["out"]
        asked: list[str] = [] if rig else [what for what in way.asked if what not in OF_ITS_OWN]
        own = [what for what in way.asked if what in OF_ITS_OWN]
        if name not in self._of_way:
            asked += [*own, *(counted if self._outs else [])]
        known = {
            "side": place.side, "rig": way.rig, "zero": self._zero, "known": full.NOTHING, **way.fixed,
            **_holder(place, self._pieces), **(rig or {}), **self._of_way.get(name, {}),
        }  # fmt: skip
        if rig:  # use the lines of the first rod of this rig
            known |= self._lines_as(way.rig)
        subject = f"{name[0].upper()}{name[1:]}"
        one = Assuming(self._asking, subject, asked, {f"{n}.{what}": answer for what, answer in known.items()})
        full.ask_rod(one, self._pieces, self.rods, n, self._boat)
        rod = self.rods.tables[-1]
        self.rods.comments[rod["name"]] += f"\n{one.words()}"
        said = self._asking.answers
        shared = [what for what in way.asked if what not in OF_ITS_OWN]
        self._of_rig.setdefault(way.rig, {what: said[f"{n}.{what}"] for what in shared if f"{n}.{what}" in said})
        mine = (*own, *counted)
        self._of_way.setdefault(name, {what: said[f"{n}.{what}"] for what in mine if f"{n}.{what}" in said})
        self._made.append((place, name))

    def _lines_as(self, rig: str) -> dict[str, str]:
        """The names of the lines of the first rod with this rig."""
        at = next(k for k, (_, name) in enumerate(self._made) if WAYS[name].rig == rig)
        first = self.rods.tables[at]
        if "rod_line" in first:
            return {"cable": first["chain"][0]["line"], "line": first["rod_line"]["line"]}
        line = first["chain"][0]["line"]
        return {"heavy" if self._pieces.kind_of_line.get(line) == rig else "line": line}

    def narrow(self) -> None:
        """Ask about every rod what narrows its depth most."""
        for (place, name), rod in zip(self._made, list(self.rods.tables), strict=False):
            what = "cable" if WAYS[name].rig == "a downrigger" else "line"
            if self._zero != full.PASSES:
                found = full.ask_taped(self._asking, place.n, f"{rod['name']}: {what}")
                if found:
                    rod["counter"] = {**rod.get("counter", {}), **found}
            out = next(item["out"] for item in rod["chain"] if "out" in item)
            kind = {"a diver": "diver", "a downrigger": "ball", "an in-line weight": "weight"}.get(WAYS[name].rig, "")
            speed = self._boat["trolling_speed"]
            full.ask_known(self._asking, self._pieces, self.rods, place.n, rod["name"], speed, out, kind)


def _holder(place: Place, pieces: Pieces) -> dict[str, str]:
    """The assumed place of a rod's holder: no two alike, and rods further forward point further out."""
    behind = place.of - 1 - place.at
    where = {
        "ahead": pieces.length(f"{1 + 1.5 * behind:g}", f"{0.3 + 0.5 * behind:g}"),
        "inside": pieces.length(f"{0.25 * place.at:g}", f"{0.08 * place.at:g}"),
        "lay": "flat, halfway aft",
        "pulley astern": pieces.length(f"{2 - 1.5 * behind:g}", f"{0.6 - 0.5 * behind:g}"),
    }
    if place.side == "centre":
        return {**where, "inside": "0 ft", "lay": "flat, straight aft"}
    if behind == 0 and place.of > 1:
        where["lay"] = "flat, straight aft"
    elif place.at == 0:
        where["lay"] = "flat, out to the side"
    return where
