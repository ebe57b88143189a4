"""Finds and reads drill files: those shipped with the package, and the user's own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_args

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from sternwatch.gear.spread_file.load import load_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.faults import SpreadError, printable, show
from sternwatch.gear.values.words import listed, nearest
from sternwatch.places import config_dir, shipped
from sternwatch.practice.drills.model import Drill
from sternwatch.reading import UnreadableError, is_file, read_text, toml_of

SHIPPED = Path(__file__).parent / "shipped"
_LARGEST_BYTES = 200_000


class DrillError(ValueError):
    """A drill is faulty. The message is one sentence: file, field, the value given, what is accepted."""


@dataclass(frozen=True, slots=True)
class DrillFile:
    """A drill with its file. ``id`` is the file's name without its ending, as the command takes it."""

    id: str
    path: Path
    drill: Drill
    text: str

    def spread(self) -> Spread:
        """The spread for this drill, without the rods that the drill leaves out.

        Raises DrillError.
        """
        path = self.spread_path
        try:
            spread = load_spread(path)
        except SpreadError as fault:
            raise DrillError(f"{self.path}: spread: {fault}") from None
        return self.fitted(spread, path)

    @property
    def spread_path(self) -> Path:
        """The path of the spread file: the drill's own, else the demo's."""
        if self.drill.spread is None:
            return shipped("demo_logs") / "evening.toml"
        return self.path.parent / self.drill.spread

    def fitted(self, spread: Spread, path: Path) -> Spread:
        """The drill with another spread, which must have the rods that the drill names. Raises DrillError."""
        keys = [rod.key for rod in spread.rods]
        start = self.drill.start
        named = {
            "start.line_out": start.line_out_m, "start.only": start.only,
            "strike": [one.rod for one in self.drill.strike],
            "again": [] if self.drill.again is None else [self.drill.again.rod],
            "task": [key for task in self.drill.task for key in task.rods],
        }  # fmt: skip
        for field, wanted in named.items():
            for key in wanted:
                if key not in keys:
                    raise DrillError(
                        f'{self.path}: {field}: there is no rod "{key}" in {path}; accepted: {", ".join(keys)}'
                    )
        rods = tuple(rod for rod in spread.rods if not start.only or rod.key in start.only)
        return spread.model_copy(update={"rod": rods})


def own_folder() -> Path:
    """The folder of the user's own drills, which need not exist."""
    return config_dir() / "drills"


def all_drills() -> tuple[list[DrillFile], list[str]]:
    """All drills in order, the user's after the shipped ones, and a sentence for each file that is no drill."""
    found: list[DrillFile] = []
    wrong: list[str] = []
    for path in _paths():
        try:
            found.append(read_drill(path))
        except DrillError as fault:
            wrong.append(str(fault))
    own = own_folder()
    return sorted(found, key=lambda one: (one.path.parent == own, one.drill.order, one.id)), wrong


def find_drill(name: str) -> DrillFile:
    """Find a drill by its name or by the path of its file. Raises DrillError that names the nearest drill."""
    path = Path(name).expanduser()
    if path.suffix == ".toml" or is_file(path):
        return read_drill(path)
    paths = {path.stem: path for path in _paths()}
    if name in paths:
        return read_drill(paths[name])
    raise DrillError(
        f'there is no drill "{name}"{nearest(name, paths)}; accepted: {listed(sorted(paths))}, or a file'
    )


def _paths() -> Iterator[Path]:
    for folder in (SHIPPED, own_folder()):
        yield from sorted(folder.glob("*.toml"))


def read_drill(path: Path) -> DrillFile:
    """Read and check a drill file. Raises DrillError."""
    try:
        text = read_text(path, _LARGEST_BYTES)
    except FileNotFoundError:
        raise DrillError(f"{path}: no such file") from None
    except UnreadableError as error:
        raise DrillError(f"{path}: {error}") from None
    return parse_drill(text, path)


def parse_drill(text: str, path: Path) -> DrillFile:
    """As ``read_drill``, from text."""
    try:
        data = toml_of(text)
    except UnreadableError as error:
        raise DrillError(f"{path}: not valid TOML: {error}") from None
    try:
        drill = Drill.model_validate(data)
    except ValidationError as error:
        details = error.errors(include_url=False)
        details.sort(key=lambda d: d["type"] != "extra_forbidden")
        more = f" ({len(details) - 1} more faults in this file)" if len(details) > 1 else ""
        raise DrillError(printable(f"{path}: {_sentence(details[0])}{more}")) from None
    fault = _contradiction(drill)
    if fault:
        raise DrillError(f"{path}: {fault}")
    return DrillFile(path.stem, path, drill, text)


