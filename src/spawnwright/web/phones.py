"""Phones that may use the pages: paired once by a code, known by a token, revoked at will.

The token itself is only on the phone. What is kept of it is its hash, in a file of the grower's
own folder and never in the book, so that neither a backup nor an export can let anybody in.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import logging
import secrets
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Lock

from spawnwright.errors import BadFile, SpawnwrightError, UnknownName, Unusable
from spawnwright.web.private_files import write_private

LOG = logging.getLogger("spawnwright.serve")
SIGNS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
"""30 signs; none of them is taken for another."""
LENGTH = 8
OPEN_FOR = timedelta(seconds=120)
TRIES = 5
LASTS = timedelta(days=180)
LONGEST_NAME = 40
SEEN_EVERY = timedelta(hours=1)
_ANY = datetime(2000, 1, 1, tzinfo=UTC)


class WrongCode(Unusable):
    """A code that does not open anything."""


class TooManyTries(Unusable):
    """Codes were guessed at; the one that was open is void."""


@dataclass(frozen=True)
class Phone:
    """A paired phone; `seen_at` is known to the hour only."""

    id: str
    name: str
    token_hash: str
    paired_at: str
    seen_at: str

    @property
    def until(self) -> datetime:
        """When it has to be paired again."""
        return datetime.fromisoformat(self.paired_at) + LASTS


@dataclass
class Code:
    """A code that is open until an instant, for one phone."""

    text: str
    until: datetime
    tries: int = 0

    @property
    def written(self) -> str:
        """The code in two halves, as people read it."""
        return f"{self.text[:4]} {self.text[4:]}"


class Phones:
    """The paired phones, and the code that is open, if one is."""

    def __init__(self, path: Path) -> None:
        self._path, self._lock = path, Lock()
        self._phones = _read(path)
        self._code: Code | None = None

    def all(self) -> list[Phone]:
        """The paired phones, last seen first."""
        with self._lock:
            return sorted(self._phones.values(), key=lambda each: each.seen_at, reverse=True)

    def open_code(self, now: datetime) -> Code:
        """Make a code; an older one is void."""
        text = "".join(secrets.choice(SIGNS) for _ in range(LENGTH))
        with self._lock:
            self._code = Code(text, now + OPEN_FOR)
            return self._code

    def close_code(self) -> None:
        """Take the open code back."""
        with self._lock:
            self._code = None

    def code(self, now: datetime) -> Code | None:
        """The code that a phone can still use."""
        with self._lock:
            code = self._code
        is_open = code is not None and now < code.until and code.tries <= TRIES
        return code if is_open else None

    def pair(self, typed: str, name: str, now: datetime) -> tuple[Phone, str]:
        """Use up the open code; gives the phone and its token, which is never seen again.

        Raises
        ------
        WrongCode
            If it is not the code that is open.
        TooManyTries
            At the sixth try; the code is void then.
        """
        name = " ".join(name.split())
        if not name or len(name) > LONGEST_NAME or not name.isprintable():
            raise Unusable(
                f"A phone's name has 1 to {LONGEST_NAME} letters, such as kitchen phone."
            )
        with self._lock:
            self._check(typed, now)
            token = secrets.token_urlsafe(32)
            at = now.isoformat(timespec="seconds")
            phone = Phone(secrets.token_hex(6), name, _hash(token), at, at)
            phones = self._phones | {phone.token_hash: phone}
            self._write(phones)
            self._code = None
            return phone, token

    def _check(self, typed: str, now: datetime) -> None:
        code = self._code
        if code is None or now >= code.until:
            raise WrongCode("No code is open; make one on the computer, it holds for two minutes.")
        code.tries += 1
        if code.tries > TRIES:
            raise TooManyTries(
                "Too many wrong codes. That code is void now; make a new one on the computer."
            )
        plain = "".join(typed.upper().replace("-", " ").split())
        if not hmac.compare_digest(plain.encode(), code.text.encode()):
            raise WrongCode("That is not the code that the computer shows; read it again.")

    def phone_of(self, token: str, now: datetime) -> Phone | None:
        """The phone that holds a token; none if it is unknown, revoked or too old."""
        if not token:
            return None
        wanted = _hash(token)
        with self._lock:
            # Found by a hash that only the holder of the token can make, so that the time of the
            # look-up tells nothing about any token.
            phone = self._phones.get(wanted)
            if phone is None or now >= phone.until:
                return None
            if now - datetime.fromisoformat(phone.seen_at) >= SEEN_EVERY:
                phone = self._seen(phone, now)
            return phone

    def _seen(self, phone: Phone, now: datetime) -> Phone:
        hour = now.replace(minute=0, second=0, microsecond=0)
        phone = replace(phone, seen_at=hour.isoformat(timespec="seconds"))
        self._phones = self._phones | {phone.token_hash: phone}
        try:
            self._write(self._phones)
        except SpawnwrightError as reason:
            LOG.warning("when a phone was last seen is not kept: %s", reason)
        return phone

    def revoke(self, phone: str) -> Phone:
        """Let a phone in no more."""
        with self._lock:
            found = [each for each in self._phones.values() if each.id == phone]
            if not found:
                raise UnknownName("paired phone", phone[:40], ())
            kept = {key: each for key, each in self._phones.items() if each.id != phone}
            self._write(kept)
            return found[0]

    def revoke_all(self) -> int:
        """Let no phone in any more; gives how many there were."""
        with self._lock:
            count = len(self._phones)
            self._code = None
            self._write({})
            return count

    def _write(self, phones: dict[str, Phone]) -> None:
        said = {"phones": [asdict(each) for each in phones.values()]}
        write_private(self._path, json.dumps(said, indent=1).encode())
        self._phones = phones


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _read(path: Path) -> dict[str, Phone]:
    try:
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except OSError as reason:
        raise BadFile(f"{path} cannot be read: {reason.strerror or reason}.") from reason
    try:
        phones = [Phone(**each) for each in json.loads(text)["phones"]]
        for each in phones:
            max(each.until, datetime.fromisoformat(each.seen_at), _ANY)  # readable, with an offset
    except (ValueError, TypeError, KeyError, AttributeError) as reason:
        raise BadFile(
            f"{path} holds no list of paired phones; move it away and pair the phones again."
        ) from reason
    return {each.token_hash: each for each in phones}
