"""The walk line by line, for screen readers and terminals that cannot paint: the same door, the same refusals."""

from __future__ import annotations

import io
from pathlib import Path
from threading import Timer

import pytest

from teardown.car.door import open_car
from teardown.commands.plain import walk_in_lines
from tests.terminal.conftest import kinds, walk_in_pipes
from tests.world import FACTS, PROCEDURES, World


@pytest.fixture
def world(tmp_path: Path) -> World:
    return World(tmp_path / "car")


def told(world: World, *said: str) -> list[str]:
    """What is answered to each line said, after the first step was told."""
    opening = spoken(world)
    return spoken(world, *said)[len(opening) :]


def spoken(world: World, *said: str) -> list[str]:
    """All that is said from the opening on."""
    out = io.StringIO()
    walk_in_lines(world.car, "Ana", [f"{line}\n" for line in said], out)
    return out.getvalue().splitlines()


def test_the_date_with_the_welder_is_said_once_as_the_work_begins(tmp_path: Path) -> None:
    world = World(tmp_path / "car", f"welder_date = 2026-06-20\n{FACTS}")
    said = spoken(world, "say")
    assert said[0] == "Welder on 2026-06-20: 42 days from today."
    assert sum("Welder" in line for line in said) == 1


def written(said: list[str]) -> list[str]:
    """The kinds of the entries that were written."""
    entries = (line.split(", ", 1)[1] for line in said if line.startswith("Written: entry"))
    return [entry.split(":")[0].rstrip(".") for entry in entries]


def test_it_says_the_hazard_first_then_the_step(world: World) -> None:
    assert spoken(world) == [
        "Car now 1200.0 kg.",
        "DANGER. High voltage. It will kill. Stop.",
        "Step 1 of 12: Look for high voltage. safe.look.",
        "ready.",
        "Here begins: Make safe. Everything leans on it.",
        "Look for orange cable.",
        "Time: about 2 min (1 to 3)",
    ]


def test_it_says_what_is_good_to_know_of_a_part_and_why_a_pack_is_done_where_it_begins(world: World) -> None:
    said = told(world, "go safe.mats", "go cabin.bag-out")
    assert "Floor mats: Wet mats weigh twice as much." in said
    assert [line for line in said if line.startswith("Here begins")] == ["Here begins: Cabin. Most of the weight."]


def test_it_says_what_the_card_shows_what_to_wear_what_comes_off_and_into_which_bag_its_bolts_go(world: World) -> None:
    said = told(world, "go cabin.seat-out")
    for line in (
        "Wear: eye protection",
        "People: 2",
        "Off: Driver seat, about 19.0 kg (14.0 to 32.0)",
        "Tools: E12 socket",
        "Fasteners: 4 bolts E12: BAG 1",
        "Time: about 10 min (5 to 20)",
        "To weigh: driver-seat",
    ):
        assert line in said


def test_what_was_noted_on_a_step_is_said_with_it(world: World) -> None:
    world.enter("note", text="second bolt is cut", step="cabin.seat-out")
    assert "Note: second bolt is cut" in told(world, "go cabin.seat-out")
    assert not any(line.startswith("Note: ") for line in told(world, "go cabin.bag-out"))


def test_a_shut_step_names_the_gates_that_can_be_asked_for(world: World) -> None:
    world.enter("step-done", step="safe.look")
    world.enter("step-done", step="safe.mats")
    assert "Shut by: battery. Say: gate NAME" in told(world, "go safe.isolate")


def test_a_rehearsal_says_so_first(tmp_path: Path) -> None:
    world = World(tmp_path / "scratch", rehearsal=True)
    assert spoken(world)[0] == "REHEARSAL: not a car."


def test_a_step_is_ticked_and_undone(world: World) -> None:
    said = told(world, "done", "undo")
    assert said[0] == "Written: entry 4, step done: Look for high voltage."
    assert "Step 2 of 12: Isolate the battery. safe.isolate." in said  # on to the next by itself
    assert said[-1] == "Undone: entry 4, step done: Look for high voltage."


def test_what_came_off_is_to_be_weighed_before_it_goes_on(world: World) -> None:
    said = told(world, "done", "go safe.mats", "done", "weigh mats 3.2kg", "next")
    assert "To weigh now: mats. Then say: next" in said
    assert "Written: entry 6, part weighed: Floor mats, 3.2kg." in said


def test_an_undo_asks_before_it_passes_over_what_cannot_be_taken_back(world: World) -> None:
    said = told(world, "done", "power", "undo", "say", "undo", "undo")
    asks = (
        "Not undone: power restored (entry 5) cannot be taken back. "
        "Say undo again to take back entry 4, step done: Look for high voltage."
    )
    assert said.count(asks) == 2  # another word came between
    assert said[-1] == "Undone: entry 4, step done: Look for high voltage."


