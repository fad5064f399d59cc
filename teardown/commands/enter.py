"""Make one entry: teardown enter FOLDER KIND key=value ... Prints the entry's number, or refuses with the reason; after
a reading or a figure also, beside it, what to do and why the gate does not stand; after an answer about the car, what
it changed."""

from __future__ import annotations

import argparse
import json
import sys

from teardown.car.asking import question_about_entry
from teardown.car.entries import KINDS, WRITTEN_BY_THE_PROGRAM
from teardown.car.gates import alarms
from teardown.car.ruling import Refusal
from teardown.commands.opening import car_at
from teardown.commands.verdict import judged_gate, what_an_answer_changed, why_it_is_shut
from teardown.stop import DONE, REFUSED, WRONG_USE, Stop
from teardown.text import plain

EXAMPLES = """examples:
  teardown enter mycar gate-tick gate=battery tick=1
  teardown enter mycar gate-reading gate=ice-meter value=1200ppm
  teardown enter mycar step-done step=seats.driver-out
  teardown enter mycar part-weighed part=driver-seat reading=19.4kg
  teardown enter mycar power-restored why="charger put on"
  teardown enter mycar car-answered feature=sunroof fitted=no
  teardown enter mycar undo entry=17"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    kinds = ", ".join(kind for kind in KINDS if kind not in WRITTEN_BY_THE_PROGRAM)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.epilog = f"kinds: {kinds}\n\n{EXAMPLES}"
    parser.add_argument("folder", metavar="FOLDER")
    parser.add_argument("kind", metavar="KIND")
    parser.add_argument("words", nargs="*", metavar="key=value")
    parser.add_argument("--who", help="who did it; else the first name of `who` in car.toml")
    parser.add_argument("--rehearsal", action="store_true", help="the folder is a rehearsal, not a car")
    parser.add_argument("--json", action="store_true")


def run(args: argparse.Namespace) -> int:
    words = _words(args.words)
    with car_at(args.folder, write=True, rehearsal=args.rehearsal) as car:
        who = args.who or (car.facts.who[0] if car.facts.who else "unknown")
        before = car.now()
        entry = car.enter(args.kind, words, who)
        question = "" if isinstance(entry, Refusal) else question_about_entry(car.folded, entry)
        standing = car.now()
    orders = [f"{alarm.gate.title}: {alarm.do}" for alarm in alarms(standing.gates)]
    if isinstance(entry, Refusal) and entry.wrong_use:
        raise Stop(WRONG_USE, f"{args.kind}: {entry.about}=: {entry.why}")
    if isinstance(entry, Refusal):
        shut_by = f" (gate: {entry.gate})" if entry.gate else ""
        raise Stop(REFUSED, f"refused: {entry.why}{shut_by}")
    gate = judged_gate(standing, entry)
    told = {"entry": entry.n, "kind": entry.kind, "fields": entry.fields, "do": orders}
    changed = what_an_answer_changed(before, standing, entry)
    if changed:
        told["changed"] = changed
    if gate is not None:
        told["gate"] = {"gate": gate.gate.id, "stands": gate.stands, "why": gate.why, "working": list(gate.working)}
    print(json.dumps(told) if args.json else entry.n)
    if question:
        print(plain(question), file=sys.stderr)
    for line in (*(orders if entry.kind == "gate-reading" else ()), *why_it_is_shut(gate), *changed):
        print(plain(line), file=sys.stderr)
    return DONE


def _words(typed: list[str]) -> dict[str, str]:
    words: dict[str, str] = {}
    for word in typed:
        key, equals, value = word.partition("=")
        if not equals or not key:
            raise Stop(WRONG_USE, f"{word!r} is not key=value, like step=seats.driver-out")
        if key in words:
            raise Stop(WRONG_USE, f"{key}= is there twice")
        words[key] = value
    return words
