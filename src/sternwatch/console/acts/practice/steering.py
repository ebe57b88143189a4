"""Acts at the helm and the throttle of a practice boat. They move only a simulated boat."""

from __future__ import annotations

from sternwatch.console.controls.controls import Controls
from sternwatch.watch.picture.manoeuvre import side_of
from sternwatch.watch.picture.model import PracticePicture

RUDDER_STEP_DEG = 5.0
HEADING_STEP_DEG = 5.0
MOST_RUDDER_DEG = 35.0
LEVER_STEP = 0.02


def under_way(controls: Controls, t_s: float) -> PracticePicture | None:
    """The practice boat. Where there is none yet, say so."""
    practice = controls.picture.practice if controls.picture is not None else None
    if practice is None:
        controls.say("The practice boat is not under way yet", t_s)
    return practice


def begin(controls: Controls) -> bool:
    """Begin a drill that waits until the crew have read its briefing. Returns whether one did."""
    from sternwatch.practice.sessions.runner import PracticeRunner  # it imports the solver

    practice, runner = controls.picture.practice if controls.picture is not None else None, controls.runner
    if practice is None or not practice.waits or not isinstance(runner, PracticeRunner):
        return False
    runner.go()
    return True


def rudder_words(rudder_deg: float) -> str:
    """The rudder in words: ``15° port``, or amidships."""
    if abs(rudder_deg) < 0.5:
        return "amidships"
    return f"{abs(rudder_deg):.0f}° {side_of(rudder_deg)}"


def helm(controls: Controls, side: float, t_s: float) -> None:
    """Turn the wheel a step to port (−1) or starboard (+1), or the heading while one is held."""
    boat = under_way(controls, t_s)
    if boat is None:
        return
    held = controls.expect.get(("helm", "heading"), boat.heading_held_deg, t_s)
    if held is not None:
        heading = (round(float(held) / HEADING_STEP_DEG) * HEADING_STEP_DEG + side * HEADING_STEP_DEG) % 360.0
        _steer(controls, t_s, heading_deg=heading)
        return
    wheel = float(
        controls.expect.get(("helm", "rudder"), round(boat.rudder_deg / RUDDER_STEP_DEG) * RUDDER_STEP_DEG, t_s)
    )
    wheel = min(max(wheel + side * RUDDER_STEP_DEG, -MOST_RUDDER_DEG), MOST_RUDDER_DEG)
    _steer(controls, t_s, rudder_deg=wheel)


def _steer(controls: Controls, t_s: float, heading_deg: float | None = None, rudder_deg: float = 0.0) -> None:
    if heading_deg is not None:
        controls.runner.submit("helm", None, heading_deg=heading_deg)
        controls.say(f"Helm: holds {heading_deg:03.0f}°", t_s)
    else:
        controls.runner.submit("helm", None, rudder_deg=rudder_deg)
        controls.say(f"Helm: {rudder_words(rudder_deg)}", t_s)
    controls.expect.put(("helm", "heading"), heading_deg, t_s)
    controls.expect.put(("helm", "rudder"), rudder_deg, t_s)


def hold(controls: Controls, t_s: float) -> None:
    """Hold the present heading, or take the wheel again."""
    boat = under_way(controls, t_s)
    if boat is None or controls.picture is None:
        return
    if controls.expect.get(("helm", "heading"), boat.heading_held_deg, t_s) is not None:
        _steer(controls, t_s)
        return
    heading = controls.picture.own.heading_deg
    if heading is None:
        controls.say("The heading is not known: steer by hand", t_s)
    else:
        _steer(controls, t_s, heading_deg=float(round(heading) % 360))


def throttle(controls: Controls, by: float, t_s: float) -> None:
    """Move the lever a step, less (−1) or more (+1)."""
    boat = under_way(controls, t_s)
    if boat is None:
        return
    lever = float(controls.expect.get(("throttle", "lever"), boat.lever, t_s))
    engine = str(controls.expect.get(("throttle", "engine"), boat.engine, t_s))
    _drive(controls, t_s, engine, round(min(max(lever + by * LEVER_STEP, 0.0), 1.0), 2))


def engine(controls: Controls, t_s: float) -> None:
    """Switch to the other engine, with its lever shut."""
    boat = under_way(controls, t_s)
    if boat is not None:
        now = controls.expect.get(("throttle", "engine"), boat.engine, t_s)
        _drive(controls, t_s, "main" if now == "kicker" else "kicker", 0.0)


def _drive(controls: Controls, t_s: float, name: str, lever: float) -> None:
    controls.runner.submit("throttle", None, engine=name, lever=lever)
    controls.expect.put(("throttle", "lever"), lever, t_s)
    controls.expect.put(("throttle", "engine"), name, t_s)
    shut = "neutral" if name == "kicker" else "idle in gear"
    controls.say(f"{name.capitalize()}: {f'{100 * lever:.0f} %' if lever > 0.0 else shut}", t_s)
