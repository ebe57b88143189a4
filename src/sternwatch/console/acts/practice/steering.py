"""Acts at the helm and the throttle of a practice boat. They move a simulated boat and nothing else."""

from __future__ import annotations

from sternwatch.console.desk.hand import Desk
from sternwatch.watch.picture.model import PracticePicture

RUDDER_STEP_DEG = 5.0
HEADING_STEP_DEG = 5.0
MOST_RUDDER_DEG = 35.0
LEVER_STEP = 0.02


def under_way(desk: Desk, t_s: float) -> PracticePicture | None:
    """The practice boat, once there is one; else that is said."""
    practice = desk.picture.practice if desk.picture is not None else None
    if practice is None:
        desk.say("The practice boat is not under way yet", t_s)
    return practice


def rudder_words(rudder_deg: float) -> str:
    """``15° port``; amidships where there is none."""
    if abs(rudder_deg) < 0.5:
        return "amidships"
    return f"{abs(rudder_deg):.0f}° {'starboard' if rudder_deg > 0 else 'port'}"


def helm(desk: Desk, side: float, t_s: float) -> None:
    """A step of the wheel to port (−1) or starboard (+1); of the heading while one is held."""
    boat = under_way(desk, t_s)
    if boat is None:
        return
    held = desk.expect.get(("helm", "heading"), boat.heading_held_deg, t_s)
    if held is not None:
        heading = (round(float(held) / HEADING_STEP_DEG) * HEADING_STEP_DEG + side * HEADING_STEP_DEG) % 360.0
        _steer(desk, t_s, heading_deg=heading)
        return
    wheel = float(
        desk.expect.get(("helm", "rudder"), round(boat.rudder_deg / RUDDER_STEP_DEG) * RUDDER_STEP_DEG, t_s)
    )
    wheel = min(max(wheel + side * RUDDER_STEP_DEG, -MOST_RUDDER_DEG), MOST_RUDDER_DEG)
    _steer(desk, t_s, rudder_deg=wheel)


def _steer(desk: Desk, t_s: float, heading_deg: float | None = None, rudder_deg: float = 0.0) -> None:
    if heading_deg is not None:
        desk.runner.submit("helm", None, heading_deg=heading_deg)
        desk.say(f"Helm: holds {heading_deg:03.0f}°", t_s)
    else:
        desk.runner.submit("helm", None, rudder_deg=rudder_deg)
        desk.say(f"Helm: {rudder_words(rudder_deg)}", t_s)
    desk.expect.put(("helm", "heading"), heading_deg, t_s)
    desk.expect.put(("helm", "rudder"), rudder_deg, t_s)


def hold(desk: Desk, t_s: float) -> None:
    """Hold the heading there is, or take the wheel again."""
    boat = under_way(desk, t_s)
    if boat is None or desk.picture is None:
        return
    if desk.expect.get(("helm", "heading"), boat.heading_held_deg, t_s) is not None:
        _steer(desk, t_s)
        return
    heading = desk.picture.own.heading_deg
    if heading is None:
        desk.say("The heading is not known: steer by hand", t_s)
    else:
        _steer(desk, t_s, heading_deg=float(round(heading) % 360))


def throttle(desk: Desk, by: float, t_s: float) -> None:
    """A step of the lever, less (−1) or more (+1)."""
    boat = under_way(desk, t_s)
    if boat is None:
        return
    lever = float(desk.expect.get(("throttle", "lever"), boat.lever, t_s))
    engine = str(desk.expect.get(("throttle", "engine"), boat.engine, t_s))
    _drive(desk, t_s, engine, round(min(max(lever + by * LEVER_STEP, 0.0), 1.0), 2))


def engine(desk: Desk, t_s: float) -> None:
    """The other engine, its lever shut."""
    boat = under_way(desk, t_s)
    if boat is not None:
        now = desk.expect.get(("throttle", "engine"), boat.engine, t_s)
        _drive(desk, t_s, "main" if now == "kicker" else "kicker", 0.0)


def _drive(desk: Desk, t_s: float, name: str, lever: float) -> None:
    desk.runner.submit("throttle", None, engine=name, lever=lever)
    desk.expect.put(("throttle", "lever"), lever, t_s)
    desk.expect.put(("throttle", "engine"), name, t_s)
    shut = "neutral" if name == "kicker" else "idle in gear"
    desk.say(f"{name.capitalize()}: {f'{lever:.0%}' if lever > 0.0 else shut}", t_s)
