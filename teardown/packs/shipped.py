"""Where the files that ship with the program lie."""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def procedures() -> Path:
    """The folder of the packs that ship."""
    return _shipped("procedures")


def sample_car() -> Path:
    """The car folder of the demo."""
    return _shipped("sample_car")


def _shipped(name: str) -> Path:
    """Inside the package once installed; beside it in a checkout."""
    installed = _PACKAGE / "shipped" / name
    return installed if installed.is_dir() else _PACKAGE.parent / name
