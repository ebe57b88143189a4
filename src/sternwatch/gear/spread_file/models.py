"""The spread file's models: boat, water, lines, tackle and rods. Frozen; unknown fields are refused.

Python names carry their SI unit; the names in the file are the aliases. The module ``rules`` finds faults that need
more than one field (an unknown line, two lengths with ``out``, a diver for the wrong side). A spread from
:func:`sternwatch.gear.spread_file.load.load_spread` has passed both.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Discriminator,
    Field,
    PrivateAttr,
    StrictBool,
    StrictInt,
    Tag,
    WithJsonSchema,
    field_validator,
)

from sternwatch.gear.spread_file.known import Known, PriorSpec
from sternwatch.gear.spread_file.lines import LineSpec
from sternwatch.gear.spread_file.tackle import Label, Tackle
from sternwatch.gear.values.quantities import (
    Abeam,
    Bearing,
    Density,
    ForceAboveZero,
    Length,
    LengthAboveZero,
    LineDiameter,
    Number,
    SignedLength,
    Speed,
    Temperature,
    Viscosity,
    refuse,
)

ROD_KEYS = "1234567890-="  # the number row shows the stern, port to starboard
USUAL_M_S = 2.3 * 0.44704  # common practice, no source
SIDES = ("port", "starboard", "centre")
Side = Literal["port", "starboard", "centre"]
CounterZero = Literal["tip", "water", "lure at water"]


class _Model(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


def _rod_key(given: Any) -> str:
    accepted = " ".join(ROD_KEYS)
    if not isinstance(given, str):
        raise refuse("rod_key", f'a rod key is text, for example "1"; one of {accepted}')
    if len(given) != 1 or given not in ROD_KEYS:
        raise refuse("rod_key", f"a rod key is one of {accepted}")
    return given


RodKey = Annotated[str, BeforeValidator(_rod_key), WithJsonSchema({"type": "string", "enum": list(ROD_KEYS)})]


class Required(_Model):
    """Distances that two chains must keep: bare line to line, tackle to anything; in full from ``taper`` of arc on.

    The defaults are memory: no publication says at what distance two towed lines foul.
    """

    line_m: Length = Field(default=0.3, alias="line")
    tackle_m: Length = Field(default=1.5, alias="tackle")
    taper_m: LengthAboveZero = Field(default=30.0, alias="taper")


class Boat(_Model):
    name: str = Field(default="boat", min_length=1, max_length=40)
    beam_m: LengthAboveZero | None = Field(default=None, alias="beam")
    trolling_m_s: Speed | None = Field(
        default=None, alias="trolling_speed", gt=0, description="usual, through the water: what is planned for"
    )
    people: StrictInt | None = Field(default=None, ge=1, le=50)
    rods_per_person: StrictInt | None = Field(default=None, ge=1, le=12)
    net_reach_m: LengthAboveZero | None = Field(default=None, alias="net_reach", description="rod butt to net hoop")
    antenna_m: SignedLength = Field(default=0.0, alias="antenna", description="forward of the transom")
    transducer_depth_m: Length | None = Field(default=None, alias="transducer_depth", description="below the surface")
    required: Required = Field(default_factory=lambda: Required.model_validate({}))

    @property
    def usual_m_s(self) -> float:
        """The planned speed through the water: the boat's own, else a common one."""
        return USUAL_M_S if self.trolling_m_s is None else self.trolling_m_s


class CurrentLayer(_Model):
    """The water's velocity at a depth: linear between layers, constant beyond the first and last."""

    depth_m: Length = Field(alias="depth")
    speed_m_s: Speed = Field(alias="speed")
    towards_rad: Bearing = Field(alias="towards", description="true direction it flows to")


class ProfilePoint(_Model):
    """A temperature at a depth."""

    depth_m: Length = Field(alias="depth")
    temperature_c: Temperature = Field(alias="temperature")


class WaterSpec(_Model):
    """Fresh water as the file gives it. Values left out follow from the temperature."""

    temperature_c: Temperature = Field(default=10.0, alias="temperature")
    density_kg_m3: Density | None = Field(default=None, alias="density")
    viscosity_m2_s: Viscosity | None = Field(default=None, alias="kinematic_viscosity")
    current: tuple[CurrentLayer, ...] = ()
    profile: tuple[ProfilePoint, ...] = ()


