"""Whatever is edited in whatever order, the file says what plain tables edited alike say, and keeps its comments."""

from __future__ import annotations

import copy
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from sternwatch import places
from sternwatch.gear.editing import edits
from sternwatch.gear.editing.document import SpreadDocument

EVENING = (places.shipped("demo_logs") / "evening.toml").read_text(encoding="utf-8")
COMMENTED = (
    EVENING.replace('  { tackle = "snub" },\n', '  # softens a strike\n  { tackle = "snub" },   # red one\n')
    .replace('side = "port"\n', 'side = "port"   # looking forward\n')
    .replace("chain = [\n", "chain = [ # from the tip outward\n")
)
# A comment goes with the item that it stands behind, and with the rod that it stands in; these belong to neither.
LASTING = [line for line in COMMENTED.partition("[[rod]]")[0].splitlines() if "#" in line]

OPS = ("out", "name", "insert", "remove", "swap", "copy", "mirror", "rod out", "counter", "no counter", "undo")


def _plain(tables: dict[str, Any], op: str, rod: int, at: int) -> None:
    """The same on plain tables."""
    rods = tables["rod"]
    chain = rods[rod]["chain"]
    match op:
        case "out":
            next(item for item in chain if "out" in item)["out"] = f"{40 + at} ft"
        case "name":
            rods[rod]["name"] = f"ROD {at}"
        case "insert":
            chain.insert(1 + at % len(chain), {"tackle": "snub"})
        case "remove":
            del chain[at % len(chain)]
        case "swap":
            i = at % (len(chain) - 1)
            chain[i], chain[i + 1] = chain[i + 1], chain[i]
        case "copy":
            rods.append(edits.copied(tables, rod))
        case "mirror":
            rods.append(edits.mirrored(tables, rod))
        case "rod out":
            del rods[rod]
        case "counter":
            rods[rod].setdefault("counter", {})["zero"] = "water"
        case "no counter":
            rods[rod].get("counter", {}).pop("zero", None)
            if not rods[rod].get("counter", True):
                del rods[rod]["counter"]


def _edit(document: SpreadDocument, op: str, rod: int, at: int) -> str:
    chain = document.tables["rod"][rod]["chain"]
    tables = document.tables

    def edit(made: Any) -> None:
        match op:
            case "out":
                where = next(i for i, item in enumerate(chain) if "out" in item)
                edits.set_value(made, ("rod", rod, "chain", where, "out"), f"{40 + at} ft")
            case "name":
                edits.set_value(made, ("rod", rod, "name"), f"ROD {at}")
            case "insert":
                edits.insert_item(made, rod, 1 + at % len(chain), {"tackle": "snub"})
            case "remove":
                edits.remove_item(made, rod, at % len(chain))
            case "swap":
                edits.move_item(made, rod, at % (len(chain) - 1), at % (len(chain) - 1) + 1)
            case "copy":
                edits.add_rod(made, edits.copied(tables, rod))
            case "mirror":
                edits.add_rod(made, edits.mirrored(tables, rod))
            case "rod out":
                edits.remove_rod(made, rod)
            case "counter":
                edits.set_value(made, ("rod", rod, "counter", "zero"), "water")
            case "no counter":
                edits.set_value(made, ("rod", rod, "counter", "zero"), None)

    return document.change(op, edit)


@settings(max_examples=8)
@given(st.lists(st.tuples(st.sampled_from(OPS), st.integers(0, 30), st.integers(0, 30)), min_size=1, max_size=12))
def test_the_file_says_what_plain_tables_say(steps: list[tuple[str, int, int]]) -> None:
    document = SpreadDocument(COMMENTED, "evening.toml")
    history = [copy.deepcopy(document.tables)]
    for op, which, at in steps:
        rods = len(document.tables["rod"])
        if op == "undo":
            if document.undo():
                history.pop()
            assert document.tables == history[-1]
            continue
        if op == "rod out" and rods == 1:
            continue
        rod = which % rods
        if op == "swap" and len(document.tables["rod"][rod]["chain"]) < 2:
            continue
        wanted = copy.deepcopy(document.tables)
        before = document.text
        why = _edit(document, op, rod, at)
        if why:
            assert document.text == before  # refused whole
            continue
        _plain(wanted, op, rod, at)
        assert document.tables == wanted
        if document.text != before:
            history.append(copy.deepcopy(wanted))
        for line in LASTING:
            assert line in document.text
