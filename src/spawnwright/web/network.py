"""What this machine is called on its network, and what is opened to it."""

from __future__ import annotations

import re
import socket
from contextlib import suppress
from dataclasses import dataclass, replace

from spawnwright.errors import Contradiction, Unusable
from spawnwright.web.addresses import is_own_network
from spawnwright.web.desk import LOOPBACK, Address

_LABEL = r"[a-z0-9](?:[a-z0-9-]{0,61}[a-z0-9])?"
_NAME = re.compile(rf"(?:{_LABEL}\.)+(?:local|lan|internal|home\.arpa)")
"""Never a bare word: keys that vouch for `com` would vouch for all that ends with it."""
_TOWARDS = ("192.0.2.1", "10.255.255.254", "172.31.255.254", "192.168.255.254")
"""Numbers towards which the system is asked which of its own it would use; nothing is sent."""


@dataclass(frozen=True)
class Opening:
    """What the grower opens to the network; nothing, unless said."""

    is_lan: bool = False
    is_secure: bool = False
    name: str | None = None
    at: str | None = None
    """One number of this machine to listen at; without it, all of them."""

    def check(self) -> None:
        """Refuse what makes no sense without the rest, and names and numbers that cannot be."""
        if not self.is_lan and (self.is_secure or self.name or self.at):
            raise Contradiction(
                "--https, --name and --at say how to open to the network: add --lan."
            )
        if self.name is not None and not _NAME.fullmatch(self.name.lower()):
            raise Unusable(
                f"{self.name[:80]!r} is no name within a network of your own: it ends with .local, "
                ".lan, .internal or .home.arpa, as bench.local does."
            )
        if self.at is not None and not is_own_network(self.at):
            raise Unusable(
                f"{self.at[:80]!r} is no number of a network of your own, such as 192.168.1.7."
            )


def own_numbers() -> tuple[str, ...]:
    """The IPv4 numbers that networks of this house have given to this machine."""
    found: dict[str, None] = {}
    for towards in _TOWARDS:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, suppress(OSError):
            probe.connect((towards, 9))  # only looks up the way; a datagram is not sent
            found[probe.getsockname()[0]] = None
    with suppress(OSError):
        for each in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET):
            found[str(each[4][0])] = None
    return tuple(each for each in found if is_own_network(each))


def own_names() -> tuple[str, ...]:
    """The name by which machines on the network find this one without a server for names."""
    first = socket.gethostname().split(".", 1)[0].lower()
    return (f"{first}.local",) if re.fullmatch(_LABEL, first) and first != "localhost" else ()


def opened_address(port: int, opening: Opening) -> Address:
    """Where the pages are, for this machine and for what is opened to the network.

    Raises
    ------
    Unusable
        For a name or number that cannot be, or a number that this machine does not have.
    """
    opening.check()
    if not opening.is_lan:
        return Address(port)
    numbers = own_numbers()
    if opening.at is not None:
        check_ours(opening.at)
        numbers = (opening.at,)
    names = dict.fromkeys([*([opening.name.lower()] if opening.name else []), *own_names()])
    address = Address(port, hosts=(*LOOPBACK, *names, *numbers), is_lan=True)
    return replace(address, scheme="https", secure_port=port + 1) if opening.is_secure else address


def check_ours(number: str) -> None:
    """Refuse a number that this machine does not have."""
    with socket.socket() as probe:
        try:
            probe.bind((number, 0))
        except OSError as reason:
            raise Unusable(
                f"This machine does not have the number {number} now; it has "
                f"{', '.join(own_numbers()) or 'none of a network of your own'}."
            ) from reason


def said_of(address: Address) -> list[str]:
    """What the person at the terminal should know about what is open."""
    said = [f"Open {address.home} in a browser on this machine. Ctrl-C stops."]
    if not address.is_lan:
        return said
    places = dict.fromkeys(
        [address.for_phones, *([address.by_number] if address.by_number else [])]
    )
    said.append(f"Open to your network: {' or '.join(places)}")
    said.append(f"To pair a phone, open {address.home}phones here; unpaired ones see nothing.")
    if address.by_number is None:
        said.append(
            "This machine has no number of a network of your own now; phones reach it once it has."
        )
    if address.scheme == "https":
        said.append(f"A phone that pairs for the first time starts at {address.for_phones}ca/")
    else:
        said.append(
            "By plain http others on the same Wi-Fi can listen to what a paired phone sends, and "
            "could then read and act as that phone. Only in a network of your own; --https closes "
            "that."
        )
    return said
