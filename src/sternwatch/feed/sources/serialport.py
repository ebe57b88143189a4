"""Serial ports: finds the rate by listening, finds the device again after an unplug, keeps others out."""

from __future__ import annotations

import errno
import math
import re
import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from sternwatch.feed.n2k.frames import is_frame
from sternwatch.feed.readings import SENTENCES, Speech, Tongue
from sternwatch.feed.sentences.framing import Framer, checksum
from sternwatch.feed.sources.base import FAULTS, Channel, LiveSource, SilentError, SleptError, SourceState
from sternwatch.feed.sources.ports import PortFinder, RateMemory, is_there

if TYPE_CHECKING:
    import serial

AUTO = "auto"
RATES = (4800, 38400, 9600, 115200)  # IEC 61162-1, IEC 61162-2, and the usual rates of GPS receivers
FRAME_RATES = (115200, 230400, 38400, 9600)  # the usual rates of gateways to NMEA 2000 (memory)
LISTEN_S = 3.0  # listening time at each rate
_POLL_S = 0.2
_PLAUSIBLE = re.compile(rb"\$[A-Z]{2}[A-Z]{3},[ -~]*").fullmatch
_ENOUGH = 3
_FRAMES_PROVE = 2
UNREADABLE_S = 10.0


class SerialChannel:
    """An open port that nobody else can read."""

    def __init__(self, path: str, baud: int) -> None:
        import serial

        self.address = path
        self.baud: int | None = baud
        self._before = b""  # bytes read while finding the rate
        self._port: serial.Serial = serial.Serial(path, baud, timeout=_POLL_S, exclusive=True)
        if sys.platform != "win32":
            import fcntl
            import termios

            # The lock above keeps out only programs that ask for it; this keeps out everyone.
            fcntl.ioctl(self._port.fileno(), termios.TIOCEXCL)

    def read(self) -> bytes:
        if self._before:
            before, self._before = self._before, b""
            return before
        first: bytes = self._port.read(1)
        return first + self._port.read(self._port.in_waiting) if first else b""

    def close(self) -> None:
        self._port.close()

    def set_rate(self, baud: int) -> None:
        """Change the rate and discard what came at the old one."""
        self._port.baudrate = baud
        self._port.reset_input_buffer()
        self.baud = baud

    def give_back(self, data: bytes) -> None:
        """Let the next ``read`` return bytes that were read already."""
        self._before = data


def proof(lines: list[tuple[bytes, bool]], tongue: Tongue | None = Tongue.SENTENCES) -> bool:
    """Whether the bytes prove the rate: a line has a correct checksum, or two are frames. Tongue None: either."""
    if tongue is not Tongue.SENTENCES and sum(is_frame(line) for line, _ in lines) >= _FRAMES_PROVE:
        return True
    return tongue is not Tongue.N2K and any(_is_right(line) for line, _ in lines)


def _is_right(line: bytes) -> bool:
    """Whether a line is a sentence with a correct checksum."""
    body, star, digits = line[1:].partition(b"*")
    try:
        return line[:1] in (b"$", b"!") and star != b"" and int(digits[:2], 16) == checksum(body)
    except ValueError:
        return False


def listen(
    channel: SerialChannel,
    rates: list[int],
    seconds: float = LISTEN_S,
    stopping: Callable[[], bool] = lambda: False,
    tongue: Tongue | None = Tongue.SENTENCES,
) -> tuple[int | None, bool]:
    """Try one rate after another until a correct checksum, or frames, prove one. Tongue None: either proves it.

    For a source without checksums, a rate at which only sentences came counts as proven.

    Returns
    -------
    (rate or None, whether any byte came at any rate). Bytes read at the proven rate go back to the channel.
    """
    heard = False
    for rate in rates:
        channel.set_rate(rate)
        framer = Framer(Speech(tongue or Tongue.N2K).longest)
        read = b""
        lines: list[tuple[bytes, bool]] = []
        until = time.monotonic() + seconds
        while time.monotonic() < until and not stopping():
            chunk = channel.read()
            if not chunk:
                continue
            heard = True
            read += chunk
            new = framer.feed(chunk)
            lines += new
            if proof(new if tongue is Tongue.SENTENCES else lines[1:], tongue):
                channel.give_back(read)
                return rate, True
        readable = lines[1:]  # we may have come in the middle of the first line
        if tongue is not Tongue.N2K and len(readable) >= _ENOUGH and all(_PLAUSIBLE(line) for line, _ in readable):
            channel.give_back(read)
            return rate, True
        if stopping():
            break
    return None, heard


