"""What a person types, turned into SI numbers, and how an SI number is printed back.

A quantity is typed with its unit: ``19.4kg``, ``42.8 lb``, ``5ft6in``, ``1h30min``. A bare number is refused with what
to write instead, because 42.8 of something is how the wrong part gets lifted. The factors are exact by definition
(NIST SP 811 (2008), appendix B: lb, ft and US gallon), so going there and back loses nothing but rounding.

>>> mass_kg("42.8 lb")
19.413753436
>>> show_mass(19.413753436, "lb")
'42.8 lb'
"""

import re
from functools import cached_property
from itertools import pairwise

LB_KG = 0.45359237
INCH_M = 0.0254
FOOT_M = 0.3048
MILE_M = 1609.344
US_GALLON_M3 = 3.785411784e-3
IMPERIAL_GALLON_M3 = 4.54609e-3
STANDARD_GRAVITY_M_PER_S2 = 9.80665

LONGEST_TEXT = 200
LONGEST_NUMBER = 15
LONGEST_EXAMPLE = 40
"""So that a refusal fits a line or two."""


class UnitError(ValueError):
    """What was typed is not a quantity; the message says so in one sentence and gives an example."""


_NUMBER = r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
_BARE = re.compile(_NUMBER)
_SIGNED = re.compile(rf"[+-]?(?:{_NUMBER})")
_TWO_MARKS = re.compile(r"[0-9][.,][0-9]+[.,][0-9]")
_SPACE_INSIDE = re.compile(r"[0-9] [0-9]")
_THOUSANDS = re.compile(r"[1-9][0-9]{0,2},[0-9]{3}")


class _Quantity:
    """`units` says for each spelling what one of it is in the SI unit."""

    def __init__(self, called: str, example: str, si: str, units: dict[str, float], lowest: float = 0.0) -> None:
        self.called = called
        self.example = example
        self.si = si
        self.units = units
        self.lowest = lowest

    @cached_property
    def piece(self) -> re.Pattern[str]:
        """A number and its unit; the longer spelling is tried before one that it begins with."""
        spellings = "|".join(re.escape(unit) for unit in sorted(self.units, key=len, reverse=True))
        return re.compile(rf"({_NUMBER})({spellings})")

    @cached_property
    def pieces(self) -> re.Pattern[str]:
        return re.compile(rf"(?:{self.piece.pattern})+")


_LENGTHS = {
    "m": 1.0, "cm": 0.01, "mm": 0.001, "km": 1000.0, "metre": 1.0, "metres": 1.0, "meter": 1.0, "meters": 1.0,
    "ft": FOOT_M, "foot": FOOT_M, "feet": FOOT_M, "'": FOOT_M,
    "in": INCH_M, "inch": INCH_M, "inches": INCH_M, '"': INCH_M, "mi": MILE_M, "mile": MILE_M, "miles": MILE_M,
}  # fmt: skip
_TIMES_S = {
    "s": 1.0, "sec": 1.0, "secs": 1.0, "second": 1.0, "seconds": 1.0, "min": 60.0, "mins": 60.0, "minute": 60.0,
    "minutes": 60.0, "h": 3600.0, "hr": 3600.0, "hrs": 3600.0, "hour": 3600.0, "hours": 3600.0,
    "d": 86400.0, "day": 86400.0, "days": 86400.0,
}  # fmt: skip
_FLOWS_PER_H = {"h": 1.0, "hr": 1.0, "hour": 1.0, "min": 60.0, "s": 3600.0}
_FLOW_VOLUMES = {"m3": 1.0, "l": 0.001, "ft3": FOOT_M**3}