def test_an_apostrophe_is_no_quotation_in_a_note(world: World) -> None:
    told(world, "note driver's bolt is seized")
    assert world.state.notes.last == ("safe.look", "driver's bolt is seized")


def test_the_bell_rings_when_a_wait_has_run(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    """The time that is left is given to a timer; what it says at the end names the gate to ask."""
    rung: list[float] = []

    class AtOnce(Timer):
        def start(self) -> None:
            rung.append(self.interval)
            self.function(*self.args)

    monkeypatch.setattr("teardown.commands.plain.Timer", AtOnce)
    said = told(world, "done", *(f"confirm battery {n}" for n in (1, 2, 3)))
    assert rung == [30 * 60]
    assert said[-1] == "\aAirbag wait: its time has run. Say: gate airbag-wait"


def test_a_shut_step_says_why_and_which_gate(world: World) -> None:
    said = told(world, "done", "go safe.isolate", "done")
    assert "shut. Battery off: 0 of 3 lines confirmed" in said
    assert said[-1] == "Refused: shut: Battery off: 0 of 3 lines confirmed. Gate: battery"


def test_bad_air_says_at_once_what_to_do_and_says_it_again_with_every_step(world: World) -> None:
    reached = "the air counts as 15,000 ppm or more: work goes on below 2,000 ppm, held for 10 min"
    said = spoken(world, "read ice-meter 16000ppm", "gate ice-meter", "say")
    begins = said.index("Written: entry 3, gate reading: Carbon dioxide, 16000ppm.")
    assert said[begins + 1 : begins + 3] == ["Carbon dioxide: Everyone away.", f"Carbon dioxide: {reached}"]
    assert f"Shut: Carbon dioxide (ice-meter). Everyone away. ({reached})" in said[begins:]
    assert said.count("Carbon dioxide: Everyone away.") == 2


def test_what_goes_straight_back_is_named_and_said_to_be_back_in_one_word(world: World) -> None:
    world.airbags_ready()
    said = told(world, "go cabin.card-off", "done", "go cabin.window-off", "done", "refitted")
    assert "Refused: say first that this is in its place: 2 to 3 bolts, back in their holes: refitted=yes" in said
    assert written(said)[-1] == "step done"
    assert world.state.mark("cabin.window-off") is not None


def test_the_job_is_not_ended_over_a_part_that_is_still_out(world: World) -> None:
    world.airbags_ready()
    said = told(
        world,
        *("go cabin.card-off", "done", "go cabin.window-off", "refitted", "go finish.cage", "done"),
        *("go finish.tabs", "done", "enter part-back part=window-winder", "done"),
    )
    assert (
        "Refused: shut: All is back: still out: Window winder. Say that each is back in (part-back), "
        "or gone for good (part-fate: sell, scrap or controlled). Gate: all-back" in said
    )
    assert written(said)[-1] == "step done"
    assert world.state.mark("finish.tabs") is not None


def test_a_gate_is_confirmed_line_by_line(world: World) -> None:
    said = told(world, "gate battery", "confirm battery 1", "confirm battery 3", "gate battery", "gate nowhere")
    assert said[:4] == [
        "WARNING. Live battery. It could burn. Isolate first.",
        "Wear: goggles",
        "Shut: Battery off (battery). 0 of 3 lines confirmed",
        "Line 1, open: Negative off, tied back.",
    ]
    follows = said.index("Written: entry 4, gate tick: Battery off, 1.") + 1
    assert said[follows] == "Line 2: Positive off, capped."
    assert "Refused: tick 2 comes next: Positive off, capped.. Gate: battery" in said
    assert "Line 1, confirmed: Negative off, tied back." in said
    assert said[-1] == "No such gate. Say: gates"


def test_a_gate_says_what_to_read_and_how_low_and_that_it_stands(world: World) -> None:
    world.battery_off()
    said = told(world, "gate battery-dead", "read battery-dead 0.1V")
    assert "Read: Volts between positive lead and body" in said
    assert "Stands: below 0.5 V" in said
    assert said[-1].startswith("Stands: Leads dead (battery-dead).")


def test_a_wait_is_told_in_minutes(world: World) -> None:
    world.battery_off()
    world.clock.advance(5 * 60)
    assert "25.0 minutes left." in told(world, "gate airbag-wait")


def test_readings_weights_people_notes_and_power_go_through_the_same_door(world: World) -> None:
    world.battery_off()
    said = told(
        world,
        "read battery-dead 0.1V",
        "weigh driver-seat 19.4kg",
        "people 2",
        'note "green  terminal"',
        "power charger was put on",
        "skip no time",
        "defer no light",
        "enter cost amount=12.50 what=gloves",
    )
    assert written(said) == [
        *("gate reading", "part weighed", "people here", "note", "power restored", "step skipped"),
        *("step deferred", "cost"),
    ]
    assert not world.stands("battery")


def test_a_step_is_put_off_until_a_milestone_and_a_wrong_one_is_answered_with_those_there_are(world: World) -> None:
    said = told(world, "next", "next", "defer until=cage-out in the way", "defer until=cage-in in the way", "say")
    assert "Refused: no milestone is called cage-out (did you mean cage-in?): cage-in" in said
    assert "deferred. in the way; comes back by itself: waits for the cage is in" in said


def test_power_that_came_back_is_one_word(world: World) -> None:
    world.battery_off()
    assert written(told(world, "power")) == ["power restored"]
    assert world.why("battery").startswith("stands no more: power came back: nobody has said how yet")


def test_after_a_pause_the_questions_are_told_and_answered(world: World) -> None:
    world.clock.advance(31 * 60)
    said = spoken(world, "done", "went no no unknown", "done")
    assert any(line.startswith("nothing was written for 31 minutes. What has happened?") for line in said)
    assert any(line.startswith("Refused: nothing was written for 31 minutes.") for line in said)
    assert written(said)[-1] == "step done"


@pytest.mark.parametrize(
    ("said", "answer"),
    [
        ("fly", "No such word: fly. Say: help"),
        ('enter note text="half', "Not understood: No closing quotation. Say: help"),
        ("go nowhere", "No such step. Say: go PACK.STEP"),
        ("go", "No such step. Say: go PACK.STEP"),
        ("enter", "Say: enter KIND key=value"),
        ("enter fly", "Not written: no entry is called 'fly'"),
        ("enter note kind=x self=y fields=z", "Not written: note: "),
        ("confirm", "Not written: gate-tick: gate= is missing"),
        ("weigh driver-seat heavy", "Not written: part-weighed: reading=: "),
        ("note", "Not written: note: text=: "),
        ("undo", "Nothing can be undone."),
        ("", ""),
    ],
)
def test_what_is_not_understood_is_answered_and_the_walk_goes_on(world: World, said: str, answer: str) -> None:
    answers = told(world, said, "done")
    assert written(answers) == ["step done"]
    assert answers[0].startswith(answer)


def test_next_and_before_end_at_the_ends_and_help_lists_the_words(world: World) -> None:
    said = told(world, "before", "next", "say", "help", "quit", "done")
    assert sum("Step 1 of 12" in line for line in said) == 1
    assert sum("Step 2 of 12" in line for line in said) == 2
    assert any(line.startswith("confirm NAME LINE") for line in said)
    assert not any("step-done" in line for line in said)


def test_every_word_that_is_understood_is_in_the_help(world: World) -> None:
    from teardown.commands.plain import HELP, LineWalk

    words = set(HELP.replace(",", " ").split())
    assert set(LineWalk(world.car, "Ana", io.StringIO()).verbs) <= words


def test_who_only_looks_is_told_that_nothing_is_written(world: World) -> None:
    world.car.close()
    world.car = open_car(world.folder, world.clock, write=False, packs=PROCEDURES)
    assert "open to read only" in spoken(world, "done")[-1]


def test_a_pack_word_cannot_break_the_line(world: World) -> None:
    said = told(world, "fly\x1b]0;owned\x07\u202e")
    assert said == ["No such word: fly]0;owned. Say: help"]


# -- through real pipes


def test_through_pipes_it_walks_until_the_input_ends(car: Path) -> None:
    done = walk_in_pipes(car, "--plain", said=b"done\nnote caf\xe9 \xff\xfe\nnote caf\xc3\xa9\n")
    assert (done.returncode, done.stderr) == (0, b"")
    assert [line for line in done.stdout.decode().splitlines() if line.startswith("Written")] == [
        "Written: entry 3, step done: Look for high voltage.",
        "Written: entry 4, note: Isolate the battery, caf\ufffd \ufffd\ufffd.",
        "Written: entry 5, note: Isolate the battery, caf\u00e9.",
    ]
    assert kinds(car) == ["opened", "opened", "step-done", "note", "note"]


def test_looking_only_takes_no_lock_and_leaves_the_log_alone(car: Path) -> None:
    before = (car / "log.jsonl").read_bytes()
    done = walk_in_pipes(car, "--plain", "--read", said=b"done\n")
    assert done.returncode == 0
    assert "Step 1 of 12" in done.stdout.decode()
    assert (car / "log.jsonl").read_bytes() == before


def test_a_question_about_the_car_is_told_and_answered(world: World) -> None:
    assert told(world, "answer", "answer knee-bag", "answer knee-bgg", "answer knee-bag no", "answer") == [
        "knee-bag: Is there a knee airbag?",
        "sunroof: Is there a sunroof?",
        "Is there a knee airbag?",
        "With no nobody asks for: LIVE Knee airbag, the step Knee airbag out",
        "No such question. Say: answer",
        "Written: entry 4, car answered: Is there a knee airbag? no.",
        "Nobody asks any more for: LIVE Knee airbag, the step Knee airbag out",
        "sunroof: Is there a sunroof?",
    ]
    assert world.car.facts.fitted["knee-bag"] is False
