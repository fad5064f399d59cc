"""The commands. Each lives in its own file under `commands/`; only the one asked for is imported."""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence
from importlib import import_module
from io import TextIOWrapper
from typing import NoReturn

from teardown.collector import collector_at_rest
from teardown.stop import CANNOT_WRITE, DONE, WRONG_USE, Stop
from teardown.text import plain

COMMANDS = {
    "try": "the screen, on a scratch copy of the sample car: a rehearsal",
    "new": "set up a car folder",
    "walk": "the screen: be walked through the strip",
    "show": "where the car stands, as text",
    "enter": "make one entry",
    "packs": "list the packs; check, describe or begin one",
    "figure": "one calculation: air, chill, lift, balance, height, runs, stop, closing, carriage",
    "sheet": "write a sheet: weights, sale, bags, cage, scrutineer, controlled, gates, money, record",
    "verify": "is the log whole",
}
NOT_PRINTED = "this could not be printed to its end: the disk it goes to is full, or fails. What was written stands"
_MODULES = {"try": "rehearse"}


class _Overview(argparse.ArgumentParser):
    """Who names no command, or none there is, sees them all."""

    def error(self, message: str) -> NoReturn:
        raise Stop(WRONG_USE, f"{message}\n\n{self.epilog}")


def _overview() -> argparse.ArgumentParser:
    lines = "\n".join(f"  {name:<8} {says}" for name, says in COMMANDS.items())
    parser = _Overview(
        prog="teardown",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        description="Strip an old road car to bare metal, safely, and write down every kilo.",
        epilog=f"commands:\n{lines}\n\nteardown COMMAND --help tells more. Begin with: teardown try",
    )
    parser.add_argument("command", nargs="?", metavar="COMMAND", help="one of the commands below")
    parser.add_argument("rest", nargs=argparse.REMAINDER, metavar="...", help=argparse.SUPPRESS)
    return parser


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; return its exit status.

    0 done; 2 wrong use; 3 refused by a rule; 4 the log is damaged; 5 cannot write.
    """
    with collector_at_rest():  # what a start or a short command makes stays; the screen wakes it once it is painted
        return _run(list(sys.argv[1:] if argv is None else argv))


def _run(words: list[str]) -> int:
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):  # a letter this terminal cannot show is no reason to stop
            stream.reconfigure(errors="replace")
    try:
        status = _run_command(words)
        print(end="", flush=True)  # not left to the end of the program, where a full disk could not be told
        return status
    except Stop as stop:
        print(f"teardown: {plain(str(stop))}", file=sys.stderr)
        return stop.status
    except BrokenPipeError:  # `teardown show ... | head`: not an error of ours, and nothing more can be printed
        _print_no_more()
        return DONE
    except OSError:
        if not _output_refuses():  # what a command does meets its own errors
            raise
        _print_no_more()
        print(f"teardown: {NOT_PRINTED}", file=sys.stderr)
        return CANNOT_WRITE
    except KeyboardInterrupt:
        return 128 + signal.SIGINT


def _output_refuses() -> bool:
    """Whether it is what the program prints into that failed: then it takes not one character more."""
    try:
        print(flush=True)
    except OSError:
        return True
    return False


def _print_no_more() -> None:
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run_command(words: list[str]) -> int:
    name = words[0] if words and words[0] in COMMANDS else _no_command(words)
    module = import_module(f"teardown.commands.{_MODULES.get(name, name)}")
    parser = argparse.ArgumentParser(prog=f"teardown {name}", description=module.__doc__)
    module.add_arguments(parser)
    return int(module.run(parser.parse_args(words[1:])))


def _no_command(words: list[str]) -> NoReturn:
    """Help where it was asked for; or else what is wrong, above the list of the commands."""
    from teardown.nearest import did_you_mean

    parser = _overview()
    name = parser.parse_args(words).command
    parser.error("name a command" if name is None else f"no command is called {name}{did_you_mean(name, COMMANDS)}")
