"""Reads a spread file: TOML in, a :class:`Spread` out, or a :class:`SpreadError` that says what is wrong where."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from sternwatch import reading
from sternwatch.gear.spread_file.known_rules import find_belief_faults
from sternwatch.gear.spread_file.lines import LineSpec
from sternwatch.gear.spread_file.models import LineItem, Spread, TackleItem
from sternwatch.gear.spread_file.rules import NO_ROD, find_faults, rod_words
from sternwatch.gear.spread_file.tackle import Attractor, Ball, Board, Diver, Lure, Snubber, Weight
from sternwatch.gear.values.faults import Fault, SpreadError, show
from sternwatch.gear.values.words import listed, nearest
from sternwatch.reading import UnreadableError, toml_of

TACKLE_MODELS: dict[str, type[BaseModel]] = {
    "diver": Diver, "ball": Ball, "weight": Weight, "board": Board,
    "attractor": Attractor, "lure": Lure, "snubber": Snubber,
}  # fmt: skip
_ITEMS: dict[str, type[BaseModel]] = {"line": LineItem, "tackle": TackleItem}
_NAMED = ("line", "tackle", "leader", "rig", "prior")  # tables whose entries have names


def load_spread(path: Path | str) -> Spread:
    """Read and check a spread file. Raises only :class:`SpreadError`, whatever the file holds."""
    return parse_spread(read_text(Path(path)), path)


def parse_spread(text: str, path: Path | str = "spread") -> Spread:
    """As :func:`load_spread`, from text; ``path`` is how errors name it."""
    return spread_from(read_toml(text, path), path)


def read_toml(text: str, path: Path | str) -> dict[str, Any]:
    """Plain tables from TOML. Raises :class:`SpreadError` for text that is not TOML."""
    try:
        return toml_of(text)
    except UnreadableError as error:
        raise SpreadError(path, (Fault("", "", None, f"not valid TOML: {_lower(str(error))}"),)) from error


def spread_from(data: dict[str, Any], path: Path | str = "spread") -> Spread:
    """As :func:`parse_spread`, from a table already parsed."""
    try:
        spread = Spread.model_validate(data)
    except ValidationError as error:
        raise SpreadError(path, model_faults(error, data)) from error
    faults = find_faults(spread) or list(find_belief_faults(spread))
    if faults:
        raise SpreadError(path, tuple(faults))
    return spread


def model_faults(error: ValidationError, data: dict[str, Any], root: type[BaseModel] = Spread) -> tuple[Fault, ...]:
    """The faults that a model found in ``data``, in file order. ``root``: the model of the whole file."""
    return tuple(_fault(details, data, root) for details in _in_order(error))


def json_schema() -> dict[str, Any]:
    """The JSON Schema of a spread file (draft 2020-12), for editors."""
    schema = Spread.model_json_schema(by_alias=True, mode="validation")
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "sternwatch spread file"}


def read_text(path: Path, what: str = "spread file") -> str:
    """A file's text. ``what`` names it in errors. Raises :class:`SpreadError` where the file cannot be read."""

    def refuse(reason: str) -> SpreadError:
        return SpreadError(path, (Fault("", "", None, reason),))

    try:
        return reading.read_text(path)
    except FileNotFoundError as error:
        raise refuse("no such file") from error
    except UnreadableError as error:
        raise refuse(str(error).replace("a file is wanted", f"a {what} is wanted")) from error


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _in_order(error: ValidationError) -> list[ErrorDetails]:
    details = error.errors(include_url=False)
    # A misspelt field is often the cause of the missing one beside it, so name it first.
    return sorted(details, key=lambda d: (_owner(d), d["type"] != "extra_forbidden"))


def _owner(details: ErrorDetails) -> tuple[str, ...]:
    order = {"boat": "0", "water": "1", "line": "2", "tackle": "3", "rod": "4", "prior": "5", "known": "6"}
    loc = details["loc"]
    head = order.get(str(loc[0]), "0") if loc else "0"
    return (head, *(f"{part:06d}" if isinstance(part, int) else str(part) for part in loc[1:-1]))


def _fault(details: ErrorDetails, data: dict[str, Any], root: type[BaseModel]) -> Fault:
    where, field, model = _place(details["loc"], data, root)
    kind, given = details["type"], details["input"]
    if kind == "extra_forbidden":
        known = [info.alias or name for name, info in model.model_fields.items()] if model else []
        name = str(details["loc"][-1])
        return Fault(where, field, None, f"unknown field{nearest(name, known)}; accepted: {listed(known)}")
    if kind == "missing" and details["loc"] == ("rod",):
        return Fault("", "rod", None, NO_ROD)
    if kind == "missing":
        return Fault(where, field, None, "is missing")
    if kind == "value_error" or isinstance(given, dict | list):
        given = None
    return Fault(where, field, given, _reason(details))


