"""Calibrations as files: one JSON document each, dated, in the ``calibrations`` folder of the configuration."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from sternwatch.answers.belief.calibration import Calibration, Used
from sternwatch.files import write_whole
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import BOAT, DAY, prints
from sternwatch.places import config_dir
from sternwatch.reading import UnreadableError, is_there, json_of, read_text

FORMAT = "sternwatch calibration 1"
FOLDER = "calibrations"
NONE = "none"  # given instead of a file: the priors alone
_LARGEST_BYTES = 5_000_000


class CalibrationError(ValueError):
    """A calibration that cannot be used, as one sentence for the user."""


class NothingToKeepError(CalibrationError):
    """No observation said anything that outlasts the trip."""

    def __init__(self) -> None:
        super().__init__("there is nothing to keep: no observation said anything about the tackle")


class _Observation(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    id: str
    said: str
    used: bool
    why: str = ""


class _File(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    format: str = Field(pattern=f"^{re.escape(FORMAT)}$")
    name: str = Field(min_length=1, max_length=80)
    made: AwareDatetime | None
    spread: str
    names: tuple[str, ...] = Field(max_length=500)
    subjects: tuple[str, ...]
    prints: dict[str, str]
    mean: tuple[float, ...]
    covariance: tuple[tuple[float, ...], ...]
    points: tuple[tuple[float, ...], ...] | None = None
    observations: tuple[_Observation, ...] = ()


def text_of(calibration: Calibration) -> str:
    """The whole of a calibration as JSON text; reading it back gives the same numbers to the last digit."""
    made = calibration.made
    document: dict[str, Any] = {
        "format": FORMAT,
        "name": calibration.name,
        "made": None if made is None else made.astimezone(UTC).isoformat(timespec="seconds"),
        "spread": calibration.spread,
        "names": list(calibration.names),
        "subjects": list(calibration.subjects),
        "prints": dict(calibration.prints),
        "mean": calibration.mean.tolist(),
        "covariance": calibration.covariance.tolist(),
        "points": None if calibration.points is None else calibration.points.tolist(),
        "observations": [
            {"id": one.id, "said": one.said, "used": one.used, "why": one.why} for one in calibration.observations
        ],
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def first_wrong(error: ValidationError) -> tuple[str, str]:
    """The first wrong field, and why it is wrong."""
    first = error.errors(include_url=False)[0]
    field = ".".join(str(part) for part in first["loc"]) or "the file"
    return field, f"{first['msg'][:1].lower()}{first['msg'][1:]}"


def parse(text: str, where: str) -> Calibration:
    """A calibration from its text. ``where`` begins the sentence of an error. Raises CalibrationError."""
    try:
        given = json_of(text)
    except UnreadableError as fault:
        raise CalibrationError(f"{where}: not a calibration: no JSON ({fault})") from None
    try:
        file = _File.model_validate(given)
    except ValidationError as error:
        field, wrong = first_wrong(error)
        if field == "format":
            raise CalibrationError(f'{where}: format: accepted is "{FORMAT}"') from None
        raise CalibrationError(f"{where}: {field}: {wrong}") from None
    if len(file.subjects) != len(file.names):
        raise CalibrationError(f"{where}: subjects: {len(file.names)} are wanted, one for each name")
    try:
        return Calibration(
            file.name, file.names, file.mean, file.covariance,  # type: ignore[arg-type]
            file.subjects, file.prints, file.made, file.spread,
            tuple(Used(one.id, one.said, one.used, one.why) for one in file.observations),
            file.points,  # type: ignore[arg-type]
        )  # fmt: skip
    except ValueError as fault:
        raise CalibrationError(f"{where}: {fault}") from None


def load(path: Path) -> Calibration:
    """Load a calibration file. Raises CalibrationError, which names the file and what is wrong."""
    try:
        text = read_text(path, _LARGEST_BYTES)
    except FileNotFoundError:
        raise CalibrationError(f"{path}: there is no such file") from None
    except UnreadableError as fault:
        raise CalibrationError(f"{path}: not a calibration: {fault}") from None
    return parse(text, str(path))


def folder() -> Path:
    """The folder of calibrations; not made here."""
    return config_dir() / FOLDER


def save(calibration: Calibration, path: Path | None = None) -> Path:
    """Save its lasting part. Without ``path``, in the folder, named by date and boat.

    Raises NothingToKeepError where nothing lasts, OSError.
    """
    lasting = calibration.lasting()
    if not lasting.names:
        raise NothingToKeepError
    if path is None:
        made = calibration.made or datetime.now(UTC)
        boat = re.sub(r"[^a-z0-9]+", "-", calibration.spread.lower()).strip("-") or "spread"
        path = folder() / f"{made.astimezone(UTC):%Y-%m-%dT%H%M%SZ}-{boat}.json"
    write_whole(path, text_of(lasting), keep=True)
    return path


def for_spread(calibration: Calibration, spread: Spread) -> tuple[Calibration | None, str]:
    """The part of a calibration that holds for a spread, or None; and what does not hold, in words."""
    own, changed = calibration.fitted_to(prints(spread))
    gear = [subject for subject in own.subjects if subject not in (BOAT, DAY)]
    if not gear:
        return None, f"the calibration {calibration.name} is of other gear than this spread's"
    if changed:
        return own, f"defined otherwise since the calibration {calibration.name}, so left out: {', '.join(changed)}"
    return own, ""


def newest_for(spread: Spread, files: Sequence[Path] | None = None) -> tuple[Calibration | None, tuple[str, ...]]:
    """The newest calibration of the folder that holds for a spread; and a sentence on each that could not be used."""
    found = sorted(folder().glob("*.json"), reverse=True) if files is None else list(files)
    words: list[str] = []
    best: tuple[datetime, Calibration, str] | None = None
    for path in found:
        try:
            one = load(path)
        except CalibrationError as fault:
            words.append(str(fault))
            continue
        own, note = for_spread(one, spread)
        made = one.made or datetime.min.replace(tzinfo=UTC)
        if own is not None and (best is None or made > best[0]):
            best = (made, own, note)
    if best is None:
        return None, tuple(words)
    return best[1], tuple(words) + ((best[2],) if best[2] else ())


def chosen(asked: str | None, spread: Spread) -> tuple[Calibration | None, tuple[str, ...]]:
    """The calibration for a session: a file, "none", or (None) the newest that holds for the spread.

    Also returns remarks about it, a sentence each. Raises CalibrationError for a file that cannot be used, or
    that holds nothing for this spread.
    """
    if asked is None:
        return newest_for(spread)
    if asked == NONE:
        return None, ()
    path = Path(asked)
    if not is_there(path) and is_there(folder() / f"{asked}.json"):
        path = folder() / f"{asked}.json"
    own, note = for_spread(load(path), spread)
    if own is None:
        raise CalibrationError(f"{path}: {note}")
    return own, (note,) if note else ()