_QUANTITIES: dict[str, _Quantity] = {
    "mass": _Quantity("a mass", "19.4kg or 42.8lb", "kg", {
        "kg": 1.0, "kgs": 1.0, "g": 0.001, "t": 1000.0, "tonne": 1000.0, "tonnes": 1000.0,
        "lb": LB_KG, "lbs": LB_KG, "pound": LB_KG, "pounds": LB_KG, "oz": LB_KG / 16, "st": 14 * LB_KG,
    }),
    "length": _Quantity("a length", "2.60m or 12ft", "m", _LENGTHS),
    "position": _Quantity("a position", "1.4m or -14in", "m", _LENGTHS, lowest=-1e6),
    "duration": _Quantity("a time", "15min or 1h30min", "min", {unit: s / 60 for unit, s in _TIMES_S.items()}),
    "run time": _Quantity("a time", "6.8s", "s", _TIMES_S),
    "speed": _Quantity("a speed", "60mph or 100km/h", "m/s", {
        "m/s": 1.0, "km/h": 1 / 3.6, "kmh": 1 / 3.6, "kph": 1 / 3.6, "mph": MILE_M / 3600, "ft/s": FOOT_M,
    }),
    "temperature": _Quantity("a temperature", "20C or 68F", "C", {
        "c": 1.0, "°c": 1.0, "degc": 1.0, "f": 5 / 9, "°f": 5 / 9, "degf": 5 / 9, "k": 1.0,
    }, lowest=-273.15),
    "volume": _Quantity("a volume", "36m3 or 1270ft3", "m3", {
        "m3": 1.0, "l": 0.001, "litre": 0.001, "litres": 0.001, "liter": 0.001, "liters": 0.001, "ml": 1e-6,
        "cm3": 1e-6, "ft3": FOOT_M**3, "in3": INCH_M**3, "gal": US_GALLON_M3, "usgal": US_GALLON_M3,
        "impgal": IMPERIAL_GALLON_M3,
    }),
    "airflow": _Quantity("an airflow", "200m3/h or 120cfm", "m3/h", {
        f"{volume}/{time}": size * rate for volume, size in _FLOW_VOLUMES.items() for time, rate in _FLOWS_PER_H.items()
    } | {"cfm": FOOT_M**3 * 60}),
    "area": _Quantity("an area", "1.5m2 or 16ft2", "m2", {
        "m2": 1.0, "cm2": 1e-4, "mm2": 1e-6, "ft2": FOOT_M**2, "in2": INCH_M**2, "sqft": FOOT_M**2,
    }),
    "carbon dioxide": _Quantity("a carbon dioxide reading", "420ppm or 0.5%", "ppm", {"ppm": 1.0, "%": 10_000.0}),
    "pressure": _Quantity("a pressure", "990hPa or 29.2inHg", "hPa", {
        "hpa": 1.0, "mbar": 1.0, "kpa": 10.0, "pa": 0.01, "bar": 1000.0,
        "psi": LB_KG * STANDARD_GRAVITY_M_PER_S2 / INCH_M**2 / 100,
        # an inch of mercury of 13.5951 g/cm3
        "inhg": 13.5951e3 * STANDARD_GRAVITY_M_PER_S2 * INCH_M / 100,
        "mmhg": 13.5951e3 * STANDARD_GRAVITY_M_PER_S2 * 0.001 / 100,
    }),
    "voltage": _Quantity("a voltage", "12.6V", "V", {"v": 1.0, "mv": 0.001, "volt": 1.0, "volts": 1.0}, lowest=-1e6),
    "angle": _Quantity("an angle", "30deg", "deg", {
        "deg": 1.0, "°": 1.0, "degree": 1.0, "degrees": 1.0, "rad": 57.29577951308232,
    }),
    "density": _Quantity("a density", "0.745kg/L", "kg/m3", {
        "kg/m3": 1.0, "kg/l": 1000.0, "g/cm3": 1000.0, "g/ml": 1000.0, "lb/gal": LB_KG / US_GALLON_M3,
        "lb/ft3": LB_KG / FOOT_M**3,
    }),
    "heat transfer": _Quantity("a heat transfer", "60W/m2K", "W/m2K", {"w/m2k": 1.0, "w/(m2k)": 1.0}),
    "rate": _Quantity("a count per hour", "2/h", "/h", {"/h": 1.0, "ach": 1.0, "perhour": 1.0, "/min": 60.0}),
    "divisor": _Quantity("a divisor", "5000cm3/kg or 139in3/lb", "cm3/kg", {
        "cm3/kg": 1.0, "in3/lb": (100 * INCH_M) ** 3 / LB_KG,
    }),
    "number": _Quantity("a plain number", "0.2", "", {"": 1.0}),
}  # fmt: skip

# where the scales that do not start at 0 C have their zero
_ZEROS_C = {"f": -160 / 9, "°f": -160 / 9, "degf": -160 / 9, "k": -273.15}

