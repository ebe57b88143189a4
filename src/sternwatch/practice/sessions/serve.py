"""Serves the practice boat's feed to another program, over TCP or by a pseudo-terminal that acts as a serial port."""

from __future__ import annotations

import contextlib
import os
import selectors
import socket
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Final, Protocol

from sternwatch.system_words import reason

ACCEPTED: Final = "tcp:PORT or tcp:HOST:PORT (without a host only this machine can connect), or pty"
LOOPBACK: Final = "127.0.0.1"
TICK_S: Final = 0.05
# A client that does not read is dropped when more than this waits for it.
WAITING_BYTES: Final = 1 << 20


class ServeError(ValueError):
    """The feed cannot be served; the message says why in one sentence."""


@dataclass(frozen=True, slots=True)
class ServeSpec:
    """The value of ``--serve``."""

    kind: str  # tcp | pty
    host: str = ""
    port: int = 0


def parse_serve(text: str) -> ServeSpec:
    """Read the value of ``--serve``. Raises ServeError that says what is accepted."""
    if text == "pty":
        return ServeSpec("pty")
    kind, _, address = text.partition(":")
    host, colon, number = address.rpartition(":")
    host = host.removeprefix("[").removesuffix("]")
    if kind != "tcp" or not number.isascii() or not number.isdecimal() or not 0 <= int(number) <= 65535:
        raise ServeError(f'--serve "{text}": accepted: {ACCEPTED}')
    return ServeSpec("tcp", host if colon else LOOPBACK, int(number))


class Outlet(Protocol):
    """Where lines go."""

    @property
    def words(self) -> str: ...
    def send(self, data: bytes) -> None: ...
    def close(self) -> None: ...


class TcpOutlet:
    """Serves any number of clients; each gets all lines from the moment when it connects."""

    def __init__(self, host: str, port: int) -> None:
        try:
            self._server = socket.create_server((host, port), reuse_port=False)
        except OSError as error:
            raise ServeError(f"tcp:{host}:{port}: cannot be served: {reason(error)}") from None
        self._server.setblocking(False)
        self._clients: dict[socket.socket, bytearray] = {}
        self._selector = selectors.DefaultSelector()
        self._selector.register(self._server, selectors.EVENT_READ)

    @property
    def port(self) -> int:
        """The port in use, which the system chooses where none is given."""
        return int(self._server.getsockname()[1])

    @property
    def words(self) -> str:
        host, port = self._server.getsockname()[:2]
        return f"tcp:{host}:{port}"

    def send(self, data: bytes) -> None:
        self._welcome()
        for client, waiting in list(self._clients.items()):
            waiting += data
            if len(waiting) > WAITING_BYTES or not self._flush(client, waiting):
                self._drop(client)

    def _welcome(self) -> None:
        while self._selector.select(0):
            try:
                client, _ = self._server.accept()
            except OSError:  # it disconnected before it was accepted
                return
            client.setblocking(False)
            self._clients[client] = bytearray()

    @staticmethod
    def _flush(client: socket.socket, waiting: bytearray) -> bool:
        try:
            while waiting:
                del waiting[: client.send(waiting)]
        except BlockingIOError:
            return True
        except OSError:
            return False
        return True

    def _drop(self, client: socket.socket) -> None:
        del self._clients[client]
        client.close()

    def close(self) -> None:
        for client in list(self._clients):
            self._drop(client)
        self._selector.close()
        self._server.close()


def _pseudo_terminal() -> tuple[int, int, str]:
    """Open a raw pseudo-terminal: our end, which does not block, theirs, and its path. Raises ServeError."""
    if sys.platform == "win32":
        raise ServeError("pty: there are no pseudo-terminals here; use tcp:PORT")
    else:  # noqa: RET506  (a type checker for that system skips what stands in a branch)
        import pty
        import tty

        try:
            ours, theirs = pty.openpty()
        except OSError as error:
            raise ServeError(f"pty: cannot be opened: {reason(error)}") from None
        tty.setraw(theirs)
        os.set_blocking(ours, False)
        return ours, theirs, os.ttyname(theirs)


class PtyOutlet:
    """Serves a pseudo-terminal. Lines that nobody reads are lost, as on a serial line."""

    def __init__(self) -> None:
        # Theirs stays open: otherwise the terminal hangs up whenever a reader leaves.
        self._ours, self._theirs, self.path = _pseudo_terminal()

    @property
    def words(self) -> str:
        return f"serial:{self.path}"

    def send(self, data: bytes) -> None:
        with contextlib.suppress(BlockingIOError):
            os.write(self._ours, data)

    def close(self) -> None:
        os.close(self._ours)
        os.close(self._theirs)


def open_outlet(spec: ServeSpec) -> Outlet:
    """Open the outlet for a spec. Raises ServeError."""
    return PtyOutlet() if spec.kind == "pty" else TcpOutlet(spec.host, spec.port)


def serve(
    outlet: Outlet,
    lines_until: Callable[[float], Iterable[bytes]],
    *,
    start_s: float = 0.0,
    stop: Callable[[], bool] = lambda: False,
) -> None:
    """Send the lines at their moments, from ``start_s`` of the session on, until ``stop`` is set."""
    begun = time.monotonic() - start_s
    while not stop():
        for data in lines_until(time.monotonic() - begun):
            outlet.send(data + b"\r\n")
        time.sleep(TICK_S)
