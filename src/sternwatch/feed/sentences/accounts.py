"""Accounts for a source's lines: counts by cause, and the last line of each cause for the crew to see."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from sternwatch.feed.sentences.unusable_bytes import InVain
from sternwatch.quickly import quickly_made


class Cause(StrEnum):
    """Why a line is not used. The values are words for the screen."""

    NO_SENTENCE = "no sentence"
    NO_FRAME = "no frame"
    NO_DELTA = "no delta"
    ONCE = "said only once so far"
    OLD = "old, or said before"
    NOT_TEXT = "bytes that are no text"
    CUT_OFF = "cut off"
    NO_CHECKSUM = "checksum missing"
    BAD_CHECKSUM = "checksum wrong"
    UNREADABLE = "unreadable"


class ChecksumRule(StrEnum):
    """How to treat a source's checksums."""

    REQUIRED = "required"  # it has sent a correct one
    NONE_SENT = "none sent"
    OFF = "not checked, by choice"


@quickly_made
@dataclass(frozen=True, slots=True)
class SourceReport:
    """A source's account at one moment. Rejected lines are as received, cut at 120 bytes."""

    source: str
    lines: int
    accepted: Mapping[str, int]  # counts by sentence formatter
    unused: Mapping[str, int]  # correct sentences that are not used here, by formatter
    rejected: Mapping[Cause, int]
    last_rejected: Mapping[Cause, bytes]
    bad_fields: int
    last_bad_field: str  # the sentence and what is wrong with it
    checksums: ChecksumRule
    checksum_failures: float | None  # share of wrong checksums in recent lines that carry one; None if none does
    complaint: str  # a sentence when most lines are refused; else empty
    mending: str = ""  # how its dates are mended; empty where they are not


_RECENT = 400  # about how many lines the share of wrong checksums covers
_ENOUGH = 20
_MOST = 0.5
_MOST_NAMES = 100


class Account:
    """The counting behind a ``SourceReport``."""

    def __init__(self, source: str, *, unchecked: bool = False, nothing: str = "") -> None:
        self.source = source
        self.nothing = nothing or "nothing that arrives is a sentence (wrong baud rate?)"
        self.unchecked = unchecked
        self.sends_checksums = False
        self.lines = 0
        self.in_vain = InVain()  # only sources of sentences have it
        self.accepted: dict[str, int] = {}
        self.unused: dict[str, int] = {}
        self.rejected: dict[Cause, int] = {}
        self.last_rejected: dict[Cause, bytes] = {}
        self.bad_fields = 0
        self.last_bad_field = ""
        self.mending = ""
        self._right = 0.0
        self._wrong = 0.0

    def reject(self, cause: Cause, piece: bytes) -> None:
        """Count an unused piece of a line."""
        self.rejected[cause] = self.rejected.get(cause, 0) + 1
        self.last_rejected[cause] = piece[:120]
        if cause is Cause.BAD_CHECKSUM:
            self._wrong += 1
            self._fade()

    def unhandled(self, formatter: str) -> None:
        """Count a correct sentence that is not used here."""
        name = formatter if formatter in self.unused or len(self.unused) < _MOST_NAMES else "other"
        self.unused[name] = self.unused.get(name, 0) + 1

    def right_checksum(self) -> None:
        """Count a correct checksum. From the first on checksums are required."""
        self.sends_checksums = True
        self._right += 1
        self._fade()

    def bad_field(self, sentence: str, why: str) -> None:
        """Count a field that is present but wrong."""
        self.bad_fields += 1
        self.last_bad_field = f"{sentence}: {why}"

    def _fade(self) -> None:
        if self._right + self._wrong >= _RECENT:
            self._right /= 2
            self._wrong /= 2

    @property
    def _share_wrong(self) -> float | None:
        """The share of wrong checksums in recent lines that carry one; None if none does."""
        total = self._right + self._wrong
        return self._wrong / total if total else None

    @property
    def complaint(self) -> str:
        """A sentence when most lines are refused; else empty."""
        share, total, complaint = self._share_wrong, self._right + self._wrong, ""
        if share is not None and share > _MOST and total >= _ENOUGH:
            treated = "used all the same, by choice" if self.unchecked else "refused"
            complaint = f"{self.source}: {100 * share:.0f} % of its sentences have a wrong checksum and are {treated}"
        elif self.lines >= _ENOUGH and not self.accepted and not self.unused:
            complaint = f"{self.source}: {self.nothing}"
        if vain := self.in_vain.words():
            complaint = f"{complaint}; {vain}" if share is not None and complaint else f"{self.source}: {vain}"
        return complaint

    def report(self, complaint: str | None = None) -> SourceReport:
        """The account as an immutable value. ``complaint``: a better one, where there is one."""
        rule = ChecksumRule.REQUIRED if self.sends_checksums else ChecksumRule.NONE_SENT
        return SourceReport(
            source=self.source,
            lines=self.lines,
            accepted=dict(self.accepted),
            unused=dict(self.unused),
            rejected=dict(self.rejected),
            last_rejected=dict(self.last_rejected),
            bad_fields=self.bad_fields,
            last_bad_field=self.last_bad_field,
            checksums=ChecksumRule.OFF if self.unchecked else rule,
            checksum_failures=self._share_wrong,
            complaint=self.complaint if complaint is None else complaint,
            mending=self.mending,
        )
