"""What all pages share while the server runs: the book, the clock, the address, the worker."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, tzinfo
from threading import Event
from typing import TYPE_CHECKING

from spawnwright.web.compute import Compute
from spawnwright.web.once import Once

if TYPE_CHECKING:
    from spawnwright.records.kit import Kit
    from spawnwright.store.book.engine import Book
    from spawnwright.web.keys import Keys
    from spawnwright.web.phones import Phones

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
PORT = 8377


@dataclass(frozen=True)
class Address:
    """Where the pages are: `hosts` are the names by which a browser may ask for them.

    This machine itself always asks by plain http at `port`. By https (`scheme`), phones ask at
    `secure_port`; a name that the grower chose comes first among the names.
    """

    port: int = PORT
    scheme: str = "http"
    hosts: tuple[str, ...] = LOOPBACK
    is_lan: bool = False
    secure_port: int | None = None

    @property
    def names(self) -> tuple[str, ...]:
        """The names among `hosts` by which others on the network ask."""
        return tuple(each for each in self.hosts if each not in LOOPBACK and not each[0].isdigit())

    @property
    def numbers(self) -> tuple[str, ...]:
        """The numbers among `hosts` by which others on the network ask."""
        return tuple(each for each in self.hosts if each not in LOOPBACK and each[0].isdigit())

    @property
    def home(self) -> str:
        """The address to open on this machine."""
        return f"http://127.0.0.1:{self.port}/"

    @property
    def for_phones(self) -> str:
        """The address that others on the network use: by a name if there is one."""
        return self.at([*self.names, *self.numbers, "127.0.0.1"][0])

    @property
    def by_number(self) -> str | None:
        """The same by the number of this machine, for phones that do not find the name."""
        return self.at(self.numbers[0]) if self.numbers else None

    def at(self, name: str) -> str:
        """The first page by one of the names, as a phone asks for it."""
        return f"{self.scheme}://{name}:{self.secure_port or self.port}/"


@dataclass
class Desk:
    """The open book and what goes with it; one for the whole server."""

    book: Book
    address: Address = field(default_factory=Address)
    named: str | None = None
    """How the book was named: a file, a URL, or none for the grower's own."""
    clock: Callable[[], datetime] = lambda: datetime.now(UTC)
    compute: Compute = field(default_factory=Compute)
    once: Once = field(default_factory=Once)
    phones: Phones | None = None
    """The paired phones; none where nothing but this machine can ever ask."""
    keys: Keys | None = None
    """The keys for https, if phones ask by it."""
    closing: Event = field(default_factory=Event)
    """Set when the server is about to stop, so that open streams end by themselves."""

    @property
    def book_named(self) -> str | None:
        """How another process is to name the same book."""
        return self.named if self.book.path is None else str(self.book.path)

    def now(self) -> datetime:
        """The instant, in UTC."""
        return self.clock().astimezone(UTC)

    def kit(self) -> Kit:
        """The grower's kit as it is in the file now."""
        from spawnwright.actions.own_kit.kit import own_kit

        return own_kit()

    def zone(self) -> tzinfo:
        """The time zone that times are shown in: the kit's, else this machine's."""
        from zoneinfo import ZoneInfo

        import tzlocal

        named = self.kit().time_zone
        return ZoneInfo(named) if named else tzlocal.get_localzone()

    def close(self) -> None:
        """Let go of book and worker."""
        self.closing.set()
        self.compute.close()
        self.book.close()
