"""Large signs made of half blocks: numbers readable from two metres.

A sign is drawn on a grid five dots high. At scale 1 it takes three rows of the terminal, with the lowest dot row
empty. At scale k each dot is k cells wide and k half cells high. Plain terminals have no half blocks: there numbers
are strokes of ASCII in the same cells, and larger signs are filled with ``#``.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

HEIGHT = 5

# Each sign as five dot rows, top first; drawn for this screen.
_SIGNS: dict[str, str] = {
    "0": ".#. #.# #.# #.# .#.",
    "1": ".# ## .# .# .#",
    "2": "### ..# ### #.. ###",
    "3": "##. ..# .#. ..# ##.",
    "4": "#.. #.# ### ..# ..#",
    "5": "### #.. ##. ..# ##.",
    "6": ".## #.. ### #.# ###",
    "7": "### ..# .#. .#. .#.",
    "8": "### #.# .#. #.# ###",
    "9": ".## #.# .## ..# ..#",
    ".": ". . . . #",
    ",": ". . . # #",
    ":": ". # . # .",
    "-": "... ... ### ... ...",
    "–": "... ... ### ... ...",
    "+": "... .#. ### .#. ...",
    "/": "..# ..# .#. #.. #..",
    "%": "#.# ..# .#. #.. #.#",
    "°": "## ## .. .. ..",
    "!": "# # # . #",
    "?": "### ..# .## ... .#.",
    "=": "... ### ... ### ...",
    " ": ".. .. .. .. ..",
    "A": "### #.# ### #.# #.#",
    "B": "##. #.# ##. #.# ##.",
    "C": "### #.. #.. #.. ###",
    "D": "##. #.# #.# #.# ##.",
    "E": "### #.. ##. #.. ###",
    "F": "### #.. ##. #.. #..",
    "G": "### #.. #.# #.# ###",
    "H": "#.# #.# ### #.# #.#",
    "I": "# # # # #",
    "J": "..# ..# ..# #.# ###",
    "K": "#.# #.# ##. #.# #.#",
    "L": "#.. #.. #.. #.. ###",
    "M": "#...# ##.## #.#.# #...# #...#",
    "N": "#..# ##.# #.## #..# #..#",
    "O": "### #.# #.# #.# ###",
    "P": "### #.# ### #.. #..",
    "Q": "### #.# #.# ### ..#",
    "R": "### #.# ##. #.# #.#",
    "S": "### #.. ### ..# ###",
    "T": "### .#. .#. .#. .#.",
    "U": "#.# #.# #.# #.# ###",
    "V": "#.# #.# #.# #.# .#.",
    "W": "#...# #...# #.#.# ##.## #...#",
    "X": "#.# #.# .#. #.# #.#",
    "Y": "#.# #.# ### .#. .#.",
    "Z": "### ..# .#. #.. ###",
}
# Numbers in three rows of three cells for plain terminals; drawn for this screen.
_STROKES: dict[str, tuple[str, str, str]] = {
    "0": ("/-\\", "| |", "\\-/"),
    "1": ("/|", " |", " |"),
    "2": ("--.", ".-'", "'--"),
    "3": ("--.", " -<", "--'"),
    "4": ("| |", "'-|", "  |"),
    "5": ("|--", "'-.", "--'"),
    "6": (" / ", "|-.", "'-'"),
    "7": ("--/", " / ", "/  "),
    "8": (".-.", ">-<", "'-'"),
    "9": (".-.", "'-|", " / "),
}

_DOTS = {sign: tuple(tuple(dot == "#" for dot in row) for row in rows.split()) for sign, rows in _SIGNS.items()}
_HALVES = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}

_QUARTERS = " ▘▝▀▖▌▞▛▗▚▐▜▄▙▟█"


def rows_of(scale: int) -> int:
    """Terminal rows that signs of this scale take."""
    return (HEIGHT * scale + 1) // 2


def scale_for(rows: int) -> int:
    """The smallest scale whose signs are at least ``rows`` rows high."""
    scale = 1
    while rows_of(scale) < rows:
        scale += 1
    return scale


def width_of(text: str, scale: int = 1) -> int:
    """Cells that ``text`` takes. An unknown sign counts as the question mark that replaces it."""
    dots = [len(_sign(char)[0]) for char in text.upper()]
    return scale * (sum(dots) + max(len(dots) - 1, 0))


def big(text: str, scale: int = 1, *, plain: bool = False) -> tuple[str, ...]:
    """``text`` in large signs: ``rows_of(scale)`` lines, all ``width_of(text, scale)`` cells long.

    ``plain``: in ASCII alone.
    """
    scale = max(scale, 1)
    if plain:
        return _stroked(text.upper()) if scale == 1 else _filled(text.upper(), scale)
    return _big(text.upper(), scale)


@lru_cache(maxsize=512)
def _stroked(text: str) -> tuple[str, ...]:
    """Numbers as strokes; any other sign stands as it is in the middle row, a full stop in the last."""
    signs = []
    degrees = "d" if text.endswith("°") else " "  # as small words in ASCII: 12d, and 54 F
    for char in text:
        wide = len(_sign(char)[0])
        middle = "-" if char == "–" else degrees if char == "°" else char if char.isascii() else "?"
        blank = " " * wide
        foot = char in ".,"
        signs.append(
            _STROKES.get(
                char, (blank, blank if foot else f"{middle:^{wide}}", f"{middle:^{wide}}" if foot else blank)
            )
        )
    return tuple(" ".join(sign[row] for sign in signs) for row in range(rows_of(1)))


@lru_cache(maxsize=512)
def _filled(text: str, scale: int) -> tuple[str, ...]:
    """Signs of two dot rows and more: a row of the terminal shows the dots at its middle."""
    lines = []
    for row in range(rows_of(scale)):
        y = min((2 * row + 1) // scale, HEIGHT - 1)
        lines.append((" " * scale).join("".join("# "[not dot] * scale for dot in _sign(char)[y]) for char in text))
    return tuple(lines)


@lru_cache(maxsize=512)
def _big(text: str, scale: int) -> tuple[str, ...]:
    signs = [_sign(char) for char in text]
    dots: list[list[bool]] = []
    for y in range(HEIGHT):
        row: list[bool] = []
        for number, sign in enumerate(signs):
            if number:
                row += [False] * scale
            for dot in sign[y]:
                row += [dot] * scale
        dots += [row] * scale
    if scale > 1:
        dots = _rounded(dots, scale)
    if len(dots) % 2:
        dots.append([False] * len(dots[0]) if dots else [])
    lines = []
    for upper, lower in zip(dots[::2], dots[1::2], strict=True):
        lines.append("".join(_HALVES[pair] for pair in zip(upper, lower, strict=True)))
    return tuple(lines)


_SOFT = str.maketrans({"█": "▒", "#": ":"})


def soft(lines: Sequence[str]) -> tuple[str, ...]:
    """Large signs with hollow strokes, for a rough number. Strokes of ASCII stay: ``tilded`` marks them."""
    return tuple(line.translate(_SOFT) for line in lines)


def tilded(lines: Sequence[str]) -> tuple[str, ...]:
    """Large signs after a tilde, for a rough number whose strokes cannot be hollow."""
    return tuple(("~" if y == len(lines) // 2 else " ") + line for y, line in enumerate(lines))


@lru_cache(maxsize=512)
def narrow(text: str) -> tuple[str, ...]:
    """``text`` in signs half as wide, made of quarter blocks: three rows, for narrow columns."""
    rows: list[list[bool]] = []
    for y in range(HEIGHT + 1):
        row: list[bool] = []
        for number, char in enumerate(text.upper()):
            sign = _sign(char)
            row += [False] * (number > 0) + (list(sign[y]) if y < HEIGHT else [False] * len(sign[0]))
        rows.append(row + [False] * (len(row) % 2))
    return tuple(
        "".join(
            _QUARTERS[upper[x] + 2 * upper[x + 1] + 4 * lower[x] + 8 * lower[x + 1]] for x in range(0, len(upper), 2)
        )
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    )


def _sign(char: str) -> tuple[tuple[bool, ...], ...]:
    return _DOTS.get(char, _DOTS["?"])


def _rounded(dots: list[list[bool]], scale: int) -> list[list[bool]]:
    """Remove a dot at every outer corner of a bend, and fill the two corners between dots that touch diagonally."""
    height, width = len(dots), len(dots[0]) if dots else 0

    def on(y: int, x: int) -> bool:
        return 0 <= y < height and 0 <= x < width and dots[y][x]

    out = [list(row) for row in dots]
    for y in range(height):
        for x in range(width):
            for dy in (-1, 1):
                for dx in (-1, 1):
                    if dots[y][x]:
                        # A bend has ink in both inward directions, and none on its two outer sides.
                        bare = not on(y - dy, x) and not on(y, x - dx)
                        if bare and on(y + dy * scale, x) and on(y, x + dx * scale):
                            out[y][x] = False
                    elif on(y + dy, x) and on(y, x + dx) and not on(y + dy, x + dx):
                        out[y][x] = True
    return out
