"""What entries are made of: the base of their models, and the kinds of text they take from a prompt."""

from collections.abc import Callable
from typing import Annotated, Any, ClassVar, Literal

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, StringConstraints

from teardown import units
from teardown.text import one_line, plain

LONGEST_NOTE = 2000


class WrongEntry(ValueError):
    """The words do not make an entry; the message says which and what is wanted, `about` the first of their fields."""

    def __init__(self, message: str, about: str = "") -> None:
        super().__init__(message)
        self.about = about


class Fields(BaseModel):
    """`in_si` names the numbers worked out from what was typed, which are recorded beside it; `only_in_si` the words of
    which nothing but those numbers is read again; `on_parts_scale` the masses that are read off the scale for parts.

    The validator of each kind is built on its first use, and the files of the kinds do without postponed annotations,
    which pydantic would have to evaluate: the screen starts a quarter sooner for it.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    in_si: ClassVar[tuple[str, ...]] = ()
    only_in_si: ClassVar[frozenset[str]] = frozenset()
    on_parts_scale: ClassVar[tuple[str, ...]] = ()


def recorded(fields: Fields) -> dict[str, Any]:
    """What goes into the log: what was typed, and the numbers worked out from it."""
    numbers = {name: getattr(fields, name) for name in fields.in_si}
    return fields.model_dump(mode="json", exclude_none=True) | {k: v for k, v in numbers.items() if v is not None}


def listed_parts(text: str | None) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split(",")) if text else ()


def checked(read: Callable[[str], object]) -> AfterValidator:
    """Keep the text as typed, but only when `read` understands it."""

    def check(value: str) -> str:
        read(value)
        return value

    return AfterValidator(check)


def _no_controls(value: object) -> object:
    return plain(value).strip() if isinstance(value, str) else value


def _single_line(value: object) -> object:
    return one_line(value).strip() if isinstance(value, str) else value


Why = Annotated[str, StringConstraints(min_length=2, max_length=300), BeforeValidator(_single_line)]
Name = Annotated[str, StringConstraints(min_length=1, max_length=80), BeforeValidator(_single_line)]
Prose = Annotated[str, StringConstraints(min_length=1, max_length=LONGEST_NOTE), BeforeValidator(_no_controls)]
MassText = Annotated[str, StringConstraints(max_length=40), checked(units.mass_kg)]
DurationText = Annotated[str, StringConstraints(max_length=40), checked(units.duration_min)]
Answer = Literal["no", "yes", "unknown"]
