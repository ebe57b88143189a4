"""Decides how to answer every request, before anything is done with it. No input or output.

A phone can ask only for the page and its news, so all that is not plainly one of these is refused.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from sternwatch.deck.access import same_token

What = Literal["page", "news", "views"]

_PATHS: dict[str, What] = {"": "page", "news": "news", "views": "views"}
_OWN_SITE = (b"same-origin", b"none")


@dataclass(frozen=True, slots=True)
class Asked:
    """A request read by the server, with header names in lower case."""

    method: str
    path: bytes  # as received, not decoded
    query: bytes
    headers: tuple[tuple[bytes, bytes], ...]


@dataclass(frozen=True, slots=True)
class Refused:
    """A refusal: the status and one plain sentence."""

    status: int
    words: str


def look(asked: Asked, token: str, hosts: Iterable[str]) -> What | Refused:
    """The answer to a request. ``hosts``: the names, with port, under which this server answers."""
    names = {host.encode() for host in hosts}
    if asked.method != "GET":
        return Refused(405, "Only GET is answered.")
    if _values(asked, b"transfer-encoding") or any(
        given.strip() != b"0" for given in _values(asked, b"content-length")
    ):
        return Refused(413, "A request with a body is refused.")
    if [given.lower() for given in _values(asked, b"host")] not in [[name] for name in names]:
        return Refused(421, "This server does not go by that name.")
    if any(given not in {b"http://" + name for name in names} for given in _values(asked, b"origin")):
        return Refused(403, "Asked from another site.")
    if any(given not in _OWN_SITE for given in _values(asked, b"sec-fetch-site")):
        return Refused(403, "Asked from another site.")
    if asked.query or asked.path.count(b"/") != 2 or not asked.path.startswith(b"/"):
        return Refused(404, "Nothing is here.")
    given, _, what = asked.path[1:].partition(b"/")
    known = _PATHS.get(what.decode("latin-1"))
    if not same_token(given.decode("latin-1"), token) or known is None:
        return Refused(404, "Nothing is here.")
    return known


def _values(asked: Asked, name: bytes) -> list[bytes]:
    return [value for key, value in asked.headers if key == name]
