"""Turns lines of any source into readings: mends dates and applies the rate gates. Never raises.

The decoder's state follows from the lines given to it alone, and is plain data: ``copy.deepcopy`` makes a checkpoint.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Protocol

from sternwatch.feed.readings import SENTENCES, Line, Quantity, Reading, Speech, Tongue
from sternwatch.feed.recording.speech_detection import NAMES, line_tongue
from sternwatch.feed.sentences.accounts import Account, Cause, SourceReport
from sternwatch.feed.sentences.dates import Written
from sternwatch.feed.sentences.hearing import Common
from sternwatch.feed.sentences.stream import Stream


class _Heard(Protocol):
    """What decodes one source."""

    account: Account

    def decode(self, line: Line) -> list[Reading]: ...


class Decoder:
    """Turns the lines of all sources into readings and keeps each source's account.

    Parameters
    ----------
    variation_deg
        Magnetic variation for sentences that bring none, east positive. It takes precedence over one heard.
    probes
        Names of sources whose STW and water temperature come from a probe at depth.
    transducers
        XDR transducer names (upper case) and the probe quantity that each measures. Names that begin with
        ``PROBE`` need no entry.
    unchecked
        Names of sources whose checksums are ignored, by the user's explicit choice.
    speech
        What each source speaks. Sources not named speak sentences.
    written
        The time when a recording was written, for lines without the recording computer's clock.
    """

    def __init__(
        self,
        *,
        variation_deg: float | None = None,
        probes: Collection[str] = (),
        transducers: Mapping[str, Quantity] | None = None,
        unchecked: Collection[str] = (),
        speech: Mapping[str, Speech] | None = None,
        written: Written | None = None,
    ) -> None:
        self.common = Common(variation_deg, transducers=dict(transducers or {}), written=written)
        self._probes = frozenset(probes)
        self._unchecked = frozenset(unchecked)
        self._speech = dict(speech or {})
        self._streams: dict[str, _Heard] = {}

    def decode(self, line: Line) -> list[Reading]:
        """The readings in a line, in the order of its fields; empty if there are none."""
        return self._heard(line.source).decode(line)

    def reject(self, line: Line) -> None:
        """Count a line that cannot be read as such."""
        self._heard(line.source).account.reject(Cause.UNREADABLE, line.data)

    def _heard(self, source: str) -> _Heard:
        stream = self._streams.get(source)
        if stream is None:
            stream = self._streams[source] = self._new(source)
        return stream

    def reports(self) -> tuple[SourceReport, ...]:
        """One account per source, in the order in which the sources were first heard."""
        accounts = (stream.account for stream in self._streams.values())
        return tuple(one.report(self._complaint(one)) for one in accounts)

    def complaints(self) -> tuple[str, ...]:
        """The complaints of the sources that have one, in the same order."""
        found = (self._complaint(stream.account) for stream in self._streams.values())
        return tuple(complaint for complaint in found if complaint)

    def _complaint(self, account: Account) -> str:
        """An account's complaint, or a better one where the source speaks another tongue than the user said."""
        complaint = account.complaint
        if not complaint or self._speech.get(account.source, SENTENCES).tongue is not Tongue.SENTENCES:
            return complaint
        tongue = line_tongue(account.last_rejected.get(Cause.NO_SENTENCE, b""))
        if tongue is None:
            return complaint
        return f"{account.source}: {NAMES[tongue]} arrive here, not sentences: write {tongue}: before the source"

    def _new(self, source: str) -> _Heard:
        """A new decoder of one source. Imports only the library of its own tongue."""
        speech = self._speech.get(source, SENTENCES)
        is_probe, unchecked = source in self._probes, source in self._unchecked
        match speech.tongue:
            case Tongue.N2K:
                from sternwatch.feed.n2k.stream import FrameStream

                return FrameStream(self.common, source, is_probe, unchecked, speech)
            case Tongue.SIGNALK:
                from sternwatch.feed.signalk.stream import DeltaStream

                return DeltaStream(self.common, source, is_probe)
            case _:
                return Stream(self.common, source, is_probe, unchecked)