_SPELLINGS = str.maketrans(
    {"²": "2", "³": "3", "º": "°", "−": "-", "–": "-", "×": "x", "’": "'", "′": "'", "″": '"', "^": None}
)


def parse(text: str, quantity: str, default_unit: str | None = None) -> float:
    """Read one typed quantity; the answer is in the SI unit of its name (kg, m, min, m/s, C, m3, m3/h ...).

    Parameters
    ----------
    text : what was typed; decimal point or comma, spaces and capitals as the person likes
    quantity : one of ``QUANTITIES``
    default_unit : the unit of a bare number; without it a bare number is refused

    Refuses what has no number, no unit or an unknown one, what could be read two ways (``1,234kg``), anything not
    finite, and anything below the least that makes sense.

    >>> parse("5ft6in", "length")
    1.6764
    >>> parse("19,4", "mass", default_unit="kg")
    19.4
    """
    kind = _QUANTITIES[quantity]
    plain = _plain(text, kind)
    negative, unsigned = plain[0] == "-", (plain[1:] if plain[0] in "+-" else plain).lstrip()
    pieces = _pieces(unsigned, text, kind, default_unit)
    value = sum(_number(number, text, kind) * kind.units[unit] for number, unit in pieces)
    value = (-value if negative else value) + _ZEROS_C.get(pieces[-1][1], 0.0)
    return _not_below(value, text, kind)


def parse_list(text: str, quantity: str, default_unit: str | None = None, count: int | None = None) -> list[float]:
    """Read several quantities parted by commas or semicolons; a unit on the last counts for all.

    Parameters
    ----------
    text : what was typed; with semicolons a comma inside a number is a decimal comma
    quantity : one of ``QUANTITIES``
    default_unit : the unit of bare numbers
    count : how many there must be, if that is known; it settles which commas part and which are decimal

    Refuses a list in which only some items carry a unit, and one whose commas could be decimal commas.

    >>> parse_list("334,331,266,262kg", "mass")
    [334.0, 331.0, 266.0, 262.0]
    >>> parse_list("6,8s; 6,9s", "run time")
    [6.8, 6.9]
    """
    kind = _QUANTITIES[quantity]
    plain = _plain(text, kind)
    items = [item.strip() for item in plain.split(";" if ";" in plain else ",")]
    if any(not item for item in items):
        raise UnitError(f"{_quoted(text)} has an empty place: write {kind.example} parted by commas.")
    bare = [_SIGNED.fullmatch(item) is not None for item in items]
    unit = default_unit
    if len(items) > 1 and all(bare[:-1]) and not bare[-1]:
        unit = _after_number(items[-1])
    elif any(bare) and not all(bare):
        raise UnitError(f"{_quoted(text)} has units on some numbers only: write one on each, or on the last alone.")
    if bare[0] and len(items) != count and ";" not in plain and _may_be_decimal_commas(items):
        raise UnitError(
            f"{_quoted(text)} can be read two ways: write the unit on every number, or part them with semicolons."
        )
    if all(bare) and unit is None and "" not in kind.units:
        raise UnitError(f"{_quoted(text)} has no unit: write {_example_with(plain, kind)}.")
    return [parse(item, quantity, unit) for item in items]


def unit_typed(text: str, quantity: str) -> str:
    """The unit of the last number in what was typed, as ``show`` prints it where it can.

    Parameters
    ----------
    text : what was typed, with its unit
    quantity : one of ``QUANTITIES``

    Refuses what ``parse`` refuses.

    >>> unit_typed("5 pounds", "mass"), unit_typed("1lb 3oz", "mass"), unit_typed("139in3/lb", "divisor")
    ('lb', 'oz', 'in3/lb')
    """
    kind, (_, spelled) = _QUANTITIES[quantity], _last_piece(text, quantity)
    return next((unit for unit in _PRINTED if _is_printed(unit, spelled, quantity, kind)), spelled)


