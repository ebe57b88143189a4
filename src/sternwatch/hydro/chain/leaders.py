"""Which lines of a chain count as tackle for required distances: the leaders between its bodies."""

from __future__ import annotations

from typing import Final

from sternwatch.hydro.chain.model import Chain, Line

# Line between two pieces of tackle counts as tackle up to this length. Leaders are shorter than a boat. Longer line,
# such as the lead to a downrigger's lure or weighted line behind a board, is bare line.
LEADER_M: Final = 10.0


def leaders(chain: Chain, segments: list[int]) -> list[bool]:
    """Which of a chain's segments count as tackle. ``segments``: how many each Line has, in order."""
    flags: list[bool] = []
    stretch: list[int] = []  # segments since the last body
    length, seen, line = 0.0, False, 0
    for item in chain.items:
        if isinstance(item, Line):
            stretch.append(segments[line])
            length += item.length_m
            line += 1
            continue
        flags += [seen and length <= LEADER_M] * sum(stretch)
        stretch, length, seen = [], 0.0, True
    return flags + [False] * sum(stretch)
