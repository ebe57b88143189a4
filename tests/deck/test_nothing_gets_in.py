"""Nothing that comes over HTTP becomes an action: by construction, and under malformed requests by the thousand."""

from __future__ import annotations

import ast
import asyncio
import contextlib
import random
import socket
import threading
import time
from pathlib import Path

import pytest

import sternwatch.deck
from console.frame.test_app import console, settled
from deck.served import answer, asking, connected, path_of, serving

ROOM = Path(sternwatch.deck.__file__).parent
SEED = 20260820


def test_nothing_that_is_received_is_read_beyond_its_head() -> None:
    """The server's one coroutine is given ``receive`` and never uses it, so that no body reaches any code of ours."""
    tree = ast.parse((ROOM / "server.py").read_text(encoding="utf-8"))
    names = [node.id for node in ast.walk(tree) if isinstance(node, ast.Name)]
    assert "receive" not in names
    assert "receive" in [arg.arg for node in ast.walk(tree) if isinstance(node, ast.arguments) for arg in node.args]


def test_no_module_of_the_room_can_name_an_action_or_a_runner() -> None:
    for path in sorted(ROOM.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        called = {
            node.func.attr
            for node in ast.walk(tree)
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
        }
        assert not called & {"submit", "act", "plan", "seek", "play", "begin_trip", "exec", "eval", "post_message"}, (
            path
        )
        imported = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        assert not [name for name in imported if name and ("logbook" in name or "runner" in name)], path


def malformed(random_: random.Random, server) -> bytes:
    """One request that is wrong somewhere: a valid one broken, or noise; sometimes with words of actions in it."""
    good = asking(server, path_of(server, random_.choice(["", "news", "views"])))
    match random_.randrange(8):
        case 0:
            return random_.randbytes(random_.randrange(1, 300))
        case 1:
            at = random_.randrange(len(good))
            return good[:at] + random_.randbytes(random_.randrange(1, 8)) + good[at:]
        case 2:
            return good[: random_.randrange(4)] + b"\r\n\r\n"
        case 3:
            body = b'{"kind":"hit","rod":"3","id":"x","time":"2026-08-20T01:00:00Z"}'
            verb = random_.choice(["POST", "PUT", "PATCH", "DELETE", "hit", "GET"])
            return asking(server, path_of(server, "news"), verb, content_length=len(body)) + body
        case 4:
            return asking(server, "/" + "../" * random_.randrange(1, 9) + "etc/passwd")
        case 5:
            return asking(server, path_of(server), host=f"boat{random_.randrange(99)}.example")
        case 6:
            return asking(
                server, path_of(server, f"rod/{random_.randrange(10)}/hit?length=9"), x=random_.randbytes(40).hex()
            )
        case _:
            return b"GET " + b"/" * random_.randrange(1, 9000) + b" HTTP/1.1\r\n" * random_.randrange(1, 40) + b"\r\n"


def throw(server, count: int, seed: int, statuses: dict[int, int]) -> None:
    """``count`` malformed requests, eight to a connection that takes them; what came back is counted by status."""
    random_ = random.Random(seed)
    for _ in range(count):
        status = 0
        with contextlib.suppress(OSError), connected(server, 0.2) as phone:
            phone.sendall(malformed(random_, server))
            phone.shutdown(socket.SHUT_WR)
            head = phone.recv(64)
            status = int(head.split()[1]) if head.startswith(b"HTTP/1.1 ") else 0
        statuses[status] = statuses.get(status, 0) + 1


def quantile(values: list[float], share: float) -> float:
    return sorted(values)[min(int(share * len(values)), len(values) - 1)]


@pytest.mark.parametrize(
    ("count", "keys"), [(300, 10), pytest.param(100_000, 200, marks=pytest.mark.campaign)], ids=["few", "many"]
)
async def test_the_console_answers_keys_and_enters_only_those_while_it_is_fuzzed(count, keys, capsys) -> None:
    app = console()
    statuses: dict[int, int] = {}
    with serving() as server:
        async with app.run_test(size=(120, 36)) as pilot:
            await settled(pilot)

            async def latencies() -> list[float]:
                """From a key's coming to what it does; the pilot's own press waits for an idle process."""
                took = []
                for _ in range(keys):
                    before, begun_s = app.desk.chosen, time.perf_counter()
                    app.simulate_key("right")
                    while app.desk.chosen == before:
                        await asyncio.sleep(0.0005)
                    took.append(time.perf_counter() - begun_s)
                    await asyncio.sleep(0.02)
                return took

            quiet = await latencies()
            thrower = threading.Thread(target=throw, args=(server, count, SEED, statuses), daemon=True)
            thrower.start()
            loud: list[float] = []
            while not loud or thrower.is_alive():
                loud += await latencies()
            assert app.runner.did() == []
        thrower.join()
        assert sum(statuses.values()) == count
        assert set(statuses) <= {0, 400, 403, 404, 405, 413, 414, 421, 431, 503, 200}, statuses
        assert answer(server, asking(server))[0] == 200  # it still answers those who ask properly
        until_s = time.monotonic() + 10.0
        while server.fan.listeners and time.monotonic() < until_s:
            time.sleep(0.1)
        assert server.fan.listeners == 0
    with capsys.disabled():
        print(
            f"\n{count} requests, by status {statuses}; a key took (median, 95 %) "
            f"{1e3 * quantile(quiet, 0.5):.0f}, {1e3 * quantile(quiet, 0.95):.0f} ms in quiet, "
            f"{1e3 * quantile(loud, 0.5):.0f}, {1e3 * quantile(loud, 0.95):.0f} ms then"
        )
    # The thrower is a thread of this process too and takes its share.
    assert quantile(loud, 0.5) < 3.0 * quantile(quiet, 0.5) + 0.02
