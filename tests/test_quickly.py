"""Frozen dataclasses that are made quickly are what they were."""

from __future__ import annotations

import copy
import inspect
import pickle
from dataclasses import FrozenInstanceError, dataclass, field, replace

import pytest

from sternwatch.quickly import quickly_made


@quickly_made
@dataclass(frozen=True, slots=True)
class Slotted:
    a: int
    b: str = "b"
    c: list[int] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Usual:
    a: int
    b: str = "b"
    c: list[int] = field(default_factory=list)


@quickly_made
@dataclass(frozen=True)
class WithDict:
    a: int
    b: str = "b"


def told(one: object) -> str:
    return repr(one).partition("(")[2]


def test_it_takes_what_the_usual_one_takes() -> None:
    for given, named in (((1,), {}), ((1, "x"), {}), ((), {"a": 2, "c": [3]}), ((1,), {"b": "y", "c": []})):
        assert told(Slotted(*given, **named)) == told(Usual(*given, **named))  # type: ignore[arg-type]
    for refused in ((), (1, "b", [], 4)):
        with pytest.raises(TypeError):
            Slotted(*refused)  # type: ignore[arg-type]
    with pytest.raises(TypeError):
        Slotted(1, d=2)  # type: ignore[call-arg]
    assert Slotted(1).c is not Slotted(1).c
    assert list(inspect.signature(Slotted).parameters) == ["a", "b", "c"]
    assert inspect.get_annotations(Slotted.__init__) == inspect.get_annotations(Usual.__init__)


@pytest.mark.parametrize("made", [Slotted(1), WithDict(1)])
def test_it_stays_frozen_and_of_its_class(made: Slotted | WithDict) -> None:
    for name in ("a", "d"):
        with pytest.raises((FrozenInstanceError, TypeError)):
            setattr(made, name, 2)
    with pytest.raises(FrozenInstanceError):
        del made.a
    assert type(made) in (Slotted, WithDict)
    assert hasattr(made, "__dict__") == (type(made) is WithDict)


def test_it_is_compared_copied_and_kept_as_before() -> None:
    made = Slotted(1, c=[2])
    assert made == Slotted(1, "b", [2]) != Slotted(2)
    assert hash(WithDict(1)) == hash(WithDict(1, "b"))
    assert replace(made, a=3) == Slotted(3, "b", [2])
    for again in (copy.copy(made), copy.deepcopy(made), pickle.loads(pickle.dumps(made))):
        assert again == made
        assert type(again) is Slotted


def test_a_class_that_does_more_is_refused() -> None:
    with pytest.raises(TypeError):

        @quickly_made
        @dataclass(frozen=True)
        class Inherits(WithDict):
            c: int = 0

    with pytest.raises(TypeError):

        @quickly_made
        @dataclass(frozen=True)
        class Checks:
            a: int

            def __post_init__(self) -> None:
                pass

    with pytest.raises(TypeError):

        @quickly_made
        @dataclass(frozen=True)
        class Named:
            a: int = field(kw_only=True)

    with pytest.raises(TypeError):

        @quickly_made
        class Plain:
            a: int
