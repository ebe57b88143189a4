"""Edits of a spread file that keep its comments: of values, chain items, rods, and the pieces they need."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import tomlkit
from tomlkit import TOMLDocument
from tomlkit.items import AoT, Array, InlineTable, Table

from sternwatch.gear.spread_file.load import spread_from
from sternwatch.gear.spread_file.models import ROD_KEYS
from sternwatch.gear.values.toml_text import key_text, table_text, value_text

Path = tuple[str | int, ...]
Tables = Mapping[str, Any]

_OTHER = {"port": "starboard", "starboard": "port"}


class EditError(ValueError):
    """The edit is refused; the message is a sentence."""


def value_at(tables: Any, path: Path) -> Any:
    """The value at a path of a file's tables; None where there is none."""
    for part in path:
        if isinstance(part, int):
            if not isinstance(tables, list) or not 0 <= part < len(tables):
                return None
            tables = tables[part]
        elif isinstance(tables, Mapping) and part in tables:
            tables = tables[part]
        else:
            return None
    return tables


def set_value(document: Any, path: Path, value: Any) -> None:
    """Set a value at a path, adding the tables on the way. None removes the entry."""
    holder: Any = document
    for part, after in pairwise(path):
        if isinstance(part, str) and part not in holder:
            if value is None:
                return
            inside = isinstance(holder, InlineTable) or len(path) > 2 or isinstance(after, int)
            holder[part] = tomlkit.inline_table() if inside else tomlkit.table()
        holder = holder[part]
    last = path[-1]
    if value is None:
        if last in holder:
            del holder[last]
        if not len(holder) and len(path) > 1 and isinstance(holder, InlineTable):
            set_value(document, path[:-1], None)
        return
    if last in holder and not isinstance(value, list | dict):
        # A table gives a flag as a plain bool, and of a table in several places anything plain: without its comment.
        items = isinstance(last, str) and isinstance(holder, Table | InlineTable | TOMLDocument)
        old = holder.item(last) if items else holder[last]
        new = tomlkit.item(value)
        if (kept := getattr(old, "_trivia", None)) is not None:
            new._trivia.comment_ws, new._trivia.comment = kept.comment_ws, kept.comment
        holder[last] = new
    else:
        holder[last] = _parsed(value) if isinstance(value, list | dict) else value


def _parsed(value: Any) -> Any:
    """A value in the layout of :mod:`toml_text`."""
    return tomlkit.parse(f"it = {value_text(value)}\n")["it"]


# --- chains ---------------------------------------------------------------------------------------------------


def _chain(document: TOMLDocument, rod: int) -> Array:
    chain = document["rod"][rod]["chain"]
    if not isinstance(chain, Array):
        raise EditError(
            "its chain is written as tables of their own; written as chain = [ … ] its items can be edited"
        )
    return chain


def insert_item(document: TOMLDocument, rod: int, at: int, item: Tables) -> None:
    """Insert an item into a chain before index ``at``."""
    chain = _chain(document, rod)
    if at >= len(chain):
        chain.append(_parsed(dict(item)))
    else:
        chain.insert(at, _parsed(dict(item)))


def remove_item(document: TOMLDocument, rod: int, at: int) -> None:
    """Take an item out of a chain."""
    del _chain(document, rod)[at]


def move_item(document: TOMLDocument, rod: int, at: int, to: int) -> None:
    """Swap two neighbours in a chain."""
    chain = _chain(document, rod)
    if not (0 <= at < len(chain) and 0 <= to < len(chain)):
        raise EditError("there is nothing to change places with")
    first, second = chain[at].unwrap(), chain[to].unwrap()
    chain[at], chain[to] = _parsed(second), _parsed(first)


def set_chain(document: TOMLDocument, rod: int, chain: list[dict[str, Any]]) -> None:
    """Give a rod another chain."""
    document["rod"][rod]["chain"] = _parsed(chain)


# --- pieces ---------------------------------------------------------------------------------------------------


def define(document: TOMLDocument, kind: str, name: str, table: Tables) -> str:
    """Add ``[kind.NAME]`` unless it is there. Returns its name, a new one where another table has that name."""
    tables = document.unwrap().get(kind, {})
    wanted, number = name, 1
    while wanted in tables and tables[wanted] != dict(table):
        number += 1
        wanted = f"{name} ({number})"
    if wanted not in tables:
        put_table(document, kind, wanted, table)
    return wanted


def put_table(document: TOMLDocument, kind: str, name: str, table: Tables) -> None:
    """Set ``[kind.NAME]`` to this table, whatever it was."""
    made = tomlkit.parse(table_text(f"[{kind}.{key_text(name)}]", table) + "\n")[kind]
    if kind in document and isinstance(document[kind], Table):
        document[kind][name] = made[name]
    else:
        document[kind] = made


