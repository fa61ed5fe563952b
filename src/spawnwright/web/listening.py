"""Where to listen, for what is opened to the network; and the keys that this needs."""

from __future__ import annotations

import socket
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from spawnwright.actions.own_files import own_files
from spawnwright.errors import Contradiction
from spawnwright.web.desk import Address
from spawnwright.web.keys import Keys
from spawnwright.web.network import Opening, opened_address

if TYPE_CHECKING:
    from spawnwright.web.server import Listener


def own_keys() -> Keys:
    """The keys for https in the grower's own folder."""
    return Keys(own_files() / "keys")


def listeners_of(address: Address, opening: Opening) -> list[Listener]:
    """Where to listen: this machine first, by plain http, which stays within it.

    Raises
    ------
    Contradiction
        If something else listens there already.
    """
    from spawnwright.web.server import Listener

    here = Listener("127.0.0.1", address.port)
    if not address.is_lan:
        found = [here]
    elif address.secure_port is not None:
        found = [here, _secure(address, address.secure_port, opening)]
    elif opening.at is not None:
        found = [here, Listener(opening.at, address.port)]
    else:
        found = [Listener("0.0.0.0", address.port)]
    for each in found:
        check_free(each.port, each.bind)
    return found


def _secure(address: Address, port: int, opening: Opening) -> Listener:
    from spawnwright.web.server import Listener

    keys, anywhere = own_keys(), replace(opening, at=None)

    def renew() -> bool:
        now = opened_address(address.port, anywhere)
        return keys.ready(now.names, now.numbers, datetime.now(UTC))

    renew()
    return Listener(opening.at or "0.0.0.0", port, keys, renew)


def check_free(port: int, number: str = "127.0.0.1") -> None:
    """Refuse a port that something else listens at."""
    with socket.socket() as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((number, port))
        except OSError as reason:
            raise Contradiction(
                f"Something already listens at port {port}, perhaps Spawnwright in another "
                "window; use that one, or name another --port."
            ) from reason
