"""The surface current by the helm's knowledge: speed and direction, typed in one line."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.gear.values.units import UNITS, Dimension, convert

FASTEST_M_S = 3.0


def open_current(controls: Controls, t_s: float) -> None:
    """Ask for the surface current."""
    unit = controls.units.label(Dimension.SPEED)
    controls.typing = TypingLine(
        f"CURRENT: {unit} and degrees it goes to, as 0.3 090", "current", "", "", t_s, words=True
    )


def current_typed(controls: Controls, t_s: float) -> None:
    """Take the typed current and enter it."""
    line = controls.typing
    assert line is not None
    unit = controls.units.symbol(Dimension.SPEED)
    most = convert(FASTEST_M_S, unit)
    read = _read(line.text)
    if read is None or not (0.0 <= read[0] <= most and 0.0 <= read[1] <= 360.0):
        label = controls.units.label(Dimension.SPEED)
        controls.want(line.text.strip(), f"two numbers, up to {most:.0f} {label} and 0 to 360°, as 0.3 090", t_s)
        return
    controls.typing = None
    speed, towards = read
    words = f"current {speed:g} {controls.units.label(Dimension.SPEED)} to {towards:03.0f}°"
    action = controls.submit("current", None, words, t_s, speed_m_s=UNITS[unit].to_si(speed), towards_deg=towards)
    controls.say(f"CURRENT  {words.removeprefix('current ')}", t_s, Tone.ENTRY, action)


def _read(text: str) -> tuple[float, float] | None:
    """Read speed and direction. A current of 0 needs no direction."""
    parts = text.replace(",", ".").split()
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        return None
    if numbers == [0.0]:
        return 0.0, 0.0
    return (numbers[0], numbers[1]) if len(numbers) == 2 else None
