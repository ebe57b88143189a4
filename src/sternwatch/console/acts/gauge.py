"""A gauge's reading: the crew type the depth, then the temperature or speed there. Two lines, nothing modal."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls, Tone
from sternwatch.console.controls.typing_line import TypingLine
from sternwatch.gear.values.units import UNITS, convert, limit_words, unit_label
from sternwatch.water.profile import COLDEST_C, DEEPEST_M, WARMEST_C

FASTEST_M_S = 10.0


def open_gauge(controls: Controls, t_s: float) -> None:
    """Ask for the gauge's depth."""
    controls.typing = TypingLine("GAUGE READING: at what depth?", "gauge depth", "", controls.units.length, t_s)


def depth_typed(controls: Controls, t_s: float) -> None:
    """Take the typed depth and ask for the temperature."""
    line = controls.typing
    assert line is not None
    assert line.value is not None
    depth_m = UNITS[line.unit].to_si(line.value)
    if depth_m > DEEPEST_M:
        controls.refuse(f"{line.value_words} is too deep: at most {limit_words(DEEPEST_M, line.unit)}", t_s)
        return
    _ask_temperature(controls, depth_m, t_s)


def _ask_temperature(controls: Controls, depth_m: float, t_s: float, text: str = "") -> None:
    controls.typing = TypingLine(
        f"TEMPERATURE AT {controls.length(depth_m)}", "gauge temperature", "", controls.units.temperature, t_s, text,
        other="speed", depth_m=depth_m,
    )  # fmt: skip


def other(controls: Controls, t_s: float) -> None:
    """Switch between temperature and speed at the typed depth."""
    line = controls.typing
    assert line is not None
    assert line.depth_m is not None
    if line.what == "gauge speed":
        _ask_temperature(controls, line.depth_m, t_s, line.text)
        return
    controls.typing = TypingLine(
        f"SPEED AT {controls.length(line.depth_m)}", "gauge speed", "", controls.units.speed, t_s, line.text,
        other="temperature", depth_m=line.depth_m,
    )  # fmt: skip


def reading_typed(controls: Controls, t_s: float) -> None:
    """Take the typed reading and enter it."""
    line = controls.typing
    assert line is not None
    assert line.depth_m is not None
    assert line.value is not None
    si = UNITS[line.unit].to_si(line.value)
    field = "speed_m_s" if line.what == "gauge speed" else "temperature_c"
    low, high = (0.0, FASTEST_M_S) if line.what == "gauge speed" else (COLDEST_C, WARMEST_C)
    if not low <= si <= high:
        lowest, highest = (convert(limit, line.unit) for limit in (low, high))
        controls.want(line.value_words, f"{lowest:.0f} to {highest:.0f} {unit_label(line.unit)}", t_s)
        return
    words = f"{line.value_words} at {controls.length(line.depth_m)}"
    controls.typing = None
    action = controls.submit("gauge", None, words, t_s, depth_m=line.depth_m, **{field: si})
    controls.say(f"GAUGE  {words}", t_s, Tone.ENTRY, action)
