"""The feed for another program, over TCP and by a pseudo-terminal."""

from __future__ import annotations

import os
import socket
import sys
from collections.abc import Callable

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line
from sternwatch.gear.spread_file.models import Spread
from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.sessions.headless import Run
from sternwatch.practice.sessions.serve import (
    LOOPBACK,
    PtyOutlet,
    ServeError,
    ServeSpec,
    TcpOutlet,
    open_outlet,
    parse_serve,
    serve,
)


@pytest.fixture(scope="module")
def said(make_drill: Callable[..., DrillFile], spread: Spread) -> list[bytes]:
    return Run(make_drill(), spread, 3).lines(12.0, None)


def understood(data: bytes) -> set[str]:
    decoder = Decoder()
    found = set()
    for line in data.split(b"\r\n"):
        found |= {reading.sentence for reading in decoder.decode(Line(0.0, None, "x", line))}
    return found


ALL = {"RMC", "VTG", "GGA", "HDG", "VHW", "MTW", "DPT"}


def test_every_client_gets_what_is_said_from_when_it_came(said: list[bytes]) -> None:
    outlet = TcpOutlet(LOOPBACK, 0)
    try:
        first = socket.create_connection((LOOPBACK, outlet.port))
        outlet.send(b"early\r\n")
        second = socket.create_connection((LOOPBACK, outlet.port))
        for line in said:
            outlet.send(line + b"\r\n")
        whole = b"\r\n".join(said) + b"\r\n"
        assert received(first, len(whole) + 7) == b"early\r\n" + whole
        assert received(second, len(whole)) == whole
        assert understood(whole) >= ALL
    finally:
        outlet.close()


def received(client: socket.socket, count: int) -> bytes:
    client.settimeout(5.0)
    data = b""
    while len(data) < count:
        data += client.recv(65536)
    return data


def test_a_client_that_hangs_up_harms_nobody(said: list[bytes]) -> None:
    outlet = TcpOutlet(LOOPBACK, 0)
    try:
        gone, stays = (socket.create_connection((LOOPBACK, outlet.port)) for _ in range(2))
        outlet.send(b"one\r\n")
        gone.close()
        for line in said:
            outlet.send(line + b"\r\n")
        assert received(stays, 5 + sum(len(line) + 2 for line in said)).startswith(b"one\r\n")
    finally:
        outlet.close()


@pytest.mark.skipif(sys.platform == "win32", reason="there are no pseudo-terminals")
def test_a_pseudo_terminal_reads_like_a_port(said: list[bytes]) -> None:
    outlet = open_outlet(ServeSpec("pty"))
    assert isinstance(outlet, PtyOutlet)
    reader = os.open(outlet.path, os.O_RDWR | os.O_NOCTTY)
    try:
        data = b""
        for line in said:
            outlet.send(line + b"\r\n")
            data += os.read(reader, 4096)
        assert data == b"\r\n".join(said) + b"\r\n"
        assert outlet.words == f"serial:{outlet.path}"
        for _ in range(20_000):  # nobody reads: what does not fit is lost, and nothing waits
            outlet.send(b"x" * 80)
    finally:
        os.close(reader)
        outlet.close()


def test_lines_go_out_as_their_moments_come() -> None:
    class Kept:
        words = "kept"

        def __init__(self) -> None:
            self.sent: list[bytes] = []

        def send(self, data: bytes) -> None:
            self.sent.append(data)

        def close(self) -> None:
            """Nothing to close."""

    asked: list[float] = []

    def until(t_s: float) -> list[bytes]:
        asked.append(t_s)
        return [b"line"]

    outlet = Kept()
    serve(outlet, until, start_s=5.0, stop=lambda: len(asked) >= 4)
    assert outlet.sent == [b"line\r\n"] * 4
    assert asked == sorted(asked)
    assert 5.0 <= asked[0] < asked[-1] < 7.0


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("pty", ServeSpec("pty")),
        ("tcp:10110", ServeSpec("tcp", LOOPBACK, 10110)),
        ("tcp:0.0.0.0:10110", ServeSpec("tcp", "0.0.0.0", 10110)),
        ("tcp:[::1]:10110", ServeSpec("tcp", "::1", 10110)),
    ],
)
def test_where_to_serve_and_loopback_unless_told(given: str, wanted: ServeSpec) -> None:
    assert parse_serve(given) == wanted


@pytest.mark.parametrize("given", ["", "tcp", "tcp:", "tcp:host:", "udp:10110", "tcp:70000", "tcp:1e3"])
def test_where_it_cannot(given: str) -> None:
    with pytest.raises(ServeError, match="accepted: tcp:PORT or tcp:HOST:PORT"):
        parse_serve(given)


def test_a_port_that_is_taken_is_said() -> None:
    with socket.create_server((LOOPBACK, 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(ServeError, match=f"tcp:{LOOPBACK}:{port}: cannot be served"):
            TcpOutlet(LOOPBACK, port)


def test_sentences_come_out_at_their_own_moments(make_drill: Callable[..., DrillFile], spread: Spread) -> None:
    fine, coarse = Run(make_drill(), spread, 3), Run(make_drill(), spread, 3)
    parts = [fine.lines(0.1 * k, None) for k in range(51)]
    assert [line for part in parts for line in part] == coarse.lines(5.0, None)
    assert max(len(part) for part in parts) <= 4
    assert sum(bool(part) for part in parts) > 25
