"""What the lines of two rods do to one another in a forecast, as values: shares by verdict, contact, near pass."""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.hydro.separation.verdicts import Verdict

# The verdict on a pair is the worst in at least this share of the members: one in ten.
COUNTS = 0.10


@dataclass(frozen=True, slots=True)
class LinePass:
    """One line passes through the other's path."""

    time_s: float  # from the manoeuvre's start
    arc_m: tuple[float, float]  # along each line, in the order of the pair's keys
    depth_m: float
    sign: int
    on_tackle: bool  # or on a leader


@dataclass(frozen=True, slots=True)
class Contact:
    """The first contact, in the median of the members that have one. What follows is only indicative.

    Each line moves as if the other were not there, so nothing holds it after the two have met.
    """

    time_s: float  # from the manoeuvre's start
    depth_m: float
    astern_m: float
    abeam_m: float
    touching_s: float
    slides_m: float  # length over which one slides along the other
    passes: tuple[LinePass, ...]
    member: int  # the member with this contact


@dataclass(frozen=True, slots=True)
class NearPass:
    """The median member's near pass: nearer than required, without a touch."""

    over: str  # the key of the line that is above where they are nearest
    under: str
    arc_m: float  # the greater of the two places along the lines, from the tips
    apart_again_s: float | None  # from the manoeuvre's start; None: not within the horizon
    over_until_s: float | None  # end of the crossing as seen from above; None: they do not cross


@dataclass(frozen=True, slots=True)
class Shares:
    """Shares of the members by the outcome for two rods."""

    near_pass: float
    touch: float
    wrapped: float

    @property
    def contact(self) -> float:
        """Touch or worse."""
        return self.touch + self.wrapped

    @property
    def verdict(self) -> Verdict:
        """The worst in at least one member in ten."""
        if self.wrapped >= COUNTS:
            return Verdict.WRAPPED
        if self.contact >= COUNTS:
            return Verdict.TOUCH
        return Verdict.NEAR_PASS if self.near_pass + self.contact >= COUNTS else Verdict.CLEAR_OF_EACH_OTHER


NONE = Shares(0.0, 0.0, 0.0)
