"""Questions about lines and lures, and the tables that the answers make."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from sternwatch.gear.asking.interview import Asking, Question
from sternwatch.gear.asking.labels import GRADES, SCALE_KG, Labelled, line_from_label
from sternwatch.gear.shelf.pieces import Shelf
from sternwatch.gear.values.units import POUND_KG, Dimension, DisplaySystem, parse_quantity

ANOTHER = "another line"
FORMS = ("fly", "spoon", "plug", "lipped plug")


@dataclass
class Pieces:
    """All described so far except the rods: the other tables of a spread."""

    units: DisplaySystem
    shelf: Shelf
    line: dict[str, dict[str, Any]] = field(default_factory=dict)
    tackle: dict[str, dict[str, Any]] = field(default_factory=dict)
    prior: dict[str, dict[str, Any]] = field(default_factory=dict)
    kind_of_line: dict[str, str] = field(default_factory=dict)

    @property
    def metric(self) -> bool:
        return self.units.length == "m"

    def length(self, feet: str, metres: str) -> str:
        """A default length in the user's unit. All defaults: common practice, no source."""
        return f"{metres} m" if self.metric else f"{feet} ft"

    def put_line(self, kind: str, labelled: Labelled) -> str:
        """Keep a line; returns its name, with a number where an earlier line of that name differs."""
        name, number = labelled.name, 1
        while name in self.line and self.line[name] != labelled.table:
            number += 1
            name = f"{labelled.name} ({number})"
        self.line[name] = labelled.table
        self.kind_of_line[name] = kind
        for what, believed in labelled.priors.items():
            self.prior[f"line {name} {what}"] = believed
        return name

    def put_tackle(self, name: str, table: dict[str, Any]) -> str:
        """Keep a piece of tackle; returns its name."""
        own, number = name, 1
        while own in self.tackle and self.tackle[own] != table:
            number += 1
            own = f"{name} ({number})"
        self.tackle[own] = table
        return own

    def from_shelf(self, name: str) -> str:
        """Keep a piece of tackle from the shelf, with its priors."""
        own = self.put_tackle(name, self.shelf.tables["tackle"][name])
        for what, believed in self.shelf.priors("tackle", name).items():
            self.prior[f"tackle {own} {what}"] = believed
        return own


def length_question(id: str, asks: str, help: str, pieces: Pieces, default: str = "", **more: Any) -> Question:
    """A question for a length in the user's unit."""
    return Question(id, asks, help, "quantity", Dimension.LENGTH, pieces.units.length, default=default, **more)


def choice(id: str, asks: str, help: str, choices: tuple[str, ...], default: str = "") -> Question:
    """A question with choices."""
    return Question(id, asks, help, "choice", choices=choices, default=default or choices[0])


def line_of(asking: Asking, pieces: Pieces, id: str, asks: str, kinds: tuple[str, ...], test_lb: float) -> str:
    """Ask for a line: one described before, or a new one by its label; returns its name."""
    known = pieces.kind_of_line.items()
    before = tuple(name for wanted in kinds for name, kind in known if kind == wanted)
    if before:
        usual = before[0] if pieces.kind_of_line[before[0]] == kinds[0] else ANOTHER
        again = choice(id, asks, "One that you have described already, or another.", (*before, ANOTHER), usual)
        given = asking.ask(again)
        if given != ANOTHER:
            return given
    kind = kinds[0]
    if len(kinds) > 1:
        kind = asking.ask(choice(f"{id}.kind", asks, "The spool's label says it.", kinds))
    return label_of(asking, pieces, id, kind, test_lb)


def label_of(asking: Asking, pieces: Pieces, id: str, kind: str, test_lb: float) -> str:
    """Ask what a spool's label says of a kind of line; returns the line's name."""
    if kind in GRADES:
        grades = tuple(f"{grade} lb" for grade in GRADES[kind])
        says = "Its grade is on the spool; 27 lb is the most common."
        test = asking.ask(choice(f"{id}.grade", f"Which grade of {kind}?", says, grades, "27 lb"))
    else:
        test = asking.ask(_test(id, kind, test_lb))
    pounds = parse_quantity(test, Dimension.MASS) / POUND_KG
    diameter = ""
    if kind not in GRADES:
        says = "In mm or in, if it is on the label. If not, Enter: then a typical one is taken, with a wide interval."
        diameter = asking.ask(Question(
            f"{id}.diameter", f"The {kind}'s diameter, if it is printed", says, "quantity", Dimension.LENGTH, "mm",
            low=5e-5, high=5e-3, optional=True,
        ))  # fmt: skip
    weighed = ""
    if kind not in ("mono", "fluoro", "braid"):
        says = "Nothing helps its depth more: put 20 ft in a coil on a kitchen scale. Enter leaves it out."
        weighed = asking.ask(Question(
            f"{id}.weighed", f"What do 20 ft (6.1 m) of the {kind} weigh?", says, "quantity", Dimension.MASS, "g",
            low=0.001, high=1.0, optional=True,
        ))  # fmt: skip
    made = _made(asking, f"{id}.weighed", lambda: line_from_label(
        kind,
        round(pounds, 2),
        diameter_m=parse_quantity(diameter, Dimension.LENGTH) if diameter else None,
        weighed_kg=parse_quantity(weighed, Dimension.MASS) if weighed else None,
        digit_kg=last_digit(weighed) if weighed else SCALE_KG,
    ))  # fmt: skip
    return pieces.put_line(kind, made)


