"""Nothing that comes over HTTP becomes an action: by construction, and under malformed requests by the thousand."""

from __future__ import annotations

import ast
import asyncio
import gc
import json
import os
import sys
import time
from pathlib import Path
from types import FunctionType, ModuleType

import pytest

import sternwatch.deck
from console.frame.test_app import console, settled
from deck import thrower
from deck.served import answer, asking, serving
from sternwatch.console.app import SternwatchApp
from sternwatch.console.controls.controls import Controls
from sternwatch.deck.deck import Deck
from sternwatch.deck.where import Where

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


def reached(*begun: object) -> set[type]:
    """The classes of all that can be come to from there: attributes, items, closures; not what modules name."""
    seen: dict[int, object] = {}
    ahead = list(begun)
    while ahead:
        one = ahead.pop()
        if id(one) in seen or isinstance(one, ModuleType | type):
            continue
        seen[id(one)] = one
        named = one.__globals__ if isinstance(one, FunctionType) else None
        ahead += [other for other in gc.get_referents(one) if other is not named]
    return {type(one) for one in seen.values()}


def could_act(classes: set[type]) -> list[str]:
    """Those of them through which something could be entered, changed or steered."""
    ways = ("submit", "plan", "seek", "begin_trip")
    return sorted(
        one.__qualname__
        for one in classes
        if one.__module__.startswith(
            ("sternwatch.console", "sternwatch.logbook", "sternwatch.watch.sessions", "textual")
        )
        or (one.__module__.startswith("sternwatch.") and any(callable(getattr(one, way, None)) for way in ways))
    )


async def test_from_the_server_no_reference_leads_to_anything_that_acts(tmp_path, monkeypatch, free_port) -> None:
    """Whatever a request did to the server's own code, it would hold nothing to act with."""
    monkeypatch.setattr("sternwatch.deck.server.Server._run", lambda _server: None)  # no thread: what it is given
    app = console()
    app.deck_mate.deck = deck = Deck(Where(port=free_port), "demo", tmp_path)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        assert deck._server.fan.shown.picture is app.shown
        assert could_act(reached(deck)) == []
        # The search finds them where there is a way.
        deck._server.fan.way = lambda: app.controls
        assert {Controls.__qualname__, SternwatchApp.__qualname__} <= set(could_act(reached(deck)))
        del deck._server.fan.way
        deck._server._socket.close()


def quantile(values: list[float], share: float) -> float:
    return sorted(values)[min(int(share * len(values)), len(values) - 1)]


async def latencies(app, keys: int) -> list[float]:
    """From a key's coming to what it does; the pilot's own press waits for an idle process."""
    took = []
    for _ in range(keys):
        before, begun_s = app.controls.chosen, time.perf_counter()
        app.simulate_key("right")
        while app.controls.chosen == before:
            await asyncio.sleep(0.0005)
        took.append(time.perf_counter() - begun_s)
        await asyncio.sleep(0.02)
    return took


@pytest.mark.parametrize(
    ("count", "keys"), [(2_000, 25), pytest.param(100_000, 400, marks=pytest.mark.campaign)], ids=["few", "many"]
)
async def test_the_console_answers_keys_and_enters_nothing_while_it_is_fuzzed(count, keys, capsys) -> None:
    app = console()
    with serving() as server:
        async with app.run_test(size=(120, 36)) as pilot:
            await settled(pilot)
            quiet = await latencies(app, keys)
            begun_s = time.monotonic()
            throwing = await asyncio.create_subprocess_exec(
                sys.executable, thrower.__file__, str(server.port), server._token, str(count), str(SEED),
                stdout=asyncio.subprocess.PIPE,
            )  # fmt: skip
            loud: list[float] = []
            while len(loud) < keys or throwing.returncode is None:
                loud += await latencies(app, 5)
            took_s = time.monotonic() - begun_s
            assert app.runner.did() == []
            assert app.runner.plans == []
            assert throwing.stdout is not None
            statuses = {int(status): n for status, n in json.loads(await throwing.stdout.read()).items()}
        assert sum(statuses.values()) == count
        assert set(statuses) <= {0, 200, 400, 403, 404, 405, 413, 414, 421, 431, 503}, statuses
        if os.name == "posix":  # Windows forgets an answer that it has when the other side is done with it
            assert statuses.get(0, 0) < count / 2, "most are answered"
        assert answer(server, asking(server))[0] == 200  # it still answers those who ask properly
        until_s = time.monotonic() + 10.0
        while server.fan.listeners and time.monotonic() < until_s:
            time.sleep(0.1)
        assert server.fan.listeners == 0
    ratios = [quantile(loud, share) / quantile(quiet, share) for share in (0.5, 0.95)]
    with capsys.disabled():
        print(
            f"\n{count} requests in {took_s:.1f} s, by status {dict(sorted(statuses.items()))}; a key took (median, "
            f"95 %) {1e3 * quantile(quiet, 0.5):.0f}, {1e3 * quantile(quiet, 0.95):.0f} ms in quiet, "
            f"{1e3 * quantile(loud, 0.5):.0f}, {1e3 * quantile(loud, 0.95):.0f} ms then: "
            f"{ratios[0]:.2f}, {ratios[1]:.2f} times as long"
        )
    assert quantile(loud, 0.5) < 3.0 * quantile(quiet, 0.5) + 0.02
