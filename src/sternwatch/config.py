"""The user's preferences: one TOML file, checked, with errors that say what is accepted."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, ValidationInfo, field_validator

from sternwatch.gear.values.quantities import LET_OUT_M_S, LengthAboveZero, PayOut, Temperature
from sternwatch.gear.values.units import FOOT_M, SYSTEMS, DisplaySystem
from sternwatch.places import config_dir
from sternwatch.reading import UnreadableError, read_text, toml_of
from sternwatch.water.zones import OWN, ZONES, Zone

NAME = "config.toml"


class ConfigError(ValueError):
    """A setting cannot be used; the message is one sentence for the user."""


MOST_RISK = 0.5


class OwnZone(BaseModel):
    """A zone in the user's file: temperatures with their unit."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    low: Temperature
    high: Temperature
    source: str = OWN

    @field_validator("high")
    @classmethod
    def _above(cls, value: float, info: ValidationInfo) -> float:
        if value <= info.data.get("low", value - 1.0):
            raise ValueError("the zone's high end must be warmer than its low end")
        return value


class Preferences(BaseModel):
    """Preferences with their defaults. Without a file all defaults hold."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    units: Literal["us", "metric", "knots"] = Field(default="us", description="us (mph, ft, °F, lb), metric or knots")
    clock: Literal["boat", "UTC"] = Field(
        default="boat", description="times of day to show: boat (its local time) or UTC"
    )
    theme: str | None = Field(default=None, description="name of the theme to start with; else the last used")
    bell: bool = Field(default=True, description="the terminal's bell for alarms and warnings on the water")
    alert_command: tuple[str, ...] = Field(
        default=(),
        description=(
            'a program to run at each alarm and warning, as ["/path/to/it", "argument"]; priority and text are added'
        ),
    )
    risk: float = Field(
        default=0.1,
        ge=0.0,
        le=MOST_RISK,
        description="the risk of a crossing that the limits of turn and speed allow, 0 to 50 %: 10 % is one of "
        "sixteen versions (written 0.1 in the file)",
    )
    mouse: bool = Field(default=False, description="mouse and trackpad on helm screens")
    mirror: bool = Field(default=False, description="rod columns starboard to port, for a screen that faces aft")
    little: LengthAboveZero | None = Field(default=None, description="line per press of the let-out key")
    lot: LengthAboveZero | None = Field(default=None, description="line per press of the a-lot key")
    lead_step: LengthAboveZero | None = Field(default=None, description="a downrigger's lead per press")
    let_out_rate: PayOut | None = Field(default=None, description="line let out in a second")
    zones: dict[str, OwnZone] = Field(
        default_factory=dict, description='zones of your own: name = { low = "48 degF", high = "54 degF" }'
    )
    zone: str | None = Field(default=None, description="the zone wanted: a fish, or one of your own under zones")
    species: tuple[str, ...] = Field(
        default=("coho", "lake trout", "chinook", "steelhead", "brown trout", "Atlantic salmon", "walleye"),
        description="the fish to choose from",
    )
    feed: dict[str, Any] = Field(default_factory=dict, description='sources by name, each with source = "…"')
    keys: dict[str, str | tuple[str, ...]] = Field(default_factory=dict, description="act = key, or a list of keys")

    @property
    def system(self) -> DisplaySystem:
        """The units and the clock that the crew read."""
        return replace(SYSTEMS[self.units], utc=self.clock == "UTC")

    @property
    def little_m(self) -> float:
        """Line per press of the let-out key [m]."""
        return self.little or (5 * FOOT_M if self.units == "us" else 1.0)

    @property
    def lot_m(self) -> float:
        """Line per press of the key for a lot [m]."""
        return self.lot or (25 * FOOT_M if self.units == "us" else 10.0)

    @property
    def lead_step_m(self) -> float:
        """A downrigger's lead per press [m]."""
        return self.lead_step or (5 * FOOT_M if self.units == "us" else 1.0)

    @property
    def let_out_m_s(self) -> float:
        """The speed of letting line out or taking it in [m/s]."""
        return self.let_out_rate or LET_OUT_M_S

    @property
    def zone_wanted(self) -> Zone | None:
        """The chosen zone, where a user's zone precedes a shipped one of the same name; None where none is chosen."""
        if self.zone is None:
            return None
        own = self.zones.get(self.zone)
        return ZONES[self.zone] if own is None else Zone(self.zone, own.low, own.high, own.source)

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, value: str | None, info: ValidationInfo) -> str | None:
        known = list(dict.fromkeys((*info.data.get("zones", ()), *ZONES)))
        if value is not None and value not in known:
            raise ValueError(f"there is no such zone{nearest(value, known)} (zones: {', '.join(known)})")
        return value

    @field_validator("alert_command")
    @classmethod
    def _runs_something(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        if value and not value[0].strip():
            raise ValueError("the first is the program to run")
        return value

    @field_validator("species")
    @classmethod
    def _named(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for name in value:
            if not name.strip() or len(name) > 24:
                raise ValueError(f"a species is a name of 1 to 24 letters, not {name!r}")
        return value


def nearest(given: str, known: Iterable[str]) -> str:
    """``; did you mean 'x'?`` with the known word nearest to ``given``, or nothing."""
    match = difflib.get_close_matches(given, list(known), n=1, cutoff=0.5)
    return f"; did you mean {match[0]!r}?" if match else ""


def load_preferences(path: Path | None = None) -> Preferences:
    """Read the preferences. ``path`` None means the usual place; the file may be missing there.

    Raises ``ConfigError``: one sentence that names file, field, the value given and what is accepted.
    """
    given, where = read_preferences(path)
    return parse_preferences(given, where)


def read_preferences(path: Path | None = None) -> tuple[dict[str, Any], str]:
    """The contents of the preferences' file, unchecked, and its name; an empty table where there is no file.

    Raises ``ConfigError`` where it cannot be read or is not TOML.
    """
    file = path or config_dir() / NAME
    try:
        text = read_text(file)
    except FileNotFoundError:
        if path is None:
            return {}, str(file)
        raise ConfigError(f"{file}: there is no such file") from None
    except UnreadableError as error:
        raise ConfigError(f"{file}: {error}") from None
    try:
        return toml_of(text), str(file)
    except UnreadableError as error:
        raise ConfigError(f"{file}: not valid TOML: {error}") from None


def parse_preferences(given: dict[str, Any], where: str) -> Preferences:
    """Check preferences already read from TOML; ``where`` names the file in errors."""
    try:
        return Preferences.model_validate(given)
    except ValidationError as error:
        first = error.errors()[0]
        raise ConfigError(f"{where}: {_sentence(first)}") from None


def forgiving(given: dict[str, Any], where: str) -> tuple[Preferences, tuple[str, ...]]:
    """The preferences, each faulty one at its default, and what is wrong with them.

    For a session on the water, which must start whatever slip is in the file.
    """
    kept = dict(given)
    said: list[str] = []
    while True:
        try:
            return Preferences.model_validate(kept), tuple(said)
        except ValidationError as error:
            first = error.errors()[0]
            said.append(f"{where}: {_sentence(first)}; the default stands")
            del kept[str(first["loc"][0])]


def _sentence(error: Any) -> str:
    path = [str(part) for part in error["loc"]]
    field = ".".join(path)
    if error["type"] == "extra_forbidden":
        names = list(Preferences.model_fields)
        return f"there is no setting {field!r}{nearest(field, names)} (settings: {', '.join(names)})"
    wanted = Preferences.model_fields[path[0]].description or "" if path else ""
    reason = str(error["msg"]).removeprefix("Value error, ")
    return f"{field} = {error['input']!r}: {reason[:1].lower()}{reason[1:]} ({path[0]}: {wanted})"
