"""Every limit of what the crew may enter: at it an entry counts, a little beyond it is refused."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any, get_args

import pytest
from pydantic import TypeAdapter, ValidationError

from sternwatch.logbook.actions.gear_acts import RodPlan
from sternwatch.logbook.actions.kinds import Action, ActionError, parse

# Field to its least and most; where the least is 0 and does not count itself, it is written as 1e-9.
NUMBERS = {
    "line_out_m": (0, 2000), "lead_m": (1e-9, 500), "length_m": (1e-9, 3), "mass_kg": (1e-9, 200),
    "depth_m": (0, 500),
    "temperature_c": (-2, 40), "rudder_deg": (-45, 45), "heading_deg": (0, 360), "lever": (0, 1),
    "for_s": (1e-9, 86400), "bottom_m": (0, 500), "latitude_deg": (-90, 90), "longitude_deg": (-180, 180),
    "towards_deg": (0, 360), "angle_deg": (0, 90), "pull_N": (1e-9, 5000), "error_m": (1e-9, 100),
    "error_deg": (1e-9, 45), "error_N": (1e-9, 1000),
    "gauge speed_m_s": (0, 10), "current speed_m_s": (0, 3), "observed speed_m_s": (1e-9, 10),
    "observed line_out_m": (1e-9, 2000),
}  # fmt: skip
TEXTS = {"setting": 40, "of": 40, "name": 60, "text": 500, "rod": 1, "to": 1}


def models(kind: Any) -> list[Any]:
    found: list[Any] = []
    for one in get_args(kind):
        found += [one] if hasattr(one, "model_fields") else models(one)
    return list(dict.fromkeys(found))


def bounded() -> dict[str, TypeAdapter[Any]]:
    return {
        f"{getattr(model.model_fields.get('kind'), 'default', 'part')} {name}": TypeAdapter(
            Annotated[field.annotation, field]
        )
        for model in [*models(Action), RodPlan]
        for name, field in model.model_fields.items()
        if any(hasattr(one, limit) for one in field.metadata for limit in ("ge", "gt", "le", "lt", "max_length"))
    }


def accepts(field: TypeAdapter[Any], value: object) -> bool:
    try:
        field.validate_python(value)
    except ValidationError:
        return False
    return True


def test_every_limit_of_an_entry_is_where_it_is_said() -> None:
    asked = 0
    for name, field in bounded().items():
        own = name.rpartition(" ")[2]
        if (limits := NUMBERS.get(name, NUMBERS.get(own))) is not None:
            low, high = map(float, limits)
            assert accepts(field, low), name
            assert accepts(field, high), name
            assert not accepts(field, low - max(abs(low), 1.0) * 1e-6), name
            assert not accepts(field, high * 1.000001), name
        elif own in TEXTS and any(accepts(field, "x" * n) for n in range(4)):
            assert accepts(field, "x"), name
            assert not accepts(field, ""), name
            assert accepts(field, "x" * TEXTS[own]), name
            assert not accepts(field, "x" * (TEXTS[own] + 1)), name
        else:
            continue
        asked += 1
    assert asked >= 55


@pytest.mark.parametrize(("year", "kept"), [(1899, False), (1900, True), (2199, True), (2200, False)])
def test_a_moment_of_three_centuries_is_kept(year: int, kept: bool) -> None:
    given = {"id": "a", "time": f"{year}-06-01T12:00:00Z", "kind": "hit", "rod": "3"}
    if kept:
        assert parse(given).time.year == year
    else:
        with pytest.raises(ActionError, match="is not accepted"):
            parse(given)


@pytest.mark.parametrize(("length", "shown"), [(60, "x" * 58), (61, "x" * 56 + "…")])
def test_a_long_value_is_cut_in_what_is_said_of_it(length: int, shown: str) -> None:
    from sternwatch.logbook.actions.kinds import _shown

    assert _shown("x" * (length - 2)).strip('"') == shown


ROD = {"rod": "3"}


@pytest.mark.parametrize(
    ("kind", "fields", "many", "limits"),
    [
        ("change", {**ROD, "what": "rig", "name": "n"}, lambda n: {"chain": [{}] * n}, (1, 40)),
        ("change", {**ROD, "what": "lure"}, lambda n: {"name": "x" * n}, (1, 60)),
        ("change", {**ROD, "what": "lure", "name": "n"}, lambda n: {"tackle": {"x" * n: {}}}, (1, 60)),
        ("planned", {}, lambda n: {"rods": [{"rod": "1"}] * n}, (1, 20)),
        ("acknowledge", {}, lambda n: {"alert": "x" * n}, (1, None)),
        ("ran", {"since": "2026-07-18T23:00:00Z"}, lambda n: {"keys": ["1"] * n}, (1, None)),
        ("ran", {"since": "2026-07-18T23:00:00Z"}, lambda n: {"keys": ["1" * n]}, (1, 1)),
        ("trip", {}, lambda n: {"wind": "x" * n}, (None, 200)),
        ("trip", {}, lambda n: {"target": ["x" * n]}, (1, 40)),
        ("hit", ROD, lambda n: {"part_of": "x" * n}, (1, 40)),
        ("trip", {}, lambda n: {"people": n}, (1, 50)),
        ("trip", {}, lambda n: {"limits": {"coho": n}}, (0, 1000)),
        ("trip", {}, lambda n: {"utc_offset_min": n}, (-900, 900)),
    ],
)
def test_every_count_in_an_entry_has_its_limits(
    kind: str, fields: dict[str, Any], many: Callable[[int], dict[str, Any]], limits: tuple[int | None, int | None]
) -> None:
    def taken(n: int) -> bool:
        try:
            parse({"id": "a", "time": "2026-07-18T23:00:00Z", "kind": kind, **fields, **many(n)})
        except ActionError:
            return False
        return True

    low, high = limits
    assert low is None or [taken(low), taken(low - 1)] == [True, False]
    assert high is None or [taken(high), taken(high + 1)] == [True, False]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"what": "mended"}, "instruments mended"), ({"what": "dropout"}, "dropout: every instrument"),
        ({"what": "dropout", "sensor": "gps", "for_s": 60.0}, "dropout: gps, for 60 s"),
        ({"what": "dropout", "sensor": "all"}, "dropout: every instrument"),
    ],
)  # fmt: skip
def test_a_fault_of_practice_in_words(fields: dict[str, Any], said: str) -> None:
    given = {"id": "a", "time": "2026-07-18T23:00:00Z", "kind": "fault", **fields}
    made: Any = parse(given)
    assert made.words == said
    with pytest.raises(ActionError):
        parse({**given, "what": "mended", "sensor": "gps"})
    with pytest.raises(ActionError):
        parse({**given, "what": "mended", "sensor": None, "for_s": 5.0})
