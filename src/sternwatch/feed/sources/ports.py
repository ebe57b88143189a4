"""Serial ports: which there are, the name of each that survives replugging, and the rates they were last used at."""

from __future__ import annotations

import json
import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from sternwatch import places
from sternwatch.reading import UnreadableError, json_of, read_text

_BY_ID = Path("/dev/serial/by-id")  # made by udev: one link per device, by maker and serial number


@dataclass(frozen=True, slots=True)
class Port:
    """A serial port as the system lists it."""

    path: str
    description: str = ""
    identity: str = ""  # of the device behind it, by its USB numbers; empty if it has none


def system_ports() -> list[Port]:
    """All serial ports that the system knows."""
    from serial.tools import list_ports

    result = []
    for port in list_ports.comports():
        known = port.vid is not None
        identity = f"{port.vid:04x}:{port.pid:04x}:{port.serial_number or ''}" if known else ""
        result.append(Port(port.device, _words(port.description), identity))
    return result


def _words(description: str | None) -> str:
    return "" if description in (None, "n/a") else str(description)


class PortFinder:
    """Finds ports, and finds the same device again when it comes back under another number."""

    def __init__(self, by_id: Path = _BY_ID, listing: Callable[[], Iterable[Port]] = system_ports) -> None:
        self._by_id = by_id
        self._listing = listing

    def links(self) -> list[Path]:
        """The links by device identity whose device is there."""
        try:
            return sorted(link for link in self._by_id.iterdir() if link.exists())
        except OSError:
            return []

    def ports(self) -> list[Port]:
        """Every port once, under its lasting name where it has one. Ports of real devices come first."""
        links = self.links()
        linked = {os.path.realpath(link) for link in links}
        listed = list(self._listing())
        by_device = {os.path.realpath(port.path): port for port in listed}
        result = []
        for link in links:
            port = by_device.get(os.path.realpath(link))
            result.append(Port(str(link), port.description if port else "", port.identity if port else ""))
        others = [port for port in listed if os.path.realpath(port.path) not in linked]
        return result + sorted(others, key=lambda port: (not port.identity, port.path))

    def lasting_name(self, path: str) -> str:
        """The link that stands for the device now at ``path``; ``path`` itself if there is none."""
        device = os.path.realpath(path)
        for link in self.links():
            if os.path.realpath(link) == device:
                return str(link)
        return path

    def identity(self, path: str) -> str:
        """The identity of the device at ``path``; empty if unknown."""
        device = os.path.realpath(path)
        return next((p.identity for p in self._listing() if os.path.realpath(p.path) == device), "")

    def find(self, identity: str) -> str | None:
        """Where the device of that identity is now."""
        return next((p.path for p in self._listing() if identity and p.identity == identity), None)


class RateMemory:
    """The rate each port was last understood at, kept in a small file of the cache."""

    def __init__(self, path: Path | None = None) -> None:
        self._path = path

    @property
    def path(self) -> Path:
        """The file."""
        return self._path or places.cache_dir() / "serial_rates.json"

    def get(self, port: str) -> int | None:
        """The saved rate; None if there is none."""
        rate = self._read().get(port)
        return rate if isinstance(rate, int) and rate > 0 else None

    def put(self, port: str, rate: int) -> None:
        """Save a rate that was proven. A cache that cannot be written costs a few seconds next time, no more."""
        rates = self._read()
        if rates.get(port) == rate:
            return
        rates[port] = rate
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            part = self.path.with_suffix(f".{os.getpid()}")
            part.write_text(json.dumps(rates, indent=1), encoding="utf-8")
            part.replace(self.path)
        except OSError:
            return

    def _read(self) -> dict[str, object]:
        try:
            rates = json_of(read_text(self.path))
        except (OSError, UnreadableError):
            return {}
        return rates if isinstance(rates, dict) else {}
