"""A car opened for one command: whatever stops it is told in a sentence, never a traceback."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from teardown.car.clock import SystemClock
from teardown.car.door import Car, NotACar, NotForThis, open_car, open_to_work
from teardown.car.fields import WrongEntry
from teardown.car.log import CannotWrite, Damaged, LogError, Newer
from teardown.car.state import BadEntry
from teardown.packs.problems import WrongFile
from teardown.stop import CANNOT_WRITE, LOG_DAMAGED, REFUSED, WRONG_USE, Stop
from teardown.text import plain


def complain(why: str) -> None:
    print(f"teardown: {plain(why)}", file=sys.stderr)


@contextmanager
def car_at(folder: str, *, write: bool, rehearsal: bool = False) -> Iterator[Car]:
    """Open a car's folder for one command; turn whatever stops it into `Stop`."""
    with _opened(lambda: open_car(Path(folder), SystemClock(), write=write, rehearsal=rehearsal)) as car:
        yield car


@contextmanager
def car_to_work_on(folder: str, *, rehearsal: bool = False) -> Iterator[Car]:
    """The same for somebody who works at it: what cannot be written can still be looked at."""
    with _opened(lambda: open_to_work(Path(folder), SystemClock(), rehearsal=rehearsal)) as car:
        yield car


@contextmanager
def _opened(opening: Callable[[], Car]) -> Iterator[Car]:
    try:
        with opening() as car:
            for told in car.told:
                complain(told)
            yield car
    except (NotACar, WrongFile, WrongEntry) as error:
        raise Stop(WRONG_USE, str(error)) from error
    except NotForThis as error:
        raise Stop(REFUSED, str(error)) from error
    except (Damaged, Newer, BadEntry) as error:
        raise Stop(LOG_DAMAGED, str(error)) from error
    except (CannotWrite, LogError) as error:
        raise Stop(CANNOT_WRITE, str(error)) from error