class SerialSource(LiveSource):
    """A serial port by path, by lasting name, or any port that sends (``auto``).

    Parameters
    ----------
    baud
        None: find the rate by listening, beginning with the saved one.
    """

    def __init__(
        self,
        name: str,
        path: str,
        baud: int | None = None,
        priority: int = 0,
        *,
        finder: PortFinder | None = None,
        memory: RateMemory | None = None,
        listen_s: float = LISTEN_S,
        speech: Speech = SENTENCES,
    ) -> None:
        super().__init__(name, priority, speech=speech)
        self.path = path
        self.baud = baud
        self._finder = finder or PortFinder()
        self._memory = memory or RateMemory()
        self._listen_s = listen_s
        self._identity = ""
        self._lasting = ""
        self._turn = 0  # the port to try next, with ``auto``
        self._there: frozenset[str] = frozenset()
        self._readable_at = -math.inf

    def _where(self) -> str:
        return "serial auto" if self.path == AUTO else f"serial {self.path}"

    def _open(self) -> Channel:
        path = self._choose()
        self._there = self._present()
        if self.baud is not None:
            channel = SerialChannel(path, self.baud)
        else:
            channel = self._open_at_any_rate(path)
        self._readable_at = time.monotonic()
        if self.path != AUTO and not self._lasting:
            self._lasting = self._finder.lasting_name(path)
            self._identity = self._finder.identity(path)
        return channel

    def _choose(self) -> str:
        if self.path != AUTO:
            name = self._name()
            if is_there(name):
                return name
            return self._finder.find(self._identity) or name
        ports = self._finder.ports()
        if not ports:
            raise OSError(errno.ENODEV, "no serial port is there")
        self._turn += 1
        return ports[(self._turn - 1) % len(ports)].path

    def _name(self) -> str:
        """The name to look for. Once the lasting name is known, the old number may belong to another device."""
        return self._lasting or self.path

    def _open_at_any_rate(self, path: str) -> SerialChannel:
        saved = self._memory.get(path)
        usual = FRAME_RATES if self.speech.tongue is Tongue.N2K else RATES
        rates = ([saved] if saved else []) + [rate for rate in usual if rate != saved]
        channel = SerialChannel(path, rates[0])
        self._say(SourceState.CONNECTING, f"serial {path}: listening for the rate", channel)
        try:
            rate, heard = listen(channel, rates, self._listen_s, self._stopping.is_set, self.speech.tongue)
        except FAULTS:
            channel.close()
            raise
        if rate is None:
            channel.close()
            tried = ", ".join(str(r) for r in rates)
            if heard:
                raise OSError(errno.EPROTO, f"bytes arrive on {path}, but no {self._unit} at {tried} baud")
            raise SilentError(errno.ETIMEDOUT, f"{path} is open, but silent")
        self._memory.put(path, rate)
        if self.path == AUTO:
            self._turn -= 1  # this port sends: try it first next time
        return channel

    def _keep(self, line: bytes) -> bool:
        if self.baud is None and self._readable(line):
            self._readable_at = time.monotonic()
        return True

    @property
    def _unit(self) -> str:
        return "frame" if self.speech.tongue is Tongue.N2K else "sentence"

    def _readable(self, line: bytes) -> bool:
        if self.speech.tongue is Tongue.N2K:
            return line[:1] == b"{" or is_frame(line)
        return bool(_PLAUSIBLE(line)) or _is_right(line)

    def _check(self, channel: Channel) -> None:
        if self.baud is not None:
            return
        if time.monotonic() - self._readable_at > UNREADABLE_S:
            raise OSError(
                errno.EPROTO, f"{channel.address}: no {self._unit} at {channel.baud} baud any more; listening again"
            )

    def _present(self) -> frozenset[str]:
        if self.path == AUTO:
            return frozenset(str(link) for link in self._finder.links())
        return frozenset({self._name()} if is_there(self._name()) else ())

    def _is_back(self) -> bool:
        there = self._present()
        came = bool(there - self._there)
        self._there = there
        return came

    def _sentence(self, error: Exception) -> str:
        return f"{self._where()}: {sentence_about(error)}"


def sentence_about(error: Exception) -> str:
    """The fault of a serial port in words."""
    number = getattr(error, "errno", None)
    text = str(error)
    if isinstance(error, SleptError):
        return text
    # On Windows the library hides the number in its text. A port that another program has is a forbidden one, and so
    # is one that was unplugged while it was open.
    if "Error(" in text and "could not open port" not in text:
        return "unplugged or failed"
    if "PermissionError(" in text:
        return "another program has it open"
    if number == errno.EACCES or "Permission denied" in text:
        return "no permission to open it (on Linux: be in the group that owns it, often dialout)"
    if number in (errno.EBUSY, errno.EAGAIN) or "exclusively lock" in text or "busy" in text:
        return "another program has it open"
    if number in (errno.ENOENT, errno.ENODEV) or "No such file" in text or "FileNotFoundError(" in text:
        return "not there; waiting for it"
    if number in (errno.EPROTO, errno.ETIMEDOUT):
        return getattr(error, "strerror", None) or text
    return f"unplugged or failed ({text})"
