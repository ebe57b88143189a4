"""The fishing time of a session so far."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sternwatch.logbook.store.sample_columns import SampleColumns
from sternwatch.logbook.store.samples import Sample


@dataclass(slots=True, eq=False)
class Fishing:
    """The samples of a session. It only grows, and only the watch adds to it. A copy shares the present samples."""

    _kept: SampleColumns = field(default_factory=SampleColumns)
    _count: int = 0

    @classmethod
    def of(cls, earlier: Sequence[Sample]) -> Fishing:
        """Begin with the samples of a resumed trip."""
        return cls(SampleColumns.of(earlier), len(earlier))

    def copy(self) -> Fishing:
        return Fishing(self._kept, self._count)

    def __len__(self) -> int:
        return self._count

    def __iter__(self) -> Iterator[Sample]:
        """Made one by one, so that a pass over a whole trip holds one at a time."""
        return self._kept.samples(0, self._count)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Fishing) and (
            (self._kept is other._kept and self._count == other._count) or list(self) == list(other)
        )

    __hash__ = None  # type: ignore[assignment]

    def add(self, sample: Sample) -> None:
        if self._count != len(self._kept):
            self._kept = self._kept.first(self._count)  # another copy has added its own
        self._kept.add(sample)
        self._count += 1

    def again(self, since_s: float, made: Callable[[Sample], Sample]) -> None:
        """Make the samples from feed time ``since_s`` on anew; copies keep theirs."""
        first = self._count
        while first and self._kept.at_s(first - 1) >= since_s:
            first -= 1
        anew = self._kept.first(first)
        for sample in self._kept.samples(first, self._count):
            anew.add(made(sample))
        self._kept = anew

    def since(self, first: int = 0) -> list[Sample]:
        """All from the ``first`` on, made for the caller."""
        return list(self._kept.samples(first, self._count))

    def boats(self, names: Sequence[str]) -> NDArray[np.float64]:
        """Numbers of the boat's rows, (samples, names); nan where unknown."""
        return self._kept.boats(names, self._count)
