"""A wish file to start from."""

from __future__ import annotations

from importlib.resources import files


def example_wish() -> str:
    """The complete example of docs/wish.md, without a line break at its end."""
    file = files("spawnwright").joinpath("data", "example_wish.toml")
    return file.read_text(encoding="utf-8").rstrip("\n")
