"""What a phone needs to open the pages from its home screen while the computer is away."""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright import __version__
from spawnwright.web.show import show

_STATIC = f"/static/{__version__}"
MANIFEST = {
    "name": "Spawnwright",
    "short_name": "Spawnwright",
    "description": "The bench book: what is due, what stands on the shelf, a look in three taps.",
    "id": "/",
    "start_url": "/",
    "scope": "/",
    "display": "standalone",
    "background_color": "#f4f6f2",
    "theme_color": "#17583f",
    "icons": [
        {"src": f"{_STATIC}/marks/icon.svg", "sizes": "any", "type": "image/svg+xml"},
        {"src": f"{_STATIC}/icon-192.png", "sizes": "192x192", "type": "image/png"},
        {"src": f"{_STATIC}/icon-512.png", "sizes": "512x512", "type": "image/png"},
        {
            "src": f"{_STATIC}/icon-512.png",
            "sizes": "512x512",
            "type": "image/png",
            "purpose": "maskable",
        },
    ],
}


def manifest(request: Request) -> Response:
    """What the home screen shows; it says nothing of the book."""
    return Response(json.dumps(MANIFEST), media_type="application/manifest+json")


@cache
def _worker() -> str:
    text = files("spawnwright.web").joinpath("static", "sw.js").read_text("utf-8")
    return f"const VERSION = {json.dumps(__version__)};\n{text}"


def worker(request: Request) -> Response:
    """The worker; asked for anew each time, so that a new version takes over."""
    return Response(_worker(), media_type="text/javascript", headers={"Cache-Control": "no-cache"})


def offline(request: Request) -> Response:
    """What still works while the computer is away."""
    return show(request, "offline.html")


ROUTES = [
    Route("/manifest.webmanifest", manifest),
    Route("/sw.js", worker),
    Route("/offline", offline),
]
