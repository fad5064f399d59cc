"""Where the weight of the car is, and what a part does to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import isfinite
from typing import NamedTuple

from teardown.figures.errors import FigureError, between

WHEELS = ("front left", "front right", "rear left", "rear right")


class Part(NamedTuple):
    """A mass at a place: `x_m` behind the front axle, `y_m` right of the middle, `z_m` above the ground, if known."""

    mass_kg: float
    x_m: float
    y_m: float
    z_m: float | None = None


class Stance(NamedTuple):
    """How the car stands on its wheels; the corners are front left, front right, rear left, rear right."""

    total_kg: float
    front_percent: float
    left_percent: float
    cross_percent: float
    x_m: float
    y_m: float
    corners_kg: tuple[float, float, float, float]
    height_m: float | None


class BalanceResult(NamedTuple):
    """The car as weighed, and with the parts taken off and added."""

    before: Stance
    after: Stance


def balance(
    corners_kg: Sequence[float],
    wheelbase_m: float,
    track_m: float,
    track_rear_m: float | None = None,
    height_m: float | None = None,
    take: Iterable[Part] = (),
    add: Iterable[Part] = (),
) -> BalanceResult:
    """Total, front, left and cross share, and centre of gravity, before and after parts come off and go on.

    The total, the axles, the centre and, with equal tracks, the sides follow from moments and are exact. How a change
    splits across the diagonal is not settled by moments: each axle is taken to carry a part's sideways moment in the
    share in which it carries the part's weight, about as a car does whose springs and bars are left alone.

    Parameters
    ----------
    corners_kg : scale readings front left, front right, rear left, rear right [kg], each 0 to 5000
    wheelbase_m : between the axles [m], 0.5 to 10
    track_m : between the front wheels [m], 0.3 to 5
    track_rear_m : between the rear wheels [m], 0.3 to 5; as in front if not given
    height_m : height of the centre of gravity before [m], 0 to 3; without it no height after
    take : parts that come off, each within 15 m of the front axle
    add : parts that go on

    Returns both stances. Left share is that of both left wheels; cross share that of front right and rear left. The
    height after is given only if the height before and that of every part is.

    Limits of validity: a level car on level pads with its suspension free.

    Refuses values outside the limits, not four corners, no weight at all, and parts that would leave a wheel or the
    whole car with less than nothing.

    Source: moments; x from the front axle = rear mass x wheelbase / mass, R. N. Jazar, Vehicle Dynamics, 2nd ed.,
    example 40 (read).

    >>> car = balance([334, 331, 266, 262], wheelbase_m=2.60, track_m=1.50, take=[Part(29.5, 1.4, -0.36)])
    >>> round(car.before.front_percent, 2), round(car.after.front_percent, 2), round(car.after.left_percent, 2)
    (55.74, 55.98, 49.69)
    """
    tracks_m = (track_m, track_m if track_rear_m is None else track_rear_m)
    corners = _checked_corners(corners_kg)
    between("the wheelbase", wheelbase_m, 0.5, 10, "m")
    between("the front track", tracks_m[0], 0.3, 5, "m")
    between("the rear track", tracks_m[1], 0.3, 5, "m")
    if height_m is not None:
        between("the height of the centre of gravity", height_m, 0, 3, "m")
    changes = [_signed(part, -1) for part in take] + [_signed(part, 1) for part in add]
    after = _loaded(corners, changes, wheelbase_m, tracks_m)
    return BalanceResult(
        before=_stance(corners, wheelbase_m, tracks_m, height_m),
        after=_stance(after, wheelbase_m, tracks_m, _height_after_m(sum(corners), height_m, changes)),
    )


Corners = tuple[float, float, float, float]


def _checked_corners(corners_kg: Sequence[float]) -> Corners:
    if len(corners_kg) != 4:
        raise FigureError(f"There are {len(corners_kg)} corner masses, and a car has 4: {', '.join(WHEELS)}.")
    for wheel, mass_kg in zip(WHEELS, corners_kg, strict=True):
        between(f"the {wheel} wheel", mass_kg, 0, 5000, "kg")
    if sum(corners_kg) <= 0:
        raise FigureError("The four corners weigh 0 kg together, and a car weighs more than that.")
    front_left, front_right, rear_left, rear_right = corners_kg
    return front_left, front_right, rear_left, rear_right


def _signed(part: Part, sign: int) -> Part:
    between("a part", part.mass_kg, 0, 5000, "kg")
    between("a part's place behind the front axle", part.x_m, -15, 15, "m")
    between("a part's place right of the middle", part.y_m, -15, 15, "m")
    if part.z_m is not None:
        between("a part's height", part.z_m, -1, 10, "m")
    return Part(sign * part.mass_kg, part.x_m, part.y_m, part.z_m)


def _loaded(corners: Corners, changes: list[Part], wheelbase_m: float, tracks_m: tuple[float, float]) -> Corners:
    """Each axle takes its share of a part, and within the axle each wheel its share by the part's place across."""
    loads = list(corners)
    for part in changes:
        rear_kg = part.mass_kg * part.x_m / wheelbase_m
        for axle, axle_kg in enumerate((part.mass_kg - rear_kg, rear_kg)):
            right_kg = axle_kg * (0.5 + part.y_m / tracks_m[axle])
            loads[2 * axle] += axle_kg - right_kg
            loads[2 * axle + 1] += right_kg
    if sum(loads) <= 0:
        raise FigureError(f"That takes off more than the car's {sum(corners):.1f} kg: check the masses.")
    for wheel, load_kg in zip(WHEELS, loads, strict=True):
        if load_kg < -1e-9 * sum(corners):
            raise FigureError(
                f"That leaves {load_kg:.1f} kg on the {wheel} wheel, and a wheel cannot carry less than 0 kg:"
                " check the masses and places."
            )
    front_left, front_right, rear_left, rear_right = (max(load_kg, 0.0) for load_kg in loads)
    return front_left, front_right, rear_left, rear_right


def _height_after_m(total_kg: float, height_m: float | None, changes: list[Part]) -> float | None:
    if height_m is None or any(part.z_m is None for part in changes):
        return None
    moment = total_kg * height_m + sum(part.mass_kg * (part.z_m or 0.0) for part in changes)
    after_m = moment / (total_kg + sum(part.mass_kg for part in changes))
    if not isfinite(after_m) or after_m < 0:
        raise FigureError(f"That puts the centre of gravity at {after_m:.2f} m, below the ground: check the heights.")
    return after_m


def _stance(corners: Corners, wheelbase_m: float, tracks_m: tuple[float, float], height_m: float | None) -> Stance:
    front_left, front_right, rear_left, rear_right = corners
    total_kg = sum(corners)
    sideways = (front_right - front_left) * tracks_m[0] / 2 + (rear_right - rear_left) * tracks_m[1] / 2
    return Stance(
        total_kg=total_kg,
        front_percent=100 * (front_left + front_right) / total_kg,
        left_percent=100 * (front_left + rear_left) / total_kg,
        cross_percent=100 * (front_right + rear_left) / total_kg,
        x_m=(rear_left + rear_right) * wheelbase_m / total_kg,
        y_m=sideways / total_kg,
        corners_kg=corners,
        height_m=height_m,
    )
