"""What two rods' lines do to one another in a forecast, as values: shares by verdict, contact, near pass."""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.hydro.separation.verdicts import Verdict

# The verdict on a pair is the worst that at least so many of the members come to: one in ten.
COUNTS = 0.10


@dataclass(frozen=True, slots=True)
class LinePass:
    """One line passing through the other's path."""

    time_s: float  # from the manoeuvre's start
    arc_m: tuple[float, float]  # along either line, in the order of the pair's keys
    depth_m: float
    sign: int
    on_tackle: bool  # or on a leader


@dataclass(frozen=True, slots=True)
class Contact:
    """The first contact, of the median of the members that have one. What comes after it is only indicative.

    Each line is moved as if the other were not there, so that nothing holds it once the two have met.
    """

    time_s: float  # from the manoeuvre's start
    depth_m: float
    astern_m: float
    abeam_m: float
    touching_s: float
    slides_m: float  # over what length one slides along the other
    passes: tuple[LinePass, ...]
    member: int  # whose it is


@dataclass(frozen=True, slots=True)
class NearPass:
    """The median member's, where it comes nearer than required and touches nothing."""

    over: str  # the key of the line that is above where they are nearest
    under: str
    arc_m: float  # the greater of the two places along the lines, from the tips
    apart_again_s: float | None  # from the manoeuvre's start; None: not within the horizon
    over_until_s: float | None  # until when one crosses the other as seen from above; None: it does not


@dataclass(frozen=True, slots=True)
class Shares:
    """Of the members: what comes of two rods."""

    near_pass: float
    touch: float
    wrapped: float

    @property
    def contact(self) -> float:
        """Touch or worse."""
        return self.touch + self.wrapped

    @property
    def verdict(self) -> Verdict:
        """The worst that at least one in ten come to."""
        if self.wrapped >= COUNTS:
            return Verdict.WRAPPED
        if self.contact >= COUNTS:
            return Verdict.TOUCH
        return Verdict.NEAR_PASS if self.near_pass + self.contact >= COUNTS else Verdict.CLEAR_OF_EACH_OTHER


NONE = Shares(0.0, 0.0, 0.0)