def _contradiction(drill: Drill) -> str:
    """The first fault that no single field shows; empty where there is none."""
    return next((fault for rule in _RULES for fault in rule(drill)), "")


def _of_strikes(drill: Drill) -> Iterator[str]:
    for i, strike in enumerate(drill.strike, start=1):
        if (strike.at_s is None) == (strike.turned is None):
            yield f"strike {i}: either at or turned is needed, and not both"


def _of_limits(drill: Drill) -> Iterator[str]:
    for i, limit in enumerate(drill.limit, start=1):
        if limit.most is None and limit.least is None:
            yield f"limit {i}: most or least is needed"


def _of_scores(drill: Drill) -> Iterator[str]:
    for i, worth in enumerate(drill.score, start=1):
        if worth.best == worth.worst:
            yield f"score {i}: best and worst are the same"


def _of_fish(drill: Drill) -> Iterator[str]:
    if drill.fish.zone_c[0] >= drill.fish.zone_c[1]:
        yield "fish: zone: the colder temperature stands first"


def _of_goal(drill: Drill) -> Iterator[str]:
    speeds = drill.goal.speed_m_s if drill.goal is not None else None
    if speeds is not None and speeds[0] >= speeds[1]:
        yield "goal: speed: the slower speed stands first"
    if drill.goal is None and drill.score:
        yield "score: without a goal nothing can be scored; add [goal]"
    if drill.goal is not None and not drill.score:
        yield "goal: without [[score]] nothing is scored; add at least one"


# The field that each kind of task needs.
_NEEDS = {"turn": "turn", "steer": "heading_rad", "speed": "speed_m_s", "length": "to_m", "depth": "between_m"}


def _of_tasks(drill: Drill) -> Iterator[str]:
    for i, task in enumerate(drill.task, start=1):
        field = _NEEDS.get(task.do)
        if field is not None and getattr(task, field) is None:
            yield f'task {i}: do = "{task.do}" needs {_alias(type(task), field)}'
        if task.between_m is not None and task.between_m[0] >= task.between_m[1]:
            yield f"task {i}: between: the shallower depth stands first"


def _of_places(drill: Drill) -> Iterator[str]:
    """Faults in the place to pass again, and in where lures are wanted."""
    if drill.again is not None and drill.again.rod not in {strike.rod for strike in drill.strike}:
        yield f'again: rod "{drill.again.rod}" is never struck; add a [[strike]] of it'
    if drill.wanted is not None:
        for field, band in (("over_bottom", drill.wanted.over_bottom_m), ("depth", drill.wanted.depth_m)):
            if band[0] >= band[1]:
                yield f"wanted: {field}: the lesser end stands first"
    measured = {one.measure for one in drill.score} | {one.measure for one in drill.limit}
    for measure, part, there in (
        ("place off", "again", drill.again), ("depth off", "again", drill.again), ("wanted", "wanted", drill.wanted)
    ):  # fmt: skip
        if measure in measured and there is None:
            yield f'score: "{measure}" needs [{part}]'


_RULES: tuple[Callable[[Drill], Iterator[str]], ...] = (
    _of_strikes, _of_limits, _of_scores, _of_fish, _of_goal, _of_tasks, _of_places,
)  # fmt: skip


def _alias(model: type[BaseModel], name: str) -> str:
    return model.model_fields[name].alias or name


def _sentence(error: ErrorDetails) -> str:
    model: type[BaseModel] | None = Drill
    words: list[str] = []
    for part in error["loc"]:
        if isinstance(part, int):
            words[-1] += f" {part + 1}" if words else ""
            continue
        words.append(str(part))
        if part != error["loc"][-1] and model is not None:
            model = _model_in(model, str(part))
    field = ".".join(words) or "drill"
    kind, given, context = error["type"], error["input"], error.get("ctx", {})
    if kind == "extra_forbidden":
        names = [info.alias or name for name, info in model.model_fields.items()] if model is not None else []
        return f"{field}: unknown field{nearest(words[-1], names)}; accepted: {', '.join(names)}"
    if kind == "missing":
        return f"{field}: is missing"
    accepted = str(context["expected"]) if kind == "literal_error" else error["msg"].removeprefix("Input should be ")
    if kind == "literal_error" and isinstance(given, str):
        accepted += nearest(given, [one.strip("' ") for one in accepted.replace(" or ", ", ").split(",")])
    return f"{field} = {show(given)}: accepted: {accepted}" if kind != "quantity" else f"{field}: {accepted}"


def _model_in(model: type[BaseModel], alias: str) -> type[BaseModel] | None:
    for name, info in model.model_fields.items():
        if (info.alias or name) == alias:
            return _first_model(info.annotation)
    return None


def _first_model(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    return next((found for found in map(_first_model, get_args(annotation)) if found is not None), None)