def last_digit_si(text: str, quantity: str) -> float:
    """What one of the last digit typed is worth in the SI unit: no scale read like this is known any finer.

    Parameters
    ----------
    text : what was typed, with its unit
    quantity : one of ``QUANTITIES``

    Refuses what ``parse`` refuses.

    >>> last_digit_si("300g", "mass"), last_digit_si("2.45 kg", "mass"), last_digit_si("12 pounds", "mass")
    (0.001, 0.01, 0.45359237)
    """
    number, spelled = _last_piece(text, quantity)
    decimals = len(number.replace(",", ".").partition(".")[2])
    return float(f"{_QUANTITIES[quantity].units[spelled] / 10**decimals:.15g}")


def size_si(unit: str, quantity: str) -> float:
    """What one of a unit is in the SI unit of its quantity.

    >>> size_si("lb", "mass")
    0.45359237
    """
    return _QUANTITIES[quantity].units[unit.casefold()]


def example(quantity: str) -> str:
    """How a quantity may be typed, for a refusal of one's own."""
    return _QUANTITIES[quantity].example


def size_m(text: str) -> tuple[float, float, float]:
    """Read length x width x height; a unit on the last counts for all. The answer is in m.

    >>> size_m("6x6x2.4m")
    (6.0, 6.0, 2.4)
    >>> size_m("12ft x 10ft x 8 ft")[2]
    2.4384
    """
    example = "6x6x2.4m or 20x12x8ft"
    sides = [side.strip() for side in _plain(text, _QUANTITIES["length"]).split("x")]
    if len(sides) != 3:
        raise UnitError(f"{_quoted(text)} is not length x width x height: write {example}.")
    unit = _after_number(sides[2]) or None
    if all(_BARE.fullmatch(side) for side in sides):
        own = "x".join(sides)
        raise UnitError(f"{_quoted(text)} has no unit: write {own}m or {own}ft.")
    try:
        length, width, height = (parse(side, "length", unit) for side in sides)
    except UnitError as wrong:
        raise UnitError(f"{_quoted(text)} is not a size ({_first_clause(wrong)}): write {example}.") from None
    return length, width, height


def with_unit(text: str, unit: str) -> str:
    """What was typed, with `unit` behind it when it is a bare number.

    >>> with_unit("2,2", "lb"), with_unit("2.2 kg", "lb")
    ('2,2lb', '2.2 kg')
    """
    number = text.strip()
    return f"{number}{unit}" if _SIGNED.fullmatch(number) else text


def mass_kg(text: str) -> float:
    """Read a mass in kg.

    >>> mass_kg("19,4 KG")
    19.4
    """
    return parse(text, "mass")


def length_m(text: str) -> float:
    """Read a length in m, never negative."""
    return parse(text, "length")


def duration_min(text: str) -> float:
    """Read a time in min.

    >>> duration_min("1h30min"), duration_min("90s")
    (90.0, 1.5)
    """
    return parse(text, "duration")


def durations_s(text: str) -> list[float]:
    """Read several times in s.

    >>> durations_s("6.8s,6.9s")
    [6.8, 6.9]
    """
    return parse_list(text, "run time")


def speed_m_per_s(text: str) -> float:
    """Read a speed in m/s."""
    return parse(text, "speed")


def temperature_c(text: str) -> float:
    """Read a temperature in degrees Celsius.

    >>> temperature_c("-40F")
    -40.0
    """
    return parse(text, "temperature")


def volume_m3(text: str) -> float:
    """Read a volume in m3; ``gal`` is the US gallon, ``impgal`` the imperial one."""
    return parse(text, "volume")


def airflow_m3_per_h(text: str) -> float:
    """Read an airflow in m3/h."""
    return parse(text, "airflow")


def area_m2(text: str) -> float:
    """Read an area in m2."""
    return parse(text, "area")


def carbon_dioxide_ppm(text: str) -> float:
    """Read a carbon dioxide reading in ppm by volume."""
    return parse(text, "carbon dioxide")


def pressure_hpa(text: str) -> float:
    """Read a pressure in hPa."""
    return parse(text, "pressure")


def voltage_v(text: str) -> float:
    """Read a voltage in V; negative when the probes are the other way round."""
    return parse(text, "voltage")


_PRINTED = {
    # unit as printed: (quantity, decimal places)
    "kg": ("mass", 1), "lb": ("mass", 1), "m": ("length", 2), "min": ("duration", 0), "s": ("duration", 0),
    "km/h": ("speed", 0), "m3": ("volume", 1), "L": ("volume", 1), "m3/h": ("airflow", 0), "ppm": ("carbon dioxide", 0),
}  # fmt: skip


