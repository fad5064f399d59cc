"""A question about the car answered through the door: into car.toml, which counts, and into the log."""

from __future__ import annotations

import codecs
import errno
import io
import os
import shutil
import signal
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path
from typing import Any

import pytest

from teardown.car import disk, door, rules
from teardown.car.answers import loss_of, open_features, open_rules, questions_of
from teardown.car.door import LOG, open_car, open_to_work
from teardown.car.facts import FACTS as FILE
from teardown.car.facts import LARGEST_BYTES, parse_facts
from teardown.car.log import CannotWrite, Entry, LogError, ReadOnly, line_of, read_log
from teardown.car.logwriter import LogWriter
from teardown.car.ruling import Refusal
from teardown.commands.show import as_data
from tests.world import FACTS, PROCEDURES, World


@pytest.fixture
def world(tmp_path: Path) -> Iterator[World]:
    world = World(tmp_path / "car")
    yield world
    world.car.close()


def file(world: World) -> str:
    return (world.folder / FILE).read_text()


def by_hand(world: World, was: str, wanted: str) -> None:
    text = file(world)
    assert was in text
    (world.folder / FILE).write_text(text.replace(was, wanted))


def kinds(world: World) -> list[str]:
    return [entry.kind for entry in read_log(world.folder / LOG)]


def test_the_answer_stands_in_car_toml_and_who_gave_it_in_the_log(world: World) -> None:
    entry = world.done("car-answered", feature="knee-bag", fitted="no")
    assert file(world) == FACTS.replace("[fitted]\n", "[fitted]\nknee-bag = false\n")
    assert (entry.who, entry.fields) == ("Ana", {"feature": "knee-bag", "fitted": "no", "before": "unknown"})
    assert world.car.facts.fitted["knee-bag"] is False
    assert [module.id for module in world.state.route.modules] == ["driver-bag"]
    world.done("car-answered", feature="knee-bag", fitted="unknown")
    assert "knee-bag" not in world.car.facts.fitted
    assert [module.id for module in world.state.route.modules] == ["driver-bag", "knee-bag"]


def test_afterwards_the_car_stands_as_after_a_fresh_opening_and_goes_on_being_written(world: World) -> None:
    world.airbags_ready()
    for feature, fitted in (("knee-bag", "no"), ("second-source", "unknown"), ("hybrid", "yes")):
        world.done("car-answered", feature=feature, fitted=fitted)
        world.done("note", text="still one writer")
        held = as_data(world.car.now())
        world.reopen()
        assert as_data(world.car.now()) == held


def test_a_rule_is_answered_with_where_it_says_so_and_the_date(world: World) -> None:
    by_hand(world, '[rules.door-cards]\nkeep = false\nrule = "4.2"\ndate = 2026-01-31\n', "")
    world.reopen()
    assert open_rules(world.state) == ("door-cards",)
    world.done("rule-answered", rule="door-cards", keep="yes", says="club rules 5.2")
    assert file(world).endswith('\n[rules.door-cards]\nkeep = true\nrule = "club rules 5.2"\ndate = 2026-05-09\n')
    assert open_rules(world.state) == ()
    assert world.refused("step-done", step="cabin.card-off").why == "rule club rules 5.2 (2026-05-09)"
    world.done("rule-answered", rule="door-cards", keep="no", says="Bo asked")
    assert world.car.facts.rules["door-cards"].keep is False


# -- what is refused


def test_what_the_packs_do_not_ask_is_not_answered(world: World) -> None:
    refused = world.refused("car-answered", feature="sunrof", fitted="no")
    assert refused.why == "no question is called sunrof (did you mean sunroof?)"
    refused = world.refused("rule-answered", rule="door-crads", keep="yes", says="4.2")
    assert refused.why == "no rule is called door-crads (did you mean door-cards?)"
    refused = world.refused("rule-answered", rule="door-cards", keep="yes", says="...")
    assert refused.why == "says=...: say where the rule book says so, like 4.2, or who says so"
    assert (file(world), kinds(world)) == (FACTS, ["opened"])


