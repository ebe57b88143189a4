"""A trip's samples in a few arrays of whole numbers: a tenth of what they take as objects.

A trip of a day has 8,640 samples. As objects they would be the most of what a session keeps, and small things that
stay for good keep whole blocks of memory in use. The numbers are those of the file (`samples`).
"""

from __future__ import annotations

from array import array
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, Final

from sternwatch.logbook.store.samples import BOAT, ROD, BoatRow, Rig, RodRow, Sample, from_stored, scale_of, to_stored

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_LEAST: Final = -(2**31)  # stands for None; in `_times` too, where no clock of ours ever stood
_WIDE, _ROD_WIDE = len(BOAT), len(ROD) + 1


def _whole(name: str, value: Any) -> int:
    """The number that the file has; what is not a number, or too large for any lake, is unknown."""
    try:
        number = to_stored(name, value)
    except (ValueError, OverflowError):
        return _LEAST
    return number if number is not None and -_LEAST > number > _LEAST else _LEAST


def _values(names: Sequence[str], numbers: Iterable[int]) -> list[Any]:
    pairs = zip(names, numbers, strict=True)
    return [from_stored(name, None if number == _LEAST else number) for name, number in pairs]


@dataclass(slots=True)
class SampleColumns:
    """Append-only, so that what was read up to a length stays as it is."""

    _times: array[int] = field(default_factory=lambda: array("q"))  # at_ms and time_ms of each sample
    _boats: array[int] = field(default_factory=lambda: array("i"))
    _rods: array[int] = field(default_factory=lambda: array("i"))  # rig's number, then the values, row by row
    _ends: array[int] = field(default_factory=lambda: array("i"))  # rows up to and with each sample
    _rigs: list[Rig] = field(default_factory=list)
    _numbers: dict[Rig, int] = field(default_factory=dict)

    @classmethod
    def of(cls, samples: Iterable[Sample]) -> SampleColumns:
        """The columns of samples in order of time."""
        made = cls()
        for sample in samples:
            made.add(sample)
        return made

    def __len__(self) -> int:
        return len(self._ends)

    def add(self, sample: Sample) -> None:
        """Add the newest sample."""
        boat = sample.boat
        for row in sample.rods:
            number = self._numbers.get(row.rig)
            if number is None:
                number = self._numbers[row.rig] = len(self._rigs)
                self._rigs.append(row.rig)
            self._rods.append(number)
            self._rods.extend(_whole(name, getattr(row, name)) for name in ROD)
        self._times.append(round(boat.at_s * 1000))
        self._times.append(_LEAST if boat.time_ms is None else boat.time_ms)
        self._boats.extend(_whole(name, getattr(boat, name)) for name in BOAT)
        self._ends.append(len(self._rods) // _ROD_WIDE)

    def first(self, count: int) -> SampleColumns:
        """Columns of their own with the ``count`` oldest samples."""
        rows = self._ends[count - 1] if count else 0
        rigs = self._rigs.copy()
        return SampleColumns(
            self._times[: 2 * count], self._boats[: _WIDE * count], self._rods[: _ROD_WIDE * rows],
            self._ends[:count], rigs, {rig: k for k, rig in enumerate(rigs)},
        )  # fmt: skip

    def at_s(self, k: int) -> float:
        """Feed time of a sample."""
        return self._times[2 * k] / 1000

    def samples(self, first: int, count: int) -> Iterator[Sample]:
        """The samples ``first`` to ``count``, without the latter."""
        for k in range(first, count):
            time_ms = self._times[2 * k + 1]
            values = _values(BOAT, self._boats[_WIDE * k : _WIDE * (k + 1)])
            boat = BoatRow(self.at_s(k), None if time_ms == _LEAST else time_ms, *values)
            rows = range(self._ends[k - 1] if k else 0, self._ends[k])
            yield Sample(boat, tuple(map(self._row, rows)))

    def _row(self, row: int) -> RodRow:
        number, *values = self._rods[_ROD_WIDE * row : _ROD_WIDE * (row + 1)]
        return RodRow(self._rigs[number], *_values(ROD, values))

    def boats(self, names: Sequence[str], count: int) -> NDArray[np.float64]:
        """Columns of the boat's numbers of the ``count`` oldest samples, (count, names); nan where unknown."""
        import numpy as np

        of_boat = np.array(self._boats[: _WIDE * count], dtype=np.float64).reshape(-1, _WIDE)
        of_boat[of_boat == _LEAST] = np.nan
        at_s = np.array(self._times[: 2 * count : 2], dtype=np.float64) / 1000
        columns = [at_s if name == "at_s" else of_boat[:, BOAT.index(name)] / scale_of(name) for name in names]
        return np.column_stack(columns) if columns else np.empty((count, 0))