def last_digit(quantity: str) -> float:
    """The value of the last digit written, in SI: 0.1 g for "5.6 g"."""
    number, unit = quantity.split(maxsplit=1)
    _, _, decimals = number.partition(".")
    return parse_quantity(f"1e-{len(decimals)} {unit}", Dimension.MASS)


def _made(asking: Asking, id: str, make: Callable[[], Labelled]) -> Labelled:
    """The line that a label describes. A fault in it reopens the question ``id``."""
    try:
        return make()
    except ValueError as wrong:
        asking.reopen(id, str(wrong))


def _test(id: str, kind: str, test_lb: float) -> Question:
    says = f"The test on the label, in pounds. Enter if you do not know: {test_lb:g} lb is taken."
    return Question(
        f"{id}.test", f"What test is the {kind}?", says, "quantity", Dimension.MASS, "lb",
        low=POUND_KG, high=500 * POUND_KG, default=f"{test_lb:g} lb",
    )  # fmt: skip


def leader_of(asking: Asking, pieces: Pieces, n: str, default: tuple[str, str]) -> list[dict[str, Any]]:
    """Ask for the leader and the lure at its end; returns the items of the chain."""
    says = "From the device, or from the heavy line's end, to the lure or the attractor."
    length = asking.ask(length_question(
        f"{n}.leader", "How long is the leader?", says, pieces, pieces.length(*default), low=0.1, high=100.0
    ))  # fmt: skip
    fluoro = line_of(asking, pieces, f"{n}.leader line", "What is the leader?", ("fluoro", "mono"), 30)
    items: list[dict[str, Any]] = [{"line": fluoro, "length": length}]
    says = "A flasher or dodger in front of the lure, by the length of its blade."
    paddles = ("none", "paddle 8 in", "paddle 10 in")
    paddle = asking.ask(choice(f"{n}.attractor", "Is there an attractor in front of the lure?", says, paddles))
    if paddle != "none":
        items.append({"tackle": pieces.from_shelf(paddle)})
        tail = pieces.length("1.8", "0.55")
        says = "From the attractor to the lure."
        behind = asking.ask(length_question(f"{n}.tail", "How far behind it is the lure?", says, pieces, tail))
        items.append({"line": fluoro, "length": behind})
    return [*items, {"tackle": lure_of(asking, pieces, n)}]


def lure_of(asking: Asking, pieces: Pieces, n: str) -> str:
    """Ask for the lure; returns its name."""
    before = [name for name, table in pieces.tackle.items() if table["kind"] == "lure"]
    own = [name for kind, name in pieces.shelf.own if kind == "tackle" and name in pieces.shelf.lures]
    known = tuple(dict.fromkeys((*before, *sorted(own))))
    new = tuple(f"a {form}" for form in FORMS)
    says = "Its kind decides its drag. If you choose one that you have named, or one on your shelf, it is that lure."
    given = asking.ask(
        choice(f"{n}.lure", "What is the lure?", says, (*known, *new), before[-1] if before else "a fly")
    )
    if given in pieces.tackle:
        return given
    if given in known:
        return pieces.from_shelf(given)
    form = given.removeprefix("a ")
    says = "Statistics use this name. Enter leaves it without one."
    name = asking.ask(Question(f"{n}.lure name", f"What do you call this {form}?", says, default=form, longest=24))
    says = "In your own words. Enter leaves it out."
    colour = asking.ask(Question(f"{n}.lure colour", "Its colour?", says, optional=True, longest=24))
    table: dict[str, Any] = {"kind": "lure", "form": form}
    return pieces.put_tackle(name, {**table, "colour": colour} if colour else table)
