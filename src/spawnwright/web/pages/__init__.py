"""One module a group of pages, each with its `ROUTES`."""

from __future__ import annotations

from importlib import import_module

from starlette.routing import BaseRoute

MODULES = (
    "today", "plan", "calendar", "jars_new", "batches", "find", "history", "offline", "pair",
    "phones", "trust", "unsent", "runs", "shelf", "look", "round", "photos", "jar", "blocks",
    "cultures", "doubt", "inoculate", "more", "record", "stock", "lots", "kit", "files", "paper",
)  # fmt: skip
"""In the order in which an address is looked up."""


def routes() -> list[BaseRoute]:
    """The routes of all pages."""
    found: list[BaseRoute] = []
    for name in MODULES:
        found += import_module(f"{__name__}.{name}").ROUTES
    return found
