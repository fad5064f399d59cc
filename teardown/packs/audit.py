"""What every library of packs must meet, beyond the shape of its files."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import islice

from teardown.packs import floors, openable, references, wording
from teardown.packs.files import Source
from teardown.packs.joining import joined
from teardown.packs.loosening import loosened
from teardown.packs.problems import PackError, Problem, shown
from teardown.packs.reader import Library, read

MOST_OF_A_KIND = 200

Rule = Callable[[Library], Iterable[Problem]]

RULES: tuple[Rule, ...] = (
    references.names_lead_somewhere,
    references.questions_change_something,
    references.questions_come_in_order,
    references.packs_follow_in_no_circle,
    references.gates_follow_in_no_circle,
    references.steps_wait_in_no_circle,
    references.steps_come_in_order,
    references.ranges_are_in_order,
    references.fasteners_can_be_counted,
    floors.hazards_bring_their_gates,
    floors.grave_hazards_bring_a_gate,
    floors.airbags_wait_long_enough,
    floors.dry_ice_is_measured,
    floors.live_modules_come_off_behind_the_airbag_gates,
    floors.heavy_parts_are_lifted_by_two,
    floors.heavy_lifts_have_two_people,
    floors.work_for_two_asks_who_is_here,
    floors.high_voltage_shuts_every_step,
    floors.what_is_out_for_now_is_asked_for,
    openable.waits_follow_what_stays,
    openable.nothing_follows_what_keeps_no_record,
    openable.waits_outlast_no_pause,
    openable.waits_keep_their_floor,
    openable.readings_can_be_reached,
    openable.hazards_bring_every_gate,
    openable.what_a_step_leaves_is_ticked_off,
    openable.parts_carry_every_module,
    openable.one_part_carries_a_module,
    openable.modules_come_off_before_the_count,
    wording.hazardous_words_carry_their_hazard,
    wording.mentions_are_called_for,
    wording.step_titles_are_short,
    wording.warnings_are_short,
    wording.warnings_are_sentences,
    wording.signal_words_fit_what_happens,
)
"""Each says in its first line what it demands."""


def audit(library: Library) -> tuple[Problem, ...]:
    """Every way in which `library` falls short of the rules."""
    found = (problem for rule in RULES for problem in _told(rule(library)))
    return tuple(problem for problem in found if (problem.file, problem.path) not in library.told)


def _told(problems: Iterable[Problem]) -> list[Problem]:
    """The first of many problems of one kind: a file made to waste time gets no more of it."""
    told = list(islice(problems, MOST_OF_A_KIND + 1))
    if len(told) > MOST_OF_A_KIND:
        told[-1] = Problem(told[-1].file, "", "more problems of this kind", "the first of them mended")
    return told


def audit_addition(base: Library, own: Library) -> tuple[Problem, ...]:
    """Everything wrong with laying `own` over `base`: what it loosens, and what the two together fall short of.

    What is loosened can upset files that are not `own`'s; that is told only when nothing else explains it.
    """
    whole = joined(base, own)
    loosening = (
        *loosened(base, own),
        *wording.hazards_waved_away(base, own),
        *wording.dangers_met_by_halves(base, whole, own),
        *wording.dangers_named_by_the_way(base, whole, own),
        *_no_words_of_its_own(base, own),
    )
    looser = tuple(problem for problem in loosening if (problem.file, problem.path) not in own.told)
    told = {(problem.file, problem.path) for problem in looser}
    own_files = {spot.file for spot in own.spots.values()}
    before = frozenset(audit(base))
    return looser + tuple(
        problem
        for problem in audit(whole)
        if problem not in before
        and (problem.file, problem.path) not in told
        and (not looser or problem.file in own_files)
    )


def _no_words_of_its_own(base: Library, own: Library) -> Iterator[Problem]:
    """Words are put for words in every gate and warning: a pack of one's own could turn them round."""
    for word in own.words:
        if word not in base.words:
            wanted = "no words: they would reword gates and warnings that ship"
            yield Problem("shared/*.toml", "words", shown(word.british), wanted)


def extend(base: Library, sources: Iterable[Source]) -> Library:
    """`base` with the packs in `sources`, which only add and tighten. Raises PackError with every problem found."""
    own, problems = read(sources)
    found = (*problems, *audit_addition(base, own))
    if found:
        raise PackError(found)
    return joined(base, own)
