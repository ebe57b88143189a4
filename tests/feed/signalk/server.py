"""A small Signal K server on the loopback address, by the specification 1.7: a stream over a websocket or over TCP.

It keeps the last value of everything, as servers do, and says all of it, however old, to whoever comes.
"""

from __future__ import annotations

import base64
import contextlib
import hashlib
import json
import os
import socket
import struct
import threading
import time
from datetime import UTC, datetime
from typing import Any

_WEBSOCKET_GUID = "258EAFA5-E914-47DA-95CA-C5AB0DC85B11"  # RFC 6455, 1.3
_TEXT, _CLOSE, _PING = 1, 8, 9
SELF = "vessels.urn:mrn:imo:mmsi:338000000"


def stamp(moment: float | None = None) -> str:
    """A moment as deltas carry it."""
    at = datetime.fromtimestamp(time.time() if moment is None else moment, UTC)
    return at.isoformat(timespec="milliseconds").replace("+00:00", "Z")


class Server:
    """One server. ``websocket`` False: plain TCP, a line for each delta."""

    def __init__(self, *, websocket: bool = True) -> None:
        self.websocket = websocket
        self.asked: list[dict[str, Any]] = []  # subscriptions, as received
        self.paths: list[str] = []  # of the requests
        self.pongs = 0
        self.refuse = 0  # an HTTP status to answer with instead
        self.pieces = 1  # frames that a message is sent in
        self.frozen = False  # it runs, its connections stand, and nothing comes
        self._values: dict[tuple[str, str], tuple[Any, str]] = {}
        self._peers: list[socket.socket] = []
        self._lock = threading.Lock()
        self._listener: socket.socket | None = None
        self.port = 0
        self.start()

    def start(self) -> None:
        """Listen, on the port of before."""
        self._listener = socket.create_server(("127.0.0.1", self.port))
        self.port = self._listener.getsockname()[1]
        threading.Thread(target=self._accept, args=(self._listener,), daemon=True).start()

    def stop(self) -> None:
        """End as a killed process does: everything closes, with no word of parting."""
        listener, self._listener = self._listener, None
        if listener is not None:
            with contextlib.suppress(OSError):
                listener.shutdown(socket.SHUT_RDWR)  # wakes the thread that waits in accept
            listener.close()
        self.drop()

    def drop(self) -> None:
        """Cut every connection, with a reset."""
        with self._lock:
            peers, self._peers = self._peers, []
        for peer in peers:
            with contextlib.suppress(OSError):
                peer.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
                # Wakes the thread that reads; on Windows only with a word of parting.
                peer.shutdown(socket.SHUT_RD if os.name == "posix" else socket.SHUT_RDWR)
            peer.close()

    def forget(self) -> None:
        """What a restart forgets: all values."""
        self._values.clear()

    @property
    def connected(self) -> int:
        """How many listen now."""
        return len(self._peers)

    def put(self, path: str, value: Any, source: str = "n2k.35", at: str | None = None) -> None:
        """An instrument gives a value: kept, and said to everybody who listens."""
        at = at or stamp()
        self._values[path, source] = (value, at)
        self.say(_delta([(path, value)], source, at))

    def again(self) -> None:
        """Say everything once more with the stamps it had, as servers do on their own."""
        for (path, source), (value, at) in list(self._values.items()):
            self.say(_delta([(path, value)], source, at))

    def say(self, message: dict[str, Any]) -> None:
        """A message to everybody who listens."""
        if self.frozen:
            return
        with self._lock:
            peers = list(self._peers)
        for peer in peers:
            self._send(peer, message)

    def ping(self) -> None:
        """Ask every listener whether it is there."""
        for peer in list(self._peers):
            peer.sendall(bytes([0x80 | _PING, 2]) + b"hi")

    # Inside.

    def _accept(self, listener: socket.socket) -> None:
        while True:
            try:
                peer, _ = listener.accept()
            except OSError:
                return
            peer.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            threading.Thread(target=self._serve, args=(peer,), daemon=True).start()

    def _serve(self, peer: socket.socket) -> None:
        try:
            file = peer.makefile("rb")
            if self.websocket and not self._shake_hands(peer, file):
                peer.close()
                return
            now = stamp()
            self._send(
                peer, {"name": "test server", "version": "1.7.0", "self": SELF, "roles": ["main"], "timestamp": now}
            )
            self._send(
                peer, {"updates": [{"meta": [{"path": "navigation.speedThroughWater", "value": {"units": "m/s"}}]}]}
            )
            for (path, source), (value, at) in list(self._values.items()):
                self._send(peer, _delta([(path, value)], source, at))
            while True:
                message = self._hear(peer, file)
                if message is None:
                    break
                self.asked.append(json.loads(message))
                with self._lock:
                    if peer not in self._peers:
                        self._peers.append(peer)
        except (OSError, ValueError):
            pass
        finally:
            with self._lock:
                if peer in self._peers:
                    self._peers.remove(peer)

    def _shake_hands(self, peer: socket.socket, file: Any) -> bool:
        """RFC 6455, 4.2."""
        request = file.readline().decode().split(" ")
        headers = {}
        while line := file.readline().decode().strip():
            name, _, value = line.partition(":")
            headers[name.strip().lower()] = value.strip()
        self.paths.append(request[1])
        if self.refuse:
            peer.sendall(f"HTTP/1.1 {self.refuse} no\r\nContent-Length: 0\r\n\r\n".encode())
            return False
        key = hashlib.sha1((headers["sec-websocket-key"] + _WEBSOCKET_GUID).encode()).digest()
        peer.sendall(
            b"HTTP/1.1 101 Switching Protocols\r\nUpgrade: websocket\r\nConnection: Upgrade\r\n"
            b"Sec-WebSocket-Accept: " + base64.b64encode(key) + b"\r\n\r\n"
        )
        return True

    def _hear(self, peer: socket.socket, file: Any) -> bytes | None:
        """The next message from a client; None at its end."""
        if not self.websocket:
            return file.readline() or None
        while True:
            head = file.read(2)
            if len(head) < 2:
                return None
            size = head[1] & 0x7F
            if size > 125:
                size = int.from_bytes(file.read(2 if size == 126 else 8), "big")
            mask = file.read(4)
            body = bytes(byte ^ mask[i % 4] for i, byte in enumerate(file.read(size)))
            if head[0] & 0xF == _TEXT:
                return body
            if head[0] & 0xF == _CLOSE:
                peer.sendall(bytes([0x80 | _CLOSE, len(body)]) + body)
                return None
            self.pongs += 1

    def _send(self, peer: socket.socket, message: dict[str, Any]) -> None:
        data = json.dumps(message).encode()
        if not self.websocket:
            data += b"\n"
        else:
            step = -(-len(data) // self.pieces)
            parts = [data[i : i + step] for i in range(0, len(data), step)]
            data = b"".join(
                _frame(part, _TEXT if i == 0 else 0, last=i == len(parts) - 1) for i, part in enumerate(parts)
            )
        with contextlib.suppress(OSError):
            peer.sendall(data)


def _frame(body: bytes, opcode: int, *, last: bool) -> bytes:
    """RFC 6455, 5.2; a server does not mask."""
    size = bytes([len(body)]) if len(body) < 126 else b"\x7e" + struct.pack(">H", len(body))
    return bytes([(0x80 if last else 0) | opcode]) + size + body


def _delta(values: list[tuple[str, Any]], source: str, at: str) -> dict[str, Any]:
    said = [{"path": path, "value": value} for path, value in values]
    return {"context": SELF, "updates": [{"$source": source, "timestamp": at, "values": said}]}
