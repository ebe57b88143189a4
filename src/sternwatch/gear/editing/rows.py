"""The editable parts of a spread as rows: a label, the present value, and the accepted values.

The fields, their dimensions and their words come from the spread file's models.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from pydantic import BaseModel

from sternwatch.gear.editing.edits import Path, value_at
from sternwatch.gear.editing.in_units import shown_in, told, usual_unit
from sternwatch.gear.spread_file.lines import LineSpec
from sternwatch.gear.spread_file.load import TACKLE_MODELS
from sternwatch.gear.spread_file.models import Boat, ClippedTo, Counter, Required, Rod, RodLineSpec, Tip, WaterSpec
from sternwatch.gear.values.materials import MATERIALS
from sternwatch.gear.values.toml_text import value_text
from sternwatch.gear.values.units import (
    Dimension,
    DisplaySystem,
    convert,
    example,
    parse_quantity,
    pattern,
    unit_label,
)

Tables = Mapping[str, Any]
NONE = "–"

# Words for fields whose model has none, or only words for somebody who knows the file.
HELP = {
    "Boat.name": "for your trips",
    "key": "the key of the number row that stands for it, port to starboard",
    "name": "short name to call out: at most eight letters",
    "side": "where it stands",
    "astern": "the tip, aft of the transom; negative: forward of it",
    "abeam": "the tip, outward from the boat's middle",
    "height": "the tip, above still water, with the rod bent",
    "taped": "checked against a tape: the scale is the tape's length over what the counter read",
    "zero": "where the end was when the counter read zero: the line's end at tip or water, or the lure at the water",
    "scale": "true length for each length read; 1 if never measured",
    "pull": "how hard the bent rod pulls at the ball; left out, it is from memory",
    "rod": "the rod whose cable it is clipped to",
    "above_ball": "how far above its ball",
    "per_pass": "the line that one pass across the reel lays on",
    "target_depth": "the depth wanted",
    "rod_length": "for how far a leader can be reeled in",
    "bottom": "“on purpose” where it is fished on the bottom",
    "beam": "her width at the stern",
    "trolling_speed": "usual, through the water: the depths here are for it",
    "people": "aboard",
    "rods_per_person": "a reminder, from your own local rules",
    "temperature": "of the water at the surface, until the feed tells",
    "line": "bare line to bare line",
    "tackle": "tackle to anything",
    "taper": "the length along the lines over which that grows to the full distance",
    "mass": "in air",
    "density": "of the whole",
    "drag_area": "Cd·A, where it was measured",
    "ring": "a ring round the disc",
    "diameter": "across",
    "length": "its length",
    "form": "what it is like in the water",
    "release_pull": "the pull that opens its release",
}
_EXAMPLES = {"diameter": "0.38 mm", "beam": "9 ft", "out": "180 ft", "target_depth": "60 ft"}
_OF_TACKLE = {"diameter": "120 mm", "length": "8 in"}
_MPH = 0.44704  # [m/s]
_SHORT = (
    "astern",
    "abeam",
    "height",
    "length",
    "clearance",
    "rod_length",
    "net_reach",
    "antenna",
    "transducer_depth",
)


@dataclass(frozen=True, slots=True)
class Ask:
    """What a field accepts. ``kind``: quantity, range (two of them), number, whole, text, choice, flag or table."""

    kind: str
    dimension: Dimension | None = None
    choices: tuple[str, ...] = ()
    help: str = ""
    needed: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A row of the editor. ``ask`` None: a heading, or (with ``opens``) the way to a piece's own rows."""

    label: str
    value: str = ""  # in the user's units
    path: Path = ()
    ask: Ask | None = None
    item: int | None = None  # the index of its item in the chain
    opens: tuple[str, str] | None = None  # (line | tackle, name)
    written: Any = None  # the value as it stands in the file


@cache
def asks(model: type[BaseModel]) -> Mapping[str, Ask]:
    """A model's fields by their names in the file, in the model's order; plain values only."""
    schema = model.model_json_schema(by_alias=True)
    needed = set(schema.get("required", ()))
    found: dict[str, Ask] = {}
    for name, about in schema["properties"].items():
        inner = next((one for one in about.get("anyOf", ()) if one.get("type") != "null"), about)
        words = HELP.get(f"{model.__name__}.{name}") or HELP.get(name) or str(about.get("description", ""))
        ask = _ask(inner, words, name in needed)
        if ask is not None:
            found[name] = ask
    return found