def _reason(details: ErrorDetails) -> str:
    kind, context = details["type"], details.get("ctx", {})
    match kind:
        case "literal_error":
            expected = str(context["expected"]).replace(" or ", ", ").replace("'", "")
            hint = nearest(details["input"], expected.split(", ")) if isinstance(details["input"], str) else ""
            return f"not known{hint}; accepted: {expected}"
        case "union_tag_invalid":
            expected = str(context["expected_tags"]).replace("'", "")
            hint = nearest(str(context["tag"]), expected.split(", "))
            return f'kind = "{context["tag"]}" is not known{hint}; accepted: {expected}'
        case "union_tag_not_found":
            return f"its kind is missing; accepted: {', '.join(TACKLE_MODELS)}"
        case "too_short":
            return "is empty; at least one is needed"
        case "tuple_type" | "list_type":
            return f"a list is wanted, not {show(details['input'])}"
        case "model_type" | "dict_type" | "model_attributes_type":
            return f"a table is wanted, not {show(details['input'])}"
        case "string_type":
            return "text in quotes is wanted"
        case "bool_type" | "bool_parsing":
            return "true or false is wanted"
        case "float_type" | "float_parsing" | "int_type" | "int_parsing" | "int_from_float":
            return "a plain number without a unit is wanted"
        case _:
            return _lower(details["msg"].removeprefix("Value error, ").replace("Input should be", "should be"))


def _place(
    loc: tuple[int | str, ...], data: dict[str, Any], root: type[BaseModel]
) -> tuple[str, str, type[BaseModel] | None]:
    """Where an error is, in words: the owner (a rod by key and name), the field, and the field's model."""
    parts = list(loc)
    if len(parts) >= 2 and parts[0] == "rod" and isinstance(parts[1], int):
        where = _rod_where(data, parts[1])
        parts = parts[2:]
    elif len(parts) >= 2 and parts[0] in _NAMED:
        where = f"{parts[0]}.{parts[1]}"
        parts = parts[2:]
    elif len(parts) >= 2:
        where, parts = str(parts[0]), parts[1:]
    else:
        where = ""
    return where, _field(parts), _model_at(loc, root)


def _rod_where(data: dict[str, Any], index: int) -> str:
    rods = data.get("rod")
    rod = rods[index] if isinstance(rods, list) and index < len(rods) else None
    table = rod if isinstance(rod, dict) else {}
    return rod_words(table.get("key"), table.get("name"), index + 1)


def _field(parts: list[int | str]) -> str:
    words: list[str] = []
    path = iter(_without_tags(parts))
    for part in path:
        if part == "chain":
            number = next(path, None)
            words.append(f"chain item {number + 1}" if isinstance(number, int) else "chain")
        elif isinstance(part, int):
            words.append(f"entry {part + 1}")
        elif words and not words[-1].startswith(("chain", "entry")):
            words[-1] += f".{part}"
        else:
            words.append(str(part))
    return ", ".join(words)


def _without_tags(parts: list[int | str]) -> Iterator[int | str]:
    """The location without pydantic's union tags: the kind of tackle or of item."""
    for i, part in enumerate(parts):
        after_item = i >= 2 and isinstance(parts[i - 1], int) and parts[i - 2] == "chain"
        if (after_item and part in _ITEMS) or (i == 0 and part in TACKLE_MODELS):
            continue
        yield part


def _model_at(loc: tuple[int | str, ...], root: type[BaseModel]) -> type[BaseModel] | None:
    """The model that owns the last part of a location; None where none is found."""
    model: type[BaseModel] | None = root
    for part in loc[:-1]:
        if isinstance(part, int):
            continue
        if part in TACKLE_MODELS and model is None:
            model = TACKLE_MODELS[str(part)]
        elif part in _ITEMS and model is None:
            model = _ITEMS[str(part)]
        elif model is root and part in ("line", "tackle"):
            model = LineSpec if part == "line" else None
        elif model is not None:
            model = _child(model, str(part), model)
    return model


def _child(model: type[BaseModel], alias: str, keep: type[BaseModel]) -> type[BaseModel] | None:
    for name, info in model.model_fields.items():
        if (info.alias or name) == alias:
            return _model_in(info.annotation)
    return keep


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = [m for m in map(_model_in, get_args(annotation)) if m is not None]
    return found[0] if len(found) == 1 else None
