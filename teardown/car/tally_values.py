"""What the tally keeps of its entries: masses and how they were found, weighings, things, money, runs, photos."""

from decimal import Decimal
from typing import Literal, NamedTuple

FOUND = "found"
FITTED = "fitted"
"""Things without a pack are named by the entry they came with: `found-17`."""


How = Literal["direct", "difference", "shared", "estimate"]
"""How a mass was found."""


def names_a_thing(name: str) -> bool:
    """Whether a name is one of those, also when the entry it came with is undone."""
    kind, _, entry = name.rpartition("-")
    return kind in (FOUND, FITTED) and entry.isdecimal()


class Weight(NamedTuple):
    """What a part weighed, and how that was found. `shared` names all the parts of one reading, of `lot_kg`."""

    kg: float
    how: How
    typed: str
    without: str = ""
    noted: str = ""
    shared: tuple[str, ...] = ()
    lot_kg: float = 0.0


class Fuel(NamedTuple):
    """What was in the tank."""

    m3: float
    u_m3: float
    kind: str


class CarWeight(NamedTuple):
    """The car on the scales: total and, if known, front left, front right, rear left, rear right; and how it stood."""

    total_kg: float
    corners_kg: tuple[float, ...] | None
    conditions: str
    fuel: Fuel | None = None
    aboard_kg: float | None = None
    contents_kg: float | None = None
    tyres: str = ""
    way: str = "pads"
    step_kg: float | None = None
    readings: int = 1
    spread_kg: float | None = None
    repeat_kg: float | None = None
    utc: str = ""

    @property
    def car_kg(self) -> float:
        """Without the driver or ballast, and without what lay in it: contents are no car."""
        return self.total_kg - (self.aboard_kg or 0.0) - (self.contents_kg or 0.0)


class Thing(NamedTuple):
    """Something no pack foresaw that came off, or something that went on, with the entry that said so."""

    id: str
    entry: int
    name: str
    counts: str
    weight: Weight
    pieces: int = 1
    fate: str | None = None
    place: tuple[float, str, float] | None = None


class Cost(NamedTuple):
    what: str
    amount: Decimal
    of: str
    receipt: str


class Listing(NamedTuple):
    """What is asked for a part or a lot, and the facts told of it, by name. `entry` tells one lot from another."""

    entry: int
    parts: tuple[str, ...]
    ask: Decimal
    floor: Decimal | None
    facts: dict[str, str]
    collection: bool


class Sale(NamedTuple):
    """Money in hand for one part or a lot."""

    parts: tuple[str, ...]
    amount: Decimal
    fees: Decimal
    packing: Decimal
    carriage: Decimal
    to: str

    @property
    def net(self) -> Decimal:
        return self.amount - self.fees - self.packing - self.carriage


class Refund(NamedTuple):
    part: str
    amount: Decimal
    why: str
    returned: bool


class Ticket(NamedTuple):
    """What the scrap yard weighed and paid. `went` is what it weighed; `named` whether the ticket says so itself."""

    kg: float
    amount: Decimal
    material: str
    named: bool
    went: tuple[str, ...]
    ticket: str
    typed: str


class Signed(NamedTuple):
    """When an entry of money was written, and by whom."""

    utc: str
    who: str


class Handed(NamedTuple):
    to: str
    paper: str
    utc: str


class Runs(NamedTuple):
    what: str
    times_s: tuple[float, ...]
    conditions: str
    utc: str


class Picture(NamedTuple):
    """A photo in the folder, and what it is of."""

    file: str
    part: str
    step: str
    says: str
