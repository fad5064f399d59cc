"""What the entry that was just made did: whether the gate it was for stands, what an answer about the car changed."""

from __future__ import annotations

from teardown.car.answers import KINDS, loss_of
from teardown.car.gates import GateView
from teardown.car.log import Entry
from teardown.car.steps import Standing, shut_since

JUDGED = ("gate-reading", "gate-figure")


def judged_gate(standing: Standing, entry: Entry) -> GateView | None:
    """The gate that an entry was read or counted for, as it stands now."""
    return standing.gates[entry.fields["gate"]] if entry.kind in JUDGED else None


def why_it_is_shut(view: GateView | None) -> list[str]:
    """Why the gate does not stand, and how its figure came about; nothing where it stands."""
    return [] if view is None or view.stands else [f"{view.gate.title}: {view.why}", *view.working]


def what_an_answer_changed(before: Standing, after: Standing, entry: Entry) -> list[str]:
    """What nobody is asked for any more, and which gates it shut; nothing of an entry that is no answer."""
    if entry.kind not in KINDS:
        return []
    lost = ""
    if entry.fields.get("fitted") == "no":
        lost = loss_of(after.state.route, after.state.facts, entry.fields["feature"]).in_words()
    told = {"Nobody asks any more for": lost, "Shut now": ", ".join(shut_since(before, after))}
    return [f"{words}: {names}" for words, names in told.items() if names]
