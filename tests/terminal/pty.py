"""A program in a pseudo-terminal: what it shows there as text, and a hand that types at a person's pace."""

from __future__ import annotations

import fcntl
import os
import re
import select
import signal
import struct
import termios
import time
from collections.abc import Callable, Mapping, Sequence

import pyte

KEYS = {
    "enter": b"\r",
    "space": b" ",
    "backspace": b"\x7f",
    "escape": b"\x1b",
    "up": b"\x1b[A",
    "down": b"\x1b[B",
    "right": b"\x1b[C",
    "left": b"\x1b[D",
    "ctrl+c": b"\x03",
}
"""What a keyboard sends for keys that are not characters (ECMA-48; xterm's control sequences for the arrows)."""

PATIENCE_S = 20.0
TURNING = ("up", "down", "left", "right", "backspace")
"""Keys that only look: they may be struck again at once."""

PACE_S = 0.2
"""How long a person needs, at least, to answer a new picture: over the shortest guard time a car can set (0.15 s)."""
SAME_KEY_S = 0.8
"""How long a person needs, at least, to strike the same key again: a key held down repeats sooner."""

QUERIES = {b"\x1b[?2026$p": b"\x1b[?2026;2$y"}
"""What a terminal that paints whole frames answers when it is asked whether it does."""

# Sequences with a private mark or an intermediate byte, which pyte does not know and would show as text.
_NOT_FOR_PYTE = re.compile(rb"\x1b\[(?:[<>=][0-?]*[ -/]*|[0-?]*[ -/]+)[@-~]")
_COMMANDS = re.compile(rb"\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)")
_UNFINISHED = re.compile(rb"\x1b(?:\[[0-?]*[ -/]*)?\Z")


class NotShown(AssertionError):
    """What was waited for did not come; the message is what stood on the screen instead."""


def did_not_count(text: str) -> bool:
    """Whether the screen says that a key did not count, wherever its lines break."""
    return "a key did not count" in " ".join(text.split())


