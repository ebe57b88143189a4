"""The fishing time of a session so far."""

from __future__ import annotations

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

    def since(self, first: int = 0) -> list[Sample]:
        """All from the ``first`` on."""
        return self._all[first : self._count]
