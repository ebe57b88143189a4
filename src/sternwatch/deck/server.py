"""The server, a thread that answers phones. It receives moments of the helm and can send nothing back."""

from __future__ import annotations

import asyncio
import contextlib
import logging
import os
import socket
import threading
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from uvicorn.config import Config
from uvicorn.protocols.http.h11_impl import H11Protocol
from uvicorn.server import ServerState

from sternwatch.deck.door import Asked, Refused, look
from sternwatch.deck.fan import Fan
from sternwatch.deck.page import HEADERS, page
from sternwatch.deck.where import DeckError
from sternwatch.system_words import reason

_log = logging.getLogger(__name__)

PHONES = 32  # phones listening at once
CONNECTIONS = 64  # connections of all kinds at once
HEAD_BYTES = 8192
HEAD_S = 5.0  # time for a request to arrive
SLOW_S = 5.0  # time for a phone to take what was sent before
WHOLE_S = 30.0  # time for a phone to take the page
BUFFER_BYTES = 16_384
SILENT_MS = 10_000  # after which the system gives up a phone that no longer answers


class Doorman(H11Protocol):
    """Limits one connection: few bytes wait in either direction, and not for long."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        transport.set_write_buffer_limits(high=BUFFER_BYTES)
        held = transport.get_extra_info("socket")
        with contextlib.suppress(OSError):
            held.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, BUFFER_BYTES)
            if hasattr(socket, "TCP_USER_TIMEOUT"):
                held.setsockopt(socket.IPPROTO_TCP, socket.TCP_USER_TIMEOUT, SILENT_MS)
        self.app_state = {"transport": transport}
        self._late = self.loop.call_later(HEAD_S, self._give_up)
        if len(self.connections) > CONNECTIONS:
            transport.abort()

    def connection_lost(self, exc: Exception | None) -> None:
        self._late.cancel()
        super().connection_lost(exc)

    def _give_up(self) -> None:
        if getattr(self, "cycle", None) is None:  # no complete request came
            self.transport.abort()


class Server:
    """Answers at one address, on a listening socket, until it is stopped."""

    def __init__(self, fan: Fan, token: str, address: str, listening: socket.socket) -> None:
        self.fan, self._token = fan, token
        self._socket = listening
        self.port: int = self._socket.getsockname()[1]
        names = (address, "localhost") if address == "127.0.0.1" else (address,)
        self._hosts = tuple(f"{name}:{self.port}" for name in names)
        self._loop = asyncio.new_event_loop()
        self._over = asyncio.Event()  # made here because it may be stopped before its thread begins to serve
        self._state = ServerState()
        self._thread = threading.Thread(target=self._run, name="deck", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Close every connection and the listening socket."""
        with contextlib.suppress(RuntimeError):  # its thread has ended already
            self._loop.call_soon_threadsafe(self._over.set)
        self._thread.join(timeout=3.0)

    @property
    def runs(self) -> bool:
        return self._thread.is_alive()

    def _run(self) -> None:
        with contextlib.suppress(OSError):  # where the system can: name the thread in its list
            Path("/proc/thread-self/comm").write_text(self._thread.name, encoding="utf-8")
        try:
            asyncio.set_event_loop(self._loop)
            self._loop.run_until_complete(self._serve())
        except Exception:  # noqa: BLE001 - it ends this thread: the helm goes on, its deck page says so
            _log.exception("the deck's page stopped")
        finally:
            self._socket.close()
            self._loop.close()

    async def _serve(self) -> None:
        logging.getLogger("uvicorn.error").setLevel(logging.ERROR)  # do not log every request of strangers
        config = Config(
            self._answer, interface="asgi3", http=Doorman, ws="none", lifespan="off", log_config=None,
            access_log=False, proxy_headers=False, server_header=False, date_header=False, timeout_keep_alive=1,
            h11_max_incomplete_event_size=HEAD_BYTES,
        )  # fmt: skip
        config.load()
        door = await self._loop.create_server(lambda: Doorman(config, self._state, {}, self._loop), sock=self._socket)
        fanning = self._loop.create_task(self.fan.run())
        try:
            waiting = self._loop.create_task(self._over.wait())
            await asyncio.wait({waiting, fanning}, return_when=asyncio.FIRST_COMPLETED)
            if fanning.done():
                fanning.result()  # raises the error that ended it
        finally:
            door.close()
            for connection in tuple(self._state.connections):
                connection.transport.abort()
            self.fan.end()
            fanning.cancel()
            await asyncio.wait({fanning, waiting, *self._state.tasks}, timeout=1.0)

    async def _answer(self, scope: Any, receive: Any, send: Any) -> None:  # noqa: ARG002 - nothing sent is ever read
        asked = Asked(scope["method"], scope["raw_path"], scope["query_string"], tuple(scope["headers"]))
        found = look(asked, self._token, self._hosts)
        if found == "page":
            made = page()
            kind = ((b"content-type", b"text/html; charset=utf-8"), (b"content-security-policy", made.policy))
            shown = self.fan.shown
            await _whole(send, 200, made.with_face("sun" if shown is None else shown.face), *kind)
            # What it has not taken by then would keep a place among the connections for hours.
            self._loop.call_later(WHOLE_S, scope["state"]["transport"].abort)
        elif isinstance(found, Refused):
            await _refuse(send, found)
        elif self.fan.listeners >= PHONES:
            await _refuse(send, Refused(503, f"{PHONES} phones are listening already."))
        else:
            await _stream(send, self.fan.news(found), scope["state"]["transport"])


async def _refuse(send: Any, refused: Refused) -> None:
    allow = ((b"allow", b"GET"),) if refused.status == 405 else ()
    await _whole(
        send, refused.status, refused.words.encode(), (b"content-type", b"text/plain; charset=utf-8"), *allow
    )


async def _whole(send: Any, status: int, body: bytes, *headers: tuple[bytes, bytes]) -> None:
    length = (b"content-length", str(len(body)).encode())
    said = [*HEADERS, *headers, length, (b"connection", b"close")]
    await send({"type": "http.response.start", "status": status, "headers": said})
    await send({"type": "http.response.body", "body": body})


async def _stream(send: Any, news: AsyncIterator[bytes], transport: asyncio.Transport) -> None:
    """Send one phone the news. Drop it where it does not take them."""
    said = [*HEADERS, (b"content-type", b"text/event-stream; charset=utf-8"), (b"connection", b"close")]
    await send({"type": "http.response.start", "status": 200, "headers": said})
    try:
        async for data in news:
            if transport.is_closing():
                return
            async with asyncio.timeout(SLOW_S):
                await send({"type": "http.response.body", "body": data, "more_body": True})
    except TimeoutError:
        transport.abort()
    finally:
        await news.aclose()  # type: ignore[attr-defined]


def listen(address: str, port: int) -> socket.socket:
    """A listening socket. Raises :class:`DeckError` where the address is not available."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":  # elsewhere it would let a second console have the same port
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind((address, port))
        made.listen(CONNECTIONS)
    except OSError as fault:
        made.close()
        raise DeckError(
            f"--deck: the page cannot be had at {address}, port {port}: {reason(fault)}; "
            f"for another port write @{port + 1} behind here or lan"
        ) from fault
    made.setblocking(False)
    return made
