"""Tables as TOML text in the layout of a spread file: one item per line, short tables on one line."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import tomlkit

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def key_text(key: str) -> str:
    """A key in TOML, in quotes where it needs them."""
    return key if _BARE.fullmatch(key) else str(tomlkit.string(key).as_string())


def value_text(value: Any) -> str:
    """A value on one line; a list of tables (a chain) with one item per line."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key_text(k)} = {value_text(v)}" for k, v in value.items()) + " }"
    if isinstance(value, list | tuple):
        if value and all(isinstance(item, Mapping) for item in value):
            return "[\n" + "".join(f"  {value_text(item)},\n" for item in value) + "]"
        return "[" + ", ".join(value_text(item) for item in value) + "]"
    return str(tomlkit.item(value).as_string())


def table_text(header: str, table: Mapping[str, Any], comment: str = "") -> str:
    """A whole table under its header, with a comment above it."""
    lines = [f"# {line}" for line in comment.splitlines()]
    lines += [header, *(f"{key_text(key)} = {value_text(value)}" for key, value in table.items())]
    return "\n".join(lines) + "\n"


def spread_text(tables: Mapping[str, Any], comments: Mapping[str, str], head: str = "") -> str:
    """A whole spread file; ``comments`` by ``line.NAME``, ``tackle.NAME``, ``rod.KEY`` or a table's own name."""
    parts = ["".join(f"# {line}\n" for line in head.splitlines())] if head else []
    for name, value in tables.items():
        if isinstance(value, list):
            for entry in value:
                note = comments.get(f"{name}.{entry.get('key', '')}", "")
                parts.append(table_text(f"[[{key_text(name)}]]", entry, note))
        elif name in ("line", "tackle", "prior"):
            for own, entry in value.items():
                note = comments.get(f"{name}.{own}", "")
                parts.append(table_text(f"[{name}.{key_text(own)}]", entry, note))
        else:
            parts.append(table_text(f"[{key_text(name)}]", value, comments.get(name, "")))
    return "\n".join(parts)
