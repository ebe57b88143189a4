"""A network between a phone and the server that can be lost without a word, as on a boat: nothing is closed."""

from __future__ import annotations

import asyncio
import contextlib
import threading


class Cable:
    """Listens at a port of its own and hands on to ``port``. Once it was cut, what was under way stays unheard."""

    def __init__(self, port: int) -> None:
        self._to = port
        self._whole = asyncio.Event()
        self._links: set[asyncio.Future[list[None]]] = set()
        self._held: list[asyncio.StreamWriter] = []
        self._loop = asyncio.new_event_loop()
        ready = threading.Event()
        self._thread = threading.Thread(target=self._run, args=(ready,), daemon=True)
        self._thread.start()
        ready.wait(5.0)

    def _run(self, ready: threading.Event) -> None:
        asyncio.set_event_loop(self._loop)
        self._whole.set()
        server = self._loop.run_until_complete(asyncio.start_server(self._link, "127.0.0.1", 0))
        self.port: int = server.sockets[0].getsockname()[1]
        ready.set()
        self._loop.run_forever()
        for task in asyncio.all_tasks(self._loop):
            task.cancel()
        self._loop.run_until_complete(asyncio.sleep(0.05))
        self._loop.close()

    async def _link(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._held.append(writer)  # held open: a network that is lost closes nothing
        with contextlib.suppress(asyncio.CancelledError, OSError):
            await self._whole.wait()
            there, back = await asyncio.open_connection("127.0.0.1", self._to)
            self._held.append(back)
            self._links.add(
                passing := asyncio.ensure_future(asyncio.gather(_pass(reader, back), _pass(there, writer)))
            )
            await passing

    def cut(self) -> None:
        """From now on nothing passes, and what was under way never will."""

        def do() -> None:
            self._whole.clear()
            for link in self._links:
                link.cancel()

        self._loop.call_soon_threadsafe(do)

    def mend(self) -> None:
        """What is begun from now on passes."""
        self._loop.call_soon_threadsafe(self._whole.set)

    def close(self) -> None:
        self._loop.call_soon_threadsafe(self._loop.stop)
        self._thread.join(5.0)


async def _pass(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    while data := await reader.read(65536):
        writer.write(data)
