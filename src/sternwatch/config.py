"""The user's own preferences: one TOML file, checked, with errors that say what would be accepted."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from sternwatch.gear.quantities import LengthAboveZero
from sternwatch.gear.units import FOOT_M, SYSTEMS, DisplaySystem
from sternwatch.places import config_dir

NAME = "config.toml"


class ConfigError(ValueError):
    """A setting that cannot be used, as one sentence for the user."""


class Preferences(BaseModel):
    """Preferences with their defaults; a missing file means all of them."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    units: Literal["us", "metric", "knots"] = Field(default="us", description="us (mph, ft, °F, lb), metric or knots")
    theme: str | None = Field(default=None, description="name of the theme to start with; else the last used")
    mouse: bool = Field(default=False, description="mouse and trackpad on helm screens")
    mirror: bool = Field(default=False, description="rod columns starboard to port, for a screen that faces aft")
    little: LengthAboveZero | None = Field(default=None, description='line per press of the let-out key, as "5 ft"')
    lot: LengthAboveZero | None = Field(default=None, description='line per press of the a-lot key, as "25 ft"')
    lead_step: LengthAboveZero | None = Field(default=None, description='a downrigger\'s lead per press, as "5 ft"')
    species: tuple[str, ...] = Field(
        default=("coho", "lake trout", "chinook", "steelhead", "brown trout", "Atlantic salmon", "walleye"),
        description="what fish there are to choose from",
    )
    keys: dict[str, str | tuple[str, ...]] = Field(default_factory=dict, description="act = key, or a list of keys")

    @property
    def system(self) -> DisplaySystem:
        """The units the crew reads."""
        return SYSTEMS[self.units]

    @property
    def little_m(self) -> float:
        """Line per press of the let-out key [m]."""
        return self.little or (5 * FOOT_M if self.units == "us" else 1.0)

    @property
    def lot_m(self) -> float:
        """Line per press of the a-lot key [m]."""
        return self.lot or (25 * FOOT_M if self.units == "us" else 10.0)

    @property
    def lead_step_m(self) -> float:
        """A downrigger's lead per press [m]."""
        return self.lead_step or (5 * FOOT_M if self.units == "us" else 1.0)

    @field_validator("species")
    @classmethod
    def _named(cls, value: tuple[str, ...]) -> tuple[str, ...]:
        for name in value:
            if not name.strip() or len(name) > 24:
                raise ValueError(f"a species is a name of 1 to 24 letters, not {name!r}")
        return value


def nearest(given: str, known: Iterable[str]) -> str:
    """``; did you mean 'x'?`` for the known word nearest to ``given``, or nothing."""
    match = difflib.get_close_matches(given, list(known), n=1, cutoff=0.5)
    return f"; did you mean {match[0]!r}?" if match else ""


def load_preferences(path: Path | None = None) -> Preferences:
    """Read the preferences; ``path`` None means the usual place, where the file may be missing.

    Raises ``ConfigError``: one sentence that names file, field, what was given and what is accepted.
    """
    file = path or config_dir() / NAME
    try:
        text = file.read_text(encoding="utf-8")
    except FileNotFoundError:
        if path is None:
            return Preferences()
        raise ConfigError(f"{file}: there is no such file") from None
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigError(f"{file}: cannot be read ({error})") from None
    try:
        given = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ConfigError(f"{file}: not valid TOML: {error}") from None
    return parse_preferences(given, str(file))


def parse_preferences(given: dict[str, Any], where: str) -> Preferences:
    """Check preferences already read from TOML; ``where`` names the file in errors."""
    try:
        return Preferences.model_validate(given)
    except ValidationError as error:
        first = error.errors()[0]
        raise ConfigError(f"{where}: {_sentence(first)}") from None


def _sentence(error: Any) -> str:
    path = [str(part) for part in error["loc"]]
    field = ".".join(path)
    if error["type"] == "extra_forbidden":
        names = list(Preferences.model_fields)
        return f"there is no setting {field!r}{nearest(field, names)} (settings: {', '.join(names)})"
    wanted = Preferences.model_fields[path[0]].description or "" if path else ""
    reason = str(error["msg"]).removeprefix("Value error, ")
    return f"{field} = {error['input']!r}: {reason[:1].lower()}{reason[1:]} ({path[0]}: {wanted})"
