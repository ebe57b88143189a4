"""Materials of lines: densities, stiffness and drag, each with its source.

Sources: "Callister" is Callister & Rethwisch, Materials Science and Engineering (tables of densities and moduli);
"fibre handbook" is Morton & Hearle, Physical Properties of Textile Fibres. "memory" marks values that no
publication at hand confirms: they may be off by a tenth and more, and any of them can be given in the spread
file instead.
"""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.gear.values.defaults import STRUMMING, STRUMMING_ALONG, STRUMMING_SOFT, Default


@dataclass(frozen=True, slots=True)
class Material:
    """A kind of line.

    ``density_kg_m3`` is the solid's. ``fill`` is the solid share of the circle of the outside diameter (water fills
    the holes of strands and braids). A grade sold by its breaking load has ``mass_kg_m`` and ``diameter_m`` of its
    own. ``normal_drag`` is None where a smooth cylinder's drag by Reynolds number holds. The axial stiffness is
    ``modulus_Pa`` times the solid's area, unless ``stiffness_N`` is known.
    """

    name: str
    density_kg_m3: float
    modulus_Pa: float
    source: str
    fill: float = 1.0
    normal_drag: float | None = None
    mass_kg_m: float | None = None
    diameter_m: float | None = None
    stiffness_N: float | None = None
    metal: bool = False
    strumming: Default = STRUMMING  # used where no drag is given
    composite: bool = False  # the whole circle displaces water, whatever the core's density


# Rope and braid: the middle of Cn 1.2 to 1.8 (towing-cable practice; memory).
_BRAID_CN = 1.5

_ALL = (
    Material("stainless steel", 8000.0, 193e9, "Callister (304)", metal=True),
    Material("steel", 7850.0, 207e9, "Callister (plain carbon)", metal=True),
    Material("copper", 8960.0, 110e9, "Callister (density 8900 to 8960)", metal=True, strumming=STRUMMING_ALONG),
    Material(
        "stranded copper", 8960.0, 110e9,
        "Callister; fill from the 45 lb grade's 4.8 g/m at 0.94 mm, memory", fill=0.77, metal=True,
        strumming=STRUMMING_ALONG,
    ),
    Material(
        "copper 45 lb", 8960.0, 110e9, "4.8 g/m, 0.94 mm stranded: memory", fill=0.77,
        mass_kg_m=4.8e-3, diameter_m=0.94e-3, metal=True, strumming=STRUMMING_ALONG,
    ),
    # A soft lead core in a braided sheath of nylon or polyester; the sheath alone carries the load.
    Material(
        "lead-core 27 lb", 11340.0, 0.0,
        "2.42 g/m: 114 grains in 10 ft (a maker's figure, read); 0.85 mm outside and stiffness: memory",
        mass_kg_m=2.42e-3, diameter_m=0.85e-3, stiffness_N=1200.0, composite=True,
        strumming=STRUMMING_ALONG,
    ),
    Material(
        "lead-core 18 lb", 11340.0, 0.0,
        "2.34 g/m: 110 grains in 10 ft (a maker's figure, read); 0.75 mm outside: memory, doubtful",
        mass_kg_m=2.34e-3, diameter_m=0.75e-3, stiffness_N=900.0, composite=True,
        strumming=STRUMMING_ALONG,
    ),
    Material(
        "lead-core 36 lb", 11340.0, 0.0,
        "2.51 g/m: 118 grains in 10 ft (a maker's figure, read); 0.94 mm outside: memory, doubtful",
        mass_kg_m=2.51e-3, diameter_m=0.94e-3, stiffness_N=1600.0, composite=True,
        strumming=STRUMMING_ALONG,
    ),
    Material("nylon", 1140.0, 2.5e9, "fibre handbook (1130 to 1150); modulus of a drawn monofilament: memory",
             strumming=STRUMMING_SOFT),
    Material("polyester", 1390.0, 10e9, "fibre handbook (1380 to 1400)", fill=0.75, normal_drag=_BRAID_CN),
    # The fibre has 117 GPa; a braid is looser than its fibres by half or more (memory).
    Material(
        "UHMWPE braid", 970.0, 60e9, "fibre handbook (960 to 970, fibre 117 GPa); braid's fill and modulus: memory",
        fill=0.7, normal_drag=_BRAID_CN,
    ),
    Material("fluorocarbon", 1780.0, 2.0e9, "PVDF 1770 to 1790: memory; modulus: memory",
             strumming=STRUMMING_SOFT),
)  # fmt: skip

MATERIALS: dict[str, Material] = {m.name: m for m in _ALL}

# The trade's short names.
SHORT_NAMES: dict[str, str] = {
    "stainless": "stainless steel",
    "lead-core": "lead-core 27 lb",
    "braid": "UHMWPE braid",
    "UHMWPE": "UHMWPE braid",
    "mono": "nylon",
    "monofilament": "nylon",
    "PVDF": "fluorocarbon",
}


def find_material(name: str) -> Material | None:
    """The material of that name or short name; None if there is none."""
    return MATERIALS.get(SHORT_NAMES.get(name, name))
