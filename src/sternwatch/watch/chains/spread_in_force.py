"""The spread in force: the file's spread with the crew's changes. The logbook's fold asks it about gear.

A spread and the changes that count make the spread in force, live and in a replay alike. So everybody who asks gets
the same spread, and an entry taken back has no effect.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from sternwatch.gear.editing import changes
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Change, Move
from sternwatch.logbook.crew.state import Crew, Gear, GearError, RodDefaults


@dataclass(frozen=True, eq=False)
class Rigging:
    """A spread as rigged now. The same changes give the same object, so identity tells whether it changed."""

    spread: Spread
    rods: tuple[RodDefaults, ...]
    _after: dict[str, tuple[Change | Move, Rigging]] = field(default_factory=dict)

    @classmethod
    def of(cls, spread: Spread) -> Rigging:
        """The file's spread, or the spread after a change."""
        return cls(
            spread,
            tuple(
                RodDefaults(
                    key=rod.key,
                    name=rod.name,
                    line_out_m=rod.line_out_m,
                    setting=spread.setting(rod),
                    lead_m=rod.lead_m,
                    settings=spread.settings(rod),
                )
                for rod in spread.rods
            ),
        )

    def changed(self, act: Change | Move) -> Gear:
        """The spread after a change. Raises GearError."""
        known = self._after.get(act.id)
        if known is None or known[0] != act:
            try:
                known = act, Rigging.of(spread_after(self.spread, act))
            except changes.ChangeError as fault:
                raise GearError(str(fault)) from fault
            self._after[act.id] = known
        return known[1]


def spread_after(spread: Spread, act: Change | Move) -> Spread:
    """A spread after one change. Raises ChangeError for an impossible one."""
    if isinstance(act, Move):
        return changes.moved(spread, act.rod, act.to)
    spread = changes.with_pieces(spread, act.line or {}, act.tackle or {})
    if act.what == "rig":
        return changes.with_rig(spread, act.rod, act.chain or ())
    if act.what == "leader":
        return changes.with_leader(spread, act.rod, act.chain or ())
    return changes.with_tackle(spread, act.rod, act.what, act.name)


def spread_of(crew: Crew, spread: Spread) -> Spread:
    """The spread in force for a crew. ``spread``: used where nobody knows how the rods are rigged."""
    return crew.gear.spread if isinstance(crew.gear, Rigging) else spread
