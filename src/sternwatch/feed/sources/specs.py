"""Reads sources as the user writes them: ``--feed SPEC`` as an option, ``[feed.NAME]`` in the configuration file."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import SENTENCES, Declared, Speech, Tongue
from sternwatch.feed.sources.base import Source
from sternwatch.reading import is_file, is_folder, is_there

ACCEPTED = (
    "serial:PORT, serial:PORT@BAUD or serial:auto; tcp:HOST:PORT; udp:PORT or udp:HOST:PORT (without a host only "
    "this machine is listened to); gpsd: or gpsd:HOST:PORT; - for standard input; or the path of a recording; "
    "n2k: before serial, tcp, udp, - or a path for an NMEA 2000 gateway's text; signalk:HOST or signalk:HOST:PORT "
    "(websocket), signalk:tcp:HOST or signalk:tcp:HOST:PORT, signalk:PATH for a Signal K server. "
    "NAME= before it names the source; ,probe and ,nochecksum may follow, with n2k: also ,combined and ,si"
)
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_.-]{0,14}").fullmatch
_NAMED = re.compile(r"([A-Za-z][A-Za-z0-9_.-]{0,14})=(.+)", re.DOTALL).fullmatch
_KINDS = ("serial", "tcp", "udp", "gpsd")
_CARRIERS = ("serial", "tcp", "udp")  # usual port for frames
_MARKS = ("probe", "nochecksum")
_FRAME_MARKS = (*_MARKS, "combined", "si")
WEBSOCKET_PORT = 3000  # port in the Signal K specification's examples
DELTA_PORT = 8375  # Signal K deltas over TCP
_BAUD = (300, 4_000_000)
_CONFIG_KEYS = ("source", "priority", "probe", "checksum")


@dataclass(frozen=True, slots=True)
class SourceSpec:
    """One source as the user asks for it."""

    name: str
    kind: str  # serial | tcp | udp | gpsd | stdin | file | websocket
    address: str = ""  # port, host or path
    port: int | None = None  # network
    baud: int | None = None  # serial; None: found by listening
    priority: int = 0  # the lowest number is preferred
    probe: bool = False  # its speed and temperature come from a probe at depth
    checked: bool = True  # False: checksums are ignored, by the user's choice
    speech: Speech = SENTENCES


@dataclass(frozen=True, slots=True)
class FeedSetup:
    """All sources of a session, and what the decoder needs to know of them."""

    specs: tuple[SourceSpec, ...] = field(default=())

    @property
    def probes(self) -> frozenset[str]:
        """Names of the probe sources."""
        return frozenset(spec.name for spec in self.specs if spec.probe)

    @property
    def unchecked(self) -> frozenset[str]:
        """Names of the sources whose checksums are ignored."""
        return frozenset(spec.name for spec in self.specs if not spec.checked)

    @property
    def declared(self) -> tuple[Declared, ...]:
        """What the user said about each source, for a recording."""
        return tuple(Declared(spec.name, spec.priority, spec.probe, spec.checked, spec.speech) for spec in self.specs)

    @property
    def speech(self) -> dict[str, Speech]:
        """What each source speaks."""
        return {spec.name: spec.speech for spec in self.specs}

    def sources(self) -> list[Source]:
        """The sources, not yet started."""
        return [build(spec) for spec in self.specs]


def parse_specs(texts: Sequence[str]) -> FeedSetup:
    """Read ``--feed`` options in their order; the first is preferred.

    Raises
    ------
    FeedError
        An option is not accepted, or two sources share a name.
    """
    specs: list[SourceSpec] = []
    for i, text in enumerate(texts):
        specs.append(parse_spec(text, priority=i, taken=[spec.name for spec in specs]))
    return _distinct(specs)


def parse_spec(text: str, priority: int = 0, taken: Sequence[str] = (), where: str = "") -> SourceSpec:
    """Read one source. ``where`` names its place, for the error."""
    where = where or f"--feed {text}"
    name, rest = "", text
    named = _NAMED(text)
    if named and not is_file(Path(text)):
        name, rest = named[1], named[2]
    tongue, colon, spoken = rest.partition(":")
    if colon and tongue == Tongue.N2K:
        spec = _frames(spoken, name or _free(tongue, taken), priority, where)
    elif colon and tongue == Tongue.SIGNALK:
        spec = _deltas(spoken, name or _free(tongue, taken), priority, where)
    elif rest == "-":
        spec = SourceSpec(name or _free("stdin", taken), "stdin", priority=priority)
    elif rest.partition(":")[0] in _KINDS and ":" in rest:
        spec = _addressed(rest, name, priority, taken, where)
    else:
        spec = _file(rest, name, priority, taken, where)
    return spec


def parse_config(table: Mapping[str, object], where: str) -> FeedSetup:
    """Read the ``[feed]`` table: ``source`` for each source, and optionally ``priority``, ``probe``, ``checksum``.

    Raises
    ------
    FeedError
        It names ``where`` (the file), the field, the value given and what is accepted.
    """
    specs: list[SourceSpec] = []
    for i, (name, entry) in enumerate(table.items()):
        here = f"{where}: feed.{name}"
        if not _NAME(name):
            raise FeedError(f"{here}: a source's name is a letter and up to 14 letters, digits, '_', '-' or '.'")
        if not isinstance(entry, Mapping):
            raise FeedError(f'{here}: is {entry!r}; a table with source = "…" is expected')
        for key in entry:
            if key not in _CONFIG_KEYS:
                near = difflib.get_close_matches(str(key), _CONFIG_KEYS)
                hint = f"did you mean {near[0]}?" if near else f"accepted are {', '.join(_CONFIG_KEYS)}"
                raise FeedError(f"{here}.{key}: unknown; {hint}")
        source = entry.get("source")
        if not isinstance(source, str):
            raise FeedError(f"{here}.source: is {source!r}; accepted are {ACCEPTED}")
        priority = entry.get("priority", i)
        probe, checksum = entry.get("probe", False), entry.get("checksum", True)
        if not isinstance(priority, int) or isinstance(priority, bool):
            raise FeedError(f"{here}.priority: is {priority!r}; a whole number is expected, the lowest is preferred")
        for key, value in (("probe", probe), ("checksum", checksum)):
            if not isinstance(value, bool):
                raise FeedError(f"{here}.{key}: is {value!r}; true or false is expected")
        given = parse_spec(source, priority, where=f"{here}.source")
        specs.append(
            SourceSpec(
                name, given.kind, given.address, given.port, given.baud, priority,
                bool(probe) or given.probe, bool(checksum) and given.checked, given.speech,
            )
        )  # fmt: skip
    return _distinct(specs)


def build(spec: SourceSpec) -> Source:
    """The source that a spec asks for. Imports only the library of its own kind."""
    if spec.kind == "serial":
        from sternwatch.feed.sources.serialport import SerialSource

        return SerialSource(spec.name, spec.address, spec.baud, spec.priority, speech=spec.speech)
    if spec.kind in ("tcp", "udp", "gpsd"):
        from sternwatch.feed.sources import network

        port = spec.port or network.GPSD_PORT
        if spec.kind == "tcp":
            return network.TcpSource(spec.name, spec.address, port, spec.priority, speech=spec.speech)
        if spec.kind == "udp":
            host = spec.address or network.LOOPBACK
            return network.UdpSource(spec.name, port, host, spec.priority, speech=spec.speech)
        return network.GpsdSource(spec.name, spec.address or "localhost", port, spec.priority)
    if spec.kind == "websocket":
        from sternwatch.feed.sources.websocket import WebSocketSource

        return WebSocketSource(spec.name, spec.address, spec.port or WEBSOCKET_PORT, spec.priority)
    from sternwatch.feed.sources import streams

    if spec.kind == "stdin":
        return streams.StdinSource(spec.name, spec.priority, speech=spec.speech)
    return streams.FileSource(spec.name, Path(spec.address), spec.priority, speech=spec.speech)


def recorded(text: str) -> tuple[Path, Speech]:
    """Read the name of a recording to play: its path, after ``n2k:`` or ``signalk:`` where it holds that.

    Raises
    ------
    FeedError
        A mark is unknown.
    """
    tongue, colon, rest = text.partition(":")
    if not colon or tongue not in (Tongue.N2K, Tongue.SIGNALK) or is_file(Path(text)):
        return Path(text), SENTENCES
    rest, marks = _marked(rest, _FRAME_MARKS if tongue == Tongue.N2K else _MARKS, text)
    return Path(rest), Speech(Tongue(tongue), "combined" in marks, "si" in marks)


def _marked(text: str, accepted: Sequence[str], where: str) -> tuple[str, list[str]]:
    """Split a text from the marks after its commas."""
    address, *marks = text.split(",")
    for mark in marks:
        if mark not in accepted:
            some = f"{', '.join(accepted[:-1])} and {accepted[-1]}"
            raise FeedError(f"{where}: {mark!r} is unknown; accepted after a comma are {some}")
    return address, marks


def _frames(text: str, name: str, priority: int, where: str) -> SourceSpec:
    """Read what follows ``n2k:``."""
    from sternwatch.feed.n2k.payloads import check_library

    check_library()
    address, marks = _marked(text, _FRAME_MARKS, where)
    speech = Speech(Tongue.N2K, "combined" in marks, "si" in marks)
    if address == "-":
        spec = SourceSpec(name, "stdin", priority=priority)
    elif address.partition(":")[0] in _CARRIERS and ":" in address:
        spec = _addressed(address, name, priority, (), where)
    else:
        spec = _file(address, name, priority, (), where)
    return replace(spec, probe="probe" in marks, checked="nochecksum" not in marks, speech=speech)


def _deltas(text: str, name: str, priority: int, where: str) -> SourceSpec:
    """Read what follows ``signalk:``."""
    address, marks = _marked(text, _MARKS, where)
    kind, usual = "websocket", WEBSOCKET_PORT
    if address == "-":
        spec = SourceSpec(name, "stdin", priority=priority)
    elif address and is_file(Path(address).expanduser()):
        spec = _file(address, name, priority, (), where)
    else:
        if address.startswith("tcp:"):
            kind, usual, address = "tcp", DELTA_PORT, address.removeprefix("tcp:")
        host, port = _host_and_port(address, usual, where)
        if kind == "websocket":
            from sternwatch.feed.sources.websocket import check_library

            check_library()
        spec = SourceSpec(name, kind, host, port, None, priority)
    return replace(
        spec, probe="probe" in marks, checked="nochecksum" not in marks, speech=Speech(Tongue.SIGNALK)
    )  # fmt: skip


def _host_and_port(address: str, usual: int, where: str) -> tuple[str, int]:
    host, colon, number = address.rpartition(":")
    if not colon or address.endswith("]"):
        host, number = address, ""
    host = host.removeprefix("[").removesuffix("]")
    if not host or "/" in host:
        raise FeedError(
            f"{where}: names no host; signalk:HOST or signalk:HOST:PORT is expected, or a file that is there"
        )
    return host, _whole(number, 1, 65535, f"{where}: port") if number else usual


def _addressed(text: str, name: str, priority: int, taken: Sequence[str], where: str) -> SourceSpec:
    address, marks = _marked(text, _MARKS, where)
    kind, _, address = address.partition(":")
    name = name or _free(kind, taken)
    probe, checked = "probe" in marks, "nochecksum" not in marks
    if kind == "serial":
        path, at, rate = address.rpartition("@")
        path = path if at else address
        if not path:
            raise FeedError(f"{where}: names no port; serial:auto finds one, `sternwatch ports` lists them")
        baud = _whole(rate, *_BAUD, f"{where}: baud rate") if at else None
        return SourceSpec(name, kind, path, None, baud, priority, probe, checked)
    host, colon, number = address.rpartition(":")
    host = host.removeprefix("[").removesuffix("]")
    if kind == "gpsd" and address and not colon:
        host, number = address, ""
    if kind == "tcp" and not host:
        raise FeedError(f"{where}: names no host and port; tcp:HOST:PORT is expected")
    if kind in ("tcp", "udp") and not number:
        raise FeedError(f"{where}: names no port; {kind}:{'HOST:' if kind == 'tcp' else ''}PORT is expected")
    port = _whole(number, 1, 65535, f"{where}: port") if number else None
    return SourceSpec(name, kind, host, port, None, priority, probe, checked)


def _file(text: str, name: str, priority: int, taken: Sequence[str], where: str) -> SourceSpec:
    path = Path(text).expanduser()
    if not is_there(path):
        kind = text.partition(":")[0]
        near = difflib.get_close_matches(kind, _KINDS) if ":" in text else []
        hint = f"did you mean {near[0]}:? " if near else ""
        raise FeedError(f"{where}: there is no such file, and it is not a source. {hint}Accepted are {ACCEPTED}")
    if is_folder(path):
        raise FeedError(f"{where}: is a folder; the path of a recording is expected")
    return SourceSpec(name or _free("file", taken), "file", str(path), priority=priority)


def _whole(text: str, low: int, high: int, what: str) -> int:
    if not text.isascii() or not text.isdecimal() or not low <= int(text) <= high:
        raise FeedError(f"{what} is {text!r}; a whole number from {low} to {high} is expected")
    return int(text)


def _free(kind: str, taken: Sequence[str]) -> str:
    names = [kind, *(f"{kind}{n}" for n in range(2, len(taken) + 3))]
    return next(name for name in names if name not in taken)


def _distinct(specs: list[SourceSpec]) -> FeedSetup:
    names = [spec.name for spec in specs]
    for spec in specs:
        if names.count(spec.name) > 1:
            raise FeedError(f"two sources are named {spec.name}; each needs a name of its own: NAME=…")
    return FeedSetup(tuple(specs))