class LineItem(_Model):
    """A length of line in a chain: exactly one item of a chain has ``out``, all others ``length``."""

    line: str
    out_m: LengthAboveZero | None = Field(default=None, alias="out", description="the counter's length, at the tip")
    length_m: LengthAboveZero | None = Field(default=None, alias="length")
    adjust: StrictBool = False


class TackleItem(_Model):
    """A piece of tackle in a chain."""

    tackle: str
    setting: Label | None = None
    side: Side | None = Field(default=None, description="where a diver or board pulls, if not to the rod's side")
    crossing: StrictBool = Field(default=False, description="the other side is meant")
    tripped: StrictBool = False


def _item_kind(given: Any) -> str | None:
    if isinstance(given, LineItem):
        return "line"
    if isinstance(given, TackleItem):
        return "tackle"
    if isinstance(given, dict):
        kinds = [kind for kind in ("line", "tackle") if kind in given]
        return kinds[0] if len(kinds) == 1 else None
    return None


Item = Annotated[
    Annotated[LineItem, Tag("line")] | Annotated[TackleItem, Tag("tackle")],
    Discriminator(
        _item_kind,
        custom_error_type="item_kind",
        custom_error_message="an item is either line, { line = … }, or a piece of tackle, { tackle = … }",
    ),
]


class Tip(_Model):
    """The rod tip: aft of the transom, abeam toward the rod's side, above still water.

    For a line clipped to a mast's tow line the tip is the clip, which carries the line from there on, and ``out`` is
    the length behind the clip.
    """

    astern_m: SignedLength = Field(default=0.0, alias="astern")
    abeam_m: Abeam = Field(default=0.0, alias="abeam", description="toward the rod's side")
    height_m: Length = Field(alias="height")


class Counter(_Model):
    """The reel's counter: what was at the tip or the water when it read zero, and true length per length read."""

    zero: CounterZero | None = None
    scale: Number = Field(default=1.0, gt=0.2, lt=5)
    taped: bool = Field(
        default=False, description="whether it was checked against a tape; the scale is what was found"
    )

    @property
    def checked(self) -> bool:
        """Whether its readings were checked: the file says so, or gives a scale other than one."""
        return self.taped or self.scale != 1.0

    per_pass_m: LengthAboveZero | None = Field(
        default=None, alias="per_pass", description="without a counter: line that one pass across the reel lays on"
    )


class RodLineSpec(_Model):
    """The line from the rod to a downrigger's release, whose pull loads the ball."""

    line: str
    tip: Tip
    pull_N: ForceAboveZero | None = Field(default=None, alias="pull")
    diameter_m: LineDiameter | None = Field(default=None, alias="diameter")


class ClippedTo(_Model):
    """Where on another rod's cable a line is clipped."""

    rod: RodKey
    above_ball_m: LengthAboveZero = Field(alias="above_ball")


def _name(given: str) -> str:
    if len(given) > 8:
        raise refuse("rod_name", f"a rod's name has at most 8 letters; this has {len(given)}")
    if not given.strip() or not given.isprintable():
        raise refuse("rod_name", "a rod's name is 1 to 8 printable letters")
    return given


