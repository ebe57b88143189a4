"""A page that is to be had, with an invented picture behind it, and a phone's plain socket."""

from __future__ import annotations

import contextlib
import json
import socket
import time
from dataclasses import replace

import sternwatch.watch.chains.clearing_order  # noqa: F401 - takes seconds; a watch has it before its first picture
from console import fake_picture
from sternwatch.deck.access import new_token
from sternwatch.deck.fan import Fan
from sternwatch.deck.server import Server, listen
from sternwatch.deck.shown import Shown
from sternwatch.gear.values.units import SYSTEMS

US = SYSTEMS["us"]


def shown(picture=None, **fields):
    """A moment of the helm, with news of now."""
    picture = fake_picture.straight() if picture is None else picture
    return Shown(picture.session, picture, US, told_s=time.monotonic(), **fields)


@contextlib.contextmanager
def serving(first=None, **fields):
    """A server on this machine with a moment to tell; ``fields`` go to the fan."""
    fan = Fan(**fields)
    fan.shown = shown() if first is None else first
    server = Server(fan, new_token(), "127.0.0.1", listen("127.0.0.1", 0))
    try:
        yield server
    finally:
        server.stop()
        assert not server.runs


def path_of(server, what=""):
    return f"/{server._token}/{what}"


def asking(server, path=None, method="GET", host=None, **headers):
    """A request as bytes; ``headers`` with - for _."""
    lines = [f"{method} {path_of(server) if path is None else path} HTTP/1.1"]
    lines.append(f"Host: {host or f'127.0.0.1:{server.port}'}")
    lines += [f"{name.replace('_', '-')}: {value}" for name, value in headers.items()]
    return ("\r\n".join(lines) + "\r\n\r\n").encode()


def connected(server, timeout_s=5.0):
    return socket.create_connection(("127.0.0.1", server.port), timeout=timeout_s)


def answer(server, request):
    """All that comes back: status, header names in lower case, body."""
    with connected(server) as phone:
        phone.sendall(request)
        got = b""
        with contextlib.suppress(ConnectionResetError):
            while data := phone.recv(65536):
                got += data
    head, _, body = got.partition(b"\r\n\r\n")
    lines = head.decode("latin-1").split("\r\n")
    return int(lines[0].split()[1]), dict(line.lower().split(": ", 1) for line in lines[1:]), body


class Listener:
    """A phone that listens to the news."""

    def __init__(self, server, what="news"):
        self.phone = connected(server)
        self.phone.sendall(asking(server, path_of(server, what)))
        self.got = b""

    def events(self, count, within_s=5.0):
        """The first ``count`` events: (name, value), and the bytes of each."""
        until_s = time.monotonic() + within_s
        while self.got.count(b"\n\n") < count + 1 and time.monotonic() < until_s:
            self.got += self.phone.recv(65536)
        text = self.got.partition(b"\r\n\r\n")[2]
        made = []
        for block in text.split(b"\n\n"):
            fields = dict(line.split(b": ", 1) for line in block.split(b"\n") if b": " in line)
            if b"data" in fields and fields.get(b"event") != b"begin":
                made.append((fields.get(b"event", b"").decode(), json.loads(fields[b"data"]), fields[b"data"]))
        return made

    def close(self):
        self.phone.close()


def changed(picture, **fields):
    return replace(picture, **fields)
