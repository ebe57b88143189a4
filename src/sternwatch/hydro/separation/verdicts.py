"""The verdict on two lines, from how near they came and how they passed through one another.

Order across the stern is no verdict by itself: seen from above, lines pass over one another in every turn.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np
from numpy.typing import NDArray


class Verdict(IntEnum):
    """Ordered: a greater value is worse."""

    CLEAR_OF_EACH_OTHER = 0  # never nearer than required
    NEAR_PASS = 1  # nearer than required but no contact, whether or not they come apart again
    TOUCH = 2  # one met the other or passed through its path, and would come free
    WRAPPED = 3  # passes that do not undo one another, or a pass on leader or tackle


# Names in JSON.
NAMES = {
    Verdict.CLEAR_OF_EACH_OTHER: "clear_of_each_other",
    Verdict.NEAR_PASS: "near_pass",
    Verdict.TOUCH: "touch",
    Verdict.WRAPPED: "wrapped",
}


def verdicts(
    ratio: NDArray[np.float64],
    touches: NDArray[np.bool_],
    linked: NDArray[np.int64],
    on_tackle: NDArray[np.bool_],
) -> NDArray[np.int64]:
    """A verdict for each, all of one shape.

    ratio: least distance over the required one; touches: a pass, or nearer than a touch; linked: the sum of the
    signs of the passes; on_tackle: a pass on leader or tackle.
    """
    found = np.where(ratio < 1.0, Verdict.NEAR_PASS, Verdict.CLEAR_OF_EACH_OTHER).astype(np.int64)
    found[touches] = Verdict.TOUCH
    found[(linked != 0) | on_tackle] = Verdict.WRAPPED
    return found


def verdict_of(ratio: float, touches: bool, linked: bool, on_tackle: bool) -> Verdict:
    """The same for one meeting examined in pieces. linked: whether the sum of all signs is not zero."""
    sums = np.array([int(linked)])
    return Verdict(int(verdicts(np.array([ratio]), np.array([touches]), sums, np.array([on_tackle]))[0]))
