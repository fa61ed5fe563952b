"""Asking for a kit at the terminal: one thing after the other, each answer kept at once."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from spawnwright.errors import Unusable

if TYPE_CHECKING:
    from spawnwright.actions.own_kit.questions import KitGroup, KitQuestion
    from spawnwright.records.kit import Kit


def ask_what_is_open(kit: Kit) -> Kit:
    """Ask what is not known yet; gives the kit as it is in its file then.

    Questions go to standard error, so that standard output carries the answer only. The end of
    the input ends the questions.
    """
    from spawnwright.actions.own_kit.known import open_questions
    from spawnwright.actions.own_kit.questions import GROUPS

    wanted = {each.name for each in open_questions(kit)}
    if not wanted:
        return kit
    _say(
        f"{len(wanted)} things are not known yet. Write each as it stands on the scale or the "
        "ruler, with its unit. Enter leaves one out; Ctrl-C stops, and what you said stays."
    )
    for group in GROUPS:
        questions = [each for each in group.questions if each.name in wanted]
        if questions:
            _head(group)
        for question in questions:
            try:
                kit = _ask(question, kit)
            except (EOFError, click.Abort, KeyboardInterrupt):
                _say("Kept so far. `./run kit` goes on from here.")
                return kit
    return kit


def _ask(question: KitQuestion, kit: Kit) -> Kit:
    """Ask until the answer can be used, or is left out."""
    from spawnwright.actions.own_kit.kit import change_kit

    how = f" {question.how}" if question.how else ""
    _say(f"\n{question.said}.{how} For: {question.why}.")
    choices = " or ".join(question.choices)
    while True:
        hint = choices or f"such as {question.example}"
        text = click.prompt(f"  {hint}", default="", show_default=False, err=True).strip()
        if not text:
            return kit
        try:
            return change_kit({question.name: text})
        except Unusable as problem:
            _say(f"  {problem}")


def _head(group: KitGroup) -> None:
    _say(f"\n{group.title.upper()}")
    if group.caution:
        _say(group.caution)


def _say(text: str) -> None:
    click.echo(text, err=True)
