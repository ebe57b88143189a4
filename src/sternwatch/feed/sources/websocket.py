"""A Signal K server's stream over a websocket, by its specification: ``/signalk/v1/stream``."""

from __future__ import annotations

from typing import Any

from sternwatch.extras import missing
from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import Speech, Tongue
from sternwatch.feed.signalk.wanted import SUBSCRIBE
from sternwatch.feed.sources.base import Channel, LiveSource
from sternwatch.feed.sources.network import CONNECT_S, KEEPALIVE

_POLL_S = 0.25


def check_library() -> None:
    """Raise FeedError where the library is not installed."""
    try:
        import websocket  # noqa: F401
    except ImportError as fault:
        raise FeedError(missing("Signal K over a websocket (signalk:tcp:HOST is without one)", "signalk")) from fault


class _WebSocketChannel:
    baud = None

    def __init__(self, connection: Any, address: str) -> None:
        connection.settimeout(_POLL_S)
        self._connection = connection
        self.address = address

    def read(self) -> bytes:
        import websocket

        try:
            opcode, data = self._connection.recv_data()
        except websocket.WebSocketTimeoutException:
            return b""
        except websocket.WebSocketException as gone:
            raise ConnectionError(f"the other side closed the connection ({gone})") from gone
        if opcode == websocket.ABNF.OPCODE_CLOSE:
            raise ConnectionError("the other side closed the connection")
        # A message is one line. A line end inside it is white space of its JSON.
        return bytes(data).replace(b"\r", b" ").replace(b"\n", b" ") + b"\n"

    def close(self) -> None:
        self._connection.close(timeout=0.2)


class WebSocketSource(LiveSource):
    """Connects, asks for the wanted paths, and reconnects whenever it is lost."""

    def __init__(self, name: str, host: str, port: int, priority: int = 0) -> None:
        super().__init__(name, priority, speech=Speech(Tongue.SIGNALK))
        self.host = host
        self.port = port

    def _where(self) -> str:
        return f"signalk {self.host}:{self.port}"

    def _open(self) -> Channel:
        import websocket

        host = f"[{self.host}]" if ":" in self.host else self.host
        url = f"ws://{host}:{self.port}/signalk/v1/stream?subscribe=none"
        try:
            connection = websocket.create_connection(
                url, timeout=CONNECT_S, sockopt=KEEPALIVE, http_no_proxy=["*"]
            )  # fmt: skip
            connection.send(SUBSCRIBE)
        except websocket.WebSocketBadStatusException as refused:
            raise ConnectionError(_refusal(refused.status_code)) from refused
        except websocket.WebSocketException as refused:
            raise ConnectionError(f"no Signal K stream there ({refused})") from refused
        return _WebSocketChannel(connection, self._where())


def _refusal(status: int) -> str:
    if status in (401, 403):
        return f"the server lets nobody read without logging in ({status}): allow read-only access in its settings"
    return f"no Signal K stream there (the answer was {status})"
