"""The parts of every action: its moment, its numbers, and the fields that all actions have."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated

from pydantic import AfterValidator, AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field, PlainSerializer


def iso(value: datetime) -> str:
    """A moment as text: UTC, to the millisecond, ``2025-07-18T23:42:10.250Z``."""
    return value.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def _written(value: object) -> object:
    # Pydantic would read a bare number as Unix seconds or milliseconds by its size: refuse it.
    if not isinstance(value, str | datetime):
        raise ValueError("not a written time")
    return value


def _to_ms(value: datetime) -> datetime:
    # Rounded as when written, so that an action equals its stored line.
    try:
        if not 1900 <= value.year < 2200:  # some zones cannot show a moment at the calendar's ends
            raise OverflowError
        return value.astimezone(UTC).replace(microsecond=value.microsecond // 1000 * 1000)
    except OverflowError:
        raise ValueError("outside the calendar") from None


Moment = Annotated[
    AwareDatetime, BeforeValidator(_written), AfterValidator(_to_ms), PlainSerializer(iso, when_used="json")
]
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Flag = Annotated[bool, Field(strict=True)]
Id = Annotated[str, Field(min_length=1, max_length=40)]


class ActionBase(BaseModel):
    """The fields of every action."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    id: Id
    time: Moment
    elapsed_s: Number | None = None
    rod: str | None = None
    part_of: Id | None = None  # the entry before it that the same act made: taken back and restored with it


class RodAction(ActionBase):
    """An action on one rod, named by its key."""

    rod: str = Field(min_length=1, max_length=1)
