"""All other places."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from spawnwright.web.show import show

GROUPS = (
    ("The work", (
        ("/calendar", "Calendar", "The steps of all batches by day"),
        ("/plan", "Plan", "From a wish to dates and quantities"),
        ("/runs", "Runs of the canner", "Load it, watch it, look back"),
        ("/inoculate", "Inoculate", "From a culture, or grain-to-grain"),
        ("/cultures", "Cultures", "What is left, what it gave"),
        ("/blocks", "Blocks and harvests", "Spawn used, mushrooms picked"),
    )),
    ("The book", (
        ("/doubt", "In doubt", "Quarantine, and everything that came of a lot"),
        ("/stock", "Jars and lids", "Owned, out, free"),
        ("/lots", "Lots and lids", "Sacks, boxes, lids made together"),
        ("/costs", "Costs", "Money and hours"),
        ("/history", "What was entered", "Newest first; undo"),
        ("/settle", "Said differently", "Where two devices disagree"),
    )),
    ("The household", (
        ("/kit", "Kit and settings", "Jar, canner, burner, place, units"),
        ("/paper", "Paper", "Labels, shelf list, sheets, calendar feed"),
    )),
)  # fmt: skip
HERE_ONLY = (
    ("/phones", "Phones", "Pair one, or send one away"),
    ("/files", "Files and backups", "Take the book out, bring one in"),
)
"""What is done on the machine itself only."""


def more(request: Request) -> Response:
    """A list of all places."""
    return show(request, "more.html", groups=GROUPS, here_only=HERE_ONLY)


ROUTES = [Route("/more", more)]
