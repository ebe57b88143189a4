"""``--deck``: the page for phones at the stern, for any session with a screen."""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sternwatch.cli.common.exits import InputError

if TYPE_CHECKING:
    from sternwatch.deck.deck import Deck

_SESSIONS = {"watch": "live"}  # the session's name where it differs from the command's


@dataclass(frozen=True, slots=True)
class DeckWish:
    """The user's wish for a page, and its address. ``given``: as typed."""

    given: str
    positions: bool
    session: str  # the name that pictures use for the kind
    anew: bool = False  # True: never resume an earlier session

    def begin(self) -> Deck:
        """Begin the page. Raises InputError."""
        from sternwatch.deck.deck import Deck
        from sternwatch.deck.where import DeckError, parse_where
        from sternwatch.places import data_dir

        try:
            where = parse_where(self.given)
            return Deck(where, self.session, data_dir(), positions=self.positions, anew=self.anew)
        except DeckError as fault:
            raise InputError(str(fault)) from fault


def add_deck(parser: argparse.ArgumentParser) -> None:
    """``--deck`` and ``--positions``."""
    parser.add_argument(
        "--deck", nargs="?", const="here", metavar="WHERE",
        help="the same picture on a page for phones at the stern, read only: here (this machine only; the "
             "default), lan (the boat's network) or lan:ADDRESS; add @PORT for another port",
    )  # fmt: skip
    parser.add_argument("--positions", action="store_true", help="with --deck: the page also tells where the boat is")


def deck_of(args: argparse.Namespace) -> DeckWish | None:
    """The wish in the options. Raises InputError where it contradicts another option."""
    if args.deck is None:
        if args.positions:
            raise InputError("--positions is for the deck's page: give --deck with it")
        return None
    if getattr(args, "headless", False) or getattr(args, "serve", None):
        raise InputError("--deck shows what stands on the screen: leave out --headless and --serve")
    kind = _SESSIONS.get(args.command, args.command)
    return DeckWish(args.deck, args.positions, kind, getattr(args, "new_trip", False))
