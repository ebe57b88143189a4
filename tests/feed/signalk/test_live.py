"""Signal K live: our own server over a websocket and over TCP, with what happens to servers and to computers."""

import time

import pytest

from feed.aboard import BACK_S, Aboard
from feed.signalk.server import Server, stamp
from sternwatch.feed.readings import Quantity, SensorState
from sternwatch.feed.signalk.wanted import PATHS
from sternwatch.feed.sources import SourceState

STW = "navigation.speedThroughWater"


class Listening(Aboard):
    """Aboard, with a paddle wheel that speaks through the server."""

    def __init__(self, server):
        carrier = "" if server.websocket else "tcp:"
        super().__init__(f"k=signalk:{carrier}127.0.0.1:{server.port}")
        self.server = server

    def speak_until(self, what):
        return self.hear_until(what, lambda: self.server.put(STW, 1.0 + len(self.readings) % 7 / 100))


@pytest.fixture(params=["websocket", "tcp"])
def server(request):
    made = Server(websocket=request.param == "websocket")
    yield made
    made.stop()


@pytest.fixture
def aboard(server):
    made = Listening(server)
    yield made
    made.stop()


def test_what_is_wanted_is_asked_for_and_heard(server, aboard):
    aboard.speak_until(aboard.is_fresh)
    (asked,) = server.asked
    assert asked["context"] == "vessels.self"
    assert {(one["path"], one["policy"], one["format"]) for one in asked["subscribe"]} == {
        (path, "instant", "delta") for path in PATHS
    }
    if server.websocket:
        assert server.paths == ["/signalk/v1/stream?subscribe=none"]
    server.put(STW, None)
    server.say({"updates": [{"meta": [{"path": STW, "value": {"description": "the wheel"}}]}]})
    aboard.hear(0.2)
    assert (aboard.state(), aboard.readings[-1].value) == (SensorState.NONE, None)
    assert aboard.decoder.reports()[0].unused == {"hello": 1, "meta": 2}
    server.put(STW, 1.5)
    aboard.hear(0.2)
    assert (aboard.state(), aboard.readings[-1].value, aboard.readings[-1].talker) == (
        SensorState.FRESH, 1.5, "n2k.35",
    )  # fmt: skip


@pytest.mark.parametrize("how", ["dropped", "restarted"])
def test_back_within_three_seconds_of_the_return(server, aboard, how):
    aboard.speak_until(aboard.is_fresh)
    if how == "dropped":
        server.drop()
    else:
        server.stop()
        server.forget()
        aboard.hear(0.7)
        assert aboard.status.state is SourceState.LOST
        server.start()
    count = len(aboard.readings)
    # It asks anew for what is wanted; what the old connection still held may come before that.
    back = aboard.speak_until(lambda: len(server.asked) == 2 and len(aboard.readings) > count)
    assert back < BACK_S
    assert aboard.is_fresh()


def test_a_server_that_says_its_last_values_for_ever_does_not_keep_them_alive(server, aboard):
    """The instrument goes; the server stays, repeats its value, drops us, and says it to whoever comes."""
    server.put("environment.depth.belowTransducer", 12.5, at=stamp(time.time() - 3600.0))
    aboard.speak_until(aboard.is_fresh)
    gone_s = aboard.readings[-1].t_s
    while aboard.clock.now()[0] - gone_s < 2.5:
        assert aboard.is_fresh()
        aboard.clock.added_s += 0.3  # time flies
        server.again()
        aboard.hear()
    server.drop()
    while aboard.is_fresh():
        assert aboard.clock.now()[0] - gone_s < 3.3  # the time-out of speed through water, and a last tick
        aboard.clock.added_s += 0.1
        server.again()
        aboard.hear()
    aboard.hear_until(lambda: len(server.asked) == 2, server.again)
    aboard.hear(0.1)
    assert aboard.state() is SensorState.SILENT
    # A depth of an hour ago never was one of now.
    assert [r for r in aboard.readings if r.quantity is Quantity.BOTTOM] == []


def test_a_computer_that_slept_asks_anew_at_once(server, aboard):
    """The connection is dead after a sleep, and nobody says so."""
    aboard.speak_until(aboard.is_fresh)
    server.frozen = True
    aboard.hear(0.3)
    aboard.clock.added_s = 3600.0
    assert aboard.state() is SensorState.SILENT  # nothing is fresh that was said before
    begun = time.monotonic()
    while len(server.asked) < 2:
        assert time.monotonic() - begun < BACK_S, aboard.status
        aboard.hear(0.05)
    server.frozen = False
    aboard.speak_until(aboard.is_fresh)
    assert time.monotonic() - begun < BACK_S


def test_two_instruments_for_one_quantity_do_not_jump(server, aboard):
    shown = set()
    aboard.speak_until(aboard.is_fresh)
    for i in range(10):
        server.put(STW, 1.0 + i / 1000, "n2k.35")
        server.put(STW, 2.0 + i / 1000, "n2k.36")
        aboard.hear(0.02)
        shown.add(round(aboard.board.table(aboard.clock.now()[0])[Quantity.STW].value))
    assert shown == {1}
    assert {r.talker for r in aboard.readings} == {"n2k.35", "n2k.36"}


def test_a_message_in_pieces_and_a_ping():
    server = Server()
    server.pieces = 4
    aboard = Listening(server)
    try:
        aboard.speak_until(aboard.is_fresh)
        server.ping()
        aboard.speak_until(lambda: server.pongs > 0)
        assert aboard.decoder.reports()[0].rejected == {}
    finally:
        aboard.stop()
        server.stop()


@pytest.mark.parametrize(
    ("status", "said"), [(401, "lets nobody read without logging in (401): allow read-only access"), (404, "404")]
)
def test_a_server_that_refuses_is_said(status, said):
    server = Server()
    server.refuse = status
    aboard = Listening(server)
    try:
        aboard.hear_until(lambda: aboard.status.state is SourceState.LOST, lambda: None)
        assert said in aboard.status.text
    finally:
        aboard.stop()
        server.stop()
