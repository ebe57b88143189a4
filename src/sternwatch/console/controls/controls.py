"""The controls: what a key press means now, and its answer. No Textual, no widget, no clock of its own.

They hold the newest picture, the chosen rod, and the keys pressed since that picture. Acts are functions
of the controls (``hits``, ``lines``, ``recording``); the screens show their answers.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from sternwatch.config import Preferences
from sternwatch.console.controls.lists import Listing, Picked
from sternwatch.console.controls.pending import Expect, Ledger
from sternwatch.console.controls.typing_line import Typed, TypingLine
from sternwatch.console.keys.accidents import RodKeys
from sternwatch.console.keys.acting import BOAT, RECORDING, STATIONS, Act, Keyboard
from sternwatch.console.keys.registry import tokens_of
from sternwatch.console.keys.tokens import printed
from sternwatch.console.words.rods import across_stern
from sternwatch.gear.values.units import Dimension
from sternwatch.local_time import BoatTime
from sternwatch.watch.picture.model import HitPicture, Picture, RodPicture, Session
from sternwatch.watch.planner.beside_session import USUAL_U_TURN_S, SpreadPlanning
from sternwatch.watch.sessions.runner import Runner, Saved

if TYPE_CHECKING:
    from sternwatch.console.controls.plan import Plan
    from sternwatch.console.controls.tour import Stop
    from sternwatch.watch.picture.outlook import Outlook
    from sternwatch.watch.whole_pass.wish import Box

TRIP_ACTS = ("begin trip", "end trip")
BITE_S = 60.0
LATE_S = 60.0
SAID_S = 20.0
ASTRAY_S = 1.0  # a key this soon after a panel closed by itself was meant for the panel


class Tone(StrEnum):
    """The tone of an answer."""

    QUIET = "quiet"
    ENTRY = "entry"
    DOUBT = "doubt"
    ERROR = "error"


@dataclass(slots=True)
class Said:
    """The line that answers the last key press. ``id``: its action. ``kept``: where that is stored, once it is."""

    text: str
    tone: Tone
    t_s: float
    id: str = ""
    kept: str = ""  # as ``Saved.kept``; "failed" where it could not be stored
    brief: str = ""  # where the whole does not fit


@dataclass(frozen=True, slots=True)
class Waiting:
    """A moment that waits for a rod key: a bite, or a late hit over a recording."""

    t_s: float  # monotonic, when the key was pressed
    id: str = ""  # id of the bite's action
    at_t_s: float | None = None  # feed time


@dataclass(frozen=True, slots=True)
class Closed:
    """A panel that closed by itself at ``t_s``: its name, and whether it would have taken a key."""

    name: str
    takes: Callable[[str], bool]
    t_s: float


class Controls:
    """One session's controls."""

    def __init__(self, runner: Runner, preferences: Preferences) -> None:
        self.runner = runner
        self.preferences = preferences
        self.units = preferences.system
        self.picture: Picture | None = None
        self.chosen: str | None = None
        self.said: Said | None = None
        self.failed: list[str] = []  # one sentence for each entry that could not be stored; stays until Esc
        self.remarks: list[str] = []  # one sentence for each fault of the console's settings; stays likewise
        self.rod_keys = RodKeys()
        self.expect = Expect()
        self.ledger = Ledger()
        self.bite: Waiting | None = None
        self.late: Waiting | None = None
        self.typing: TypingLine | None = None
        self.closed: Closed | None = None  # the panel that last closed by itself
        self.listing: Listing | None = None
        self.last_hit: str | None = None  # the hit that "what fish" asks about first
        self.new_hits: dict[str, HitPicture] = {}  # not in a picture yet
        self.species_used: list[str] = []
        self.gear_used: list[str] = []  # lures and other gear put on in this session, latest last
        self.outlook: Outlook | None = None  # the newest
        self.plan: Plan | None = None
        self.called: tuple[str, float] | None = None  # a turn called to the deck, and its beginning (monotonic)
        self.marking_deg: tuple[float, float] | None = None  # the boat's place at the key press
        self.chosen_place: tuple[float, float] | None = None  # chosen on the chart: metres east, north of the origin
        self.chosen_reach_m = 0.0  # within this distance a hit, mark or fish is meant
        self.chart_view_m: tuple[float, float, float, float] | None = None  # south, west, north, east of the chart
        self.pass_by = ""  # what a pass is planned for
        self.pass_box: Box | None = None  # and in which area
        self.pass_from_m: float | None = None
        self.pass_to_m: float | None = None
        self.pulling = False  # the crew are pulling all lines
        self.planning_spread = SpreadPlanning()
        self.plan_from_m: float | None = None  # the last request for a plan of the spread
        self.plan_to_m: float | None = None
        self.plan_turn_s = USUAL_U_TURN_S
        self.tour: tuple[Stop, ...] = ()  # the demo's tour, until a key is pressed
        self.asking: list[str] = []  # questions about a new trip, asked one after the other

    @property
    def boat_time(self) -> BoatTime:
        """The clock that the crew reads."""
        return BoatTime(utc=self.units.utc) if self.picture is None else self.picture.clock(self.units)

    @property
    def keyboard(self) -> Keyboard:
        if self.runner.session is Session.DEMO and self.runner.replay is not None:
            return Keyboard.DEMO
        return Keyboard.REPLAY if self.runner.session is Session.REPLAY else Keyboard.HELM

    def offers(self, act: Act) -> bool:
        """Whether an act exists in this session: by its keyboard, its rod, its recording."""
        if tokens_of(act, self.keyboard) is None or (act.group == RECORDING and self.runner.replay is None):
            return False
        if act.id in TRIP_ACTS and self.runner.trips is None:
            return False
        if act.group == BOAT and self.runner.session is not Session.PRACTICE:
            return False
        return act.station is None or self.rod(act.station) is not None

    # -- what comes in -------------------------------------------------------------------------------------

    def take(self, picture: Picture, t_s: float) -> None:
        """Take a new picture at monotonic time ``t_s`` [s]."""
        if self.picture is not None and picture.trip != self.picture.trip:
            self._another_trip()
        self.picture = picture
        self.ledger.take(picture, t_s)
        shown = {hit.id for hit in picture.hits}
        self.new_hits = {key: hit for key, hit in self.new_hits.items() if key not in shown}
        self.pulling = self.pulling and picture.pulling is not None
        said = self.said
        mute = next((one for one in picture.observations if said is not None and one.id == said.id and one.why), None)
        if said is not None and mute is not None and mute.why not in said.text:
            said.text += f" · kept, not used: {mute.why}"
        if self.rod(self.chosen) is None:
            self.chosen = next(iter(rod.key for rod in self.across()), None)

    def _another_trip(self) -> None:
        """Forget keys that belong to the former trip."""
        self.ledger, self.expect, self.rod_keys = Ledger(), Expect(), RodKeys()
        self.new_hits, self.last_hit, self.bite, self.chosen_place = {}, None, None, None

    def saved(self, saved: Saved, t_s: float) -> None:
        """Note that an action was stored, or that storing it failed."""
        stored = saved.action is not None
        self.ledger.saved(saved.id, stored, t_s)
        if stored:
            if self.said is not None and self.said.id == saved.id:
                self.said.kept = saved.kept
            return
        self.new_hits.pop(saved.id, None)
        if self.said is not None and self.said.id == saved.id:
            self.said.kept = "failed"
        self.failed.append(saved.error or "an entry could not be stored")

    def tick(self, t_s: float) -> None:
        """Let expired things go."""
        line, listing = self.typing, self.listing
        if line is not None and line.expired(t_s):
            self.say(f"{line.title}: dropped, nothing changed", t_s)
            self.typing = None
            tab = "tab" if line.other else ""
            self.closed = Closed(
                "the typing line", lambda token: token == tab or line.key(token, t_s) is not Typed.OTHER, t_s
            )
            self.asking.clear()
        if listing is not None and listing.expired(t_s):
            self.say(f"{listing.title}: closed, nothing chosen", t_s)
            self.listing = None
            self.closed = Closed("the list", lambda token: listing.key(token, t_s) is not Picked.OTHER, t_s)
            self.asking.clear()
        if self.bite is not None and t_s - self.bite.t_s > BITE_S:
            self.bite = None
        if self.late is not None and t_s - self.late.t_s > LATE_S:
            self.late = None

    def astray(self, token: str, t_s: float) -> bool:
        """Whether a key was meant for the panel that has just closed by itself: it is not used, and that is said.

        Esc only closes things, so it always keeps its meaning.
        """
        closed = self.closed
        if closed is None or token == "escape" or not 0.0 <= t_s - closed.t_s < ASTRAY_S or not closed.takes(token):
            return False
        again = "for a hit" if token in STATIONS and self.keyboard.hits else "to use it"
        self.say(
            f"{printed(token)} was not used: {closed.name} had just closed. Press again {again}", t_s, Tone.DOUBT
        )
        return True

    # -- what goes out -------------------------------------------------------------------------------------

    def submit(self, kind: str, rod: str | None, words: str, t_s: float, **fields: Any) -> str:
        """Submit an entry, which undo names by ``words``; returns its id."""
        action = self.runner.submit(kind, rod, **fields)
        self.ledger.enter(action, words, t_s)
        return action

    def say(self, text: str, t_s: float, tone: Tone = Tone.QUIET, entry: str = "", brief: str = "") -> None:
        """Answer a key press in one line; ``brief`` where that is too long for the screen."""
        self.said = Said(text, tone, t_s, entry, brief=brief)

    def want(self, typed: str, wanted: str, t_s: float) -> None:
        """Refuse the typed text, say what to type instead, and leave the line open."""
        self.refuse(f"{typed or 'Nothing'} will not do: type {wanted}", t_s)

    def refuse(self, text: str, t_s: float) -> None:
        """Say why the typed text is refused, and leave the line open."""
        self.say(text, t_s)
        if self.typing is not None:
            self.typing.text = ""

    # -- rods ----------------------------------------------------------------------------------------------

    def rod(self, key: str | None) -> RodPicture | None:
        """The rod at a station, if the spread has one."""
        if key is None or self.picture is None:
            return None
        return next((rod for rod in self.picture.rods if rod.key == key), None)

    def chosen_rod(self, t_s: float) -> RodPicture | None:
        """The chosen rod. Where none is chosen, say so."""
        rod = self.rod(self.chosen)
        if rod is None:
            self.say("No rod chosen", t_s)
        return rod

    def across(self) -> tuple[RodPicture, ...]:
        """The rods in their order on the screen, from left to right."""
        rods = self.picture.rods if self.picture else ()
        return across_stern(rods, mirrored=self.preferences.mirror)

    def name(self, rod: RodPicture | None, key: str = "") -> str:
        """A rod's name on the screen."""
        return f"{rod.key} {rod.name}".strip() if rod else f"rod {key}"

    def length(self, value_m: float | None) -> str:
        """A length in the crew's unit: whole feet, or tenths of a metre."""
        digits = 0 if self.units.length == "ft" else 1
        text = self.units.show(value_m, Dimension.LENGTH, digits)
        return text.replace(".0 ", " ")

    # -- hits ----------------------------------------------------------------------------------------------

    def hits(self) -> list[HitPicture]:
        """All hits with a rod, including those just pressed, oldest first."""
        shown = self.picture.hits if self.picture else ()
        return [hit for hit in (*shown, *self.new_hits.values()) if hit.rod is not None]

    def outcome(self, hit: HitPicture, t_s: float) -> str:
        """A hit's outcome, including one just pressed."""
        return str(self.expect.get(("outcome", hit.id), hit.state, t_s))

    def open_fish(self, t_s: float) -> HitPicture | None:
        """The fish that an outcome key means: the chosen rod's newest open hit, else the newest of all."""
        taken = self.ledger.last_taken()
        open_hits = [
            hit for hit in self.hits() if self.outcome(hit, t_s) == "open" and (taken is None or hit.id != taken.id)
        ]
        crew = self.picture.crew if self.picture is not None else None
        mine = crew.rods.get(self.chosen or "") if crew is not None else None
        fought = () if mine is None else mine.fights  # at the station where its rig is now
        own = [hit for hit in open_hits if hit.rod == self.chosen or hit.id in fought]
        return (own or open_hits or [None])[-1]  # type: ignore[list-item]

    def doubtful(self, t_s: float) -> list[HitPicture]:
        """Open doubtful hits, which do not count yet."""
        return [
            hit
            for hit in self.hits()
            if self.expect.get(("doubt", hit.id), hit.doubtful, t_s) and self.outcome(hit, t_s) == "open"
        ]

    def moment(self, feed_t_s: float) -> datetime:
        """The clock time at a moment of feed time, by the feed's clock, else by the computer's."""
        picture = self.picture
        if picture is not None and picture.utc_s is not None:
            return datetime.fromtimestamp(picture.utc_s - picture.t_s + feed_t_s, UTC)
        ago = picture.t_s - feed_t_s if picture is not None else 0.0
        return datetime.now(UTC) - timedelta(seconds=ago)
