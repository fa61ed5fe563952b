"""Read names and paths that a stranger may have written, so that none leads elsewhere."""

from __future__ import annotations

import re
from ipaddress import ip_address, ip_network
from urllib.parse import quote

_HOST = re.compile(r"(?P<name>[a-z0-9](?:[a-z0-9.-]*[a-z0-9])?|\[[0-9a-f:.]+\])(?::[0-9]{1,5})?")
_PATH = re.compile(r"/[^\x00-\x20\x7f\\]*")
_HIDDEN = re.compile(r"%(?:2f|5c|2e|0[0-9a-f]|1[0-9a-f]|7f)", re.IGNORECASE)
LONGEST = 2000
OWN_NETWORKS = tuple(
    map(ip_network, ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16"))
)
"""What is never routed through the internet: RFC 1918 and the link-local numbers of RFC 3927."""


def host_name(host: str) -> str | None:
    """The name in a Host header, in small letters, its port left off; none if it is malformed.

    A dot at the end, a user before an @, a second port or anything else that two readers might
    read in two ways is malformed.
    """
    found = _HOST.fullmatch(host.lower())
    if found is None or (host.startswith("[") and not _is_number(found["name"])):
        return None
    return found["name"]


def _is_number(bracketed: str) -> bool:
    try:
        ip_address(bracketed.strip("[]"))
    except ValueError:
        return False
    return ":" in bracketed


def own_path(text: str, otherwise: str = "/") -> str:
    r"""A path with its query on this very server; `otherwise` if the text is anything else.

    Browsers take `//name` and `/\name` for other hosts and leave out tabs and line ends, so
    none of these may stand in it, nor may steps upwards.
    """
    if len(text) > LONGEST or not text.isprintable() or not _PATH.fullmatch(text):
        return otherwise
    path = re.split(r"[?#]", text, maxsplit=1)[0]
    return text if is_plain(path, quote(path, safe="/%")) else otherwise


def is_plain(path: str, raw: str) -> bool:
    """Whether a path can be read in one way only.

    Parameters
    ----------
    path : str
        The path, its percent signs taken out.
    raw : str
        The path as it was sent: slashes, dots and control characters must not hide in it.
    """
    parts = path.split("/")
    return (
        path.startswith("/")
        and path.isprintable()
        and "\\" not in path
        and "" not in parts[1:-1]
        and not {".", ".."} & set(parts)
        and not _HIDDEN.search(raw)
    )


def first_part(path: str) -> str:
    """The first part of a path as the most careless file system would read it."""
    return path.removeprefix("/").split("/", 1)[0].casefold().rstrip(". ")


def is_own_network(address: str) -> bool:
    """Whether this is an IPv4 address that only a network at home or at work hands out."""
    try:
        found = ip_address(address)
    except ValueError:
        return False
    return any(found in network for network in OWN_NETWORKS)
