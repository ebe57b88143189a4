"""A recording of any kind written anew as one of ours, so that it says itself what it holds."""

from __future__ import annotations

from pathlib import Path

from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.feed.recording.reader import Recording


def write_anew(recording: Recording, target: Path) -> None:
    """Every line as it is, in a tag block with its feed time, after a declaration of every source. Raises OSError."""
    with target.open("wb") as file:
        declared = False
        for line in recording.lines():
            if not declared:
                declared = True
                for source in recording.sources:
                    file.write(tagblock.declare(source, line.t_s, line.unix_ms))
            file.write(tagblock.write(line))
