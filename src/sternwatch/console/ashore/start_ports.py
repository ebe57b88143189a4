"""Connects a feed: a serial port (with what it receives) or a typed address. The choice is saved."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.widgets import Input, OptionList, Static

from sternwatch.config import ConfigError
from sternwatch.console.ashore.base import AnswerLine, AskInput, Key, KeyBar, LeftOnce, Page, Rows, TopBar, stale
from sternwatch.console.ashore.start_words import Answered, Command
from sternwatch.feed.errors import FeedError
from sternwatch.feed.sources.specs import parse_spec
from sternwatch.settings import change

NAME = "boat"  # the feed's name in the preferences
WORDS = (
    "Every serial port is opened and listened to. Choose the one that speaks, or type where the sentences come "
    "from: tcp:HOST:PORT, udp:PORT, gpsd:, serial:PORT@BAUD, n2k:tcp:HOST:PORT, signalk:HOST. The choice is kept "
    "in the preferences."
)
HELP = (
    WORDS,
    "A port that says RMC and VHW gives speed over ground and through the water; DBT or DPT the bottom, MTW the "
    "temperature, HDG the heading. A port that is silent may be another device's, or switched off.",
    "On a network, many units send to every machine: udp:10110 is usual. “serial:auto” looks for the port that "
    "speaks, every time.",
    "Put n2k: before a gateway to NMEA 2000 that prints frames as text (n2k:serial:PORT, n2k:tcp:HOST:PORT, "
    "n2k:udp:PORT); a port on which frames were heard has it already. signalk:HOST asks a Signal K server.",
)
_LISTEN_S = "4"


class PortsScreen(LeftOnce[Command | None], inherit_bindings=False):
    """The ports. Its result is the command for the water, or None after Esc."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", show=False, priority=True),
        Binding("tab", "other", show=False, priority=True),
        Binding("question_mark", "help", show=False, priority=True),
        Binding("f5", "again", show=False),
    ]

    def __init__(self, ask: Callable[[Command], Answered], boat: Path) -> None:
        super().__init__()
        self._ask, self._boat = ask, boat
        self._sources: list[str | None] = []

    def compose(self) -> ComposeResult:
        yield TopBar("CONNECT A FEED")
        yield Static(Content(WORDS), id="words")
        yield Rows(id="ports")
        yield AskInput(placeholder="another source, as tcp:192.168.1.10:10110", id="source")
        yield AnswerLine()
        yield KeyBar(lambda: (
            Key("enter", "Enter", "takes it", "nothing"), Key("tab", "Tab", "list or typing", "other"),
            Key("f5", "F5", "listen again", "again"), Key("question_mark", "?", "help", "help"),
            Key("escape", "Esc", "back", "back"),
        ))  # fmt: skip

    def on_mount(self) -> None:
        self._show([], "looking for ports …")
        self.query_one(Input).focus()
        self._listen()

    @work(thread=True, exclusive=True)
    def _listen(self) -> None:
        there = _ports(self._ask(("ports", "--json")).out)
        self.app.call_from_thread(self._show, there, "listening to each …" if there else "")
        if there:
            said = _ports(self._ask(("ports", "--listen", "--seconds", _LISTEN_S, "--json")).out)
            self.app.call_from_thread(self._show, said, "")

    def _show(self, ports: list[dict[str, Any]], doing: str) -> None:
        rows = self.query_one(Rows)
        lines = [(in_words(port, bool(doing)), True) for port in ports] or [
            (doing or "no serial port is there", False)
        ]
        self._sources = [source_of(port) for port in ports]
        rows.fill(lines, None)
        self.query_one(AnswerLine).tell(doing)
        if ports and not self.query_one(Input).value:
            rows.focus()

    def on_option_list_option_selected(self, event: OptionList.OptionSelected) -> None:
        if stale(event):
            return
        source = self._sources[event.option_index]
        if source is not None:
            self._take(source)

    def on_input_submitted(self, event: Input.Submitted) -> None:
        if event.value.strip():
            self._take(event.value.strip())

    def _take(self, source: str) -> None:
        """Save the source, and go on the water with it if there is a boat."""
        try:
            parse_spec(source, where=source)
            change(("feed", NAME, "source"), source)
        except (FeedError, ConfigError) as wrong:
            self.query_one(AnswerLine).tell(str(wrong), wrong=True)
            return
        if self._boat.exists():
            self.dismiss(("watch", str(self._boat)))
        else:
            self.query_one(AnswerLine).tell(f"{source} is kept. Now set up your boat: Esc, then 7.")

    def action_other(self) -> None:
        field, rows = self.query_one(Input), self.query_one(Rows)
        (rows if field.has_focus else field).focus()

    def action_again(self) -> None:
        self._listen()

    def action_help(self) -> None:
        self.app.push_screen(Page("CONNECT A FEED", HELP))

    def action_back(self) -> None:
        self.dismiss(None)

    def action_nothing(self) -> None:
        """Nothing: the bar only names what Enter does."""


def _ports(printed: str) -> list[dict[str, Any]]:
    """The ports from ``ports --json``; none where that failed."""
    try:
        return list(json.loads(printed)["ports"])
    except (ValueError, KeyError, TypeError):
        return []


def source_of(port: dict[str, Any]) -> str:
    """The source for a port from ``ports --json``."""
    tongue = "n2k:" if port.get("speaks") == "n2k" else ""
    return f"{tongue}serial:{port['port']}" + (f"@{port['baud']}" if port.get("baud") else "")


def in_words(port: dict[str, Any], waiting: bool) -> str:
    """One line about one port."""
    name = str(port["port"]) + (f" ({port['description']})" if port.get("description") else "")
    if waiting:
        return f"{name}: listening …"
    if port.get("problem"):
        return f"{name}: {port['problem']}"
    rates = port.get("sentences_per_s") or {}
    told = " ".join(f"{formatter} {rate:.1f}/s" for formatter, rate in rates.items())
    return f"{name}: {port.get('baud')} baud: {told or 'nothing'}"
