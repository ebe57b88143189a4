"""The fishing time of a session so far."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from sternwatch.logbook.store.samples import Sample


@dataclass(slots=True)
class Fishing:
    """The samples of a session. It only grows, and only the watch adds to it. A copy shares the present samples."""

    _all: list[Sample] = field(default_factory=list)
    _count: int = 0

    @classmethod
    def of(cls, earlier: list[Sample]) -> Fishing:
        """Begin with the samples of a resumed trip."""
        return cls(earlier, len(earlier))

    def copy(self) -> Fishing:
        return Fishing(self._all, self._count)

    def __len__(self) -> int:
        return self._count

    def add(self, sample: Sample) -> None:
        if self._count != len(self._all):
            self._all = self._all[: self._count]  # another copy has added its own
        self._all.append(sample)
        self._count += 1

    def again(self, since_s: float, made: Callable[[Sample], Sample]) -> None:
        """Make the samples from feed time ``since_s`` on anew; copies keep theirs."""
        first = self._count
        while first and self._all[first - 1].boat.at_s >= since_s:
            first -= 1
        self._all = [*self._all[:first], *map(made, self._all[first : self._count])]

    def since(self, first: int = 0) -> list[Sample]:
        """All from the ``first`` on."""
        return self._all[first : self._count]