def test_a_part_that_was_written_of_shows_that_the_car_has_it(world: World) -> None:
    world.modules_out()
    refused = world.refused("car-answered", feature="knee-bag", fitted="no")
    stored = world.state.entries
    assert refused.why == (
        f"Is there a knee airbag? entry {stored} tells of Knee airbag module: the car has it. "
        "If that is wrong, take it back first"
    )
    world.done("undo", entry=stored)
    assert "tells of Knee airbag module" in world.refused("car-answered", feature="knee-bag", fitted="no").why
    world.done("undo", entry=stored - 1)  # the step that took it off: until then it lies about, live
    world.done("car-answered", feature="knee-bag", fitted="no")


def test_a_live_module_that_somebody_has_seen_fitted_is_not_answered_away(world: World) -> None:
    seen = world.done("still-fitted", module="knee-bag", why="behind its cover").n
    refused = world.refused("car-answered", feature="knee-bag", fitted="no")
    assert f"entry {seen} names Knee airbag as still fitted" in refused.why
    assert file(world) == FACTS
    world.done("not-there", module="knee-bag", why="an empty bracket")
    world.done("car-answered", feature="knee-bag", fitted="no")


def test_what_the_fuel_answers_is_not_answered_otherwise(tmp_path: Path) -> None:
    from teardown.packs.shipped import procedures

    world = World(tmp_path / "car", 'name = "T"\nfuel = "gas"\n')
    world.car.close()
    with open_car(world.folder, world.clock, write=True, packs=procedures()) as car:
        refused = car.enter("car-answered", {"feature": "gas-tank", "fitted": "no"}, "Ana")
        assert isinstance(refused, Refusal)
        assert 'car.toml says fuel = "gas", which answers yes: change that there' in refused.why


def test_not_known_does_not_count_as_no_unseen(tmp_path: Path) -> None:
    """A yes of its own taken out would leave what it hangs on, which says no: a gate would be gone with one key."""
    from teardown.packs.shipped import procedures

    said = 'name = "T"\n[fitted]\nair-conditioning = false\nair-conditioning-charged = true\n'
    world = World(tmp_path / "car", said)
    world.car.close()
    with open_car(world.folder, world.clock, write=True, packs=procedures()) as car:
        refused = car.enter("car-answered", {"feature": "air-conditioning-charged", "fitted": "unknown"}, "Ana")
        assert isinstance(refused, Refusal)
        assert "unknown would count as no (Does it have air-conditioning, working or not? No)" in refused.why
        assert file(world) == said
        for feature in ("air-conditioning", "air-conditioning-charged"):
            assert isinstance(car.enter("car-answered", {"feature": feature, "fitted": "unknown"}, "Ana"), Entry)
        assert "air-conditioning-charged" in open_features(car.folded)


def test_an_answer_is_taken_back_by_answering_again_and_undo_says_so(world: World) -> None:
    note = world.done("note", text="hello").n
    entry = world.done("car-answered", feature="knee-bag", fitted="no").n
    assert world.refused("undo", entry=entry).why == (
        f"entry {entry} answered a question about the car, and car.toml says the same: answer it again instead"
    )
    assert world.state.last_undoable() == note
    assert world.car.why_not_at_once(note) == (
        f"car answered: Is there a knee airbag? no (entry {entry}) cannot be taken back"
    )


@pytest.mark.parametrize("broken", ["name = ", FACTS + "[fitted]\n", FACTS.replace("hybrid", "hybrid = true\nhybrid")])
def test_a_car_toml_that_cannot_be_read_now_is_left_as_it_is(world: World, broken: str) -> None:
    (world.folder / FILE).write_text(broken)
    refused = world.refused("car-answered", feature="knee-bag", fitted="no")
    assert refused.why.startswith("car.toml: ")
    assert (file(world), kinds(world)) == (broken, ["opened"])