# --- rods -----------------------------------------------------------------------------------------------------


def free_keys(tables: Tables) -> list[str]:
    """The stations without a rod, in the order of the number row."""
    taken = {rod.get("key") for rod in tables.get("rod", ())}
    return [key for key in ROD_KEYS if key not in taken]


def free_name(tables: Tables, wanted: str) -> str:
    """``wanted``, or a similar name of at most eight letters that no rod has."""
    taken = {rod.get("name") for rod in tables.get("rod", ())}
    name, number = wanted[:8], 1
    while name in taken:
        number += 1
        tail = f" {number}"
        name = wanted[: 8 - len(tail)].rstrip() + tail
    return name


def add_rod(document: TOMLDocument, table: Tables) -> None:
    """Add a rod at the end of the file."""
    if "rod" in document and not isinstance(document["rod"], AoT):
        raise EditError("the rods are written as a list; write each as [[rod]] to add one here")
    made = tomlkit.parse("\n" + table_text("[[rod]]", table))["rod"]
    if "rod" in document:
        document["rod"].append(made[0])
    else:
        document["rod"] = made


def remove_rod(document: TOMLDocument, index: int) -> None:
    """Remove a rod, and what was known of its depths."""
    rods: Any = document["rod"]
    key = rods[index].get("key")
    known: Any = document.get("known", [])
    for at in reversed([i for i, entry in enumerate(known) if entry.get("rod") == key]):
        del known[at]
    priors: Any = document.get("prior", {})
    for name in [name for name in priors if name.startswith(f"rod {key} ")]:
        del priors[name]
    if len(rods) == 1:
        del document["rod"]
    else:
        del rods[index]


def copied(tables: Tables, index: int) -> dict[str, Any]:
    """The table of a copy of this rod, with a free key and a free name."""
    rod = dict(tables["rod"][index])
    rod["key"] = _a_key(tables)
    rod["name"] = free_name(tables, str(rod.get("name", "ROD")))
    return rod


def mirrored(tables: Tables, index: int) -> dict[str, Any]:
    """The table of a copy of this rod on the other side, with tip, pull and name mirrored."""
    rod = dict(tables["rod"][index])
    if rod.get("side") not in _OTHER:
        raise EditError("a rod at the centre has no other side")
    rod["side"] = _OTHER[str(rod["side"])]
    rod["key"] = _a_key(tables)
    rod["name"] = free_name(tables, _other_name(str(rod.get("name", "ROD"))))
    rod["chain"] = [
        {**item, "side": _OTHER[item["side"]]} if item.get("side") in _OTHER else dict(item) for item in rod["chain"]
    ]
    if isinstance(rod.get("clipped_to"), Mapping):
        raise EditError("it is clipped to another rod's cable; clip a copy to the cable on the other side instead")
    return rod


def _a_key(tables: Tables) -> str:
    keys = free_keys(tables)
    if not keys:
        raise EditError(f"every station has a rod; there are {len(ROD_KEYS)}")
    return keys[0]


def _other_name(name: str) -> str:
    for mine, other in (("P ", "S "), ("S ", "P ")):
        if name.startswith(mine):
            return other + name[2:]
    return name


def keys_in_order(document: TOMLDocument) -> None:
    """Give the rods the keys of the number row in the order of their tips, port to starboard."""
    spread = spread_from(document.unwrap())
    abeam = {rod.key: rod.tip_abeam_m for rod in spread.rods}
    for rod in spread.rods:
        if rod.clipped_to is not None:
            abeam[rod.key] = abeam[rod.clipped_to.rod] + 1e-3
    order = sorted(spread.rods, key=lambda rod: abeam[rod.key])
    new = {rod.key: ROD_KEYS[place] for place, rod in enumerate(order)}
    rods: Any = document["rod"]
    for rod in rods:
        if isinstance(rod.get("clipped_to"), Mapping):
            set_value(rod, ("clipped_to", "rod"), new[rod["clipped_to"]["rod"]])
        set_value(rod, ("key",), new[rod["key"]])
    _rename_priors(document, new)
    known: Any = document.get("known", ())
    for entry in known:
        if entry.get("rod") in new:
            set_value(entry, ("rod",), new[entry["rod"]])


def _rename_priors(document: Any, new: Mapping[str, str]) -> None:
    """Move each rod's priors to its new key."""
    priors: Any = document.get("prior", {})
    of_rods = [(name, parts) for name in list(priors) if len(parts := name.split(" ", 2)) == 3 and parts[0] == "rod"]
    taken = [(f"rod {new[parts[1]]} {parts[2]}", priors[name].unwrap()) for name, parts in of_rods]
    for name, _ in of_rods:
        del priors[name]
    for name, table in taken:
        put_table(document, "prior", name, table)
