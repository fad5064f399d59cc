"""One list says what keys do: the dispatch, the line of keys and the help all read it. Here every such list is read."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest

from teardown.screens.commands import Command, find, key_lines, offered
from teardown.screens.desk import Desk, Place, TypedInto
from teardown.screens.fields import TextField
from teardown.screens.guard import KeyKind
from teardown.screens.paint import Window
from teardown.screens.places.card import Card
from teardown.screens.places.common import COMMON
from teardown.screens.places.help import Help
from teardown.screens.places.walking import WALK
from tests.screens.every_place import every_place, every_place_class
from tests.screens.hand import KeysOnly
from tests.world import World

LARGE_KEYS = {"space", "enter", "backspace", "up", "down", "left", "right", "pageup", "pagedown", "escape"}


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """More parts than there are digits, so that lists have pages."""
    world = World(Path(tmp_path_factory.mktemp("keys")) / "car")
    for n in range(10):
        world.done("part-found", name=f"clip {n}", reading="1kg")
    return Desk(world.car, "Ana", Card())


@pytest.fixture(scope="module")
def places(desk: Desk) -> dict[str, Place]:
    return every_place(desk)


@pytest.fixture(scope="module")
def where_letters_are_typed(places: dict[str, Place]) -> set[str]:
    """There a letter is a letter, so that no letter can be a command."""
    return {name for name, place in places.items() if isinstance(getattr(place, "field", None), TextField)}


def test_every_place_of_the_screen_is_looked_at_here(places: dict[str, Place]) -> None:
    assert {type(place) for place in places.values()} == every_place_class()


def test_a_place_holds_what_it_shares_with_others_and_inherits_none_of_it() -> None:
    assert {kind for kind in every_place_class() if kind.__bases__ != (object,)} == set()


def test_every_key_does_something(places: dict[str, Place]) -> None:
    idle = [
        f"{name}: [{command.shown}] {command.act}"
        for name, place in places.items()
        for command in place.commands
        if not hasattr(place, f"do_{command.act}")
        and command.act not in COMMON
        and not (isinstance(place, Card) and command.act in WALK)
    ]
    assert idle == []


def test_everything_a_place_can_do_has_its_key(places: dict[str, Place]) -> None:
    """A form has other keys at each of its questions: taken together they are all."""
    acts: dict[type, set[str]] = {}
    for place in places.values():
        acts.setdefault(type(place), set()).update(command.act for command in place.commands)
    for kind, known in acts.items():
        assert {word.removeprefix("do_") for word in dir(kind) if word.startswith("do_")} <= known, kind


def test_no_key_stands_for_two_things(places: dict[str, Place]) -> None:
    for name, place in places.items():
        keys = Counter(key for command in place.commands for key in command.keys)
        assert [key for key, times in keys.items() if times > 1] == [], name


def test_keys_are_large_ones_digits_or_single_letters_and_never_chords(places: dict[str, Place]) -> None:
    for name, place in places.items():
        keys = {key for command in place.commands for key in command.keys}
        odd = {key for key in keys if len(key) > 1} - LARGE_KEYS - {"question_mark"}
        assert odd == set(), name
        assert all(key == key.lower() for key in keys), name


def test_where_letters_are_typed_no_character_is_a_command(
    places: dict[str, Place], where_letters_are_typed: set[str]
) -> None:
    assert {"text", "bags", "form cost, 1"} <= where_letters_are_typed
    for name in where_letters_are_typed:
        keys = {key for command in places[name].commands for key in command.keys}
        assert all(len(key) > 1 and key != "space" for key in keys), name


def test_every_place_that_types_takes_what_is_typed(places: dict[str, Place]) -> None:
    assert [name for name, place in places.items() if place.types and not isinstance(place, TypedInto)] == []


def test_where_numbers_are_typed_no_digit_is_a_command(places: dict[str, Place]) -> None:
    for name, place in places.items():
        if place.types:
            assert all(find(place.commands, digit) is None for digit in "0123456789"), name


def test_escape_is_never_the_only_way_out(places: dict[str, Place], desk: Desk) -> None:
    """Terminals tell an Escape from the beginning of an arrow key only by waiting."""
    for name, place in places.items():
        ways = [command for command in place.commands if command.act in ("back", "rub_out", "answer")]
        if name != "card":
            assert any(key != "escape" for command in ways for key in command.keys), name


def test_power_came_back_is_one_key_in_every_place_where_letters_are_not_typed(
    places: dict[str, Place], where_letters_are_typed: set[str]
) -> None:
    without = {name for name, place in places.items() if find(place.commands, "p") is None}
    assert without == where_letters_are_typed | {"questions"}


@pytest.mark.parametrize("window", [Window(40, 12), Window(60, 18), Window(80, 24)])
def test_where_p_is_a_letter_the_line_of_keys_says_how_power_that_came_back_is_told(
    places: dict[str, Place], where_letters_are_typed: set[str], window: Window
) -> None:
    for name in where_letters_are_typed:
        line = " ".join(key_lines(offered(places[name].commands, True), window.columns, 1 if window.small else 2))
        assert ("[esc] then [p]ower" if window.small else "[escape] leave, then [p] POWER") in line, name


def test_help_is_one_key_in_every_place_where_letters_are_not_typed(
    places: dict[str, Place], where_letters_are_typed: set[str]
) -> None:
    without = {name for name, place in places.items() if find(place.commands, "question_mark") is None}
    assert without == where_letters_are_typed


def test_what_writes_or_opens_is_guarded_and_only_looking_is_not(places: dict[str, Place]) -> None:
    writes = {
        "done",
        "weigh",
        "confirm",
        "over",
        "write",
        "estimate",
        "total",
        "undo",
        "power",
        "finish",
        "sign",
        "answer",
        "tell",
        "go_on",
    }
    for name, place in places.items():
        unguarded = {c.act for c in place.commands if c.kind is KeyKind.TURNS}
        assert not unguarded & (writes | {"pick", "account", "quit"}), name


@pytest.mark.parametrize(("columns", "lines"), [(40, 1), (60, 2), (76, 2), (80, 2)])
def test_the_line_of_keys_fits_and_begins_with_the_one_that_goes_on(
    places: dict[str, Place], columns: int, lines: int
) -> None:
    for name, place in places.items():
        shown = key_lines(place.commands, columns, lines)
        assert len(shown) <= lines, name
        assert all(len(line) <= columns for line in shown), name
        first = next(command for command in place.commands if command.label)
        assert shown[0].startswith((lines == 1 and first.brief) or f"[{first.shown}] {first.label}"), name
        assert ("[?]" in shown[-1]) == (find(place.commands, "question_mark") is not None), name


@pytest.mark.parametrize(("columns", "lines"), [(40, 1), (60, 2), (80, 2)])
def test_power_undo_and_the_way_back_are_named_wherever_they_work(
    places: dict[str, Place], columns: int, lines: int
) -> None:
    for name, place in places.items():
        line = "  ".join(key_lines(place.commands, columns, lines))
        for command in place.commands:
            if command.act in ("power", "undo", "back", "rub_out") and command.label:
                named = (command.brief, f"[{command.shown}] {command.label}")
                assert any(word and word in line for word in named), f"{name}: {command.act} is not in {line!r}"


def test_undo_is_one_key_in_every_place_that_writes_without_letters(places: dict[str, Place]) -> None:
    pads = ("gate", "weigh", "found", "car on", "list", "card", "stored")
    for name, place in places.items():
        if name.startswith(pads):
            assert find(place.commands, "u") is not None, name


def test_where_nothing_can_be_written_no_key_that_writes_is_named(places: dict[str, Place]) -> None:
    writes = {"done", "confirm", "arm", "write", "undo", "power", "weigh", "sign", "over", "skip", "put_off", "note"}
    for name, place in places.items():
        commands = offered(place.commands, can_write=False)
        assert not {command.act for command in commands} & writes, name
        if name != "card":
            assert {command.act for command in commands} & {"back", "rub_out", "help"}, name
        assert offered(place.commands, can_write=True) == list(place.commands)


def test_keys_that_do_not_fit_are_left_out_whole() -> None:
    commands = tuple(Command((letter,), letter, "label", "help", "act") for letter in "abcdef")
    help_key = Command(("question_mark",), "?", "", "every key", "help")
    assert key_lines((*commands, help_key), 24, 2) == ["[a] label  [b] label", "[c] label  [?]"]


def test_help_names_every_key_of_every_place(places: dict[str, Place], desk: Desk) -> None:
    for name, place in places.items():
        told = [line.plain for line in Help(place).paint(desk, Window(60, 18)).body]
        for command in place.commands:
            line = next(line for line in told if line.startswith(f"[{command.shown}] {command.help}"))
            for key in command.keys if command.also else ():
                named = "?" if key == "question_mark" else key
                assert named in re.split(r"[\[\](), ]+", line), f"{name}: {key} is not in {line!r}"


def test_every_place_paints_in_every_window(places: dict[str, Place], desk: Desk) -> None:
    for window in (Window(40, 12), Window(60, 18), Window(80, 24), Window(120, 40)):
        for name, place in places.items():
            picture = place.paint(desk, window)
            assert picture.head, name
            assert place.name, name


def test_a_place_is_left_by_the_way_it_was_come_to(world: World, keys: KeysOnly) -> None:
    for way in (["l"], ["g"], ["s"], ["d"], ["p"], ["e"], ["y"], ["o"], ["c"], ["t"], ["f"], ["j"], ["question_mark"]):
        keys.press(*way)
        assert not isinstance(keys.desk.place, Card), way
        keys.press("backspace")
        assert isinstance(keys.desk.place, Card), way
    assert world.state.entries == 2  # that power came back is written at its key


def test_help_names_a_key_once_and_no_key_that_is_only_struck_as_the_digit_shown(
    desk: Desk, places: dict[str, Place]
) -> None:
    for name, place in places.items():
        told = [line.plain for line in Help(place).paint(desk, Window(120, 40)).body]
        named = Counter(re.findall(r"\[([^\]]+)\]", line)[0] for line in told if line.startswith("["))
        assert [key for key, times in named.items() if times > 1] == [], name
        assert not any("also 1, 2" in line for line in told), name
