"""Twelve rods: the demo's eight and, inside them, a diver set straight to each side and two lead-cores."""

from __future__ import annotations

from pathlib import Path

EVENING = Path(__file__).parents[2] / "demo_logs" / "evening.toml"

DIVER = """
[[rod]]
key = "{key}"
name = "{name}"
side = "{side}"
tip = {{ astern = "1 ft", abeam = "1.9 m", height = "3 ft" }}
chain = [
  {{ line = "wire", out = "{out} m" }},
  {{ tackle = "disc", setting = "straight" }},
  {{ line = "leader", length = "7 ft" }},
  {{ tackle = "paddle" }},
  {{ line = "leader", length = "22 in" }},
  {{ tackle = "fly" }},
]
"""
LEADCORE = """
[[rod]]
key = "{key}"
name = "{name}"
side = "{side}"
tip = {{ astern = "0 ft", abeam = "1.3 m", height = "5 ft" }}
chain = [
  {{ line = "backing", out = "{out} m" }},
  {{ line = "leadcore", length = "{colours} colours" }},
  {{ line = "fluoro", length = "20 ft" }},
  {{ tackle = "spoon" }},
]
"""


def twelve_rods() -> str:
    """As a spread file."""
    return "".join(
        (
            EVENING.read_text(encoding="utf-8"),
            DIVER.format(key="9", name="P INNER", side="port", out=30),
            DIVER.format(key="0", name="S INNER", side="starboard", out=26),
            LEADCORE.format(key="-", name="P CORE", side="port", out=45, colours=5),
            LEADCORE.format(key="=", name="S CORE", side="starboard", out=64, colours=7),
        )
    )
