"""Makes frozen dataclasses as quickly as those that are not.

A frozen dataclass sets every field by a call, which is more than half of its making; a watch makes some three hundred
a second. ``quickly_made`` gives it an ``__init__`` that sets the fields while the object is of a twin that is not
frozen, of the same layout. Nobody else has the object then.
"""

from __future__ import annotations

from dataclasses import MISSING, fields
from typing import Any, TypeVar

T = TypeVar("T")


def quickly_made(cls: type[T]) -> type[T]:
    """The same frozen dataclass, made quickly. To be written above ``@dataclass``."""
    if cls.__bases__ != (object,) or hasattr(cls, "__post_init__"):
        raise TypeError(f"{cls.__qualname__} inherits, or does more than take its fields")
    twin = type(cls.__name__, (), {"__slots__": cls.__dict__["__slots__"]} if "__slots__" in cls.__dict__ else {})
    known: dict[str, Any] = {"_twin": twin, "_set": object.__setattr__, "_missing": MISSING}
    takes, sets = ["self"], []
    of: Any = cls  # what is no dataclass is refused by ``fields``
    for one in fields(of):
        name, value = one.name, one.name
        if one.kw_only or not one.init:
            raise TypeError(f"{cls.__qualname__}.{name} is no plain field")
        if one.default is not MISSING:
            known[f"_of_{name}"] = one.default
            takes.append(f"{name}=_of_{name}")
        elif one.default_factory is not MISSING:
            known[f"_of_{name}"] = one.default_factory
            takes.append(f"{name}=_missing")
            value = f"_of_{name}() if {name} is _missing else {name}"
        else:
            takes.append(name)
        sets.append(f"self.{name} = {value}")
    lines = ["_kind = self.__class__", "_set(self, '__class__', _twin)", *sets, "self.__class__ = _kind"]
    made: dict[str, Any] = {}
    exec(f"def __init__({', '.join(takes)}):\n " + "\n ".join(lines), known, made)
    init = made["__init__"]
    init.__qualname__, init.__annotations__ = f"{cls.__qualname__}.__init__", cls.__init__.__annotations__
    init.__module__ = cls.__module__
    cls.__init__ = init  # type: ignore[method-assign]
    return cls