def _ask(inner: Mapping[str, Any], words: str, needed: bool) -> Ask | None:
    dimension = next((d for d in Dimension if inner.get("pattern") == pattern(d)), None)
    if dimension is not None:
        return Ask("quantity", dimension, help="" if "with its unit" in words else words, needed=needed)
    if "enum" in inner or "const" in inner:
        return Ask("choice", choices=tuple(inner.get("enum", ()) or (inner["const"],)), help=words, needed=needed)
    kinds = {"boolean": "flag", "number": "number", "integer": "whole", "string": "text"}
    kind = kinds.get(str(inner.get("type")))
    if kind is None and inner.get("additionalProperties"):
        kind = "table"
    return Ask(kind, help=words, needed=needed) if kind is not None else None


def shown(value: object) -> str:
    """The text of a value on a row."""
    if value is None:
        return NONE
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value if isinstance(value, str) else value_text(value)


def _row(tables: Tables, label: str, path: Path, ask: Ask, units: DisplaySystem, item: int | None = None) -> Row:
    """The row of the value at ``path``."""
    value = value_at(tables, path)
    if ask.kind == "range" and isinstance(value, list):
        words = " to ".join(_text(one, path, ask, units) for one in value)
    else:
        words = _text(value, path, ask, units)
    return Row(label, words, path, ask, item, written=value)


def _text(value: object, path: Path, ask: Ask, units: DisplaySystem) -> str:
    if isinstance(value, str) and ask.dimension is not None:
        return shown_in(value, path, ask.dimension, units)
    return shown(value)


def _rows(
    tables: Tables, base: Path, model: type[BaseModel], only: Iterable[str], units: DisplaySystem, prefix: str = ""
) -> list[Row]:
    fields = asks(model)
    return [_row(tables, f"{prefix}{name.replace('_', ' ')}", (*base, name), fields[name], units) for name in only]


def boat_rows(tables: Tables, units: DisplaySystem) -> list[Row]:
    """The rows of the boat and the water."""
    boat = ("name", "trolling_speed", "beam", "people", "rods_per_person", "net_reach", "antenna", "transducer_depth")
    return [
        Row("BOAT"),
        *_rows(tables, ("boat",), Boat, boat, units),
        Row("HOW FAR TWO LINES MUST STAY APART"),
        *_rows(tables, ("boat", "required"), Required, ("line", "tackle", "taper"), units),
        Row("WATER"),
        *_rows(tables, ("water",), WaterSpec, ("temperature",), units),
    ]


def rod_rows(tables: Tables, index: int, units: DisplaySystem) -> list[Row]:
    """The rows of a rod: its name, its tip, its counter, its chain from the tip outward, and the chain's pieces."""
    base: Path = ("rod", index)
    rod = tables["rod"][index]
    rows = [Row("ROD"), *_rows(tables, base, Rod, ("name", "key", "side"), units)]
    rows.append(Row("CHAIN, FROM THE ROD TIP OUTWARD"))
    for number, item in enumerate(rod.get("chain", ())):
        rows += _item_rows(tables, (*base, "chain", number), number, item, units)
    rows.append(Row("ITS PIECES: ENTER OPENS ONE"))
    pieces: dict[tuple[str, str], None] = {}
    for item in rod.get("chain", ()):
        kind = "line" if "line" in item else "tackle"
        pieces.setdefault((kind, item[kind]))
    rows += [Row(name, _summary(tables, kind, name, units), opens=(kind, name)) for kind, name in pieces]
    rows.append(Row("WHERE IT STANDS"))
    if "clipped_to" not in rod:
        tip = ("astern", "height") if rod.get("side") == "centre" else ("astern", "abeam", "height")
        rows += _rows(tables, (*base, "tip"), Tip, tip, units, "tip ")
    else:
        rows += _rows(tables, (*base, "clipped_to"), ClippedTo, ("rod", "above_ball"), units, "clipped to ")
    if "rod_line" in rod:
        rows.append(Row("THE ROD'S LINE TO THE RELEASE"))
        rows.append(_named(tables, (*base, "rod_line", "line"), "line", "line", None))
        rows += _rows(tables, (*base, "rod_line", "tip"), Tip, ("astern", "abeam", "height"), units, "its tip ")
        rows += _rows(tables, (*base, "rod_line"), RodLineSpec, ("pull",), units)
    rows.append(Row("HOW IT IS FISHED"))
    rows += _rows(tables, base, Rod, ("target_depth",), units)
    rows += _rows(tables, (*base, "counter"), Counter, ("zero", "scale", "taped", "per_pass"), units, "counter ")
    rows += _rows(tables, base, Rod, ("rod_length", "bottom", "clearance"), units)
    help_text = f"the slowest and fastest at which its lure works, as {speeds_example(units)}"
    ask = Ask("range", Dimension.SPEED, help=help_text)
    rows.append(_row(tables, "lure speeds", (*base, "speeds"), ask, units))
    return rows


