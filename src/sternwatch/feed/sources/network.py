"""Network sources: a TCP client, a UDP listener, and gpsd by its watch command."""

from __future__ import annotations

import socket

from sternwatch.feed.readings import SENTENCES, Speech, Tongue
from sternwatch.feed.signalk.wanted import SUBSCRIPTION
from sternwatch.feed.sources.base import Channel, LiveSource

CONNECT_S = 3.0  # the longest time for one attempt, so that a returning peer is found within three seconds
_POLL_S = 0.25
_CHUNK = 65536
LOOPBACK = "127.0.0.1"
GPSD_PORT = 2947  # registered with IANA


# A peer that loses its power falls silent. Our probe finds that out, and finds the peer when it comes back.
KEEPALIVE: tuple[tuple[int, int, int], ...] = (
    (socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1),
    *(
        (socket.IPPROTO_TCP, getattr(socket, name), value)
        for name, value in (("TCP_KEEPIDLE", 2), ("TCP_KEEPINTVL", 1), ("TCP_KEEPCNT", 4))
        if hasattr(socket, name)
    ),
)


class _SocketChannel:
    baud = None

    def __init__(self, connection: socket.socket, address: str) -> None:
        connection.settimeout(_POLL_S)
        self._socket = connection
        self.address = address

    def read(self) -> bytes:
        try:
            chunk = self._socket.recv(_CHUNK)
        except TimeoutError:
            return b""
        if not chunk:
            raise ConnectionError("the other side closed the connection")
        return chunk

    def close(self) -> None:
        self._socket.close()


class TcpSource(LiveSource):
    """Connects to a host that sends sentences, frames or deltas, and reconnects whenever it is lost."""

    HELLO = b""  # what to send first

    def __init__(
        self, name: str, host: str, port: int, priority: int = 0, *, speech: Speech = SENTENCES
    ) -> None:  # fmt: skip
        super().__init__(name, priority, speech=speech)
        self.host = host
        self.port = port

    def _where(self) -> str:
        return f"tcp {self.host}:{self.port}"

    def _open(self) -> Channel:
        connection = socket.create_connection((self.host, self.port), CONNECT_S)
        for option in KEEPALIVE:
            connection.setsockopt(*option)
        connection.sendall(SUBSCRIPTION if self.speech.tongue is Tongue.SIGNALK else self.HELLO)
        return _SocketChannel(connection, self._where())


class GpsdSource(TcpSource):
    """The sentences that gpsd receives from its devices, unchanged."""

    HELLO = b'?WATCH={"enable":true,"nmea":true}\n'  # gpsd's own reports leave out speed through water

    def __init__(self, name: str, host: str = "localhost", port: int = GPSD_PORT, priority: int = 0) -> None:
        super().__init__(name, host, port, priority)

    def _where(self) -> str:
        return f"gpsd {self.host}:{self.port}"

    def _keep(self, line: bytes) -> bool:
        # gpsd's own reports are JSON, and not from the boat's instruments.
        return line[:1] != b"{"


class _DatagramChannel(_SocketChannel):
    def read(self) -> bytes:
        try:
            datagram = self._socket.recv(_CHUNK)
        except TimeoutError:
            return b""
        # A datagram ends its last line, with or without a line end.
        return datagram + b"\n"


class UdpSource(LiveSource):
    """Listens for datagrams, by default on the loopback address."""

    def __init__(
        self, name: str, port: int, host: str = LOOPBACK, priority: int = 0, *, speech: Speech = SENTENCES
    ) -> None:  # fmt: skip
        super().__init__(name, priority, speech=speech)
        self.host = host
        self.port = port

    def _where(self) -> str:
        return f"udp {self.host}:{self.port}"

    def _open(self) -> Channel:
        family = socket.AF_INET6 if ":" in self.host else socket.AF_INET
        listener = socket.socket(family, socket.SOCK_DGRAM)
        try:
            listener.bind((self.host, self.port))
        except OSError:
            listener.close()
            raise
        return _DatagramChannel(listener, self._where())
