"""The spread in force: the file's, and what the crew has changed of it since. What the logbook's fold asks of gear.

A spread and the changes that count make the spread in force, live and in a replay alike; so whatever asks for it gets
the same, and an entry taken back is as if it had never been made.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from sternwatch.gear.editing import changes
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Change, Move
from sternwatch.logbook.crew.state import Crew, Gear, GearError, RodDefaults


@dataclass(frozen=True, eq=False)
class Rigging:
    """A spread as rigged now. The same changes give the very same object, so that it can be told by identity."""

    spread: Spread
    rods: tuple[RodDefaults, ...]
    _after: dict[str, tuple[Change | Move, Rigging]] = field(default_factory=dict, repr=False)

    @classmethod
    def of(cls, spread: Spread) -> Rigging:
        """As in the file, or after a change."""
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
        """After a change. Raises GearError."""
        known = self._after.get(act.id)
        if known is None or known[0] != act:
            try:
                known = act, Rigging.of(spread_after(self.spread, act))
            except changes.ChangeError as fault:
                raise GearError(str(fault)) from fault
            self._after[act.id] = known
        return known[1]


def spread_after(spread: Spread, act: Change | Move) -> Spread:
    """A spread after one change. Raises ChangeError for what cannot be."""
    if isinstance(act, Move):
        return changes.moved(spread, act.rod, act.to)
    spread = changes.with_pieces(spread, act.line or {}, act.tackle or {})
    if act.what == "rig":
        return changes.with_rig(spread, act.rod, act.chain or ())
    if act.what == "leader":
        return changes.with_leader(spread, act.rod, act.chain or ())
    return changes.with_tackle(spread, act.rod, act.what, act.name)


def spread_of(crew: Crew, spread: Spread) -> Spread:
    """The spread in force for a crew; ``spread``: where nobody knows what hangs from its rods."""
    return crew.gear.spread if isinstance(crew.gear, Rigging) else spread
