"""Listens to a serial port for a few seconds and finds its rate, its sentences and how many checksums are correct."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.errors import FeedError
from sternwatch.feed.n2k.frames import is_frame
from sternwatch.feed.n2k.payloads import check_library
from sternwatch.feed.readings import Line, Speech, Tongue
from sternwatch.feed.sentences.accounts import Cause
from sternwatch.feed.sentences.framing import Framer
from sternwatch.feed.sources.base import FAULTS
from sternwatch.feed.sources.ports import Port, RateMemory
from sternwatch.feed.sources.serialport import FRAME_RATES, LISTEN_S, RATES, SerialChannel, listen, sentence_about


@dataclass(frozen=True, slots=True)
class Survey:
    """The result for one port. ``problem`` is a sentence where there is none."""

    port: Port
    baud: int | None = None
    per_second: Mapping[str, float] | None = None  # by sentence formatter
    right: int = 0  # sentences with a correct checksum
    wrong: int = 0
    without: int = 0
    problem: str = ""
    tongue: Tongue = Tongue.SENTENCES


def survey(
    port: Port,
    seconds: float,
    *,
    listen_s: float = LISTEN_S,
    memory: RateMemory | None = None,
    stopping: Callable[[], bool] = lambda: False,
) -> Survey:
    """Find a port's rate, then listen to it for a time."""
    saved = memory.get(port.path) if memory else None
    usual = dict.fromkeys((*RATES, *FRAME_RATES) if has_frames() else RATES)
    rates = ([saved] if saved else []) + [rate for rate in usual if rate != saved]
    try:
        channel = SerialChannel(port.path, rates[0])
    except FAULTS as error:
        return Survey(port, problem=sentence_about(error))
    try:
        rate, heard = listen(channel, rates, listen_s, stopping, None)
        if rate is None:
            tried = ", ".join(str(r) for r in rates)
            return Survey(port, problem=f"bytes, but no sentence at {tried} baud" if heard else "silent")
        first = channel.read()  # the bytes that proved the rate
        frames = has_frames() and any(is_frame(line) for line in first.replace(b"\r", b"\n").split(b"\n")[1:-1])
        return _heard(port, rate, channel, seconds, stopping, Tongue.N2K if frames else Tongue.SENTENCES, first)
    except FAULTS as error:
        return Survey(port, problem=sentence_about(error))
    finally:
        channel.close()


def has_frames() -> bool:
    """Whether this machine can read frames."""
    try:
        check_library()
    except FeedError:
        return False
    return True


def _heard(
    port: Port, rate: int, channel: SerialChannel, seconds: float, stopping: Callable[[], bool], tongue: Tongue,
    first: bytes,
) -> Survey:  # fmt: skip
    speech = Speech(tongue)
    framer, decoder = Framer(speech.longest), Decoder(speech={port.path: speech})
    framer.feed(first.rpartition(b"\n")[2])  # the bytes that proved the rate do not show how much comes
    begun = time.monotonic()
    while time.monotonic() - begun < seconds and not stopping():
        for data, whole in framer.feed(channel.read()):
            decoder.decode(Line(time.monotonic() - begun, None, port.path, data, whole))
    elapsed = max(time.monotonic() - begun, 1e-3)
    reports = decoder.reports()
    if not reports:
        return Survey(port, rate, {}, problem="it has fallen silent")
    report = reports[0]
    counts = {**report.accepted, **report.unused}
    wrong = report.rejected.get(Cause.BAD_CHECKSUM, 0)
    without = report.rejected.get(Cause.NO_CHECKSUM, 0)
    used = sum(counts.values())
    signs = report.checksum_failures is not None
    return Survey(
        port,
        rate,
        {name: n / elapsed for name, n in sorted(counts.items(), key=lambda item: -item[1])},
        right=used if signs else 0,
        wrong=wrong,
        without=without if signs else used,
        tongue=tongue,
    )
