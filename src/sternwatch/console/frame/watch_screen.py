"""The common surroundings of a session's screens: frame, notices, answer line, keys, and overlays."""

from __future__ import annotations

from typing import ClassVar

from textual.app import ComposeResult
from textual.screen import Screen

from sternwatch.console.frame.alerts_area import AlertsArea
from sternwatch.console.frame.bars import ControlsPainted, FrameBar, KeyFooter, NoticeLines, SaidLine
from sternwatch.console.frame.overlays import Cautions, FishList, FocusBanner, LargeWords, NoPicture, TooSmall
from sternwatch.console.frame.practice_bar import PracticeBar
from sternwatch.console.frame.replay_bar import ReplayBar
from sternwatch.console.frame.session_app import SessionApp
from sternwatch.console.paint.canvas import Painted
from sternwatch.watch.picture.model import Picture, Session

LIST_ROW = 3  # the highest row of a list to choose from


class WatchScreen(Screen[None], inherit_bindings=False):
    """A screen of a running session. No key arrives here directly: the app takes them first."""

    AUTO_FOCUS: ClassVar[str | None] = ""
    words = ""
    foot: ClassVar[tuple[tuple[str, str], ...]] = ()  # (keys, what they do) of this screen, for the footer
    own_keys: ClassVar[tuple[str, ...]] = ()  # tokens with a meaning on this screen alone
    composed = False
    shows_picture = True  # False: the body does not depend on a picture
    covered = 0  # the body's lowest rows that notices and cautions lie over
    _foot = 0  # rows below the body

    @property
    def watch_app(self) -> SessionApp:
        return self.app  # type: ignore[return-value]

    def body(self) -> ComposeResult:
        """The screen's own widgets."""
        raise NotImplementedError

    def above(self) -> ComposeResult:
        """The widgets above the body of every screen of a kind."""
        return iter(())

    def __init__(self) -> None:
        super().__init__()
        self.replay_bar, self.said, self.keys = ReplayBar(), SaidLine(), KeyFooter()
        self.practice_bar = PracticeBar()
        self.notices, self.fish, self.large = NoticeLines(), FishList(), LargeWords()
        self.cautions, self.banner, self.no_picture = Cautions(), FocusBanner(), NoPicture()
        self.small = TooSmall()

    def compose(self) -> ComposeResult:
        yield FrameBar(self.words)
        yield from self.above()
        yield from self.body()
        yield self.replay_bar
        yield self.practice_bar
        yield self.said
        yield self.keys
        yield self.no_picture
        yield self.notices
        yield self.fish
        yield self.large
        yield self.cautions
        yield self.small
        yield self.banner

    def on_mount(self) -> None:
        self.composed = True
        self.replay_bar.display = self.watch_app.runner.replay is not None
        self.practice_bar.display = self.watch_app.runner.session is Session.PRACTICE
        self._fit()

    def on_resize(self) -> None:
        self._fit()

    def on_screen_resume(self) -> None:
        self._fit()
        if self.composed and self.watch_app.shown is not None:
            self.show_picture(self.watch_app.shown)

    def _fit(self) -> None:
        """Lay the bars out for the present size."""
        if not self.composed:
            return
        # The keys have one line, the caution that never leaves another.
        self._foot = 2 + 1 + sum(bar.display for bar in (self.replay_bar, self.practice_bar))
        for overlay in (self.notices, self.large, self.no_picture):
            overlay.styles.margin = (0, 0, self._foot, 0)
        self.fit_body()
        self.renew(self.watch_app.clock())

    def key(self, token: str) -> bool:  # noqa: ARG002
        """Take a key with a meaning on this screen alone. Returns whether it was one."""
        return False

    def fit_body(self) -> None:
        """Lay the body out for the present size."""

    def renew(self, now: float) -> None:
        """Show the state of the controls at monotonic time ``now`` [s]."""
        if not self.composed:
            return
        watch_app = self.watch_app
        standing = len(self.notices.lines(self.size.width, self.notice_rows, now))
        self._stand(self.no_picture, self.size.height - 1 - self._foot if self._waits else 0)
        self._stand(self.notices, standing)
        self._list(self.fish.wanted_rows)
        self._stand(self.large, min(11, max(self.size.height // 3, 8)) if self.large.wanted else 0)
        if self.cautions.styles.margin.bottom != self._foot + standing:
            self.cautions.styles.margin = (0, 0, self._foot + standing, 0)
        # The typing line comes first: its foot says what its keys do.
        most = 0 if self.large.wanted else self.caution_rows(standing)
        to_read = len(self.cautions.lines(self.size.width, most, now))
        self._stand(self.cautions, to_read)
        self.covered = standing + to_read
        self.cover(standing, to_read)
        self._stand(self.small, self.size.height if self.small.wanted else 0)
        self._stand(self.banner, 0 if watch_app.focused_terminal else 3)
        for widget in self.query(ControlsPainted):
            if widget.display:
                widget.renew(now)

    def _list(self, rows: int) -> None:
        """Show the list to choose from beneath the alerts, where there is room for it."""
        self._stand(self.fish, rows)
        if not rows:
            return
        width, wide = self.fish.styles.width, self.fish.wanted_width
        if width is None or width.value != wide:
            self.fish.styles.width = wide
        beneath = max((area.region.bottom for area in self.query(AlertsArea) if area.display), default=LIST_ROW)
        top = min(max(beneath, LIST_ROW), max(self.size.height - self._foot - rows, LIST_ROW))
        if self.fish.styles.margin.top != top:
            self.fish.styles.margin = (top, 0, 0, 0)

    def caution_rows(self, notices: int) -> int:  # noqa: ARG002
        """The rows that the next caution to read may take above ``notices`` rows of notices."""
        return 4

    def cover(self, notices: int, cautions: int) -> None:
        """Let the body know how many of its lowest rows are covered."""

    @property
    def foot_rows(self) -> int:
        """The rows below the body."""
        return self._foot

    @property
    def _waits(self) -> bool:
        return self.shows_picture and self.no_picture.wanted

    @property
    def notice_rows(self) -> int:
        """The number of the body's lowest rows that notices may cover."""
        return 2 if self.size.height < 30 else 4

    @staticmethod
    def _stand(widget: ControlsPainted, rows: int) -> None:
        """Give an overlay or a bar ``rows`` rows; 0 hides it."""
        if widget.display != (rows > 0):
            widget.display = rows > 0
        height = widget.styles.height
        if rows and (height is None or height.value != rows):
            widget.styles.height = rows

    def show_picture(self, picture: Picture) -> None:
        """Show a picture with steady numbers in every painted widget of the body."""
        if not self.composed:
            return
        for widget in self.query(Painted):
            if not isinstance(widget, ControlsPainted):
                widget.show(picture)
