"""What stays the same for a whole session: spread, calibration, charted soundings, marks."""

from __future__ import annotations

from dataclasses import dataclass, field

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.priors import CARRIED, believed
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.quantities import LET_OUT_M_S
from sternwatch.gear.values.units import SYSTEMS, DisplaySystem
from sternwatch.logbook.actions.place_acts import Marked
from sternwatch.logbook.crew.state import RodWord
from sternwatch.logbook.store.soundings import Charted
from sternwatch.watch.bottom.imported_grids import Grid
from sternwatch.watch.picture.model import Session


@dataclass(frozen=True, slots=True)
class Setup:
    """The constants of a session."""

    spread: Spread
    session: Session = Session.LIVE
    trip: str = ""
    start: RodWord = "in"
    calibration: Calibration | None = None  # knowledge of this gear from observations; None: the priors alone
    pay_out_m_s: float = LET_OUT_M_S
    members: int = CARRIED  # members behind every depth and interval; 0: none, and depths are nominal
    zone_c: tuple[float, float] | None = None  # the wanted temperatures; None: no zone chosen
    zone_name: str = ""
    zone_source: str = ""
    units: DisplaySystem = field(default_factory=lambda: SYSTEMS["us"])  # of what is put in words
    risk: float = 0.1  # of any crossing, up to which an outlook's limits go
    charted: tuple[Charted, ...] = ()  # what earlier trips sounded
    marked: tuple[Marked, ...] = ()  # and what they marked
    grids: tuple[Grid, ...] = ()  # of depths, imported, the finest first

    def __post_init__(self) -> None:
        object.__setattr__(self, "spread", believed(self.spread, self.calibration))
