"""Where the page is to be had, its token, its code."""

import os
import subprocess
import sys
import time
from dataclasses import replace

import pytest

from deck.served import serving
from sternwatch.deck import access, deck, where
from sternwatch.deck.fan import Fan
from sternwatch.deck.qr import code_lines
from sternwatch.deck.server import Server, listen
from sternwatch.deck.where import ACCEPTED, DeckError, Where, address_of, parse_where


@pytest.mark.parametrize(
    ("given", "wanted"),
    [
        ("here", Where()),
        ("lan", Where(True)),
        ("lan:192.168.4.2", Where(True, "192.168.4.2")),
        ("here@9000", Where(False, "", 9000)),
        ("lan:10.0.0.7@9000", Where(True, "10.0.0.7", 9000)),
    ],
)
def test_what_stands_behind_the_option(given, wanted):
    assert parse_where(given) == wanted


@pytest.mark.parametrize(
    "given", ["", "everywhere", "0.0.0.0", "here:1.2.3.4", "lan@", "lan:boat", "lan@80", "lan@99999"]
)
def test_what_is_not_accepted_says_what_is(given):
    with pytest.raises(DeckError, match=r"accepted are"):
        parse_where(given)
    assert "lan" in ACCEPTED


def test_one_address_of_a_network_of_ones_own(monkeypatch):
    assert address_of(Where()) == "127.0.0.1"
    monkeypatch.setattr(where, "own_addresses", lambda: ["10.0.0.7"])
    assert address_of(Where(True)) == "10.0.0.7"
    with pytest.raises(DeckError, match=r"accepted are lan:10\.0\.0\.7"):
        address_of(Where(True, "0.0.0.0"))
    monkeypatch.setattr(where, "own_addresses", lambda: ["10.0.0.7", "192.168.4.2"])
    with pytest.raises(DeckError, match=r"name one of lan:10\.0\.0\.7, lan:192\.168\.4\.2"):
        address_of(Where(True))
    assert address_of(Where(True, "192.168.4.2")) == "192.168.4.2"
    monkeypatch.setattr(where, "own_addresses", list)
    with pytest.raises(DeckError, match="in no network"):
        address_of(Where(True))


@pytest.mark.parametrize(
    ("address", "private"), [("192.168.1.2", True), ("10.1.1.1", True), ("127.0.0.1", False), ("8.8.8.8", False)]
)
def test_only_private_networks(address, private):
    assert where._private(address) is private


def test_a_token_is_new_and_only_a_session_that_was_killed_takes_its_own_up(tmp_path, monkeypatch):
    first = access.take_up(tmp_path, "live", 1000.0)
    if os.name == "posix":
        assert (tmp_path / access.NAME).stat().st_mode & 0o077 == 0
    monkeypatch.setattr(access, "_runs", lambda _: False)
    assert access.take_up(tmp_path, "live", 2000.0) == first
    assert access.take_up(tmp_path, "demo", 2000.0) != first
    again = access.take_up(tmp_path, "live", 3000.0)
    monkeypatch.setattr(access, "_runs", lambda _: True)
    assert access.take_up(tmp_path, "live", 3001.0) != again
    monkeypatch.setattr(access, "_runs", lambda _: False)
    late = access.take_up(tmp_path, "live", 3002.0)
    assert access.take_up(tmp_path, "live", 3003.0) == late
    assert access.take_up(tmp_path, "live", 3002.0 + access.LASTS_S + 1.0) != late
    another = access.take_up(tmp_path, "live", 4000.0, anew=True)  # a new trip
    assert another != late
    assert access.take_up(tmp_path, "live", 4001.0) == another


@pytest.mark.skipif(os.name != "posix", reason="Windows has no such modes")
def test_what_is_kept_is_for_its_owner_alone_whatever_was_allowed_before(tmp_path):
    access.take_up(tmp_path, "live", 1000.0)
    (tmp_path / access.NAME).chmod(0o644)
    access.take_up(tmp_path, "live", 2000.0)
    assert (tmp_path / access.NAME).stat().st_mode & 0o077 == 0


def test_a_process_that_got_the_number_of_one_that_was_killed_is_another():
    with subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE) as other:
        kept = access.Kept("abcdefghjkmnpqrs", "live", other.pid, 1000.0, time.time() + 1.0)
        assert access._runs(kept)
        assert not access._runs(replace(kept, taken_s=1000.0))
        other.kill()
        if os.name == "posix":
            os.waitid(os.P_PID, other.pid, os.WEXITED | os.WNOWAIT)
            assert not access._runs(kept)  # killed, and nobody has asked after it yet
    assert not access._runs(kept)


def test_a_session_that_ends_in_order_lets_nobody_in_again(tmp_path):
    token = access.take_up(tmp_path, "live", 1000.0)
    access.forget(tmp_path, "another")
    assert (tmp_path / access.NAME).exists()
    access.forget(tmp_path, token)
    assert not (tmp_path / access.NAME).exists()


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"token": "x", "session": "live", "pid": 1, "begun_s": 1, "taken_s": 1}']
)
def test_a_file_that_cannot_be_read_costs_a_new_scan(tmp_path, text):
    (tmp_path / access.NAME).write_text(text)
    assert len(access.take_up(tmp_path, "live", 1.0)) == 16


def test_tokens_differ_and_are_compared_whole():
    made = {access.new_token() for _ in range(200)}
    assert len(made) == 200
    one = made.pop()
    assert access.same_token(one, one)
    assert not access.same_token(one[:-1], one)
    assert not access.same_token("", one)
    assert not access.same_token("é" * 16, one)


def test_a_port_that_is_taken_is_said(tmp_path):
    with serving() as server, pytest.raises(DeckError, match=f"port {server.port}: .*another port"):
        deck.Deck(Where(port=server.port), "live", tmp_path)
    assert not (tmp_path / access.NAME).exists()


def test_one_that_is_stopped_before_it_serves_stops_all_the_same():
    class Slow(Server):
        def _run(self):
            time.sleep(0.2)
            super()._run()

    server = Slow(Fan(), access.new_token(), "127.0.0.1", listen("127.0.0.1", 0))
    server.stop()
    assert not server.runs


def test_a_missing_package_is_one_sentence(monkeypatch):
    monkeypatch.setattr(deck, "NEEDS", ("no_such_package",))
    with pytest.raises(DeckError, match=r"pip install segno uvicorn$"):
        deck.check_installed()


@pytest.mark.parametrize("light_ink", [True, False])
def test_the_code_has_a_quiet_edge_and_every_module(light_ink):
    import segno

    url = "http://192.168.100.100:8477/abcdefghjkmnpqrs/"
    lines = code_lines(url, light_ink=light_ink)
    pairs = {"█": (1, 1), "▀": (1, 0), "▄": (0, 1), " ": (0, 0)}
    drawn = [[pairs[sign][half] for sign in line] for line in lines for half in (0, 1)]
    wanted = [
        [int(bool(dark) != light_ink) for dark in line]
        for line in segno.make(url, error="l", micro=False).matrix_iter(border=2)
    ]
    assert drawn[: len(wanted)] == wanted
    assert len(lines) <= 17


def test_nothing_of_it_is_imported_before_it_is_asked_for():
    code = (
        "import sys, sternwatch.console.app, sternwatch.cli.common.session, sternwatch.cli.sessions.watch\n"
        "import sternwatch.cli.sessions.demo, sternwatch.cli.sessions.practice, sternwatch.cli.sessions.replay\n"
        "print([n for n in sys.modules if n.startswith(('sternwatch.deck', 'uvicorn', 'segno', 'h11'))])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