def test_where_nothing_can_be_written_nothing_is_changed(world: World) -> None:
    looking = open_car(world.folder, world.clock, write=False, packs=PROCEDURES)
    with pytest.raises(ReadOnly, match="is open to read only: nothing is written"):
        looking.enter("car-answered", {"feature": "knee-bag", "fitted": "no"}, "Bo")
    world.done("note", text="x")
    world.car.close()
    log = world.folder / LOG
    log.write_bytes(log.read_bytes().replace(b'"x"', b'"y"'))
    damaged = open_to_work(world.folder, world.clock, packs=PROCEDURES)
    with pytest.raises(ReadOnly):
        damaged.enter("car-answered", {"feature": "knee-bag", "fitted": "yes"}, "Ana")
    assert file(world) == FACTS


# -- car.toml is its owner's


def test_what_was_edited_by_hand_since_the_opening_stays_and_counts_from_then_on(world: World) -> None:
    by_hand(world, 'goal = "1000kg"', 'goal = "900kg"  # lighter')
    by_hand(world, "second-source = false", "second-source = true")
    world.done("car-answered", feature="knee-bag", fitted="yes")
    assert 'goal = "900kg"  # lighter' in file(world)
    assert (world.car.facts.goal, world.car.facts.fitted["second-source"]) == (900.0, True)
    assert "second-source" in world.state.route.sources


def test_the_bytes_of_another_systems_editor_and_the_files_mode_are_kept(world: World) -> None:
    path = world.folder / FILE
    path.write_bytes(codecs.BOM_UTF8 + FACTS.replace("\n", "\r\n").encode())
    path.chmod(0o640)
    world.done("car-answered", feature="knee-bag", fitted="no")
    wanted = FACTS.replace("[fitted]\n", "[fitted]\nknee-bag = false\n").replace("\n", "\r\n")
    assert path.read_bytes() == codecs.BOM_UTF8 + wanted.encode()
    assert path.stat().st_mode & 0o777 == 0o640


def test_a_car_toml_that_is_a_link_to_elsewhere_is_not_written_through(world: World) -> None:
    elsewhere = world.folder.parent / "elsewhere.toml"
    (world.folder / FILE).rename(elsewhere)
    (world.folder / FILE).symlink_to(elsewhere)
    assert "a link" in world.refused("car-answered", feature="knee-bag", fitted="no").why
    assert elsewhere.read_text() == FACTS


def test_other_packs_than_at_the_opening_are_not_worked_with_by_the_way(world: World) -> None:
    by_hand(world, 'name = "Test car"', 'name = "Test car"\nwords = "american"')
    (world.folder / "packs").mkdir()
    pack = '{}id = "own"\ntitle = "Own"\nwhy = "Mine."\n'
    (world.folder / "packs" / "own.toml").write_text(
        pack.format("") + '[[steps]]\nid = "one"\ntitle = "One"\ndo = "Look."\nminutes = [1, 2, 3]\n'
    )
    with pytest.raises(LogError, match="the packs are not those of the opening any more: quit, and open the car again"):
        world.enter("car-answered", feature="knee-bag", fitted="yes")
    assert kinds(world) == ["opened"]


def test_what_was_changed_by_hand_after_an_answer_is_told_with_who_and_when_and_counts(world: World) -> None:
    world.done("car-answered", feature="knee-bag", fitted="no")
    world.reopen()
    assert world.car.told == ()
    by_hand(world, "knee-bag = false\n", "")
    world.reopen()
    assert world.car.told == (
        "Is there a knee airbag? Here it was answered NO (Ana, 2026-05-09, entry 2). "
        "car.toml says NOT KNOWN, and that counts",
    )
    assert "knee-bag" in {module.id for module in world.state.route.modules}


def test_nothing_is_told_in_words_of_an_entry_behind_damage(world: World) -> None:
    """What stands there was never folded and may lack any of its words."""
    said = world.done("car-answered", feature="knee-bag", fitted="no").n
    world.car.close()
    entries = list(read_log(world.folder / LOG))
    line, _ = line_of(said + 1, entries[-1].at, "x", "car-answered", {}, entries[-1].digest)
    with (world.folder / LOG).open("ab") as log:
        log.write(line)
    with open_car(world.folder, world.clock, write=False, packs=PROCEDURES) as car:
        assert car.damage is not None
        assert car.said_of(said) == f"entry {said}, car answered: Is there a knee airbag? no"
        assert car.said_of(said + 1) == f"entry {said + 1}"


