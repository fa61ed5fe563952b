"""Photos of jars: the kept pictures, and a photo that comes without a look."""

from __future__ import annotations

import re

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.actions.book import looking as book_looking
from spawnwright.actions.book import looks as book_looks
from spawnwright.actions.book.jars import Hand
from spawnwright.errors import UnknownName, Unusable
from spawnwright.web.forms import Done, Form, desk_of, entry
from spawnwright.web.pages.look import photos_of

_NAME = re.compile(r"[0-9a-f]{64}")


def picture(request: Request) -> Response:
    """A kept picture; its name is its content, so that a browser may keep it for good."""
    name = request.path_params["content"]
    found = None
    if _NAME.fullmatch(name):
        found = book_looking.picture_named(desk_of(request).book, name)
    if found is None:
        raise UnknownName("photo", name[:70], ())
    media_type, data = found
    headers = {"cache-control": "private, max-age=31536000, immutable", "etag": f'"{name[:32]}"'}
    return Response(data, media_type=media_type, headers=headers)


def keep_photo(request: Request, form: Form, hand: Hand) -> Done:
    """Keep a photo of the jar of the address."""
    desk, photos = desk_of(request), photos_of(form)
    if len(photos) != 1:
        raise Unusable("Choose one photo, then keep it.")
    with desk.book.read() as connection:
        jar = book_looking.jar_of(connection, request.path_params["code"])
    entered = book_looks.add_photo(
        desk.book, hand, jar["id"], None, photos[0], desk.now(), form.text("note")
    )  # fmt: skip
    return Done(f"/j/{jar['code']}", entered.kept.step, f"Photo of {jar['code']} kept.")


ROUTES = [entry("/photos/of/{code}", keep_photo), Route("/photos/{content}", picture)]