class Terminal:
    """Runs one program from entering to leaving the `with` block."""

    def __init__(
        self, command: Sequence[str], columns: int, rows: int, cwd: str | None = None, **environment: str
    ) -> None:
        self.command, self.cwd = list(command), cwd
        self.columns, self.rows = columns, rows
        self.environment = {"TERM": "xterm-256color", "LANG": "C.UTF-8", **environment}
        self.screen = pyte.Screen(columns, rows)
        self.raw = b""
        """Every byte the program has written."""
        self.status: int | None = None
        self._stream = pyte.ByteStream(self.screen)
        self._rest = b""
        self._painted_s = 0.0
        self._struck_s: dict[str, float] = {}
        self._open = True

    def __enter__(self) -> Terminal:
        self.began_s = time.perf_counter()
        self.pid, self._end = os.forkpty()
        if self.pid == 0:
            self._become_the_program()
        self._set_size()
        return self

    def _become_the_program(self) -> None:
        try:
            if self.cwd:
                os.chdir(self.cwd)
            _set_size(0, self.columns, self.rows)
            os.execvpe(self.command[0], self.command, _environment(self.environment))
        finally:
            os._exit(127)

    def __exit__(self, *_: object) -> None:
        if self.status is None:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
        self.close_window()

    # -- what it shows

    @property
    def text(self) -> str:
        """The screen as it reads now, without what is blank at the ends of lines."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    @property
    def bells(self) -> int:
        """How often it has rung. The same byte also ends commands to the terminal (OSC); those are not heard."""
        return _COMMANDS.sub(b"", self.raw).count(b"\x07")

    @property
    def commands(self) -> set[bytes]:
        """What the program told the terminal beyond painting: titles, clipboards, pointers (OSC)."""
        return set(_COMMANDS.findall(self.raw))

    @property
    def _frame_is_open(self) -> bool:
        """Whether part of a picture has come and the rest is on its way (mode 2026, synchronized output)."""
        return self.raw.rfind(b"\x1b[?2026h") > self.raw.rfind(b"\x1b[?2026l")

    def take(self, seconds: float) -> bool:
        """Take in what comes within `seconds`; return at once when something came."""
        if not self._open or not select.select([self._end], [], [], max(0.0, seconds))[0]:
            return False
        came_s = time.perf_counter()
        try:
            data = os.read(self._end, 1 << 16)
        except OSError:  # the other end is closed: the program has gone
            data = b""
        if not data:
            self._open = False
            return False
        self._painted_s = came_s
        self._show(data)
        return True

    def _show(self, data: bytes) -> None:
        self.raw += data
        for query, answer in QUERIES.items():
            if query in data:
                os.write(self._end, answer)
        data = self._rest + data
        cut = _UNFINISHED.search(data)
        self._rest = data[cut.start() :] if cut else b""
        self._stream.feed(_NOT_FOR_PYTE.sub(b"", data[: cut.start()] if cut else data))

    def wait_until(self, shown: Callable[[str], object], what: str, seconds: float = PATIENCE_S) -> float:
        """Take in output until `shown` is true of the text. Returns the moment at which the last of it came."""
        ends_s = time.perf_counter() + seconds
        while self._frame_is_open or not shown(self.text):
            left_s = ends_s - time.perf_counter()
            if left_s <= 0 or not self._open:
                raise NotShown(f"{what} was not shown; this was:\n{self.text}")
            self.take(left_s)
        return self._painted_s

    def wait_for(self, words: str, seconds: float = PATIENCE_S) -> float:
        """Wait until `words` stand on the screen."""
        return self.wait_until(lambda text: words in text, repr(words), seconds)

    def rest(self, seconds: float = 0.6) -> None:
        """As long as anyone needs, on a busy machine too, until what is struck answers the picture in sight."""
        ends_s = time.perf_counter() + seconds
        while (left_s := ends_s - time.perf_counter()) > 0 and self._open:
            self.take(left_s)

    # -- what is done to it

    def send(self, data: bytes) -> None:
        """Bytes as they are, at once."""
        os.write(self._end, data)

    def press(self, key: str, shows: str) -> None:
        """Strike a key as a person would: once the picture has been read, and again when it was not counted. Ends when
        `shows` stands on the screen."""
        for last in (False, False, True):
            self._read_the_picture(key)
            before = self.text
            self.send(KEYS.get(key, key.encode()))
            self._struck_s[key] = time.perf_counter()
            try:
                self.wait_until(self._answered(before, shows), f"{shows!r} after {key}", PATIENCE_S / 3)
            except NotShown:
                if last or not self._open:
                    raise
            if shows in self.text:
                return
        raise NotShown(f"{key} was never counted:\n{self.text}")

    @staticmethod
    def _answered(before: str, shows: str) -> Callable[[str], bool]:
        return lambda text: shows in text or (text != before and did_not_count(text))

    def _read_the_picture(self, key: str) -> None:
        while True:
            again_s = PACE_S if key in TURNING else SAME_KEY_S
            due_s = max(self._painted_s + PACE_S, self._struck_s.get(key, 0.0) + again_s)
            left_s = due_s - time.perf_counter()
            if left_s <= 0:
                return
            self.take(left_s)

    def type(self, characters: str, shows: str) -> None:
        """Type characters one after the other, then wait for `shows`."""
        for character in characters:
            self._read_the_picture(character)
            self.send(character.encode())
            self._struck_s[character] = time.perf_counter()
            self.take(1.0)
        self.wait_for(shows)

    def resize(self, columns: int, rows: int) -> None:
        self.columns, self.rows = columns, rows
        self.screen.resize(rows, columns)
        self._set_size()

    def _set_size(self) -> None:
        _set_size(self._end, self.columns, self.rows)

    def modes(self) -> list[int]:
        """How the terminal handles what is typed: echoed or not, by lines or by keys (termios)."""
        return termios.tcgetattr(self._end)

    def kill(self, number: signal.Signals = signal.SIGKILL) -> None:
        os.kill(self.pid, number)

    def close_window(self) -> None:
        """What a person does who clicks the window away."""
        if self._end >= 0:
            os.close(self._end)
            self._end, self._open = -1, False

    def ends(self, seconds: float = PATIENCE_S) -> int:
        """Wait until the program has ended; its status (negative: the signal that ended it)."""
        ends_s = time.perf_counter() + seconds
        while self.status is None:
            if not self.take(0.02):
                select.select([], [], [], 0.0 if self._open else 0.02)
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.status = os.waitstatus_to_exitcode(status)
            elif time.perf_counter() > ends_s:
                raise NotShown(f"the program did not end:\n{self.text}")
        while self._open and self.take(0.1):
            pass
        return self.status

    # -- how much it takes

    def memory_kb(self, which: str = "VmHWM") -> int:
        """`VmHWM`, the most the program has had in memory so far, or `VmRSS`, what it has now (proc(5))."""
        with open(f"/proc/{self.pid}/status") as lines:
            return next(int(line.split()[1]) for line in lines if line.startswith(f"{which}:"))


def _environment(wanted: Mapping[str, str]) -> dict[str, str]:
    """Nothing of the machine but its paths; an empty word leaves one out."""
    kept = {name: os.environ[name] for name in ("PATH", "PYTHONPATH", "VIRTUAL_ENV") if name in os.environ}
    return {name: word for name, word in {**kept, "HOME": "/nonexistent", **wanted}.items() if word}


def _set_size(descriptor: int, columns: int, rows: int) -> None:
    fcntl.ioctl(descriptor, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
