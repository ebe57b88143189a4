"""Who is answered: by rule, and over a socket."""

import contextlib
import socket
import time

import pytest

from deck.served import Listener, answer, asking, connected, path_of, serving
from sternwatch.deck import server as module
from sternwatch.deck.door import Asked, Refused, look

TOKEN = "abcdefghjkmnpqrs"
HOST = "127.0.0.1:8477"


def asked(method="GET", path=f"/{TOKEN}/", query="", **headers):
    given = {"host": HOST} | {name.replace("_", "-"): value for name, value in headers.items()}
    return Asked(
        method,
        path.encode(),
        query.encode(),
        tuple((k.encode(), v.encode()) for k, v in given.items() if v is not None),
    )


def status(given):
    found = look(given, TOKEN, (HOST,))
    return found.status if isinstance(found, Refused) else found


@pytest.mark.parametrize(("path", "what"), [("", "page"), ("news", "news"), ("views", "views")])
def test_three_things_are_to_be_had(path, what):
    assert status(asked(path=f"/{TOKEN}/{path}")) == what
    assert status(asked(path=f"/{TOKEN}/{path}", origin=f"http://{HOST}", sec_fetch_site="same-origin")) == what


@pytest.mark.parametrize(
    ("given", "refused"),
    [
        (asked("POST"), 405),
        (asked("HEAD"), 405),
        (asked("OPTIONS"), 405),
        (asked(content_length="1"), 413),
        (asked(transfer_encoding="chunked"), 413),
        (asked(host=None), 421),
        (asked(host="boat.example:8477"), 421),
        (asked(host="127.0.0.1"), 421),
        (asked(origin="http://boat.example"), 403),
        (asked(origin="null"), 403),
        (asked(sec_fetch_site="cross-site"), 403),
        (asked(path="/"), 404),
        (asked(path=f"/{TOKEN}"), 404),
        (asked(path=f"/{TOKEN[:-1]}/"), 404),
        (asked(path=f"/{TOKEN.upper()}/"), 404),
        (asked(path=f"/{TOKEN}/page.html"), 404),
        (asked(path=f"/{TOKEN}/../news"), 404),
        (asked(path=f"/{TOKEN}/news/"), 404),
        (asked(path=f"//{TOKEN}/news"), 404),
        (asked(query="a=1"), 404),
    ],
)
def test_everything_else_is_refused(given, refused):
    assert status(given) == refused


def test_two_names_are_one_too_many():
    twice = Asked("GET", f"/{TOKEN}/".encode(), b"", ((b"host", HOST.encode()), (b"host", HOST.encode())))
    assert status(twice) == 421


def test_the_page_says_what_a_browser_may_do_with_it():
    with serving() as server:
        found, headers, body = answer(server, asking(server))
    assert found == 200
    assert len(body) < 30_000
    assert "default-src 'none'" in headers["content-security-policy"]
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["referrer-policy"] == "no-referrer"
    assert headers["cache-control"] == "no-store"
    assert b"//" not in body.replace(b"http://www.w3.org/2000/svg", b"")  # nothing from outside the boat


def test_refusals_tell_nothing_of_the_token():
    with serving() as server:
        wrong = [answer(server, asking(server, path)) for path in ("/", f"/{TOKEN}/", path_of(server, "x"))]
    assert {found for found, _, _ in wrong} == {404}
    assert len({body for _, _, body in wrong}) == 1


def test_a_body_is_refused_and_never_waited_for():
    with serving() as server:
        begun_s = time.monotonic()
        found, _, _ = answer(server, asking(server, content_length="1000000"))
        assert found == 413
        assert time.monotonic() - begun_s < 2.0


def test_so_many_phones_and_no_more(monkeypatch):
    monkeypatch.setattr(module, "PHONES", 2)
    with serving() as server:
        phones = [Listener(server) for _ in range(2)]
        assert all(phone.events(2) for phone in phones)
        assert answer(server, asking(server, path_of(server, "news")))[0] == 503
        phones.pop().close()
        until_s = time.monotonic() + 5.0
        while server.fan.listeners == 2 and time.monotonic() < until_s:
            time.sleep(0.05)
        again = Listener(server)
        assert again.events(2)
        again.close()
        phones[0].close()


def test_connections_beyond_the_limit_are_closed_at_once(monkeypatch):
    monkeypatch.setattr(module, "CONNECTIONS", 3)
    with serving() as server:
        held = [connected(server) for _ in range(3)]
        time.sleep(0.2)
        with connected(server) as one_more:
            one_more.settimeout(2.0)
            with contextlib.suppress(ConnectionResetError):
                assert one_more.recv(10) == b""
        for phone in held:
            phone.close()


def test_a_request_that_does_not_come_is_not_waited_for(monkeypatch):
    monkeypatch.setattr(module, "HEAD_S", 0.2)
    with serving() as server, connected(server) as phone:
        phone.sendall(b"GET / HTTP/1.1\r\nHost: ")
        with contextlib.suppress(ConnectionResetError):
            assert phone.recv(10) == b""


def test_a_phone_that_takes_the_page_too_slowly_is_dropped(monkeypatch):
    monkeypatch.setattr(module, "WHOLE_S", 0.5)
    with serving() as server, socket.socket() as slow:
        slow.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 1024)
        slow.connect(("127.0.0.1", server.port))
        slow.sendall(asking(server))
        assert slow.recv(10) == b"HTTP/1.1 2"
        until_s = time.monotonic() + 5.0
        while server._state.connections and time.monotonic() < until_s:
            time.sleep(0.05)
        assert not server._state.connections
        whole = answer(server, asking(server))
        assert whole[0] == 200
        assert whole[2].endswith(b"</html>\n"), "another phone has all of it"


def test_a_phone_that_does_not_read_is_dropped(monkeypatch):
    monkeypatch.setattr(module, "SLOW_S", 0.2)
    monkeypatch.setattr("sternwatch.deck.fan.EVERY_S", 0.005)
    with serving() as server:
        monkeypatch.setattr("sternwatch.deck.fan.event", lambda *_: b"data: " + bytes(200_000) + b"\n\n")
        deaf = socket.socket()
        deaf.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, 4096)
        deaf.connect(("127.0.0.1", server.port))
        deaf.sendall(asking(server, path_of(server, "news")))
        until_s = time.monotonic() + 5.0
        while not server.fan.listeners and time.monotonic() < until_s:
            time.sleep(0.01)
        while server.fan.listeners and time.monotonic() < until_s:
            time.sleep(0.05)
        assert server.fan.listeners == 0
        deaf.close()
