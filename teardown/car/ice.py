"""Dry ice as it is counted with: about to be laid, laid by an entry, and as far as it has gone off."""

from typing import NamedTuple

from teardown.car.clock import Instant


class Ice(NamedTuple):
    """What the dry-ice figure counts with: kilos about to be laid, over how long all of it goes off, the air it begins
    in, and the kilos that lie there already."""

    kg: float
    over_min: float
    start_ppm: float
    lying_kg: float


class Laid(NamedTuple):
    """Ice that the figure allowed, and that therefore counts as laid: by which entry, and since when it goes off."""

    entry: int
    kg: float
    over_min: float
    since: Instant
    proven_min: float = 0.0
    stays: bool = False
    """Whether the step that lays it is done: then taking its figure back takes no ice out of the car."""
    for_good_kg: float = 0.0
    """As much of it as lay there when such a step was done: counted again, it is no less."""
    instead_of: tuple["Laid", ...] = ()
    """What it is the same ice as, as it counted before."""

    def without(self, entry: int) -> tuple["Laid", ...]:
        """What lies there when the figure of `entry` is taken back."""
        return (self,) if self.stays or self.entry != entry else self.instead_of


class Batch(NamedTuple):
    """Ice that counts as laid, and for how many minutes it has been going off."""

    kg: float
    over_min: float
    ran_min: float

    @property
    def lies(self) -> bool:
        return self.ran_min < self.over_min
