"""What is said to somebody who is turned away before any page is asked."""

from __future__ import annotations

import json
from dataclasses import dataclass
from html import escape

from spawnwright import __version__

_STATIC = f"/static/{__version__}"
_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Not here · Spawnwright</title>
<link rel="stylesheet" href="{static}/tokens.css"><link rel="stylesheet" href="{static}/site.css">
</head><body><main><h1>Not here</h1>
<p class="said caution">{text}</p>
<p><a class="button second" href="/">To the first page</a></p>
</main></body></html>
"""


@dataclass(frozen=True)
class Refusal:
    """A status and a sentence; `location` if the browser is sent on."""

    status: int
    text: str
    location: str = ""

    def body(self, is_script: bool, is_page: bool) -> tuple[str, bytes]:
        """The kind of content and the content: for our script, for a person, or for a tool."""
        if is_script:
            return "application/json", json.dumps({"problem": self.text}).encode()
        if is_page:
            said = _PAGE.format(static=_STATIC, text=escape(self.text))
            return "text/html; charset=utf-8", said.encode()
        return "text/plain; charset=utf-8", f"{self.text}\n".encode()
