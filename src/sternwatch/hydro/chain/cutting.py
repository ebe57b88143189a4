"""Decides how many segments a chain is cut into, and which of its Lines get them.

Straight segments make a chain too shallow where drag bends it much: in a tight turn, where a heavy line sinks
slack, and most of all behind an inside board, whose own line crumples. The errors below are those of the end's
depth in a half circle of 20 m radius at 1 m/s with the boat yawing by 6 degrees, measured against four times as many
segments. They grow with a Line's length and fall with the number of its segments by the given powers. Each further
segment goes to the Line with the largest error, until no error is larger than ALLOWED_M.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line

TAUT: Final = 12  # segments of a chain that is taut in every turn: within 0.1 m of its continuum
ALLOWED_M: Final = 0.2  # of one Line; the errors of a chain's Lines do not all occur at the same moment
MOST: Final = 100

# Towing speed for computing a line's bending length [m/s]; the length hardly depends on it.
_NOMINAL_M_S: Final = 1.1
_HEAVY_N_M: Final = 0.005  # between nylon of 0.5 mm (0.0003) and lead-core (0.02)

# Errors [m] by a Line's length L [m] and its n segments.
_HEAVY_BEHIND_BOARD: Final = 7.2e-3  # times L^2.5 / n^2
_HEAVY: Final = 6.3e-4  # times L^2.5 / n^2
_SLACK_LEADER: Final = 0.15  # times L^2 / n^2
_SLACK_TO_BOARD: Final = 0.25  # times L / n, before heavy line
_SLACK_TO_LIGHT: Final = 0.3  # times L / n, where light line follows the board: it swings with her yaw
_LIGHT_BEFORE_HEAVY: Final = 0.05  # times L / n
# Light line that only a lure pulls sinks slack too, but slower than heavy line.
_LIGHT_BEHIND_BOARD: Final = 4e-2  # times L^2.5 / n^2
_LIGHT: Final = 1.4e-2  # times L^2.5 / n^2
_SHORT_M: Final = 15.0  # of light line that no board crumples: nearly taut


def _pull_N(body: Body, density_kg_m3: float) -> float:
    """Rough pull of a body at _NOMINAL_M_S."""
    area = max(body.drag_area_m2 + body.lift_area_m2, 1.5 * body.plate_area_m2)
    return 0.5 * density_kg_m3 * area * _NOMINAL_M_S**2 + abs(body.wet_weight_N)


def _drag_N_m(line: Line, density_kg_m3: float) -> float:
    """Rough normal drag of a metre of line at _NOMINAL_M_S."""
    return 0.5 * density_kg_m3 * 1.3 * line.diameter_m * _NOMINAL_M_S**2


def _is_board(item: Line | Body) -> bool:
    return isinstance(item, Body) and item.kind == BodyKind.BOARD


def _sinking(chain: Chain, density_kg_m3: float) -> int:
    """Index in ``chain.items`` of the outermost heavy Line under little pull, else of a light one; -1: none."""
    pull, found, light = 0.0, -1, -1
    for at in range(len(chain.items) - 1, -1, -1):
        item = chain.items[at]
        if isinstance(item, Body):
            pull += _pull_N(item, density_kg_m3)
            continue
        drag = item.length_m * _drag_N_m(item, density_kg_m3)
        if item.wet_weight_N_m > _HEAVY_N_M:
            found = at if drag > 10.0 * pull else found
        elif any(_is_board(before) for before in chain.items[:at]):
            light = at if drag > 2.0 * pull else light
        elif drag > 10.0 * pull and item.length_m > _SHORT_M:
            light = at
    return found if found >= 0 else light


def _sinking_counts(chain: Chain, sinking: int, segments: int | None) -> list[int]:
    """Segments of each Line of a chain whose heavy line goes slack. ``segments``: in all; None: as needed."""
    boards = [i for i, item in enumerate(chain.items) if _is_board(item)]
    sinks = chain.items[sinking]
    light = isinstance(sinks, Line) and sinks.wet_weight_N_m <= _HEAVY_N_M
    to_board = _SLACK_TO_LIGHT if light else _SLACK_TO_BOARD
    laws: list[tuple[float, float]] = []  # the error with one segment, and the power of n
    for at, item in enumerate(chain.items):
        if isinstance(item, Body):
            continue
        length = item.length_m
        if item.wet_weight_N_m > _HEAVY_N_M and at >= sinking:
            behind = _HEAVY_BEHIND_BOARD if boards and boards[0] < at else _HEAVY
            laws.append((behind * length**2.5, 2.0))
        elif at == sinking:
            behind = _LIGHT_BEHIND_BOARD if boards and boards[0] < at else _LIGHT
            laws.append((behind * length**2.5, 2.0))
        elif at > sinking:
            laws.append((_SLACK_LEADER * length**2, 2.0))
        else:
            laws.append(((to_board if boards else _LIGHT_BEFORE_HEAVY) * length, 1.0))
    counts = [1] * len(laws)

    def error(i: int) -> float:
        return float(laws[i][0] / counts[i] ** laws[i][1])

    most = MOST if segments is None else segments
    while sum(counts) < most:
        worst = max(range(len(laws)), key=error)
        if segments is None and error(worst) <= ALLOWED_M:
            break
        counts[worst] += 1
    return counts


def _taut_counts(chain: Chain, segments: int, density_kg_m3: float) -> list[int]:
    """One segment for each Line, and a second where the Line is longer than three times its bending length (pull
    over normal drag). Each further segment goes where segments are longest.
    """
    counts: list[int] = []
    lengths: list[float] = []
    pull = 0.0
    for item in reversed(chain.items):
        if isinstance(item, Body):
            pull += _pull_N(item, density_kg_m3)
            continue
        counts.append(2 if item.length_m * _drag_N_m(item, density_kg_m3) > 3.0 * pull else 1)
        lengths.append(item.length_m)
        pull += 0.2 * abs(item.wet_weight_N_m) * item.length_m
    counts.reverse()
    lengths.reverse()
    if sum(counts) > segments:
        counts = [1] * len(counts)
    for _ in range(segments - sum(counts)):
        longest = max(range(len(counts)), key=lambda i: lengths[i] / counts[i])
        counts[longest] += 1
    return counts


def counts_of(chain: Chain, segments: int, density_kg_m3: float) -> Sequence[int]:
    """How many of ``segments`` segments each Line gets, from the tip outward; at least one."""
    sinking = _sinking(chain, density_kg_m3)
    if sinking < 0:
        return _taut_counts(chain, segments, density_kg_m3)
    return _sinking_counts(chain, sinking, segments)


def advised_segments(chain: Chain, density_kg_m3: float) -> int:
    """The segments that a chain needs in a turn of 20 m radius: TAUT, or more where heavy line goes slack."""
    sinking = _sinking(chain, density_kg_m3)
    if sinking < 0:
        return TAUT
    return max(TAUT, sum(_sinking_counts(chain, sinking, None)))
