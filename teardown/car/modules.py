"""The live modules: which of them an entry tells of, and which are not accounted for. What no pack foresaw and is taken
to be live is one of them, by its name: `found-17`."""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from teardown.car.tally_values import FITTED, FOUND, names_a_thing
from teardown.packs.model import CountGate
from teardown.packs.route import Route

STILL_FITTED = "still fitted"


def is_accounted_for(account: str | None, may_be_fitted: bool) -> bool:
    """Whether `account`, as `State.module_account` gives it, will do for a gate that counts modules."""
    return account is not None and (may_be_fitted or not account.startswith(STILL_FITTED))


class Unaccounted(NamedTuple):
    """Modules not accounted for, by which of those still fitted count as accounted for: none, those outside, all."""

    in_the_car: frozenset[str]
    inside: frozenset[str]
    unknown: frozenset[str]

    def by(self, gate: CountGate) -> frozenset[str]:
        if gate.allows_fitted:
            return self.unknown
        return self.inside if gate.allows_outside else self.in_the_car


class ModuleCount:
    """The count of the modules this car may carry, kept up entry by entry: a long log cannot count all of them anew
    for each. The gates are judged by counting anew; this only tells when the count changed."""

    def __init__(self, route: Route) -> None:
        self.modules = frozenset(module.id for module in route.modules)
        self.outside = route.outside
        self.unaccounted = Unaccounted(self.modules, self.modules, self.modules)
        self.accounts: dict[str, str | None] = dict.fromkeys(self.modules)
        self.of_part: dict[str, tuple[str, ...]] = {}
        self.of_step: dict[str, tuple[str, ...]] = {}
        self.of_entry: dict[int, tuple[str, ...]] = {}
        for part in route.parts.values():
            carried = tuple(module for module in part.part.modules if module in self.modules)
            if carried:
                self.of_part[part.id] = carried
                self.of_step[part.step] = self.of_step.get(part.step, ()) + carried

    def take(self, n: int, accounts: Mapping[str, str | None]) -> bool:
        """What is known, after entry `n`, of the modules it told of; whether it is anything new."""
        self.of_entry[n] = tuple(accounts)
        if accounts.items() <= self.accounts.items():
            return False
        self.accounts.update(accounts)
        none: frozenset[str] = frozenset()
        known = (none, self.outside, self.modules)
        self.unaccounted = Unaccounted(
            *(_recounted(before, accounts, fitted) for before, fitted in zip(self.unaccounted, known, strict=True))
        )
        return True


def _recounted(
    before: frozenset[str], accounts: Mapping[str, str | None], may_be_fitted: frozenset[str]
) -> frozenset[str]:
    of_those = [name for name, account in accounts.items() if not is_accounted_for(account, name in may_be_fitted)]
    return before.difference(accounts).union(of_those)


TellsOf = Callable[[ModuleCount, int, dict[str, Any]], tuple[str, ...]]
"""The modules that the entry of that number, with these fields, may move, or says something of; and what no pack
foresaw and may be one, by its name."""


def _those_of_the_step(count: ModuleCount, n: int, fields: dict[str, Any]) -> tuple[str, ...]:
    return count.of_step.get(fields["step"], ())


def _those_of_the_part(count: ModuleCount, n: int, fields: dict[str, Any]) -> tuple[str, ...]:
    return count.of_part.get(fields["part"]) or _the_thing(fields["part"])


def _the_thing(name: object) -> tuple[str, ...]:
    return (name,) if isinstance(name, str) and names_a_thing(name) else ()


def _the_thing_of_the_fate(count: ModuleCount, n: int, fields: dict[str, Any]) -> tuple[str, ...]:
    """A fate makes no part of a pack live, but what is called controlled."""
    return _the_thing(fields["part"])


def _what_was_found(count: ModuleCount, n: int, fields: dict[str, Any]) -> tuple[str, ...]:
    return (f"{FOUND}-{n}",)


def _what_was_fitted(count: ModuleCount, n: int, fields: dict[str, Any]) -> tuple[str, ...]:
    return (f"{FITTED}-{n}",)


def _the_one_named(count: ModuleCount, n: int, fields: dict[str, Any]) -> tuple[str, ...]:
    return (fields["module"],) if fields["module"] in count.modules else _the_thing(fields["module"])


def _those_of_the_undone(count: ModuleCount, n: int, fields: dict[str, Any]) -> tuple[str, ...]:
    return count.of_entry.get(int(fields["entry"]), ())


TELLS_OF: dict[str, TellsOf] = {
    "step-done": _those_of_the_step,
    "step-undone": _those_of_the_step,
    "step-skipped": _those_of_the_step,
    "step-deferred": _those_of_the_step,
    "part-off": _those_of_the_part,
    "part-back": _those_of_the_part,
    "part-stored": _those_of_the_part,
    "part-found": _what_was_found,
    "part-fitted": _what_was_fitted,
    "part-fate": _the_thing_of_the_fate,
    "still-fitted": _the_one_named,
    "not-there": _the_one_named,
    "undo": _those_of_the_undone,
}
"""The kinds of entries that can change how a module is accounted for. No other kind is looked at for it."""
