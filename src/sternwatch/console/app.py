"""The console's application takes every key, holds the controls and shows up to four pictures a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from operator import attrgetter
from typing import TYPE_CHECKING, Any, ClassVar

from textual import events
from textual.binding import BindingType
from textual.command import CommandList, CommandPalette
from textual.message import Message

from sternwatch import __version__
from sternwatch.cautions import ALL
from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.acts import alerting, spread_plan, trip
from sternwatch.console.acts import table as acts
from sternwatch.console.controls import planning
from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.frame.deck_mate import DeckMate, face_of
from sternwatch.console.frame.palette import Acts
from sternwatch.console.frame.ringer import Ringer
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.helm.glance import GlanceScreen
from sternwatch.console.helm.screen import NARROW_VIEWS, WIDE, WIDE_VIEWS, HelmScreen
from sternwatch.console.keys import keymap
from sternwatch.console.keys.acting import BOAT, Act
from sternwatch.console.keys.lock import TWICE_S, Twice, WipingLock
from sternwatch.console.keys.tokens import printed, token_of
from sternwatch.console.pages.drill import DrillScreen, briefs
from sternwatch.console.pages.glossary import GlossaryScreen
from sternwatch.console.pages.help import HelpScreen
from sternwatch.console.pages.manual import ManualScreen
from sternwatch.console.paint import themes
from sternwatch.console.paint.hiding import HidingApp
from sternwatch.console.paint.look import look_of
from sternwatch.console.paint.steady_numbers import Calm
from sternwatch.console.screens import SCREENS
from sternwatch.console.stillness import Stillness
from sternwatch.debrief.report.following import following
from sternwatch.debrief.report.so_far import Debriefs, WorkThrough
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.sessions.runner import Runner, Saved

if TYPE_CHECKING:
    from sternwatch.deck.deck import Deck

REDRAW_S = 0.25
SWITCH_S = 0.0005
SETTLE_S = 0.02  # time for a screen to be painted after a key; the library paints at most sixty a second


class PictureCame(Message, bubble=False):
    """A newer picture is in the slot."""

    def can_replace(self, message: Message) -> bool:
        return isinstance(message, PictureCame)


class SavedCame(Message, bubble=False):
    """An action was stored, or storing it failed."""

    def __init__(self, saved: Saved) -> None:
        super().__init__()
        self.saved = saved


class SternwatchApp(HidingApp[None], inherit_bindings=False):
    """One session on the screen. ``runner`` brings pictures and takes actions.

    ``whole``: computes a past trip; the session then begins with its debrief and the recording paused.
    ``deck``: a page for the deck that exists already.
    """

    TITLE = "sternwatch"
    CSS_PATH: ClassVar[Any] = ["watch.tcss", "helm.tcss", "glance.tcss", "help.tcss", "outlook.tcss", "debrief.tcss"]
    COMMANDS: ClassVar[Any] = {Acts}
    BINDINGS: ClassVar[list[BindingType]] = []
    ENABLE_COMMAND_PALETTE = False  # its key is one of ours
    ALLOW_SELECT = False

    def __init__(
        self, runner: Runner, preferences: Preferences, whole: WorkThrough | None = None, deck: Deck | None = None
    ) -> None:
        super().__init__()
        self.runner = runner
        self.preferences = preferences
        self.clock: Callable[[], float] = time.monotonic
        self.key_time: Callable[[events.Key], float] = attrgetter("time")  # when it was pressed, on that clock
        self.keymap = keymap.build(preferences.keys)
        self.controls = Controls(runner, preferences)
        self.ringer = Ringer(self.controls, self.bell)
        self.deck_mate = DeckMate(self.controls, deck)
        self.lock = WipingLock()
        self.twice = Twice()
        self.calm = Calm()
        self.stillness = Stillness()
        self._settles = False  # it has been asked for
        self.following = following(self.controls.units)
        self.debriefs = Debriefs(self.controls.units, whole)
        self.remembered = state.load()
        self.cautions_read = len(ALL) if self.remembered.cautions_read == __version__ else 0
        self.focused_terminal = True
        self.shown: Picture | None = None  # the picture with steady numbers, as shown
        self.view = "helm"
        self.started_s = self.clock()
        self._newest: Picture | None = None
        self._shown_s = float("-inf")
        self.loaded_themes = themes.install(self)
        self._first_theme()
        self.helm_screen = HelmScreen()
        self.glance_screen = GlanceScreen()
        self.help_screen = HelpScreen()
        self.drill_screen = DrillScreen()
        self.glossary_screen, self.manual_screen = GlossaryScreen(), ManualScreen()
        self.screens_of_views: dict[str, WatchScreen] = {
            "glance": self.glance_screen,
            **{view: screen() for view, screen in SCREENS.items()},
        }

    # -- start and end -------------------------------------------------------------------------------------

    def _first_theme(self) -> None:
        """Choose the theme before anything is painted."""
        themes.begin(self, self.loaded_themes, self.preferences.theme, self.remembered.theme)

    def run_session(self) -> None:
        """Run in the terminal. Mouse and trackpad are off unless the preferences switch them on."""
        # The session's threads compute in Python too: with the default of 5 ms a key, and storing its entry, would
        # wait for several turns.
        sys.setswitchinterval(SWITCH_S)
        self.stillness.wanted = True
        self.run(mouse=self.preferences.mouse)

    def get_default_screen(self) -> HelmScreen:
        return self.helm_screen

    def on_mount(self) -> None:
        told = (self.help_screen, self.drill_screen, self.glossary_screen, self.manual_screen)
        for screen in (*self.screens_of_views.values(), *told):
            self.install_screen(screen, screen.words.lower())  # leaving an installed screen keeps it
        self.set_interval(REDRAW_S, self._tick)
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        self.started_s = self.clock()
        self.controls.remarks.extend(self.loaded_themes.notices)
        if self.preferences.theme is not None and self.preferences.theme not in self.loaded_themes.names:
            self.controls.remarks.append(f"there is no theme {self.preferences.theme!r}")
        self.ringer.begin()
        self.runner.start(self._on_picture, self._on_saved)
        if not self.debriefs.so_far:
            self.show_view("debrief")
            if (control := self.runner.replay) is not None:
                control.play(False)
        if self.deck_mate.deck is not None and self.deck_mate.deck.where.lan:
            self.show_view("deck page")  # the user wants to scan the code
        if briefs(self.runner):
            self.show_drill()
        self.renew()

    def on_unmount(self) -> None:
        self.following.stop()
        self.controls.planning_spread.stop()
        self.debriefs.stop()
        self.ringer.stop()
        self.deck_mate.end()
        self.runner.stop()

    # -- what the runner's threads bring: only messages cross over ------------------------------------------

    def _on_picture(self, picture: Picture) -> None:
        waiting = self._newest is not None
        self._newest = picture
        if not waiting:
            self.post_message(PictureCame())

    def _on_saved(self, saved: Saved) -> None:
        self.post_message(SavedCame(saved))

    def on_picture_came(self) -> None:
        if self.clock() - self._shown_s >= REDRAW_S:
            self._tick()

    def on_saved_came(self, message: SavedCame) -> None:
        self.controls.saved(message.saved, self.clock())
        self.renew()

    def _tick(self) -> None:
        if self._watch_screen() is None:
            return
        now = self.clock()
        newest, self._newest = self._newest, None
        if newest is not None:
            self._shown_s = now
            self.deck_mate.came(now)
            before = self.controls.picture
            self.controls.take(newest, now)
            if before is not None and before.trip != newest.trip:
                self.started_s = now  # its cautions count afresh
                trip.begun(self.controls, now)
            self._settle()
            if self.shown is not None:
                self.debriefs.look(self.shown)
        outlook = self.runner.outlook()
        if outlook is not self.controls.outlook:
            self.controls.outlook = outlook
            self._settle()
        drawn = spread_plan.drawn(self.controls)
        if self.shown is not None and drawn is not self.shown.planned:
            self._settle()
        self.stillness.look(self.controls.picture, outlook)
        self.stillness.tidy(now)
        self._tell_deck(now)
        self.controls.tick(now)
        planning.tick(self.controls, now)
        self.ringer.tick(now)
        if self.lock.tick(now):
            self.controls.say(f"Keys unlocked; {self.lock.swallowed} swallowed", now)
        self.renew(now)

    def _tell_deck(self, now: float) -> None:
        theme = self.current_theme
        self.deck_mate.tell(self.shown, face_of(look_of(theme), dark=theme.dark), now)

    # -- painting ------------------------------------------------------------------------------------------

    def _settle(self) -> None:
        """Show the newest picture with steady numbers and the chosen rod marked."""
        self._settles = False
        if self.controls.picture is None or (screen := self._watch_screen()) is None:
            return
        self.shown = replace(
            self.calm.settle(self.controls.picture, self.controls.chosen),
            alerts=alerting.standing(self.controls),
            ahead=self.controls.outlook,
            planned=spread_plan.drawn(self.controls),
        )
        screen.show_picture(self.shown)

    def renew(self, now: float | None = None) -> None:
        """Show the present state of the controls."""
        if (screen := self._watch_screen()) is not None:
            screen.renew(self.clock() if now is None else now)

    def _watch_screen(self) -> WatchScreen | None:
        """The topmost screen of the session; the palette may cover it. None on the way out: it loses its widgets."""
        screens = [screen for screen in self.screen_stack if isinstance(screen, WatchScreen)]
        return screens[-1] if screens and self.is_running and not self._exit else None

    # -- keys ----------------------------------------------------------------------------------------------

    async def on_event(self, event: events.Event) -> None:
        # Every key comes here first, whatever has the focus: a hit must not depend on which screen is open.
        if isinstance(event, events.Key) and not event.is_forwarded and self._take_key(event):
            return
        await super().on_event(event)

    def _take_key(self, event: events.Key) -> bool:
        """Act on a key; False leaves it to the palette."""
        self.focused_terminal = True
        token, now = token_of(event.key, event.character), self.key_time(event)
        self.stillness.pressed_s = self.clock()
        act = self._act_of(token)
        if not (act is not None and act.id == "helm" and self._caution_is_next()):
            self.controls.tour = ()
        chosen = self.controls.chosen
        if self.lock.on:
            self.lock.key(token, act is not None and act.id == "lock", now)
        elif not isinstance(self.screen, WatchScreen):
            if not self._passes_palette(act):
                # The palette's list fails on a page key before its first layout.
                laid_out = any(listed.size.height for listed in self.screen.query(CommandList))
                return token in ("pageup", "pagedown") and not laid_out
            self._press(act, token, now)
        elif not (acts.typed(self.controls, token, now) or (self.screen.composed and self.screen.key(token))):
            self._press(act, token, now)  # what a page that nobody has seen yet would make of the key does not count
        self.renew(now)
        if self.controls.chosen != chosen and not self._settles:
            # Paint the answer first: the views cost several times as much, which shows while other threads compute.
            self._settles = True
            self.set_timer(SETTLE_S, self._settle)
        return True

    def _act_of(self, token: str) -> Act | None:
        """The act of a key; none for a practice boat's key where there is no such boat."""
        act = self.keymap.act(self.controls.keyboard, token)
        return None if act is not None and act.group == BOAT and not self.controls.offers(act) else act

    def _passes_palette(self, act: Act | None) -> bool:
        """Whether to do an act although the palette is open: letters belong to the palette, but hits count."""
        if act is None:
            return False
        return act.id == "quit" or (act.station is not None and self.controls.keyboard.hits)

    def _caution_is_next(self) -> bool:
        """Whether the key that closes what is open confirms a caution: nothing else is left for it to close."""
        at = self.controls
        over = at.typing or at.listing or at.plan or at.failed or at.remarks or at.late or at.pulling
        shown = self.helm_screen.cautions.display and self.cautions_read < len(ALL)
        return self.at_helm and shown and not over and at.planning_spread.proposal is None

    def _press(self, act: Act | None, token: str, now: float) -> None:
        done_twice = self.twice.press(token, now, TWICE_S if act is None else act.twice_s)
        if act is None:
            help_label = self.keymap.label(self.controls.keyboard, "help")
            self.controls.say(f"{printed(token)} does nothing here; {help_label} is help", now)
        elif act.twice and not done_twice:
            if (first := acts.FIRST.get(act.id)) is not None:
                first(self.controls, now)
            else:
                self.controls.say(f"{printed(token)} once more: {act.words}", now)
        else:
            self.perform(act, now)

    def perform(self, act: Act, now: float) -> None:
        """Do an act of the registry at monotonic time ``now`` [s]."""
        effect = acts.EFFECTS.get(act.id)
        if effect is not None:
            effect(self.controls, now)
        elif act.id in self.screens_of_views:
            self.show_view(act.id)
        else:
            self.SCREEN_ACTS[act.id](self)

    def chosen_in_palette(self, act: Act) -> None:
        """Do the act chosen in the palette."""
        self.perform(act, self.clock())
        self._settle()
        self.renew()

    # -- acts of the screen --------------------------------------------------------------------------------

    def _next_view(self) -> None:
        views = WIDE_VIEWS if self.size.width >= WIDE else NARROW_VIEWS
        at = views.index(self.view) if self.view in views else -1
        self.show_view(views[(at + 1) % len(views)])

    @property
    def at_helm(self) -> bool:
        """Whether the helm is in front: no other view, and no page over it."""
        return self.view == "helm" and self.screen is self.helm_screen

    def show_view(self, view: str) -> None:
        """Show a view by its name."""
        self.view = view
        screen = self.screens_of_views.get(view, self.helm_screen)
        if screen is self.helm_screen:
            self.helm_screen.lay_out(view)
        self._go(screen)
        self._settle()

    def _go(self, screen: WatchScreen) -> None:
        """Bring a screen to the top. The helm is always at the bottom, with at most one other above it."""
        if self.screen is screen:
            return
        if screen is self.helm_screen:
            self.pop_screen()
        elif self.screen is self.helm_screen:
            self.push_screen(screen)
        else:
            self.switch_screen(screen)

    def _next_theme(self) -> None:
        theme = themes.following(self.loaded_themes, self.theme)
        self.theme = theme.name
        self._remember(theme=theme.name)
        self.controls.say(f"Theme: {theme.look.title}", self.clock())

    def _remember(self, **changes: str) -> None:
        self.remembered = replace(self.remembered, **changes)
        if why := state.save(self.remembered):
            self.controls.say(why, self.clock(), Tone.ERROR)

    def _lock(self) -> None:
        self.lock.close()
        self.controls.say("Keys locked for wiping", self.clock())

    def _palette(self) -> None:
        self.push_screen(CommandPalette(placeholder="every act: type a few letters"))

    def _help(self) -> None:
        self.help_screen.about = self.view
        self._go(self.help_screen)

    def show_words(self) -> None:
        """Show what the words mean, over the present screen."""
        self._go(self.glossary_screen)

    def show_manual(self) -> None:
        """Show the manual over the present screen."""
        self._go(self.manual_screen)

    def show_drill(self) -> None:
        self._go(self.drill_screen)
        self._settle()

    def _helm(self) -> None:
        if self._caution_is_next():
            self.cautions_read += 1
            if self.cautions_read == len(ALL):
                self._remember(cautions_read=__version__)
            return
        if self.at_helm:  # nothing else to close
            planning.drop(self.controls, self.clock())
            spread_plan.put_away(self.controls, self.clock())
        self.controls.failed.clear()
        self.controls.remarks.clear()
        self.controls.late = None
        self.controls.pulling = False
        self.show_view("helm")

    def _deck(self, *, lan: bool = False) -> None:
        self.deck_mate.begin(self.clock(), lan=lan)
        self.show_view("deck page")

    def _deck_off(self) -> None:
        self.deck_mate.end()
        self.controls.say("The deck's page is ended", self.clock())

    SCREEN_ACTS: ClassVar[dict[str, Any]] = {
        "view": _next_view,
        "night": _next_theme,
        "lock": _lock,
        "palette": _palette,
        "help": _help,
        "words": show_words,
        "manual": show_manual,
        "drill": show_drill,
        "helm": _helm,
        "deck": _deck,
        "deck lan": lambda app: app._deck(lan=True),
        "deck off": _deck_off,
        "quit": lambda app: app.exit(),
    }

    # -- the terminal's focus ------------------------------------------------------------------------------

    def on_app_blur(self) -> None:
        self.focused_terminal = False
        self.renew()

    def on_app_focus(self) -> None:
        self.focused_terminal = True
        self.renew()