def _named(tables: Tables, path: Path, kind: str, label: str, item: int | None) -> Row:
    known = tuple(tables.get(kind, {}))
    help_text = f"which {kind}; one of this spread or from the shelf"
    value = value_at(tables, path)
    return Row(label, shown(value), path, Ask("choice", choices=known, help=help_text), item, written=value)


def _item_rows(tables: Tables, path: Path, number: int, item: Tables, units: DisplaySystem) -> list[Row]:
    at = f"{number + 1} "

    def row(field: str, ask: Ask) -> Row:
        return _row(tables, f"  {field}", (*path, field), ask, units, number)

    if "line" in item:
        rows = [_named(tables, (*path, "line"), "line", f"{at}line", number)]
        if "out" in item:
            words = "line out, as the counter reads; or passes, as “14 passes”"
            rows.append(row("out", Ask("quantity", Dimension.LENGTH, help=words)))
        else:
            rows.append(row("length", Ask("quantity", Dimension.LENGTH, help="its length")))
            rows.append(row("adjust", Ask("flag", help="keys change this length on the water")))
        return rows
    piece = tables.get("tackle", {}).get(item["tackle"], {})
    rows = [_named(tables, (*path, "tackle"), "tackle", f"{at}{piece.get('kind', 'tackle')}", number)]
    if piece.get("kind") == "diver":
        labels = tuple(piece.get("settings", {}))
        words = "the label it is set to; its angles are the piece's own"
        rows.append(row("setting", Ask("choice", choices=labels, help=words)))
    if piece.get("kind") in ("diver", "board"):
        words = "where it pulls, if not to the rod's side"
        rows.append(row("side", Ask("choice", choices=("port", "starboard"), help=words)))
    return rows


def piece_rows(tables: Tables, kind: str, name: str, units: DisplaySystem) -> list[Row]:
    """The rows of a line or a piece of tackle: all its fields."""
    table = tables.get(kind, {}).get(name, {})
    users = [str(rod.get("name")) for rod in tables.get("rod", ()) if _uses(rod, kind, name)]
    model = LineSpec if kind == "line" else TACKLE_MODELS[str(table.get("kind"))]
    rows = [Row(f"{kind.upper()} “{name}”, ON {', '.join(users) if users else 'NO ROD'}")]
    for field, ask in asks(model).items():
        if field == "kind":
            continue
        path: Path = (kind, name, field)
        if field == "material":
            ask = Ask("choice", choices=tuple(MATERIALS), help="what it is made of")
        if ask.kind == "table":
            rows += [
                _row(tables, f"set “{label}”", (*path, label), Ask("quantity", Dimension.ANGLE, help=ask.help), units)
                for label in table.get(field, {})
            ]
            more = "a label and its angle, as “mid 30”: a setting more"
            rows.append(Row("a setting more", "", path, Ask("table", help=more)))
            continue
        rows.append(_row(tables, field.replace("_", " "), path, ask, units))
    return rows


def _uses(rod: Tables, kind: str, name: str) -> bool:
    if kind == "line" and rod.get("rod_line", {}).get("line") == name:
        return True
    return any(item.get(kind) == name for item in rod.get("chain", ()))


def _summary(tables: Tables, kind: str, name: str, units: DisplaySystem) -> str:
    table = tables.get(kind, {}).get(name, {})
    return ", ".join(told(kind, name, table, units)) or str(table.get("kind", kind))


def speeds_example(units: DisplaySystem) -> str:
    """Two speeds as they may be typed."""
    low, high = (convert(mph * _MPH, units.speed) for mph in (1.8, 2.6))
    return f"{low:.1f} to {high:.1f} {units.speed}"


def hint(row: Row, units: DisplaySystem) -> str:
    """One line that says what may be typed on a row."""
    ask = row.ask
    if ask is None:
        return ""
    said = [ask.help] if ask.help else []
    if ask.kind == "quantity" and ask.dimension is not None:
        field = str(row.path[-1])
        like = "7 ft" if field in _SHORT else _EXAMPLES.get(field, example(ask.dimension))
        if row.path[0] == "tackle" and field in _OF_TACKLE:
            like = _OF_TACKLE[field]
        said.append(f"as {_in_usual(like, row.path, ask.dimension, units)}")
    if not ask.needed and row.item is None:
        said.append("empty takes it out")
    return "; ".join(said)


def _in_usual(like: str, path: Path, dimension: Dimension, units: DisplaySystem) -> str:
    """An example in the user's unit, in two figures where it had to be converted."""
    usual = usual_unit(path, dimension, units)
    number, _, symbol = like.partition(" ")
    if symbol != usual:
        number = f"{float(f'{convert(parse_quantity(like, dimension), usual):.2g}'):g}"
    label = unit_label(usual)
    return f"{number}{label}" if label == "°" else f"{number} {label}"