def test_who_only_looks_sees_at_once_what_the_car_may_have_after_all(world: World) -> None:
    world.battery_off()
    looking = open_car(world.folder, world.clock, write=False, packs=PROCEDURES)
    assert looking.now().gates["battery"].stands
    world.done("car-answered", feature="second-source", fitted="unknown")
    assert not looking.now().gates["battery"].stands
    (world.folder / FILE).write_text("name =")
    for _ in range(2):  # also once the log has grown
        assert "nothing is known" in looking.now().gates["ice-place"].why
        world.done("note", text="on it goes")
    (world.folder / FILE).write_text(FACTS)
    assert looking.now().gates["battery"].why.startswith("stands no more")


def test_what_is_answered_elsewhere_while_a_car_is_being_opened_counts(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The facts are read before the lock is had: until then the other program may answer."""
    world.battery_off()
    world.car.close()
    edited = FACTS.replace("second-source = false", "second-source = true")

    def meanwhile(*words: Any) -> Any:
        if file(world) != edited:
            (world.folder / FILE).write_text(edited)
        return own_packs(*words)

    own_packs = door.own_packs
    for write in (True, False):
        (world.folder / FILE).write_text(FACTS)
        with monkeypatch.context() as patch:
            patch.setattr(door, "own_packs", meanwhile)
            car = open_car(world.folder, world.clock, write=write, packs=PROCEDURES)
        with car:
            assert not car.now().gates["battery"].stands, write
            assert car.facts.fitted["second-source"] is True


# -- what a no takes away, and what a yes shuts


def test_a_no_tells_what_nobody_asks_for_any_more(world: World) -> None:
    def loss(feature: str) -> tuple[str, bool]:
        found = loss_of(world.state.route, world.car.facts, feature)
        return found.in_words(), found.is_safety

    assert loss("knee-bag") == ("LIVE Knee airbag, the step Knee airbag out", True)
    assert loss("hybrid") == ("the gate High voltage", True)
    assert loss("second-source") == ("a source of power", True)
    assert loss("sunroof") == ("the step Sunroof out", False)


def test_a_source_that_may_be_there_after_all_shuts_the_battery_whatever_is_answered_next(world: World) -> None:
    """Back and forth opens nothing: what was confirmed without it is confirmed again."""
    world.airbags_ready()
    world.done("car-answered", feature="second-source", fitted="yes")
    assert not world.stands("battery")
    world.done("car-answered", feature="second-source", fitted="no")
    assert "no longer rules out a source of power" in world.why("battery")
    assert not world.stands("airbag-wait")
    world.tick_all("battery")
    assert world.stands("battery")


def test_a_module_that_may_be_there_after_all_shuts_what_was_made_behind_its_count(world: World) -> None:
    world.done("car-answered", feature="knee-bag", fitted="no")
    world.airbags_ready()
    world.done("step-done", step="cabin.bag-out")
    world.done("part-stored", part="driver-bag", where="store")
    world.tick_all("ice-place")
    for fitted in ("unknown", "no"):
        world.done("car-answered", feature="knee-bag", fitted=fitted)
        assert not world.stands("ice-place")
    assert world.stands("live-count")
    assert "a live module counts as in the car again" in world.why("ice-place")


def test_what_was_made_behind_a_gate_that_the_car_may_have_after_all_is_made_again(world: World) -> None:
    world.battery_off()
    for fitted in ("yes", "no"):
        world.done("car-answered", feature="hybrid", fitted=fitted)
        assert not world.stands("battery")
    assert "High voltage: the car may have it after all" in world.why("battery")


def test_the_open_questions_are_those_nothing_has_settled(world: World) -> None:
    assert open_features(world.state) == ("knee-bag", "sunroof")


def test_a_rule_that_bears_the_name_of_a_feature_is_a_question_of_its_own(world: World, tmp_path: Path) -> None:
    packs = tmp_path / "procedures"
    shutil.copytree(PROCEDURES, packs)
    for path in packs.rglob("*.toml"):
        path.write_text(path.read_text().replace('"door-cards"', '"sunroof"'))
    world.car.close()
    by_hand(world, "[rules.door-cards]", "[rules.lamps]")
    with open_car(world.folder, world.clock, write=True, packs=packs) as car:
        assert car.enter("car-answered", {"feature": "sunroof", "fitted": "no"}, "Ana")
        waiting = {asked.key: asked.is_open for asked in questions_of(car.folded)}
    assert (waiting["fitted.sunroof"], waiting["rules.sunroof"]) == (False, True)


# -- disks and kills


def test_on_a_full_disk_car_toml_stays_whole_and_nothing_is_written(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(path: Path, content: bytes) -> None:
        path.write_bytes(content[:10])
        raise OSError(errno.ENOSPC, "no space")

    monkeypatch.setattr(disk, "write_synced", full)
    for fitted in ("yes", "no"):
        with pytest.raises(CannotWrite, match=r"car.toml cannot be written: the disk is full. Nothing was changed"):
            world.enter("car-answered", feature="knee-bag", fitted=fitted)
    assert (file(world), kinds(world)) == (FACTS, ["opened"])
    assert sorted(path.name for path in world.folder.iterdir()) == [FILE, LOG]


def test_a_no_that_did_not_get_into_car_toml_opens_nothing(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EACCES, "no")

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", refuse)
        with pytest.raises(CannotWrite, match=r"car.toml was not changed: .* Entry 2 stands, and opens nothing"):
            world.enter("car-answered", feature="knee-bag", fitted="no")
    assert "knee-bag" in {module.id for module in world.state.route.modules}
    world.done("car-answered", feature="knee-bag", fitted="no")
    assert "knee-bag" not in {module.id for module in world.state.route.modules}


def test_a_yes_that_the_log_did_not_take_counts_all_the_same(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    world.battery_off()

    def refuse(*_: object) -> None:
        raise CannotWrite("the disk is full")

    with monkeypatch.context() as patch:
        patch.setattr(LogWriter, "append", refuse)
        with pytest.raises(CannotWrite, match=r"the disk is full. car.toml has the answer all the same, and it counts"):
            world.enter("car-answered", feature="second-source", fitted="yes")
    assert not world.stands("battery")
    world.reopen()
    assert not world.stands("battery")


def test_what_another_program_changes_between_the_reading_and_the_writing_is_not_written_over(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    append = LogWriter.append

    def meanwhile(*words: object) -> object:
        by_hand(world, "1000kg", "950kg")
        return append(*words)  # type: ignore[arg-type]

    monkeypatch.setattr(LogWriter, "append", meanwhile)
    with pytest.raises(CannotWrite, match="another program has changed it this very moment"):
        world.enter("car-answered", feature="knee-bag", fitted="no")
    assert file(world) == FACTS.replace("1000kg", "950kg")


@pytest.mark.parametrize(
    "edited", [FACTS.replace("hybrid = false", "hybrid = true"), FACTS.replace("[fitted]", "[[fitted]]")]
)
def test_what_another_program_changes_between_the_judging_and_the_reading_is_not_answered_by_the_way(
    world: World, monkeypatch: pytest.MonkeyPatch, edited: str
) -> None:
    def meanwhile(*words: object) -> object:
        (world.folder / FILE).write_text(edited)
        return judge(*words)  # type: ignore[arg-type]

    judge = rules.rule
    monkeypatch.setattr(rules, "rule", meanwhile)
    why = world.refused("car-answered", feature="knee-bag", fitted="no").why
    assert "is being changed this very moment" in why or why.startswith("car.toml: fitted")
    assert (file(world), kinds(world)) == (edited, ["opened"])


def test_no_answer_is_judged_by_another_log_that_lies_there_for_a_moment(world: World, tmp_path: Path) -> None:
    """Put back, the log is written again: gates of the other car must not stand then."""
    other = World(tmp_path / "other")
    other.battery_off()
    other.car.close()
    log = world.folder / LOG
    log.rename(tmp_path / "aside")
    log.write_bytes((other.folder / LOG).read_bytes())
    with pytest.raises(CannotWrite, match="another program moved, replaced or changed"):
        world.enter("car-answered", feature="knee-bag", fitted="yes")
    (tmp_path / "aside").replace(log)
    world.done("note", text="here again")
    assert not world.stands("battery")
    assert file(world) == FACTS


def test_a_car_toml_as_large_as_may_be_is_still_read_after_an_answer(world: World) -> None:
    """The mark that some editors begin a file with counts too."""
    text = FACTS + f"# {'x' * 1000}\n" * 261
    text += "#" * (LARGEST_BYTES - len(codecs.BOM_UTF8) - len(text) - 1) + "\n"
    content = codecs.BOM_UTF8 + text.encode()
    (world.folder / FILE).write_bytes(content)
    world.reopen()
    world.refused("car-answered", feature="hybrid", fitted="unknown")  # "# " more
    assert (world.folder / FILE).read_bytes() == content
    world.reopen()


# -- disks that give out between the two


@pytest.mark.parametrize(
    ("was", "fitted", "counted"), [("no", "unknown", True), ("no", "yes", True), ("yes", "no", False)]
)
def test_an_answer_in_car_toml_is_stood_on_though_nothing_can_be_read_back(
    world: World, monkeypatch: pytest.MonkeyPatch, was: str, fitted: str, counted: bool
) -> None:
    """Else a module that the file counts would be counted only at the next opening."""
    world.done("car-answered", feature="knee-bag", fitted=was)
    replace, read = os.replace, Path.read_bytes
    placed: list[object] = []

    def put(*words: object) -> None:
        placed.append(replace(*words))  # type: ignore[arg-type]

    def unread(path: Path) -> bytes:
        if placed and path.name == FILE:
            raise OSError(errno.EIO, "no")
        return read(path)

    with monkeypatch.context() as patch:
        patch.setattr(os, "replace", put)
        patch.setattr(Path, "read_bytes", unread)
        world.done("car-answered", feature="knee-bag", fitted=fitted)
    assert placed
    assert ("knee-bag" in {module.id for module in world.state.route.modules}) is counted


def test_where_nobody_can_tell_whether_the_answer_got_there_more_is_counted(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object) -> None:
        raise OSError(errno.EIO, "no")

    for was, fitted in (("no", "unknown"), ("unknown", "no")):
        world.done("car-answered", feature="knee-bag", fitted=was)
        with monkeypatch.context() as patch:

            def from_now_on(*_: object, patch: pytest.MonkeyPatch = patch) -> None:
                patch.setattr(Path, "read_bytes", refuse)
                refuse()

            patch.setattr(os, "replace", from_now_on)
            with pytest.raises(CannotWrite):
                world.enter("car-answered", feature="knee-bag", fitted=fitted)
        assert "knee-bag" in {module.id for module in world.state.route.modules}, fitted


def test_an_answer_that_may_not_outlive_a_power_cut_is_told_counts_and_is_in_the_log(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So that what it shut stays shut whatever is answered next."""
    world.battery_off()

    def unsynced(*_: object) -> None:
        raise OSError(errno.EIO, "no")

    with monkeypatch.context() as patch:
        patch.setattr(disk, "sync_folder", unsynced)
        with pytest.raises(CannotWrite, match="has the answer, and it counts, but a power cut may take it away again"):
            world.enter("car-answered", feature="second-source", fitted="yes")
    assert "second-source = true" in file(world)
    assert kinds(world)[-1] == "car-answered"
    world.done("car-answered", feature="second-source", fitted="no")
    assert not world.stands("battery")


def test_a_disk_that_turned_read_only_on_the_way_is_told_and_is_no_traceback(
    world: World, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise OSError(errno.EROFS, "no")

    with monkeypatch.context() as patch:

        def failing(*_: object) -> None:
            patch.setattr(Path, "unlink", refuse)
            raise CannotWrite("the disk is read-only")

        patch.setattr(LogWriter, "append", failing)
        with pytest.raises(CannotWrite, match="the disk is read-only"):
            world.enter("car-answered", feature="knee-bag", fitted="no")
    with monkeypatch.context() as patch:
        patch.setattr(Path, "is_dir", refuse)  # the folder of own packs
        with pytest.raises(CannotWrite, match=r"cannot be written: the disk is read-only. Nothing was changed"):
            world.enter("car-answered", feature="knee-bag", fitted="no")
    assert file(world) == FACTS
    world.done("car-answered", feature="knee-bag", fitted="no")
    assert sorted(path.name for path in world.folder.iterdir()) == [FILE, LOG]


class Failing:
    """A disk that refuses one thing it is asked, counted from when it is switched on: the `nth`."""

    ASKED = ("open", "write", "fsync", "replace", "unlink", "chmod", "ftruncate", "stat", "fstat", "lseek")

    def __init__(self, patch: pytest.MonkeyPatch, nth: int) -> None:
        self.asked, self.nth = 0, nth
        for owner, names in ((os, self.ASKED), (io, ("open",))):
            for name in names:
                patch.setattr(owner, name, self.of(getattr(owner, name)))

    def of(self, work: Callable[..., object]) -> Callable[..., object]:
        def asked(*words: Any, **more: Any) -> object:
            self.asked += 1
            if self.asked == self.nth:
                raise OSError(errno.EIO, "no")
            return work(*words, **more)

        return asked


@pytest.mark.parametrize(("was", "fitted"), [("no", "yes"), ("yes", "no"), ("yes", "unknown")])
def test_wherever_the_disk_gives_out_car_toml_is_as_before_or_with_the_answer_and_that_counts(
    world: World, monkeypatch: pytest.MonkeyPatch, was: str, fitted: str
) -> None:
    """No traceback, nothing lost, and what is held is what a fresh opening finds."""
    world.enter("note", text="everything is imported")
    told = set()
    for nth in count(1):
        world.done("car-answered", feature="knee-bag", fitted=was)
        before, written = (world.folder / FILE).read_bytes(), kinds(world)
        with monkeypatch.context() as patch:
            failing = Failing(patch, nth)
            try:
                result = world.enter("car-answered", feature="knee-bag", fitted=fitted)
            except LogError as error:
                told.add(str(error))
        after, held = (world.folder / FILE).read_bytes(), as_data(world.car.now())
        fitted_now = {"yes": True, "no": False}.get(fitted) if after != before else was == "yes"
        assert parse_facts(after.decode()).fitted.get("knee-bag") is fitted_now, nth
        assert kinds(world)[: len(written)] == written
        world.reopen()
        assert as_data(world.car.now()) == held, nth
        if failing.asked < nth:
            assert isinstance(result, Entry)
            break
    assert told
    assert not any("was not changed" in one and "has the answer" in one for one in told)


def killed(world: World, fitted: str, patch: Callable[[], None]) -> None:
    """Answer in a process of its own, which `patch` has killed between the two writes."""
    child = os.fork()
    if not child:
        try:
            patch()
            world.enter("car-answered", feature="second-source", fitted=fitted)
        finally:
            os._exit(1)
    _, status = os.waitpid(child, 0)
    assert os.WTERMSIG(status) == signal.SIGKILL


def die(*_: object) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def test_killed_between_the_two_a_no_is_in_the_log_and_told_and_the_car_counts_as_having_it(world: World) -> None:
    world.done("car-answered", feature="second-source", fitted="unknown")
    killed(world, "no", lambda: setattr(os, "replace", die))
    world.reopen()
    assert kinds(world) == ["opened", "car-answered", "car-answered"]
    assert "second-source" in world.state.route.sources
    assert world.car.told == (
        "Is there a second source of power? Here it was answered NO (Ana, 2026-05-09, entry 3). "
        "car.toml says NOT KNOWN, and that counts",
    )
    world.done("car-answered", feature="second-source", fitted="no")
    assert sorted(path.name for path in world.folder.iterdir()) == [FILE, LOG]


def test_killed_between_the_two_a_yes_is_in_car_toml_and_shuts(world: World) -> None:
    world.battery_off()
    entries = world.state.entries
    killed(world, "yes", lambda: setattr(LogWriter, "append", die))
    world.reopen()
    assert world.state.entries == entries
    assert world.car.facts.fitted["second-source"] is True
    assert not world.stands("battery")
