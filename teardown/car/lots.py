"""Several parts on one reading: what each has of it, once some of them have been weighed again by themselves."""

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from teardown.car.state import State
    from teardown.car.tally_values import Weight


class Lot(NamedTuple):
    """One reading of several parts. `apart` are those weighed again since, with what was written of them then; `rest`
    share what is left, and `left_kg` is that."""

    entry: int
    reading: str
    kg: float
    rest: tuple[str, ...]
    apart: dict[str, float]

    @property
    def left_kg(self) -> float:
        return self.kg - sum(self.apart.values())

    @property
    def disagrees(self) -> bool:
        """Whether those weighed again leave nothing for the others."""
        return bool(self.apart) and bool(self.rest) and self.left_kg <= 0


def lot_of(state: "State", part: str) -> Lot | None:
    """The lot whose reading still says what a part weighs."""
    known = state.parts.get(part)
    weight = known.weight.last if known else None
    if known is None or weight is None or not weight.shared:
        return None
    entry = known.weight.last_entry
    apart: dict[str, float] = {}
    for other in weight.shared:
        again = state.parts[other].weight
        if again.last_entry > entry and again.last is not None and again.last.how != "estimate":
            apart[other] = again.last.kg
    rest = tuple(other for other in weight.shared if state.parts[other].weight.last_entry == entry)
    return Lot(entry, weight.typed, weight.lot_kg, rest, apart)


def share_of(state: "State", part: str, weight: "Weight") -> "Weight":
    """What a part of a lot weighs: as it was shared out, or its share of what those weighed again have left. Where they
    have left nothing it keeps its first share, and the lot disagrees."""
    lot = lot_of(state, part)
    if lot is None or not lot.apart or lot.disagrees:
        return weight
    first_kg = sum(known.kg for other in lot.rest if (known := state.parts[other].weight.last) is not None)
    return weight._replace(kg=weight.kg * lot.left_kg / first_kg) if first_kg > 0 else weight