def show(value_si: float, unit: str, places: int | None = None) -> str:
    """Print an SI number in a unit, the way ``parse`` reads it back.

    Parameters
    ----------
    value_si : the number in the SI unit of its quantity
    unit : one of the units in ``PRINTED_UNITS``
    places : decimal places, if not the usual ones of the unit

    >>> show(-0.0001, "m")
    '0.00 m'
    """
    quantity, usual_places = _PRINTED[unit]
    kind = _QUANTITIES[quantity]
    value = value_si / kind.units[unit.casefold()]
    places = usual_places if places is None else places
    # adding 0.0 turns the -0.0 that rounding leaves into 0.0
    return f"{round(value, places) + 0.0:.{places}f} {unit}"


def show_mass(kg: float, unit: str = "kg", places: int | None = None) -> str:
    """Print a mass given in kg.

    >>> show_mass(19.4), show_mass(19.4, "lb")
    ('19.4 kg', '42.8 lb')
    """
    return show(kg, unit, places)


def show_length(m: float, places: int | None = None) -> str:
    """Print a length given in m."""
    return show(m, "m", places)


def show_duration(minutes: float) -> str:
    """Print a time given in min: seconds below two minutes, hours and minutes above an hour.

    >>> show_duration(1.5), show_duration(45), show_duration(90)
    ('90 s', '45 min', '1 h 30 min')
    """
    if abs(minutes) < 2:
        return show(minutes, "s")
    whole_min = round(minutes)
    if abs(whole_min) < 60:
        return f"{whole_min} min"
    hours, rest_min = divmod(abs(whole_min), 60)
    sign = "-" if whole_min < 0 else ""
    return f"{sign}{hours} h" + (f" {rest_min} min" if rest_min else "")


def show_speed(m_per_s: float) -> str:
    """Print a speed given in m/s, in km/h."""
    return show(m_per_s, "km/h")


def show_volume(m3: float, unit: str = "m3") -> str:
    """Print a volume given in m3."""
    return show(m3, unit)


def show_airflow(m3_per_h: float) -> str:
    """Print an airflow given in m3/h."""
    return show(m3_per_h, "m3/h")


def show_carbon_dioxide(ppm: float) -> str:
    """Print a carbon dioxide reading given in ppm; no thousands mark, so that it can be typed back.

    >>> show_carbon_dioxide(5000.4)
    '5000 ppm'
    """
    return show(ppm, "ppm")


QUANTITIES = tuple(_QUANTITIES)
PRINTED_UNITS = tuple(_PRINTED)


def _plain(text: str, kind: _Quantity) -> str:
    if len(text) > LONGEST_TEXT:
        raise UnitError(f"{_quoted(text)} is longer than {LONGEST_TEXT} characters: write {kind.example}.")
    plain = " ".join(text.translate(_SPELLINGS).casefold().split())
    if not plain:
        raise UnitError(f"Nothing was written: write {kind.called}, such as {kind.example}.")
    return plain


def _pieces(unsigned: str, text: str, kind: _Quantity, default_unit: str | None) -> list[tuple[str, str]]:
    """Part ``1h 30min`` into its numbers and units; each unit must be a whole number of the next."""
    if _BARE.fullmatch(unsigned):
        unit = "" if "" in kind.units else default_unit
        if unit is None:
            _number(unsigned, text, kind)
            sign = "-" if kind.lowest < 0 and _plain(text, kind).startswith("-") else ""
            raise UnitError(f"{_quoted(text)} has no unit: write {_example_with(sign + unsigned, kind)}.")
        spelling = unit.casefold().replace(" ", "")
        if spelling not in kind.units:
            raise UnitError(f"{_quoted(text)} is not {kind.called} in a unit known here: write {kind.example}.")
        return [(unsigned, spelling)]
    _refuse_two_readings(unsigned, text, kind)
    tight = unsigned.replace(" ", "")
    if not kind.pieces.fullmatch(tight):
        raise UnitError(f"{_quoted(text)} is not {kind.called} in a unit known here: write {kind.example}.")
    pieces = kind.piece.findall(tight)
    whole = all(number.isdigit() for number, _ in pieces[:-1])
    if not whole or not all(
        _holds_whole(kind.units[big], kind.units[small]) for (_, big), (_, small) in pairwise(pieces)
    ):
        raise UnitError(f"{_quoted(text)} mixes units that do not go together: write {kind.example}.")
    return pieces


