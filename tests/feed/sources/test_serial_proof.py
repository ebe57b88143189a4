"""What proves a rate, what listening finds, and the faults of a port in words: without a port."""

from __future__ import annotations

import errno
import itertools
from pathlib import Path
from typing import Any

import pytest

from sternwatch.feed.readings import Speech, Tongue
from sternwatch.feed.sentences.framing import checksum
from sternwatch.feed.sources import serialport
from sternwatch.feed.sources.base import SleptError
from sternwatch.feed.sources.ports import RateMemory
from sternwatch.feed.sources.serialport import AUTO, SerialSource, listen, proof, sentence_about

# As agreed: a change of one is to be noticed.
UNREADABLE_S = 10.0

RIGHT, WRONG, BARE = b"$IIMTW,12.0,C*10", b"$IIMTW,12.0,C*1C", b"$IIMTW,12.0,C"
FRAME = b"17:33:21.107 R 09F8027F 50 FC FF FF FF FF FF FF"


@pytest.mark.parametrize(
    ("lines", "tongue", "proven"),
    [
        ((RIGHT,), Tongue.SENTENCES, True), ((WRONG, RIGHT), Tongue.SENTENCES, True), ((WRONG,), None, False),
        ((BARE,), None, False), ((RIGHT + b"*10",), Tongue.SENTENCES, True), ((RIGHT[1:],), None, False),
        ((b"$IIMTW,12.0,C*zz", RIGHT), Tongue.SENTENCES, True), ((b"$IIMTW,12.0,C*",), None, False),
        ((b"x" + RIGHT,), None, False), ((RIGHT,), Tongue.N2K, False), ((FRAME, FRAME), Tongue.N2K, True),
        ((FRAME,), Tongue.N2K, False), ((FRAME, FRAME), None, True), ((FRAME, FRAME), Tongue.SENTENCES, False),
        ((FRAME, RIGHT), None, True), ((), None, False),
    ],
)  # fmt: skip
def test_one_right_checksum_or_two_frames_prove_a_rate(
    lines: tuple[bytes, ...], tongue: Tongue | None, proven: bool
) -> None:
    assert proof([(line, True) for line in lines], tongue) is proven


