"""What a gate says to the reading or the figure that was just entered for it: written is not yet standing."""

from __future__ import annotations

from teardown.car.gates import GateView
from teardown.car.log import Entry
from teardown.car.steps import Standing

JUDGED = ("gate-reading", "gate-figure")


def judged_gate(standing: Standing, entry: Entry) -> GateView | None:
    """The gate that an entry was read or counted for, as it stands now."""
    return standing.gates[entry.fields["gate"]] if entry.kind in JUDGED else None


def why_it_is_shut(view: GateView | None) -> list[str]:
    """Why the gate does not stand, and how its figure came about; nothing where it stands."""
    return [] if view is None or view.stands else [f"{view.gate.title}: {view.why}", *view.working]
