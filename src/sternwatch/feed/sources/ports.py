"""Finds serial ports, their names that survive replugging, and the rates at which they were last used."""

from __future__ import annotations

import json
import os
import re
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from sternwatch import places
from sternwatch.files import move
from sternwatch.reading import UnreadableError, json_of, read_text

_BY_ID = Path("/dev/serial/by-id")  # udev makes one link per device, named by maker and serial number
_COM = re.compile(r"(?:\\\\\.\\)?(COM[0-9]+)", re.IGNORECASE).fullmatch


@dataclass(frozen=True, slots=True)
class Port:
    """A serial port in the system's list."""

    path: str
    description: str = ""
    identity: str = ""  # identity of its device, from its USB numbers; empty if it has none


if sys.platform == "win32":
    import ctypes

    def _is_named(name: str) -> bool:
        to = ctypes.create_unicode_buffer(1024)
        return bool(ctypes.windll.kernel32.QueryDosDeviceW(name, to, len(to)))

else:

    def _is_named(_: str) -> bool:
        return False


def is_there(path: str) -> bool:
    """Whether a port is there. Windows is asked for its names: a look for a file would open the port."""
    com = _COM(path)
    return _is_named(com[1].upper()) if com else os.path.exists(path)  # noqa: PTH110 - a name, not a path of ours


def _device(path: str) -> str:
    """The device that a path leads to. Windows writes COM12 in two ways, and macOS has two files for a port."""
    com = _COM(path)
    return com[1].upper() if com else os.path.realpath(path.replace("/dev/tty.", "/dev/cu."))


def system_ports() -> list[Port]:
    """All serial ports that the system lists."""
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
    """Finds ports, and finds a device again when it comes back under another number."""

    def __init__(self, by_id: Path = _BY_ID, listing: Callable[[], Iterable[Port]] = system_ports) -> None:
        self._by_id = by_id
        self._listing = listing

    def links(self) -> list[Path]:
        """The udev links whose device is present."""
        try:
            return sorted(link for link in self._by_id.iterdir() if link.exists())
        except OSError:
            return []

    def ports(self) -> list[Port]:
        """Every port once, by its lasting name where it has one. Ports of real devices come first."""
        links = self.links()
        linked = {_device(str(link)) for link in links}
        listed = list(self._listing())
        by_device = {_device(port.path): port for port in listed}
        result = []
        for link in links:
            port = by_device.get(_device(str(link)))
            result.append(Port(str(link), port.description if port else "", port.identity if port else ""))
        others = [port for port in listed if _device(port.path) not in linked]
        return result + sorted(others, key=lambda port: (not port.identity, port.path))

    def lasting_name(self, path: str) -> str:
        """The link of the device now at ``path``; ``path`` itself where there is none."""
        device = _device(path)
        for link in self.links():
            if _device(str(link)) == device:
                return str(link)
        return path

    def identity(self, path: str) -> str:
        """The identity of the device at ``path``; empty where unknown."""
        device = _device(path)
        return next((p.identity for p in self._listing() if _device(p.path) == device), "")

    def find(self, identity: str) -> str | None:
        """The present path of the device with this identity."""
        return next((p.path for p in self._listing() if identity and p.identity == identity), None)


class RateMemory:
    """The last working rate of each port, kept in a small cache file."""

    def __init__(self, path: Path | None = None) -> None:
        self._path = path

    @property
    def path(self) -> Path:
        """The file."""
        return self._path or places.cache_dir() / "serial_rates.json"

    def get(self, port: str) -> int | None:
        """The saved rate; None where there is none."""
        rate = self._read().get(port)
        return rate if isinstance(rate, int) and rate > 0 else None

    def put(self, port: str, rate: int) -> None:
        """Save a proven rate. If the cache cannot be written, that only costs a few seconds next time."""
        rates = self._read()
        if rates.get(port) == rate:
            return
        rates[port] = rate
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            part = self.path.with_suffix(f".{os.getpid()}")
            part.write_text(json.dumps(rates), encoding="utf-8")
            move(part, self.path)
        except OSError:
            return

    def _read(self) -> dict[str, object]:
        try:
            rates = json_of(read_text(self.path))
        except (OSError, UnreadableError):
            return {}
        return rates if isinstance(rates, dict) else {}
