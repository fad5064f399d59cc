"""Reading packs from folders: files that are no packs at all, the order of work, and what the reader may import."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from teardown.packs.audit import audit
from teardown.packs.files import DEEPEST, LARGEST_BYTES, parsed
from teardown.packs.problems import PackError, Problem, in_file_order
from teardown.packs.reader import collect, load
from teardown.packs.translate import MOST_OF_A_FILE

PACK = """id = "{id}"
title = "Title"
why = "Why."
{more}[[steps]]
id = "one"
title = "One"
do = "Do."
minutes = [1, 2, 3]
"""


def write(folder: Path, name: str, more: str = "") -> Path:
    path = folder / f"{name}.toml"
    path.write_text(PACK.format(id=name, more=more), encoding="utf-8")
    return path


def told(folder: Path) -> list[str]:
    return [str(problem) for problem in collect([folder])[1]]


def test_packs_stand_in_working_order_and_ties_in_file_order(tmp_path: Path) -> None:
    write(tmp_path, "a", 'follows = ["z"]\n')
    write(tmp_path, "b")
    write(tmp_path, "c", 'follows = ["a"]\n')
    write(tmp_path, "z")
    assert [pack.id for pack in load(tmp_path).packs] == ["b", "z", "a", "c"]


def test_packs_that_follow_each_other_stay_in_file_order(tmp_path: Path) -> None:
    write(tmp_path, "a", 'follows = ["b"]\n')
    write(tmp_path, "b", 'follows = ["a"]\n')
    assert [pack.id for pack in load(tmp_path).packs] == ["a", "b"]


def test_the_library_knows_steps_by_reference_and_packs_by_file(tmp_path: Path) -> None:
    write(tmp_path, "seats")
    library = load(tmp_path)
    assert library.step("seats.one").title == "One"
    assert library.spots["pack", "seats"].file == "seats.toml"


def test_several_folders_make_one_library(tmp_path: Path) -> None:
    for name in ("mine", "yours"):
        (tmp_path / name).mkdir()
        write(tmp_path / name, name)
    assert load(tmp_path / "mine", tmp_path / "yours").by_id.keys() == {"mine", "yours"}


def test_load_raises_with_every_problem_of_every_file(tmp_path: Path) -> None:
    write(tmp_path, "a", "b = 1\n")
    write(tmp_path, "c", "d = =\n")
    with pytest.raises(PackError) as raised:
        load(tmp_path)
    assert [(problem.file, problem.line) for problem in raised.value.problems] == [("a.toml", None), ("c.toml", 4)]


def test_a_missing_folder_is_one_problem(tmp_path: Path) -> None:
    assert told(tmp_path / "gone") == [f"{tmp_path / 'gone'}\n  found no such folder; wanted a folder of packs"]


def test_a_huge_file_is_one_problem(tmp_path: Path) -> None:
    write(tmp_path, "a").write_bytes(b"#" * (LARGEST_BYTES + 1))
    assert told(tmp_path) == ["a.toml\n  found a larger file; wanted at most 1024 KiB"]


def test_a_file_that_is_not_utf_8_is_one_problem(tmp_path: Path) -> None:
    write(tmp_path, "a").write_bytes(b'id = "a\xff"\n')
    assert told(tmp_path) == ["a.toml\n  found byte 8 is not UTF-8; wanted text in UTF-8"]


def test_a_link_that_leads_out_of_the_folder_is_one_problem(tmp_path: Path) -> None:
    outside = write(tmp_path, "a")
    (tmp_path / "packs").mkdir()
    (tmp_path / "packs" / "a.toml").symlink_to(outside)
    assert told(tmp_path / "packs") == ["a.toml\n  found a link that leads out of the folder; wanted a file of its own"]


def test_a_shared_folder_that_is_a_link_outside_is_told_for_each_file(tmp_path: Path) -> None:
    for name in ("elsewhere", "packs"):
        (tmp_path / name).mkdir()
    (tmp_path / "elsewhere" / "gates.toml").write_text("gates = []\n", encoding="utf-8")
    (tmp_path / "packs" / "shared").symlink_to(tmp_path / "elsewhere")
    assert told(tmp_path / "packs") == [
        "shared/gates.toml\n  found a link that leads out of the folder; wanted a file of its own"
    ]


def test_a_link_inside_the_folder_is_read(tmp_path: Path) -> None:
    (tmp_path / "drafts").mkdir()
    (tmp_path / "a.toml").symlink_to(write(tmp_path / "drafts", "a"))
    assert told(tmp_path) == []


def test_a_link_to_itself_is_one_problem(tmp_path: Path) -> None:
    (tmp_path / "a.toml").symlink_to(tmp_path / "a.toml")
    assert len(told(tmp_path)) == 1


def test_a_folder_and_a_pipe_are_no_files(tmp_path: Path) -> None:
    (tmp_path / "a.toml").mkdir()
    os.mkfifo(tmp_path / "b.toml")
    assert told(tmp_path) == [
        "a.toml\n  found something that is not a file; wanted a file",
        "b.toml\n  found something that is not a file; wanted a file",
    ]


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_a_file_nobody_may_read_is_one_problem(tmp_path: Path) -> None:
    write(tmp_path, "a").chmod(0)
    assert told(tmp_path) == ["a.toml\n  found no way to read it (Permission denied); wanted a file that can be read"]


def test_a_name_that_drives_the_terminal_is_printed_plain(tmp_path: Path) -> None:
    (tmp_path / "a\x1b[2J.toml").write_text("id =\n", encoding="utf-8")
    assert told(tmp_path)[0].startswith("a[2J.toml: line 1\n")


def test_tables_nested_by_dots_are_one_problem_and_quick(tmp_path: Path) -> None:
    write(tmp_path, "a").write_text("a" + ".a" * 1900 + " = 1\n", encoding="utf-8")
    assert told(tmp_path) == ["a.toml\n  found lists in lists; wanted at most 12 inside each other"]


def test_twelve_lists_or_tables_inside_each_other_are_read_and_one_more_is_refused() -> None:
    """Far below what Python itself can hold: a pack of strangers gets no say in that."""
    assert parsed(f"a = {'[' * DEEPEST}{']' * DEEPEST}", "a.toml")["a"] != ()
    assert parsed("a" + ".a" * DEEPEST + " = 1", "a.toml")["a"] != {}
    for deeper in (f"a = {'[' * (DEEPEST + 1)}{']' * (DEEPEST + 1)}", "a" + ".a" * (DEEPEST + 1) + " = 1"):
        with pytest.raises(PackError, match="found lists in lists; wanted at most 12 inside each other"):
            parsed(deeper, "a.toml")


def test_lists_at_any_depth_are_read_as_tuples() -> None:
    assert parsed("a = [[1, [2]], {b = [3]}]", "a.toml") == {"a": ((1, (2,)), {"b": (3,)})}


def test_a_pack_that_cannot_be_parsed_makes_no_second_mistake_elsewhere(tmp_path: Path) -> None:
    write(tmp_path, "a", "broken\n")
    after = write(tmp_path, "b", 'follows = ["a"]\n')
    after.write_text(after.read_text(encoding="utf-8") + 'needs = ["a.anything"]\n', encoding="utf-8")
    library, problems = collect([tmp_path])
    assert [problem.file for problem in (*problems, *audit(library))] == ["a.toml"]


def test_the_reader_runs_without_the_screen_library_and_numpy() -> None:
    code = "import sys, teardown.packs.reader, teardown.packs.audit; print(*sys.modules)"
    modules = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    assert {name.split(".")[0] for name in modules}.isdisjoint({"textual", "rich", "numpy", "scipy", "jinja2"})


def test_problems_are_told_file_by_file_from_top_to_bottom() -> None:
    paths = [("b.toml", "why"), ("a.toml", 'step 10 "x": do'), ("a.toml", 'step 9 "x": do'), ("a.toml", "why")]
    problems = [Problem(file, path, None, "better") for file, path in paths]
    assert [(problem.file, problem.path) for problem in in_file_order([*problems, *problems])] == [
        ("a.toml", "why"),
        ("a.toml", 'step 9 "x": do'),
        ("a.toml", 'step 10 "x": do'),
        ("b.toml", "why"),
    ]


def test_a_file_of_endless_mistakes_is_told_in_part(tmp_path: Path) -> None:
    write(tmp_path, "a", "".join(f"key{n} = 1\n" for n in range(5000)))
    assert len(told(tmp_path)) == MOST_OF_A_FILE + 1
    assert told(tmp_path)[-1] == "a.toml\n  found more problems; wanted the first of them mended"