class Rod(_Model):
    """One rod and its chain, in order outward."""

    key: RodKey
    name: Annotated[str, AfterValidator(_name)] = Field(json_schema_extra={"minLength": 1, "maxLength": 8})
    side: Side
    tip: Tip | None = None
    counter: Counter = Field(default_factory=lambda: Counter.model_validate({}))
    target_depth_m: Length | None = Field(default=None, alias="target_depth")
    rod_length_m: LengthAboveZero | None = Field(default=None, alias="rod_length")
    speeds_m_s: tuple[Speed, Speed] | None = Field(
        default=None, alias="speeds", description="slowest and fastest at which its lure works, through the water"
    )
    rod_line: RodLineSpec | None = None
    clipped_to: ClippedTo | None = None
    crossing: StrictBool = Field(default=False, description="a diver set for the other side is meant")
    bottom: Literal["on purpose"] | None = None
    clearance_m: Length | None = Field(
        default=None, alias="clearance", description="wanted, if on the bottom on purpose"
    )
    chain: Annotated[tuple[Item, ...], Field(json_schema_extra={"minItems": 1})]

    @field_validator("speeds_m_s")
    @classmethod
    def _slow_then_fast(cls, given: tuple[float, float] | None) -> tuple[float, float] | None:
        if given is not None and not given[0] < given[1]:
            raise refuse("speeds", 'the slower one comes first, for example speeds = ["1.8 mph", "2.6 mph"]')
        return given

    @property
    def sign(self) -> float:
        """+1 to starboard, -1 to port, 0 for a rod at the centre."""
        return {"port": -1.0, "starboard": 1.0, "centre": 0.0}[self.side]

    @property
    def tip_abeam_m(self) -> float:
        """The tip's distance to starboard (negative to port); 0 for a rod clipped to another's cable."""
        return self.sign * self.tip.abeam_m if self.tip is not None else 0.0

    @property
    def out_index(self) -> int | None:
        """The index of the chain's item with ``out``; None for a rod clipped to another's cable."""
        for i, item in enumerate(self.chain):  # no generator: it is asked for twenty times a step
            if isinstance(item, LineItem) and item.out_m is not None:
                return i
        return None

    @property
    def line_out_m(self) -> float | None:
        """The line out in the file, as a counter reading."""
        index = self.out_index
        item = self.chain[index] if index is not None else None
        return item.out_m if isinstance(item, LineItem) else None

    @property
    def deployed(self) -> tuple[LineItem | TackleItem, ...]:
        """The items past the rod tip: those before the one with ``out`` are still on the reel."""
        return self.chain[self.out_index or 0 :]

    @property
    def lead_m(self) -> float | None:
        """The file's length for the item with ``adjust``."""
        lengths = (item.length_m for item in self.chain if isinstance(item, LineItem) and item.adjust)
        return next(lengths, None)


class Spread(_Model):
    """All rods, with their lines and tackle."""

    boat: Boat = Field(default_factory=lambda: Boat.model_validate({}))
    water: WaterSpec = Field(default_factory=lambda: WaterSpec.model_validate({}))
    line: dict[str, LineSpec] = Field(default_factory=dict)
    tackle: dict[str, Tackle] = Field(default_factory=dict)
    rod: Annotated[tuple[Rod, ...], Field(json_schema_extra={"minItems": 1})]
    prior: dict[str, PriorSpec] = Field(default_factory=dict, description="ranges of your own, by name")
    known: tuple[Known, ...] = Field(default=(), description="what the crew already knows of its rods")
    _values: Mapping[str, float] = PrivateAttr(default_factory=dict)

    @property
    def values(self) -> Mapping[str, float]:
        """Factors and shifts of uncertain quantities by name (see ``uncertain``); the others are as in the file."""
        own = self.__pydantic_private__  # the attribute itself takes ten times as long, and a start asks often
        assert own is not None
        values: Mapping[str, float] = own["_values"]
        return values

    def with_values(self, values: Mapping[str, float]) -> Spread:
        """A copy of the spread with these factors and shifts in place of its own. Further copies keep them."""
        own = self.model_copy()
        own._values = dict(values)
        return own

    @property
    def rods(self) -> tuple[Rod, ...]:
        """The rods in file order."""
        return self.rod

    def rod_by_key(self, key: str) -> Rod | None:
        """The rod with that key, or None."""
        return next((rod for rod in self.rod if rod.key == key), None)

    def setting_item(self, rod: Rod) -> TackleItem | None:
        """The first deployed diver of a rod, whose setting the keys change."""
        for item in rod.deployed:
            if isinstance(item, TackleItem) and self.tackle[item.tackle].kind == "diver":
                return item
        return None

    def settings(self, rod: Rod) -> tuple[str, ...]:
        """The settings of a rod's diver by label, in file order; empty without a diver.

        At the centre a diver without a side can only be set straight.
        """
        item = self.setting_item(rod)
        found = self.tackle[item.tackle] if item is not None else None
        if item is None or found is None or found.kind != "diver":
            return ()
        sided = (item.side or rod.side) != "centre"
        return tuple(label for label, roll in found.settings.items() if sided or roll == 0)

    def setting(self, rod: Rod) -> str | None:
        """The label of the setting that a rod's diver has in the file."""
        item = self.setting_item(rod)
        return item.setting if item is not None else None
