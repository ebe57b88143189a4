"""Makes an instrument of a practice boat fail, chosen from a list, until the faults are mended."""

from __future__ import annotations

from typing import Final

from sternwatch.console.acts.practice.steering import under_way
from sternwatch.console.controls.controls import Controls
from sternwatch.console.controls.lists import Listing

# Words of the list, and the fields of the entry.
FAULTS: Final[tuple[tuple[str, dict[str, str]], ...]] = (
    ("GPS without a fix", {"what": "no fix", "sensor": "gps"}),
    ("GPS silent", {"what": "dropout", "sensor": "gps"}),
    ("compass silent", {"what": "dropout", "sensor": "compass"}),
    ("compass stands still", {"what": "frozen", "sensor": "compass"}),
    ("paddle wheel silent", {"what": "dropout", "sensor": "log"}),
    ("paddle wheel stands still", {"what": "frozen", "sensor": "log"}),
    ("sounder loses the bottom", {"what": "lost bottom", "sensor": "sounder"}),
    ("thermometer stands still", {"what": "frozen", "sensor": "thermometer"}),
    ("some checksums are wrong", {"what": "bad checksums", "sensor": "all"}),
    ("everything silent", {"what": "dropout", "sensor": "all"}),
    ("all mended", {"what": "mended"}),
)


def open_faults(controls: Controls, t_s: float) -> None:
    """Ask which instrument should fail."""
    if under_way(controls, t_s) is None:
        return
    controls.typing = None
    words = tuple(words for words, _ in FAULTS)
    controls.listing = Listing(
        "What fails", "", words, t_s, what="fault", values=tuple(fields for _, fields in FAULTS)
    )


def fault_taken(controls: Controls, t_s: float) -> None:
    """Take the chosen fault."""
    listing = controls.listing
    assert listing is not None
    controls.listing = None
    fields = listing.value
    assert isinstance(fields, dict)
    controls.runner.submit("fault", None, **fields)
    controls.say(f"Instruments: {listing.choice}", t_s)
