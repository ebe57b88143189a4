"""Rewrites a recording of any kind in our own form, which says itself what it holds."""

from __future__ import annotations

from pathlib import Path

from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.feed.recording.reader import Recording


def write_anew(recording: Recording, target: Path) -> None:
    """Write a declaration of every source, then every line unchanged behind a tag block with its feed time.

    Raises OSError.
    """
    with target.open("wb") as file:
        declared = False
        for line in recording.lines():
            if not declared:
                declared = True
                for source in recording.sources:
                    file.write(tagblock.declare(source, line.t_s, line.unix_ms))
            file.write(tagblock.write(line))