def _last_piece(text: str, quantity: str) -> tuple[str, str]:
    """The last number in what was typed, and its unit."""
    parse(text, quantity)
    kind = _QUANTITIES[quantity]
    return _pieces(_plain(text, kind).lstrip("+- "), text, kind, None)[-1]


def _is_printed(unit: str, spelled: str, quantity: str, kind: _Quantity) -> bool:
    """Whether that unit, as it is printed, is the one that was spelled."""
    if _PRINTED[unit][0] != quantity:
        return False
    size, zero = kind.units[unit.casefold()], _ZEROS_C.get(unit.casefold())
    return (size, zero) == (kind.units[spelled], _ZEROS_C.get(spelled))


def _holds_whole(big: float, small: float) -> bool:
    """Whether a unit is two or more whole ones of another, as a foot is twelve inches."""
    return round(big / small) >= 2 and abs(big / small - round(big / small)) < 1e-9


def _refuse_two_readings(unsigned: str, text: str, kind: _Quantity) -> None:
    if _TWO_MARKS.search(unsigned):
        raise UnitError(f"{_quoted(text)} has two marks in one number: write it with one, such as {kind.example}.")
    if _SPACE_INSIDE.search(unsigned):
        raise UnitError(f"{_quoted(text)} has a space inside the number: write it without, such as {kind.example}.")


def _number(number: str, text: str, kind: _Quantity) -> float:
    if len(number) > LONGEST_NUMBER:
        raise UnitError(f"{_quoted(text)} has more than {LONGEST_NUMBER} digits: write {kind.example}.")
    if _THOUSANDS.fullmatch(number):
        point, whole = number.replace(",", "."), number.replace(",", "")
        raise UnitError(
            f"{_quoted(text)} can be read two ways: write {point} for the smaller or {whole} for the larger, with unit."
        )
    return float(number.replace(",", "."))


def _not_below(value: float, text: str, kind: _Quantity) -> float:
    value = _without_noise(value) + 0.0
    if value < kind.lowest:
        least = f"{kind.lowest:g} {kind.si}".strip()
        raise UnitError(f"{_quoted(text)} is below {least}, the least there can be: write {kind.example}.")
    return value


def _after_number(item: str) -> str:
    return re.sub(rf"^[+-]?(?:{_NUMBER})\s*", "", item)


def _without_noise(value: float) -> float:
    """Drop the last binary digit or two, so that 90s is 1.5 min and -40F is -40 C."""
    return float(f"{value:.15g}")


def _may_be_decimal_commas(items: list[str]) -> bool:
    """Whether ``6,8,7,1s`` may mean 6.8 s and 7.1 s: whole numbers in pairs, each pair ending in one or two digits."""
    numbers = [re.sub(r"[^0-9.].*$", "", item.lstrip("+-")) for item in items]
    in_pairs = len(items) % 2 == 0 and not any("." in number for number in numbers)
    return in_pairs and (len(items) == 2 or all(len(number) <= 2 for number in numbers[1::2]))


def _example_with(numbers: str, kind: _Quantity) -> str:
    """What was typed, in the unit of each example, so that the refusal can be copied."""
    if len(numbers) > LONGEST_EXAMPLE:
        return kind.example
    return " or ".join(numbers + _unit_of(example, kind) for example in kind.example.split(" or "))


def _unit_of(example: str, kind: _Quantity) -> str:
    """The first unit in an example: `h` in `1h30min`."""
    behind = _after_number(example)
    return next(behind[:end] for end in range(len(behind), 0, -1) if behind[:end].casefold() in kind.units)


def _quoted(text: str) -> str:
    """The typed text, made harmless to a terminal and short enough for one line."""
    shown = "".join(mark if mark.isprintable() else "?" for mark in text)
    return f"{shown[:40]}..." if len(shown) > 40 else shown or "''"


def _first_clause(error: UnitError) -> str:
    return str(error).split(":", 1)[0].rstrip(".")
