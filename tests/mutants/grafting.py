"""Puts a mutant's code into a module that is loaded already, so that its tests need not load everything anew.

It cannot reach what was made from the module before: values that a test file worked out while it was loaded, models'
own validators. So what runs while the module is loaded is tried once more, in a process that loads the mutant
from the first.
"""

from __future__ import annotations

import sys
import types
from typing import Any


def graft(module: types.ModuleType, source: str) -> None:
    """Give the module's functions, classes and constants the code and values of ``source``."""
    fresh = types.ModuleType(module.__name__)
    fresh.__dict__.update({k: v for k, v in module.__dict__.items() if k.startswith("__")})
    held = sys.modules[module.__name__]
    sys.modules[module.__name__] = fresh  # dataclasses look their module up
    try:
        exec(compile(source, module.__file__ or "", "exec"), fresh.__dict__)
    finally:
        sys.modules[module.__name__] = held
    others = [one for name, one in list(sys.modules.items()) if isinstance(one, types.ModuleType)]
    for name, new in fresh.__dict__.items():
        old = module.__dict__.get(name)
        if name.startswith("__") or old is None or _joined(old, new, module.__name__):
            continue
        if getattr(new, "__module__", module.__name__) != module.__name__:
            continue  # imported there
        for one in others:
            if one is not fresh and one.__dict__.get(name) is old:
                one.__dict__[name] = new
    for one in others:
        if one.__name__.startswith("sternwatch"):
            for value in list(one.__dict__.values()):
                clear = getattr(value, "cache_clear", None)
                if callable(clear):
                    clear()


def _joined(old: Any, new: Any, home: str) -> bool:
    """Whether the old object could be given what the new one does, so that all who hold it see the mutant."""
    old_plain, new_plain = getattr(old, "__wrapped__", old), getattr(new, "__wrapped__", new)
    if isinstance(old_plain, types.FunctionType) and isinstance(new_plain, types.FunctionType):
        return old_plain.__module__ != home or _function(old_plain, new_plain)
    if isinstance(old, type) and isinstance(new, type):
        return old.__module__ != home or _class(old, new)
    return False


def _function(old: types.FunctionType, new: types.FunctionType) -> bool:
    if old.__code__.co_freevars != new.__code__.co_freevars:
        return False
    old.__code__, old.__defaults__, old.__kwdefaults__ = new.__code__, new.__defaults__, new.__kwdefaults__
    for name, mine, other in zip(new.__code__.co_freevars, old.__closure__ or (), new.__closure__ or (), strict=True):
        if name != "__class__":
            mine.cell_contents = other.cell_contents
    return True


def _class(old: type, new: type) -> bool:
    for name, value in vars(new).items():
        mine = vars(old).get(name)
        pairs = [(mine, value)]
        if isinstance(value, property) and isinstance(mine, property):
            pairs = [(mine.fget, value.fget), (mine.fset, value.fset)]
        elif isinstance(value, classmethod | staticmethod) and isinstance(mine, classmethod | staticmethod):
            pairs = [(mine.__func__, value.__func__)]
        for one, other in pairs:
            if isinstance(one, types.FunctionType) and isinstance(other, types.FunctionType):
                _function(one, other)
            elif isinstance(one, int | float | str | tuple | frozenset) and not name.startswith("__"):
                setattr(old, name, other)
    return True
