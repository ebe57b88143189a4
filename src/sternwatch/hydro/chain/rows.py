"""Packs chains into padded arrays for the transient kernel, one row for each chain.

A row's nodes run from the rod tip (node 0) outward; segment k joins nodes k and k + 1. Every Line has at least one
segment, every Body a node. Padding nodes come after the last real one; padding bodies have node -1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.chain.cutting import counts_of
from sternwatch.hydro.chain.forces import BODY_FIELDS, LINE_FIELDS, body_numbers, line_numbers
from sternwatch.hydro.chain.model import Body, Chain, Line

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

# Columns of a rod line's numbers.
ROD_FIELDS = 4
R_PULL = 0  # [N]
R_NORMAL = 1  # 0.5 rho d [kg/m2]
R_CN = 2  # as given, or negative: from the Reynolds number
R_RE = 3  # d / nu [s/m]


@dataclass(frozen=True)
class Flow:
    """Water velocity relative to the surface water: [north, east] at depths, linear between, constant outside.

    ``depths_m`` (k,) increasing; ``velocity_m_s`` (k, 2), or (rows, k, 2) where rows have their own.
    """

    depths_m: Floats
    velocity_m_s: Floats

    def __post_init__(self) -> None:
        # Copies: for a read-only or strided array the kernel would compile again.
        depths = np.array(self.depths_m, dtype=np.float64, order="C")
        velocity = np.array(self.velocity_m_s, dtype=np.float64, order="C")
        if depths.ndim != 1 or velocity.shape[-2:] != (len(depths), 2) or velocity.ndim not in (2, 3):
            raise ValueError("a current needs depths (k,) and velocities (k, 2) or (rows, k, 2)")
        if not (np.isfinite(depths).all() and np.isfinite(velocity).all()) or (np.diff(depths) <= 0.0).any():
            raise ValueError("a current's depths must increase and all its numbers be finite")
        object.__setattr__(self, "depths_m", depths)
        object.__setattr__(self, "velocity_m_s", velocity)

    def by_row(self, rows: int) -> Floats:
        """(rows or 1, k, 2) for the kernel."""
        velocity = self.velocity_m_s if self.velocity_m_s.ndim == 3 else self.velocity_m_s[None]
        if velocity.shape[0] not in (1, rows):
            raise ValueError(f"the current has {velocity.shape[0]} rows, the chains {rows}")
        return velocity

    def at(self, depth_m: Floats) -> Floats:
        """Velocity (..., 3) at depths (...). Needs one profile for all rows."""
        out = np.zeros((*np.shape(depth_m), 3))
        if len(self.depths_m):
            for axis in range(2):
                out[..., axis] = np.interp(depth_m, self.depths_m, self.velocity_m_s[:, axis])
        return out


STILL = Flow(np.zeros(0), np.zeros((0, 2)))


@dataclass(frozen=True)
class Rows:
    """Padded arrays: n rows, N nodes, S = N - 1 segments, at most B bodies. Read-only by convention."""

    n_nodes: Ints  # (n,) the tip counts
    arc_m: Floats  # (n, N) unstretched arc length of each node from the tip; padding repeats the last
    rest_m: Floats  # (n, S) unstretched length of each segment
    line: Floats  # (n, S, LINE_FIELDS)
    first_segments: Ints  # (n,) number of segments of the first Line
    body: Floats  # (n, B, BODY_FIELDS)
    body_node: Ints  # (n, B) node of the i-th Body in chain order, or -1
    node_body: Ints  # (n, N) the inverse, or -1
    tip_m: Floats  # (n, 3) rod tips in boat axes
    rod_node: Ints  # (n,) node at which a rod line pulls, or -1
    rod: Floats  # (n, ROD_FIELDS)
    rod_tip_m: Floats  # (n, 3) its tip in boat axes
    density_kg_m3: float
    viscosity_m2_s: float

    def __len__(self) -> int:
        return int(self.n_nodes.shape[0])

    @property
    def nodes(self) -> int:
        """N, padding included."""
        return int(self.arc_m.shape[1])

    @cached_property
    def has_rod_lines(self) -> bool:
        """Whether a rod line pulls at any of the chains."""
        return bool((self.rod_node >= 0).any())

    @cached_property
    def first_bodies(self) -> Ints:
        """The nodes of the first row's bodies, in chain order."""
        nodes: Ints = self.body_node[0][self.body_node[0] >= 0]
        return nodes

    def take(self, indices: Sequence[int] | Ints) -> Rows:
        """The given rows in that order; an index may repeat."""
        at = np.asarray(indices, dtype=np.int64)
        arrays = {f.name: getattr(self, f.name)[at] for f in fields(self) if f.name not in _SHARED}
        return replace(self, **arrays)


_SHARED = ("density_kg_m3", "viscosity_m2_s")


