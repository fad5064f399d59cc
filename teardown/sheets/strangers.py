"""A sheet for strangers: what none of them may read is blacked out of every text on it, in one place for all.

A chart would carry words past this, so such a sheet has none.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from teardown.car.privacy import black_out
from teardown.sheets.page import Block, Sheet

NOTHING_PRIVATE = (
    'car.toml says nothing is private (private = ["the plate", "the street"]): only what has the form of a vehicle '
    "number, an e-mail address or a phone number was looked for"
)


def blacked_out(sheet: Sheet, private: Sequence[str]) -> Sheet:
    """The sheet as a stranger may read it, with a note for each text that lost something."""
    told: dict[str, str] = {}

    def hide(text: str) -> str:
        shown, why = black_out(text, private)
        if why:
            told[text] = f'blacked out ({"; ".join(why)}): "{shown}"'
        return shown

    hidden = replace(
        sheet,
        title=hide(sheet.title),
        car=hide(sheet.car),
        blocks=[_hidden(block, hide) for block in sheet.blocks],
    )
    return replace(hidden, notes=(*sheet.notes, *(() if private else (NOTHING_PRIVATE,)), *told.values()))


def _hidden(block: Block, hide: Callable[[str], str]) -> Block:
    def each(texts: Iterable[str]) -> tuple[str, ...]:
        return tuple(hide(text) for text in texts)

    table = block.table
    return replace(
        block,
        title=hide(block.title),
        lines=each(block.lines),
        pairs=[(hide(label), hide(value)) for label, value in block.pairs],
        table=table and replace(table, head=each(table.head), rows=[each(row) for row in table.rows]),
        chart="",
        stamp=hide(block.stamp),
        photos=[replace(photo, of=hide(photo.of)) for photo in block.photos],
        to_write=each(block.to_write),
        signatures=each(block.signatures),
    )
