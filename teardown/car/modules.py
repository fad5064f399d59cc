"""The live modules: which of them an entry tells of, and which are not accounted for."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from teardown.packs.route import Route

STILL_FITTED = "still fitted"


def is_accounted_for(account: str | None, allows_fitted: bool) -> bool:
    """Whether `account`, as `State.module_account` gives it, will do for a gate that counts modules."""
    return account is not None and (allows_fitted or not account.startswith(STILL_FITTED))


class Unaccounted(NamedTuple):
    """Modules not accounted for, by what counts as accounted for: off and stored, or still fitted too."""

    in_the_car: frozenset[str]
    unknown: frozenset[str]

    def by(self, allows_fitted: bool) -> frozenset[str]:
        return self.unknown if allows_fitted else self.in_the_car


class ModuleCount:
    """The count of the modules this car may carry, kept up entry by entry: a long log cannot count all of them anew
    for each. The gates are judged by counting anew; this only tells when the count changed."""

    def __init__(self, route: Route) -> None:
        self.modules = frozenset(module.id for module in route.modules)
        self.unaccounted = Unaccounted(self.modules, self.modules)
        self.of_part: dict[str, tuple[str, ...]] = {}
        self.of_step: dict[str, tuple[str, ...]] = {}
        self.of_entry: dict[int, tuple[str, ...]] = {}
        for part in route.parts.values():
            carried = tuple(module for module in part.part.modules if module in self.modules)
            if carried:
                self.of_part[part.id] = carried
                self.of_step[part.step] = self.of_step.get(part.step, ()) + carried

    def take(self, n: int, accounts: Mapping[str, str | None]) -> None:
        """What is known, after entry `n`, of the modules it told of."""
        self.of_entry[n] = tuple(accounts)
        self.unaccounted = Unaccounted(self._recounted(accounts, False), self._recounted(accounts, True))

    def _recounted(self, accounts: Mapping[str, str | None], allows_fitted: bool) -> frozenset[str]:
        of_those = [module for module, account in accounts.items() if not is_accounted_for(account, allows_fitted)]
        return self.unaccounted.by(allows_fitted).difference(accounts).union(of_those)


TellsOf = Callable[[ModuleCount, dict[str, Any]], tuple[str, ...]]
"""The modules that an entry with these fields may move, or says something of."""


def _those_of_the_step(count: ModuleCount, fields: dict[str, Any]) -> tuple[str, ...]:
    return count.of_step.get(fields["step"], ())


def _those_of_the_part(count: ModuleCount, fields: dict[str, Any]) -> tuple[str, ...]:
    return count.of_part.get(fields["part"], ())


def _the_one_named(count: ModuleCount, fields: dict[str, Any]) -> tuple[str, ...]:
    return (fields["module"],) if fields["module"] in count.modules else ()


def _those_of_the_undone(count: ModuleCount, fields: dict[str, Any]) -> tuple[str, ...]:
    return count.of_entry.get(int(fields["entry"]), ())


TELLS_OF: dict[str, TellsOf] = {
    "step-done": _those_of_the_step,
    "step-undone": _those_of_the_step,
    "step-skipped": _those_of_the_step,
    "step-deferred": _those_of_the_step,
    "part-off": _those_of_the_part,
    "part-back": _those_of_the_part,
    "part-stored": _those_of_the_part,
    "still-fitted": _the_one_named,
    "not-there": _the_one_named,
    "undo": _those_of_the_undone,
}
"""The kinds of entries that can change how a module is accounted for. No other kind is looked at for it."""
