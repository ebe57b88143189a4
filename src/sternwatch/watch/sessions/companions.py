"""The threads beside every session: the lookout, the check, and how sure depths are."""

from __future__ import annotations

import gc
from functools import partial
from typing import TYPE_CHECKING

from sternwatch.watch.picture.model import Session
from sternwatch.watch.planner.check import Checked, Checking
from sternwatch.watch.sessions import prepare
from sternwatch.watch.sessions.how_sure import Knowing

if TYPE_CHECKING:
    from sternwatch.watch.again.following import Following
    from sternwatch.watch.core.engine import Watch
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.outlook.lookout import Lookout
    from sternwatch.watch.picture.manoeuvre import Manoeuvre
    from sternwatch.watch.picture.model import Picture
    from sternwatch.watch.picture.outlook import Outlook
    from sternwatch.watch.sessions.runner import TripControl
    from sternwatch.watch.whole_pass.following import Passing


class Companions:
    """The part of a runner that uses them. They start once the solver is ready."""

    def __init__(self) -> None:
        self._busy = ""
        self._lookout: Lookout | None = None
        self._plan: Manoeuvre | None = None
        self._checking: Checking | None = None
        self._knowing: Knowing | None = None
        self._again: Following | None = None
        self._passing: Passing | None = None
        self._whole = False  # every kernel is compiled

    def _accompany(self, setup: Setup, *, calm_every_s: float) -> Lookout:
        """Start them. Called on the session's own thread, because it imports the solver."""
        from sternwatch.watch.again.following import Following
        from sternwatch.watch.grids.store import charts_for
        from sternwatch.watch.outlook.lookout import Lookout
        from sternwatch.watch.whole_pass.following import Passing

        # Garbage collection stops every thread, and so a key. The libraries are loaded by now and are never examined
        # again.
        gc.collect()
        gc.freeze()
        lookout = self._lookout = Lookout(setup.spread, setup.units, risk=setup.risk, calm_every_s=calm_every_s)
        lookout.plan(self._plan)
        self._checking = Checking(setup.spread, setup.units)
        trip = setup.trip if setup.session is Session.LIVE else ""
        self._knowing = Knowing(setup.spread, setup.calibration, trip)
        self._again = Following()
        self._passing = Passing(partial(charts_for, setup.session))
        self._units = setup.units
        return lookout

    def _look_ahead(self, watch: Watch) -> bool:
        """Offer a step's watch to the threads that look ahead. Returns whether the outlook has changed.

        They wait for their part of the solver: compiling it here would delay every key.
        """
        assert self._lookout is not None
        if not self._whole_solver():
            return False
        changed = self._lookout.offer(watch)
        outlook = self._lookout.outlook
        limits = None if outlook is None else outlook.limits
        if self._again is not None:
            self._again.offer(watch, limits, self._units)
        if self._passing is not None:
            self._passing.offer(watch, limits)
        return changed

    def _whole_solver(self) -> bool:
        self._whole = self._whole or not prepare.rest()
        return self._whole

    def _check(self, picture: Picture) -> None:
        """Request a check of the spread in a picture."""
        if self._checking is not None and self._whole_solver():
            self._checking.offer(picture)

    def _part(self) -> None:
        """End them."""
        if self._lookout is not None:
            self._lookout.stop()
        if self._checking is not None:
            self._checking.stop()
        if self._knowing is not None:
            self._knowing.stop()
        if self._again is not None:
            self._again.stop()
        if self._passing is not None:
            self._passing.stop()

    def findings(self) -> Checked | None:
        return None if self._checking is None else self._checking.checked

    @property
    def knowing(self) -> Knowing | None:
        return self._knowing if self._whole_solver() else None

    @property
    def again(self) -> Following | None:
        return self._again

    @property
    def passing(self) -> Passing | None:
        return self._passing

    def outlook(self) -> Outlook | None:
        return self._lookout.outlook if self._lookout is not None else None

    def plan(self, manoeuvre: Manoeuvre | None) -> None:
        self._plan = manoeuvre
        if self._lookout is not None:
            self._lookout.plan(manoeuvre)

    @property
    def trips(self) -> TripControl | None:
        """None here: only a session on the water goes on to another trip."""
        return None

    @property
    def busy(self) -> str:
        if self._busy == prepare.PREPARING:
            return prepare.preparing()
        if not self._busy and not self._whole and (rest := prepare.rest()):
            return rest
        return self._busy or (self._lookout.trouble if self._lookout is not None else "")
