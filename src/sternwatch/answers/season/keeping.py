"""Keeps the season beside the logbook: a calibration for each trip, and an index with the one that holds.

``season/index.json`` lists the updates in order; the last one holds. Undoing moves the last one to the list of those
undone. No calibration is ever deleted.
"""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from sternwatch.answers.belief import calibration_file
from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.calibration_file import CalibrationError, NothingToKeepError
from sternwatch.answers.belief.fit import Fit
from sternwatch.answers.belief.observations import Observation, concerns
from sternwatch.answers.season.carrying import aged, carried_on
from sternwatch.files import write_whole
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.places import data_dir
from sternwatch.reading import UnreadableError, json_of, read_text

FORMAT = "sternwatch season 1"
INDEX = "index.json"
_LARGEST_BYTES = 5_000_000


class Update(BaseModel):
    """What one trip changed. ``sd``: standard deviation of every number known after it (1: as in the prior)."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    trip: str
    made: AwareDatetime
    file: str
    used: int = Field(ge=0)
    by_subject: dict[str, int]  # number of observations of each piece
    sd: dict[str, float]
    mean: dict[str, float]


class _Index(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")

    format: str = FORMAT
    updates: tuple[Update, ...] = ()
    undone: tuple[Update, ...] = ()


@dataclass(frozen=True, slots=True)
class Season:
    """A folder of calibrations. Files are read only when needed."""

    folder: Path

    @classmethod
    def own(cls) -> Season:
        """The user's own season, beside the logbook."""
        return cls(data_dir() / "season")

    def _index(self) -> _Index:
        path = self.folder / INDEX
        try:
            given = json_of(read_text(path, _LARGEST_BYTES))
        except FileNotFoundError:
            return _Index()
        except UnreadableError as fault:
            raise CalibrationError(f"{path}: not a season: {fault}") from None
        try:
            found = _Index.model_validate(given)
        except ValidationError as error:
            field, wrong = calibration_file.first_wrong(error)
            raise CalibrationError(f"{path}: {field}: {wrong}") from None
        if found.format != FORMAT:
            raise CalibrationError(f'{path}: format: accepted is "{FORMAT}"')
        return found

    @property
    def updates(self) -> tuple[Update, ...]:
        """All updates in order. Raises CalibrationError."""
        return self._index().updates

    def current(self) -> Calibration | None:
        """The calibration that holds now. None before the first trip. Raises CalibrationError."""
        updates = self.updates
        return calibration_file.load(self.folder / updates[-1].file) if updates else None

    def add(
        self, spread: Spread, observations: Sequence[Observation], *, trip: str, made: datetime
    ) -> tuple[Fit, Calibration]:
        """Carry the season on by a trip. Adding the last trip again replaces its update.

        Raises CalibrationError, OSError.
        """
        index = self._index()
        updates = index.updates[:-1] if index.updates and index.updates[-1].trip == trip else index.updates
        before = calibration_file.load(self.folder / updates[-1].file) if updates else None
        name = f"season to {made.astimezone(UTC):%Y-%m-%d %H:%M}"
        found, season = carried_on(before, spread, observations, name=name, made=made)
        if not found.used or not season.names:
            raise NothingToKeepError
        file = f"{made.astimezone(UTC):%Y-%m-%dT%H%M%SZ}-{re.sub(r'[^A-Za-z0-9-]+', '-', trip)[:40] or 'trip'}.json"
        calibration_file.save(season, self.folder / file)
        mean, covariance = season.law
        update = Update(
            trip=trip, made=made, file=file, used=len(found.used), by_subject=_told(found),
            sd={name: float(covariance[j, j]) ** 0.5 for j, name in enumerate(season.names)},
            mean={name: float(mean[j]) for j, name in enumerate(season.names)},
        )  # fmt: skip
        self._write(index.model_copy(update={"updates": (*updates, update)}))
        return found, season

    def undo(self) -> Update | None:
        """Take the last update out and return it; None where there is none. Raises CalibrationError, OSError."""
        index = self._index()
        if not index.updates:
            return None
        last = index.updates[-1]
        self._write(
            index.model_copy(update={"updates": index.updates[:-1], "undone": (*index.undone, last)})
        )  # fmt: skip
        return last

    def has(self, trip: str) -> bool:
        """Whether a trip has an update, or had one that was undone by hand."""
        index = self._index()
        return any(one.trip == trip for one in (*index.updates, *index.undone))

    def _write(self, index: _Index) -> None:
        text = json.dumps(index.model_dump(mode="json"), indent=1, ensure_ascii=False, allow_nan=False)
        write_whole(self.folder / INDEX, text + "\n", keep=True)


def _told(found: Fit) -> dict[str, int]:
    """How many observations informed each lasting subject."""
    quantities = uncertain(found.spread, fitted=True)
    told: dict[str, int] = {}
    for one in found.used:
        rod = found.spread.rod_by_key(one.rod)
        assert rod is not None  # used observations have one
        names = [name for name in concerns(found.spread, rod, quantities) if not quantities[name].daily]
        for subject in {quantities[name].subject for name in names}:
            told[subject] = told.get(subject, 0) + 1
    return told


def holding(
    spread: Spread, asked: str | None, season: Season | None = None
) -> tuple[Calibration | None, tuple[str, ...]]:
    """The calibration for a session: a file, "none", or (None) the newest of the season and of those saved by hand.

    Also returns remarks about it, a sentence each. Raises CalibrationError for a given file.
    """
    found, words = calibration_file.chosen(asked, spread)
    if asked is not None:
        return found, words
    try:
        current = (season or Season.own()).current()
    except CalibrationError as fault:
        return found, (*words, str(fault))
    if current is None or (found is not None and _made(found) > _made(current)):
        return found, words
    own, note = calibration_file.for_spread(aged(current), spread)
    return (found, words) if own is None else (own, (note,) if note else ())


def _made(one: Calibration) -> datetime:
    return one.made or datetime.min.replace(tzinfo=UTC)
