"""What stops terminal programs in real terminals, made harmless.

Bytes that are not UTF-8 and key sequences the parser does not know end the input thread of Textual 8.2; a closed or
terminated terminal leaves the alternate screen behind. Each cure is small, and tested in a pseudo-terminal.
"""

from __future__ import annotations

import asyncio
import codecs
import functools
import re
import signal
from collections.abc import Callable, Iterable
from typing import Any

from textual import events
from textual.app import App
from textual.keys import Keys

# A key event with its type (1 press, 2 repeat, 3 release) in the modifier field, as some terminals send it.
_TYPED_KEY = re.compile(r"\x1b\[[\d:]*;\d*:([123])[\d:;]*[u~ABCDEFHPQRS]")


# A whole control sequence (ECMA-48 s. 5.4) that is no mouse report, no report of a mode and no F-key of a console.
_CONTROL = re.compile(r"\x1b\[(?!<|\?[\d;]*\$)[0-?]*[ -/]*[@-Z\\-~]")


def harden_input() -> None:
    """Make the input thread survive what terminals may send. Does nothing where Textual has no POSIX driver."""
    try:
        import textual.drivers.linux_driver as driver
    except ImportError:  # Windows: a driver of its own, which decodes differently
        return
    vars(driver)["getincrementaldecoder"] = _forgiving_decoder
    _drop_unknown_keys()


def restore_terminal_on_signals(app: App[Any]) -> None:
    """Leave the terminal as it was when the program is told to end or its window is closed.

    Not by the loop's own signal handlers: they lose a signal that comes amid a flood of keys, and Windows has none.
    """
    loop = asyncio.get_running_loop()

    def leave(*_: object) -> None:
        if not loop.is_closed():
            loop.call_soon_threadsafe(app.exit)

    for name in ("SIGTERM", "SIGHUP"):
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), leave)


def _forgiving_decoder(encoding: str) -> Callable[..., codecs.IncrementalDecoder]:
    return functools.partial(codecs.getincrementaldecoder(encoding), errors="replace")


def _drop_unknown_keys() -> None:
    from textual._xterm_parser import XTermParser

    parse, to_keys = XTermParser._parse_extended_key, XTermParser._sequence_to_key_events

    def forgiving(self: XTermParser, sequence: str) -> Iterable[events.Key] | None:
        typed = _TYPED_KEY.fullmatch(sequence)
        if typed and typed[1] == "3":
            return [events.Key(Keys.Ignore, None)]
        if typed:
            sequence = re.sub(r"(;\d*):[12]", r"\1", sequence, count=1)
        try:
            return parse(self, sequence)
        except ValueError:
            return [events.Key(Keys.Ignore, None)]

    def whole(self: XTermParser, sequence: str, alt: bool = False) -> Iterable[events.Key]:
        keys = list(to_keys(self, sequence, alt))
        if not keys and _CONTROL.fullmatch(sequence):  # else its characters would be typed
            return [events.Key(Keys.Ignore, None)]
        return keys

    XTermParser._parse_extended_key = forgiving  # type: ignore[method-assign, assignment]
    XTermParser._sequence_to_key_events = whole  # type: ignore[method-assign]
