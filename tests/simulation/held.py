"""What a session holds: objects that can be reached from it, and the bytes of its arrays."""

from __future__ import annotations

import gc
import types
from collections import Counter, defaultdict
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import numpy as np

# What leads out of a session: code, classes, and whoever is told of pictures and entries.
OUTSIDE = (
    type, types.ModuleType, types.FunctionType, types.BuiltinFunctionType, types.MethodType, types.CodeType,
    types.FrameType, types.GeneratorType,
)  # fmt: skip
OURS = ("simulation.ledger", "simulation.day", "simulation.lake")  # the day's own books, and its machine
PAGES = Path("/proc/self/statm")


def held(roots: Iterable[Any], seen: set[int] | None = None) -> tuple[Counter[str], int]:
    """How many objects of each kind, and how many bytes in arrays. What was ``seen`` before is not counted again."""
    many: defaultdict[type, int] = defaultdict(int)
    inside: dict[type, bool] = {}  # whether a kind belongs to a session; asked of a hundred kinds, not of each object
    seen = set() if seen is None else seen
    nbytes, waiting = 0, list(roots)
    while waiting:
        one = waiting.pop()
        if id(one) in seen:
            continue
        kind = type(one)
        leads = inside.get(kind)
        if leads is None:
            leads = inside[kind] = not issubclass(kind, OUTSIDE) and kind.__module__ not in OURS
        if not leads:
            continue
        seen.add(id(one))
        many[kind] += 1
        if isinstance(one, np.ndarray):
            nbytes += one.nbytes if one.base is None else 0
        waiting += gc.get_referents(one)
    kinds: Counter[str] = Counter()
    for kind, number in many.items():
        kinds[kind.__qualname__] += number
    return kinds, nbytes


def resident_bytes() -> int | None:
    """Of this process, in memory; None on a system that does not say it so."""
    if not PAGES.exists():
        return None
    import resource

    return int(PAGES.read_text().split()[1]) * resource.getpagesize()
