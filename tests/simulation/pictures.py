"""What is asked of pictures: that every number is finite, and that two are equal to the last bit."""

from __future__ import annotations

import math
import operator
from dataclasses import fields
from typing import Any

import numpy as np

from sternwatch.watch.picture.model import BottomPicture, HitPicture, OwnBoat, Picture, Point, RodPicture


def _numbers_of(kind: type) -> Any:
    """Gives those fields of a part of a picture that hold numbers, alone or several together."""
    types = {f.name: str(f.type) for f in fields(kind)}
    return operator.attrgetter(*(name for name, of in types.items() if "float" in of and "NDArray" not in of))


_NUMBERS = {kind: _numbers_of(kind) for kind in (Picture, OwnBoat, RodPicture, Point, BottomPicture, HitPicture)}


def finite(picture: Picture) -> bool:
    """Whether every number is: a sum is finite if all are. (Rows of JSON say null for one that is not.)"""
    parts: list[Any] = [picture, picture.own, *picture.rods, *picture.hits]
    for rod in picture.rods:
        parts += rod.points if rod.bottom is None else (*rod.points, rod.bottom)
    numbers = [number for part in parts for number in _NUMBERS[type(part)](part) if number is not None]
    total = 0.0
    while numbers:
        number = numbers.pop()
        if isinstance(number, tuple):
            numbers += number
        elif number is not None:
            total += number
    return math.isfinite(total) and all(
        rod.shape_m is None or math.isfinite(float(rod.shape_m.sum())) for rod in picture.rods
    )


_COMPARED = operator.attrgetter(*(f.name for f in fields(Picture) if f.compare and f.name != "alerts"))


def same(one: Picture, other: Picture) -> bool:
    """Whether two pictures are equal to the last bit, but for their alerts, which a session raises from its start."""
    shapes = [[rod.shape_m for rod in picture.rods] for picture in (one, other)]
    return bool(_COMPARED(one) == _COMPARED(other)) and all(map(np.array_equal, *shapes))