class Port:
    """Bytes come at one rate."""

    def __init__(self, baud: int, data: bytes, otherwise: bytes = b"") -> None:
        self.at, self.data, self.otherwise = baud, data, otherwise
        self.baud, self.rates, self.given, self.closed = 0, [], b"", False  # type: ignore[var-annotated]
        self.address = "/dev/x"

    def set_rate(self, baud: int) -> None:
        self.baud = baud
        self.rates.append(baud)

    def read(self) -> bytes:
        return self.data if self.baud == self.at else self.otherwise

    def give_back(self, data: bytes) -> None:
        self.given = data

    def close(self) -> None:
        self.closed = True


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every look at the clock is a second."""
    monkeypatch.setattr(serialport.time, "monotonic", map(float, itertools.count()).__next__)


@pytest.mark.usefixtures("clock")
@pytest.mark.parametrize(
    ("data", "otherwise", "found"),
    [
        (RIGHT + b"\r\n", b"", (9600, True)), (b"", b"", (None, False)), (b"\xff\xfe\n" * 3, b"", (None, True)),
        (WRONG + b"\r\n", b"", (9600, True)), ((BARE + b"\r\n") * 4, b"", (9600, True)),
        (RIGHT + b"\r\n", b"\x80\n", (9600, True)),
    ],
)  # fmt: skip
def test_listening_finds_the_rate_at_which_sentences_come(
    data: bytes, otherwise: bytes, found: tuple[int | None, bool]
) -> None:
    port: Any = Port(9600, data, otherwise)
    assert listen(port, [4800, 38400, 9600], 9.0) == found
    assert port.rates == [4800, 38400, 9600]
    if found[0] is not None:
        assert port.given.startswith(data), "nothing that was read is lost"


@pytest.mark.usefixtures("clock")
@pytest.mark.parametrize(
    ("lines", "tongue", "proven"),
    [
        ((BARE,) * 4, Tongue.SENTENCES, True), ((BARE,) * 3, Tongue.SENTENCES, False),
        ((b"12.0,C", BARE, BARE, BARE), Tongue.SENTENCES, True), ((BARE, BARE, b"x", BARE), Tongue.SENTENCES, False),
        ((RIGHT,), Tongue.SENTENCES, True), ((RIGHT,), None, False), ((WRONG, RIGHT), None, True),
        ((FRAME,) * 3, None, True), ((FRAME,) * 2, None, False), ((FRAME,) * 3, Tongue.N2K, True),
        ((FRAME,) * 2, Tongue.N2K, False), ((BARE,) * 4, Tongue.N2K, False),
    ],
)  # fmt: skip
def test_the_first_line_may_be_half_a_one(lines: tuple[bytes, ...], tongue: Tongue | None, proven: bool) -> None:
    """Only a right checksum counts in it, where sentences are what is expected."""
    port: Any = Port(9600, b"")
    told = [b"".join(line + b"\r\n" for line in lines)]
    port.read = lambda: told.pop() if told else b""
    assert listen(port, [9600], 9.0, tongue=tongue) == (9600 if proven else None, True)


@pytest.mark.usefixtures("clock")
def test_listening_ends_when_it_is_asked_to() -> None:
    port: Any = Port(9600, b"")
    assert listen(port, [4800, 9600], 9.0, lambda: True) == (None, False)
    assert port.rates == [4800]


def source(baud: int | None, tongue: Tongue = Tongue.SENTENCES) -> SerialSource:
    return SerialSource("s", "/dev/x", baud, memory=RateMemory(Path("/nonexistent/rates")), speech=Speech(tongue))


@pytest.mark.parametrize(
    ("baud", "line", "tongue", "given_up"),
    [
        (None, RIGHT, Tongue.SENTENCES, False), (None, BARE, Tongue.SENTENCES, False),
        (None, b"!AIVDM,1,1,,A,0*%02X" % checksum(b"AIVDM,1,1,,A,0"), Tongue.SENTENCES, False),
        (None, b"!AIVDM,1,1,,A,0", Tongue.SENTENCES, True), (None, b"!AIVDM,1,1,,A,0*", Tongue.SENTENCES, True),
        (None, b"\xff\xfe", Tongue.SENTENCES, True), (None, WRONG.lower(), Tongue.SENTENCES, True),
        (4800, b"\xff\xfe", Tongue.SENTENCES, False), (None, FRAME, Tongue.N2K, False),
        (None, b'{"pgn": 1}', Tongue.N2K, False), (None, RIGHT, Tongue.N2K, True),
    ],
)  # fmt: skip
def test_without_a_readable_line_for_ten_seconds_it_listens_anew(
    monkeypatch: pytest.MonkeyPatch, baud: int | None, line: bytes, tongue: Tongue, given_up: bool
) -> None:
    now = [100.0]
    monkeypatch.setattr(serialport.time, "monotonic", lambda: now[0])
    one, port = source(baud, tongue), Port(9600, b"")
    one._readable_at = 100.0
    for now[0] in (104.0, 110.0):
        assert one._keep(line)
        one._check(port)  # type: ignore[arg-type]
    now[0] = 100.0 + UNREADABLE_S + 0.1
    if given_up:
        with pytest.raises(OSError, match="listening again"):
            one._check(port)  # type: ignore[arg-type]
    else:
        one._check(port)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("error", "said"),
    [
        (OSError(errno.EACCES, "x"), "no permission"), (OSError("[Errno 13] Permission denied: y"), "no permission"),
        (OSError(errno.EBUSY, "x"), "another program has it open"), (OSError(errno.EAGAIN, "x"), "another program"),
        (OSError("Could not exclusively lock port"), "another program"), (OSError("it is busy"), "another program"),
        (OSError(errno.ENOENT, "x"), "not there; waiting for it"), (OSError(errno.ENODEV, "x"), "not there"),
        (OSError("could not open port 'COM3': PermissionError(13, 'Verweigert', None, 5)"), "another program"),
        (OSError("could not open port 'COM9': FileNotFoundError(2, 'Datei nicht gefunden', None, 2)"), "not there"),
        (OSError("ClearCommError failed (PermissionError(13, 'Befehl unbekannt', None, 22))"), "unplugged or failed"),
        (OSError("No such file or directory"), "not there"), (OSError(errno.EPROTO, "no sentence"), "no sentence"),
        (OSError(errno.ETIMEDOUT, "silent"), "silent"), (OSError(errno.EIO, "gone"), "unplugged or failed ("),
        (SleptError("it slept"), "it slept"), (ValueError("odd"), "unplugged or failed (odd)"),
    ],
)  # fmt: skip
def test_the_fault_of_a_port_in_words(error: Exception, said: str) -> None:
    assert sentence_about(error).startswith(said)


def test_a_port_is_tried_after_another_with_auto() -> None:
    class Finder:
        def ports(self) -> list[Any]:
            return [type("P", (), {"path": f"/dev/{k}"}) for k in range(3)]

    one = source(None)
    one.path, one._finder = AUTO, Finder()  # type: ignore[assignment]
    assert [one._choose() for _ in range(4)] == ["/dev/0", "/dev/1", "/dev/2", "/dev/0"]
    assert one._where() == "serial auto"
    assert SerialSource("a", "/dev/ttyS7")._where() == "serial /dev/ttyS7"


@pytest.mark.parametrize(
    ("kept", "rate"), [("4800", 4800), ("1", 1), ("0", None), ("-1", None), ('"4800"', None), ("1.5", None)]
)
def test_a_rate_that_was_kept_is_a_whole_number_above_none(tmp_path: Path, kept: str, rate: int | None) -> None:
    path = tmp_path / "rates.json"
    path.write_text(f'{{"/dev/x": {kept}}}')
    assert RateMemory(path).get("/dev/x") == rate
    assert RateMemory(path).get("/dev/y") is None