def stacked(several: Sequence[Rows]) -> Rows:
    """All their rows, in order. They must have as many nodes and one water; where there are fewer bodies, padding."""
    bodies = max(rows.body.shape[1] for rows in several)

    def padded(rows: Rows, name: str) -> Floats | Ints:
        given: Floats | Ints = getattr(rows, name)
        if name not in ("body", "body_node") or given.shape[1] == bodies:
            return given
        made = np.full((len(rows), bodies, *given.shape[2:]), -1 if name == "body_node" else 0, dtype=given.dtype)
        made[:, : given.shape[1]] = given
        return made

    names = [f.name for f in fields(Rows) if f.name not in _SHARED]
    arrays: dict[str, Any] = {name: np.concatenate([padded(rows, name) for rows in several]) for name in names}
    return replace(several[0], **arrays)


def _check(number: int, chain: Chain) -> None:
    what = f"chain {number}"
    if not chain.items or not isinstance(chain.items[0], Line):
        raise ValueError(f"{what}: the first item must be a Line")
    for item, following in zip(chain.items, (*chain.items[1:], None), strict=True):
        if isinstance(item, Body):
            if isinstance(following, Body):
                raise ValueError(f"{what}: two Bodies without a Line between; merge them")
            continue
        if not item.length_m > 0.0 or not np.isfinite(item.length_m):
            raise ValueError(f"{what}: a Line's length must be positive, not {item.length_m}")
        for name in ("diameter_m", "mass_kg_m", "stiffness_N"):
            value = getattr(item, name)
            if not value > 0.0 or not np.isfinite(value):
                raise ValueError(f"{what}: a Line's {name} must be positive, not {value}")


def pack(
    chains: Sequence[Chain], *, segments: int | Sequence[int] = 12, density_kg_m3: float, viscosity_m2_s: float,
    cut_as: Sequence[int] | None = None,
) -> Rows:  # fmt: skip
    """Chains as rows of ``segments`` segments: one number for all, or one for each (more where it has more Lines).

    ``cut_as``: the number of the chain as which each is cut, so that tackle is at the same nodes and both can be
    moved side by side. One with other Lines and Bodies than that, and all by default, is cut as suits itself.

    Raises ValueError for a chain that does not begin with a Line, has neighbouring Bodies or two rod lines, or a
    Line without length, diameter, mass or stiffness.
    """
    wanted = [segments] * len(chains) if isinstance(segments, int) else segments
    counts: list[Sequence[int]] = []
    known: dict[tuple[int, int], Sequence[int]] = {}
    for number, (chain, share) in enumerate(zip(chains, wanted, strict=True)):
        _check(number, chain)
        like = number if cut_as is None else cut_as[number]
        if [type(item) for item in chains[like].items] != [type(item) for item in chain.items]:
            like = number
        if (like, share) not in known:
            known[like, share] = counts_of(chains[like], share, density_kg_m3)
        counts.append(known[like, share])
    n = len(chains)
    most = max((sum(c) for c in counts), default=1)
    bodies = max((sum(isinstance(i, Body) for i in chain.items) for chain in chains), default=0)
    rest = np.zeros((n, most))
    line = np.zeros((n, most, LINE_FIELDS))
    body = np.zeros((n, max(bodies, 1), BODY_FIELDS))
    body_node = np.full((n, max(bodies, 1)), -1, dtype=np.int64)
    node_body = np.full((n, most + 1), -1, dtype=np.int64)
    rod_node = np.full(n, -1, dtype=np.int64)
    rod = np.zeros((n, ROD_FIELDS))
    rod_tip = np.zeros((n, 3))
    for row, chain in enumerate(chains):
        node, which_line, which_body = 0, 0, 0
        for item in chain.items:
            if isinstance(item, Line):
                m = counts[row][which_line]
                rest[row, node : node + m] = item.length_m / m
                line[row, node : node + m] = line_numbers(item, density_kg_m3, viscosity_m2_s)
                node += m
                which_line += 1
                continue
            body[row, which_body] = body_numbers(item, density_kg_m3)
            body_node[row, which_body] = node
            node_body[row, node] = which_body
            which_body += 1
            if item.rod_line is not None:
                if rod_node[row] >= 0:
                    raise ValueError(f"chain {row}: only one body may carry a rod line")
                own = item.rod_line
                rod_node[row] = node
                rod_tip[row] = own.tip_m
                rod[row] = (
                    own.pull_N,
                    0.5 * density_kg_m3 * own.diameter_m,
                    -1.0 if own.normal_drag is None else own.normal_drag,
                    own.diameter_m / viscosity_m2_s,
                )
    return Rows(
        n_nodes=np.array([sum(c) + 1 for c in counts], dtype=np.int64),
        arc_m=np.concatenate([np.zeros((n, 1)), np.cumsum(rest, axis=1)], axis=1),
        rest_m=rest,
        line=line,
        first_segments=np.array([c[0] for c in counts], dtype=np.int64),
        body=body,
        body_node=body_node,
        node_body=node_body,
        tip_m=np.array([c.tip_m for c in chains], dtype=np.float64).reshape(n, 3),
        rod_node=rod_node,
        rod=rod,
        rod_tip_m=rod_tip,
        density_kg_m3=density_kg_m3,
        viscosity_m2_s=viscosity_m2_s,
    )
