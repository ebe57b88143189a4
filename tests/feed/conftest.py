"""Real recordings and small helpers for the feed's tests."""

from __future__ import annotations

import itertools
import os
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from functools import reduce
from operator import xor
from pathlib import Path

import pytest

from recordings import CORPUS
from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity, Reading
from sternwatch.feed.sentences.framing import Framer


@pytest.fixture(scope="session")
def corpus() -> Path:
    """The folder of real recordings beside the repository."""
    if not CORPUS.is_dir():
        pytest.skip("the real recordings are not beside the repository (../shared/corpus)")
    return CORPUS


def _signed(body: str) -> bytes:
    """A sentence with its start and checksum; the checksum is formed byte by byte, not by the code under test."""
    return f"${body}*{reduce(xor, body.encode(), 0):02X}".encode()


class Interview:
    """Feeds lines to a decoder one second apart and keeps what comes out."""

    def __init__(self, decoder: Decoder | None = None, source: str = "gps") -> None:
        self.decoder = decoder or Decoder()
        self.source = source
        self.t_s = 0.0
        self.host_ms: int | None = None
        self.readings: list[Reading] = []

    def say(self, *bodies: str) -> list[Reading]:
        """Sentences with right checksums, in one moment; the readings they give."""
        return self.raw(*(_signed(body) for body in bodies))

    def raw(self, *lines: bytes, whole: bool = True) -> list[Reading]:
        """Bytes as they are."""
        new: list[Reading] = []
        for data in lines:
            new += self.decoder.decode(Line(self.t_s, self.host_ms, self.source, data, whole))
        self.t_s += 1.0
        self.readings += new
        return new

    def stream(self, data: bytes) -> list[Reading]:
        """A byte stream through the framer, all at one moment."""
        framer = Framer()
        lines = framer.feed(data) + framer.flush()
        new: list[Reading] = []
        for line, whole in lines:
            new += self.decoder.decode(Line(self.t_s, self.host_ms, self.source, line, whole))
        self.readings += new
        return new

    @property
    def report(self):
        """This source's account."""
        return next(r for r in self.decoder.reports() if r.source == self.source)


@pytest.fixture
def signed() -> Callable[[str], bytes]:
    return _signed


@pytest.fixture
def talk() -> Interview:
    return Interview()


@pytest.fixture
def new_talk() -> type[Interview]:
    return Interview


def _only(readings: Iterable[Reading], quantity: Quantity) -> Reading:
    found = [reading for reading in readings if reading.quantity is quantity]
    assert len(found) == 1, found
    return found[0]


@pytest.fixture
def only() -> Callable[[Iterable[Reading], Quantity], Reading]:
    """The one reading of a quantity."""
    return _only


class PseudoPort:
    """A pty pair: ``path`` is what a serial source opens, ``write`` is the instrument."""

    def __init__(self, link: Path | None = None) -> None:
        import pty
        import tty

        self.master, slave = pty.openpty()
        tty.setraw(slave)
        self.device = os.ttyname(slave)
        os.close(slave)
        os.set_blocking(self.master, False)
        self.link = link
        if link is not None:
            link.symlink_to(self.device)

    @property
    def path(self) -> str:
        return str(self.link or self.device)

    def write(self, data: bytes) -> None:
        """As an instrument does: what nobody reads is lost."""
        try:
            os.write(self.master, data)
        except BlockingIOError:
            return

    def write_all(self, data: bytes) -> None:
        """Every byte, waiting while the reader is behind."""
        while data:
            try:
                data = data[os.write(self.master, data) :]
            except BlockingIOError:
                time.sleep(0.005)

    def rate(self) -> int:
        """The speed the reader has set, as termios numbers it."""
        import termios

        return termios.tcgetattr(self.master)[4]

    def unplug(self) -> None:
        """The device goes away, and its link with it."""
        if self.link is not None:
            self.link.unlink(missing_ok=True)
        if self.master >= 0:
            os.close(self.master)
        self.master = -1


@pytest.fixture
def plug() -> Iterator[Callable[..., PseudoPort]]:
    """Plugs pseudo ports in; all are unplugged at the end."""
    if sys.platform == "win32":
        pytest.skip("pty pairs need a POSIX system")
    made: list[PseudoPort] = []

    def make(link: Path | None = None) -> PseudoPort:
        made.append(PseudoPort(link))
        return made[-1]

    yield make
    for port in made:
        port.unplug()


@pytest.fixture
def evening() -> Callable[[int], bytes]:
    """A made-up minute of a boat, as an endless supply of valid lines."""

    def make(count: int) -> bytes:
        lines = []
        for i in itertools.islice(itertools.count(), count):
            lines.append(_signed(f"IIVHW,,,{i % 360:03d},M,02.{i % 10},N,,"))
        return b"\r\n".join(lines) + b"\r\n"

    return make
