"""The address as a QR code in characters, with two rows of modules in a line."""

from __future__ import annotations

QUIET = 2  # empty modules around it; the page's ground adds to them
_LIGHT_ABOVE = {(True, True): "█", (True, False): "▀", (False, True): "▄", (False, False): " "}


def code_lines(text: str, *, light_ink: bool) -> list[str]:
    """The lines of the code. ``light_ink``: characters are lighter than their ground, as on a dark screen."""
    import segno

    made = segno.make(text, error="l", micro=False)
    modules = [[bool(module) for module in line] for line in made.matrix_iter(border=QUIET)]
    if len(modules) % 2:
        modules.append([False] * len(modules[0]))
    inked = [[module != light_ink for module in line] for line in modules]
    return [
        "".join(_LIGHT_ABOVE[pair] for pair in zip(*two, strict=True))
        for two in zip(inked[::2], inked[1::2], strict=True)
    ]
