"""The one error the figures raise, and the check that raises it most often."""


class FigureError(ValueError):
    """The input is impossible or outside a figure's limits; the message is one sentence that names the limit."""


def between(what: str, value: float, lowest: float, highest: float, unit: str = "") -> float:
    """Give the value back if it lies inside its limits.

    Parameters
    ----------
    what : the name the person knows the value by
    value : the number, in `unit`
    lowest : least allowed value, in `unit`
    highest : greatest allowed value, in `unit`
    unit : the unit, as it is printed

    Returns the value, in `unit`.

    Refuses a value outside the limits, and one that is not a number.

    Source: none; a comparison.

    >>> between("the ice", 13.6, 0, 1000, "kg")
    13.6
    """
    if not lowest <= value <= highest:
        limits = f"{lowest:g} to {highest:g} {unit}".rstrip()
        given = f"{value:g} {unit}".rstrip()
        raise FigureError(f"{what[:1].upper()}{what[1:]} is {given}, and the figure holds for {limits}.")
    return value
