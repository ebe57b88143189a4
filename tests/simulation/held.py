"""What a session holds: objects that can be reached from it, and the bytes of its arrays."""

from __future__ import annotations

import gc
import types
from collections import Counter
from collections.abc import Iterable
from typing import Any

import numpy as np

# What leads out of a session: code, classes, and whoever is told of pictures and entries.
OUTSIDE = (
    type, types.ModuleType, types.FunctionType, types.BuiltinFunctionType, types.MethodType, types.CodeType,
    types.FrameType, types.GeneratorType,
)  # fmt: skip
OURS = ("simulation.ledger", "simulation.day", "simulation.lake")  # the day's own books, and its machine


def held(roots: Iterable[Any]) -> tuple[Counter[str], int]:
    """How many objects of each kind, and how many bytes in arrays."""
    kinds: Counter[str] = Counter()
    seen: set[int] = set()
    nbytes, waiting = 0, list(roots)
    while waiting:
        one = waiting.pop()
        if id(one) in seen or isinstance(one, OUTSIDE) or type(one).__module__ in OURS:
            continue
        seen.add(id(one))
        kinds[type(one).__qualname__] += 1
        if isinstance(one, np.ndarray):
            nbytes += one.nbytes if one.base is None else 0
        waiting += gc.get_referents(one)
    return kinds, nbytes
