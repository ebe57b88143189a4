"""The page's address: on this machine alone, or at one address in the boat's network."""

from __future__ import annotations

import ipaddress
import re
from dataclasses import dataclass

PORT = 8477
ACCEPTED = "here, lan, lan:ADDRESS, each with @PORT behind it if another port is wanted"
_WHERE = re.compile(r"(here|lan)(?::([0-9.]+))?(?:@(\d{1,5}))?")


class DeckError(ValueError):
    """No page for the deck is possible; the message says why in one sentence."""


@dataclass(frozen=True, slots=True)
class Where:
    """The place asked for. ``address`` empty: this machine's own address in its network."""

    lan: bool = False
    address: str = ""
    port: int = PORT


def parse_where(given: str) -> Where:
    """Read the value of ``--deck``. Raises :class:`DeckError`."""
    found = _WHERE.fullmatch(given.strip())
    if found is None or (found[1] == "here" and found[2]):
        raise DeckError(f"--deck {given}: not understood; accepted are {ACCEPTED}")
    port = PORT if found[3] is None else int(found[3])
    if not 1024 <= port <= 65535:
        raise DeckError(f"--deck {given}: the port is {port}; accepted are 1024 to 65535")
    return Where(found[1] == "lan", found[2] or "", port)


def address_of(where: Where) -> str:
    """The address to listen at. Raises :class:`DeckError` where this machine has no such address."""
    if not where.lan:
        return "127.0.0.1"
    own = own_addresses()
    listed = ", ".join(f"lan:{address}" for address in own)
    if where.address:
        if where.address not in own:
            raise DeckError(
                f"--deck lan:{where.address}: this machine has no such address in a network of its own; "
                f"{f'accepted are {listed}' if own else 'it is in no such network now'}"
            )
        return where.address
    if not own:
        raise DeckError(
            "--deck lan: this machine is in no network of its own now; join the boat's, or use --deck here"
        )
    if len(own) > 1:
        raise DeckError(f"--deck lan: this machine has {len(own)} addresses; name one of {listed}")
    return own[0]


def own_addresses() -> list[str]:
    """This machine's IPv4 addresses in private networks; the page is served in no others."""
    import socket

    import psutil

    found = [
        entry.address
        for entries in psutil.net_if_addrs().values()
        for entry in entries
        if entry.family == socket.AF_INET
    ]
    return sorted({address for address in found if _private(address)})


def _private(address: str) -> bool:
    read = ipaddress.IPv4Address(address)
    return read.is_private and not read.is_loopback and not read.is_unspecified


def url_of(address: str, port: int, token: str) -> str:
    """The address to type or scan on a phone."""
    return f"http://{address}:{port}/{token}/"
