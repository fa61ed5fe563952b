"""Take in what a phone saved to a file: each entry goes to its page, as if sent by the phone."""

from __future__ import annotations

import asyncio
import json
import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import quote, unquote

from spawnwright.actions.book.files import open_named
from spawnwright.actions.book.importing import Imported
from spawnwright.actions.book.unsent import (
    Unsent,
    UnsentEntry,
    back_up_before,
    read_unsent,
    there_already,
)
from spawnwright.web.addresses import own_path
from spawnwright.web.desk import Desk
from spawnwright.web.guard import App, is_for_this_machine

KEPT, THERE, REFUSED = "kept", "there", "refused"


@dataclass(frozen=True)
class Outcome:
    """What became of an entry: kept, there already, or refused with a sentence."""

    entry: UnsentEntry
    how: str
    problem: str = ""


def take_unsent(named: str | None, source: Path, now: datetime, *, do: bool) -> Imported:
    """Show what a file of unsent entries would add to a book, or add it after a backup.

    Each entry stands for itself: one that is refused keeps no other out.
    """
    from spawnwright.web.app import make_pages

    told = read_unsent(source)
    desk = Desk(open_named(named, create=True), named=named)
    try:
        there = there_already(desk.book, told.entries)
        new = [each for each in told.entries if each.step not in there]
        if not do or not new:
            titles = tuple(f"{each.title}, made {each.made_at:%Y-%m-%d %H:%M}" for each in new)
            return Imported("unsent entries", do, len(told.entries), len(new), notes=titles)
        backup = back_up_before(desk.book, now)
        found = send_unsent(make_pages(desk), told, there)
    finally:
        desk.close()
    problems = tuple(
        f"{each.entry.title}, made {each.entry.made_at:%Y-%m-%d %H:%M}: {each.problem}"
        for each in found
        if each.how == REFUSED
    )
    kept = sum(each.how == KEPT for each in found)
    said = (f"{kept} of {len(new)} new entries were kept.",) if problems else ()
    return Imported(
        "unsent entries", True, len(told.entries), kept, problems=problems, notes=said,
        backup=backup,
    )  # fmt: skip


def send_unsent(app: App, told: Unsent, there: frozenset[str]) -> list[Outcome]:
    """Send entries to their pages, in order.

    Parameters
    ----------
    app : App
        The pages without the guard around them.
    told : Unsent
        The entries.
    there : frozenset of str
        The steps that the book has already; their entries are not sent.
    """
    return asyncio.run(_sent(app, told.device, told.entries, there))


async def _sent(
    app: App, device: str, entries: Sequence[UnsentEntry], there: frozenset[str]
) -> list[Outcome]:
    found = []
    for each in entries:
        if each.step in there:
            found.append(Outcome(each, THERE))
            continue
        problem = await _problem_of(app, device, each)
        found.append(Outcome(each, REFUSED if problem else KEPT, problem))
    return found


async def _problem_of(app: App, device: str, entry: UnsentEntry) -> str:
    """Empty if the entry was kept."""
    path, _, query = entry.address.partition("?")
    if own_path(entry.address, "?") != entry.address or is_for_this_machine(unquote(path)):
        return "It goes to no page for entries."
    status, answer = await _ask(app, path, query, f"{device[:100]}, from a file", *_body(entry))
    try:
        said = json.loads(answer)
    except ValueError:
        said = None
    if isinstance(said, dict) and status == 200 and "kept" in said:
        return ""
    problem = said.get("problem") if isinstance(said, dict) else None
    return str(problem or f"Its page did not take it ({status}).")


async def _ask(
    app: App, path: str, query: str, device: str, kind: str, body: bytes
) -> tuple[int, bytes]:
    scope = {
        "type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST",
        "scheme": "http", "path": unquote(path), "raw_path": path.encode(), "root_path": "",
        "query_string": query.encode(), "client": None, "server": ("127.0.0.1", 0),
        "headers": [(b"host", b"127.0.0.1"), (b"x-outbox", b"1"), (b"content-type", kind.encode()),
                    (b"content-length", str(len(body)).encode())],
        "state": {"is_here": False, "device": device},
    }  # fmt: skip
    told: list[Any] = []

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": body, "more_body": False}

    async def send(message: Any) -> None:
        told.append(message)

    try:
        await app(scope, receive, send)
    except Exception:
        # A mistake of the program: it is logged and answered with its code, then raised again.
        if not told:
            raise
    return told[0]["status"], b"".join(each.get("body", b"") for each in told[1:])


def _body(entry: UnsentEntry) -> tuple[str, bytes]:
    """The form as a browser would send it (RFC 7578): the kind of content and the content."""
    mark = secrets.token_hex(16)
    parts = [
        f'--{mark}\r\nContent-Disposition: form-data; name="{_in_quotes(name)}"\r\n\r\n'
        f"{value}\r\n".encode()
        for name, value in entry.fields
    ]
    for each in entry.pictures:
        head = (
            f"--{mark}\r\nContent-Disposition: form-data; "
            f'name="{_in_quotes(each.field)}"; filename="{_in_quotes(each.name)}"\r\n'
            f"Content-Type: {quote(each.kind, safe='/+.-')}\r\n\r\n"
        )
        parts.append(head.encode() + each.content + b"\r\n")
    return f"multipart/form-data; boundary={mark}", b"".join(parts) + f"--{mark}--\r\n".encode()


def _in_quotes(text: str) -> str:
    return text.replace('"', "%22").replace("\r", "%0D").replace("\n", "%0A")
