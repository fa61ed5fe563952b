"""Keys for https in a network of one's own: an authority that can vouch for this machine only.

A phone that trusts the authority trusts it for the names of this machine and for numbers that are
never routed through the internet, and for nothing else: the certificate itself says so, and marks
that as critical. So whoever steals the key cannot use it against any site on the internet.
"""

from __future__ import annotations

import ssl
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING

from spawnwright.errors import BadFile, Contradiction, Unusable
from spawnwright.web.addresses import OWN_NETWORKS, is_own_network
from spawnwright.web.private_files import write_private

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

LEAF_DAYS = 390
"""Under the 397 days that phones take at most."""
RENEW_DAYS = 30
AUTHORITY_DAYS = 3650
BEFORE = timedelta(days=1)
"""Phones' clocks may be behind."""


@dataclass
class Keys:
    """The keys in a folder that only its owner can read; made when first asked for."""

    folder: Path

    @property
    def certificate(self) -> Path:
        """The file with the certificate of this machine."""
        return self.folder / "bench.pem"

    @property
    def key(self) -> Path:
        """The file with its key."""
        return self.folder / "bench.key"

    def ready(self, names: tuple[str, ...], numbers: tuple[str, ...], now: datetime) -> bool:
        """Make what is missing, renew what ends soon or fits no more; says whether it did.

        Parameters
        ----------
        names, numbers : tuple of str
            By which phones ask; names that the authority may not vouch for are left out.
        now : datetime
            The clock, with an offset.

        Raises
        ------
        Contradiction
            If the first name, which the grower chose, is none of those that the authority that
            phones already trust may vouch for.
        """
        authority = self._authority(names, now)
        allowed = _names_of(authority)
        if names and names[0] not in allowed:
            raise Contradiction(
                f"The phones trust this machine as {' or '.join(sorted(allowed))}, not as "
                f"{names[0]}. Use such a name, or start anew with --forget-keys; then each phone "
                "has to be told again to trust it."
            )
        wanted = frozenset(each for each in names if each in allowed)
        wanted |= frozenset(each for each in numbers if is_own_network(each))
        if self._is_good(authority, wanted, now):
            return False
        self.issue(sorted(wanted), now)
        return True

    def issue(self, names: list[str], now: datetime) -> None:
        """Write a new key and certificate for names and numbers."""
        from cryptography.hazmat.primitives.asymmetric import ec

        key = ec.generate_private_key(ec.SECP256R1())
        certificate = _leaf(self._read_authority(), self._authority_key(), key, names, now)
        write_private(self.key, _pem_of_key(key))
        write_private(self.certificate, _pem(certificate) + _pem(self._read_authority()))

    def forget(self) -> bool:
        """Delete all keys; no phone that trusted them trusts anything by them then."""
        there = [each for each in self._files() if each.exists()]
        for each in there:
            each.unlink()
        with suppress(OSError):
            self.folder.rmdir()
        return bool(there)

    def authority(self) -> bytes | None:
        """The certificate of the authority as phones take it (DER); none if there is none."""
        from cryptography.hazmat.primitives.serialization import Encoding

        if not self._authority_file.exists():
            return None
        return self._read_authority().public_bytes(Encoding.DER)

    def fingerprint(self) -> str:
        """SHA-256 of the authority's certificate, in pairs, to be compared by eye."""
        import hashlib

        told = hashlib.sha256(self.authority() or b"").hexdigest().upper()
        return " ".join(told[place : place + 4] for place in range(0, len(told), 4))

    def context(self) -> ssl.SSLContext:
        """For the server: this machine's certificate, TLS 1.2 at least."""
        made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        made.minimum_version = ssl.TLSVersion.TLSv1_2
        made.load_cert_chain(self.certificate, self.key)
        return made

    @property
    def _authority_file(self) -> Path:
        return self.folder / "authority.pem"

    @property
    def _authority_key_file(self) -> Path:
        return self.folder / "authority.key"

    def _files(self) -> list[Path]:
        return [self._authority_key_file, self._authority_file, self.key, self.certificate]

    def _authority(self, names: tuple[str, ...], now: datetime) -> x509.Certificate:
        """The authority; a new one if there is none or it has ended."""
        if self._authority_file.exists() and self._authority_key_file.exists():
            there = self._read_authority()
            if now < there.not_valid_after_utc - timedelta(days=LEAF_DAYS):
                return there
        _need_cryptography()
        from cryptography.hazmat.primitives.asymmetric import ec

        self.folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        key = ec.generate_private_key(ec.SECP256R1())
        made = _authority_for(key, names, now)
        write_private(self._authority_key_file, _pem_of_key(key))
        write_private(self._authority_file, _pem(made))
        return made

    def _read_authority(self) -> x509.Certificate:
        _need_cryptography()
        from cryptography import x509

        try:
            return x509.load_pem_x509_certificate(self._authority_file.read_bytes())
        except (OSError, ValueError) as reason:
            raise _damaged(self._authority_file) from reason

    def _authority_key(self) -> EllipticCurvePrivateKey:
        from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
        from cryptography.hazmat.primitives.serialization import load_pem_private_key

        try:
            key = load_pem_private_key(self._authority_key_file.read_bytes(), None)
        except (OSError, ValueError) as reason:
            raise _damaged(self._authority_key_file) from reason
        assert isinstance(key, EllipticCurvePrivateKey)
        return key

    def _is_good(self, authority: x509.Certificate, wanted: frozenset[str], now: datetime) -> bool:
        from cryptography import x509
        from cryptography.exceptions import InvalidSignature

        try:
            there = x509.load_pem_x509_certificate(self.certificate.read_bytes())
            there.verify_directly_issued_by(authority)
            self.context()
        except (OSError, ValueError, InvalidSignature):
            return False  # missing, damaged, or of another authority: then a new one is made
        is_fresh = now < there.not_valid_after_utc - timedelta(days=RENEW_DAYS)
        return is_fresh and there.not_valid_before_utc <= now and _names_of(there) == wanted


def _need_cryptography() -> None:
    try:
        import cryptography  # noqa: F401 - whether it is there
    except ImportError as reason:
        raise Unusable(
            "https needs the package cryptography, which is not installed; install it into the "
            "environment that Spawnwright runs in, as in: .venv/bin/pip install cryptography."
        ) from reason


def _damaged(path: Path) -> BadFile:
    return BadFile(f"{path} cannot be read; start anew with `serve --forget-keys`.")


def _authority_for(
    key: EllipticCurvePrivateKey, names: tuple[str, ...], now: datetime
) -> x509.Certificate:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.x509.oid import NameOID

    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Spawnwright on {names[0]}"[:64])])
    allowed = [
        *(x509.DNSName(each) for each in names),
        *(x509.IPAddress(each) for each in OWN_NETWORKS),
    ]
    usage = x509.KeyUsage(
        digital_signature=False, content_commitment=False, key_encipherment=False,
        data_encipherment=False, key_agreement=False, key_cert_sign=True, crl_sign=True,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip
    return (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(who)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(now + timedelta(days=AUTHORITY_DAYS))
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(allowed, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _leaf(
    authority: x509.Certificate,
    authority_key: EllipticCurvePrivateKey,
    key: EllipticCurvePrivateKey,
    names: list[str],
    now: datetime,
) -> x509.Certificate:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    who = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Spawnwright bench book")])
    vouched = [
        x509.IPAddress(ip_address(each)) if each[0].isdigit() else x509.DNSName(each)
        for each in names
    ]
    usage = x509.KeyUsage(
        digital_signature=True, content_commitment=False, key_encipherment=False,
        data_encipherment=False, key_agreement=False, key_cert_sign=False, crl_sign=False,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key())
    return (
        x509.CertificateBuilder()
        .subject_name(who)
        .issuer_name(authority.subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - BEFORE)
        .not_valid_after(now + timedelta(days=LEAF_DAYS))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(vouched), critical=False)
        .add_extension(issuer, critical=False)
        .sign(authority_key, hashes.SHA256())
    )


def _names_of(certificate: x509.Certificate) -> frozenset[str]:
    """What a certificate vouches for, or what an authority may vouch for by name."""
    from cryptography import x509

    extensions = certificate.extensions
    with suppress(x509.ExtensionNotFound):
        limits = extensions.get_extension_for_class(x509.NameConstraints).value
        allowed = limits.permitted_subtrees or []
        return frozenset(each.value for each in allowed if isinstance(each, x509.DNSName))
    told = extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    return frozenset(str(each.value) for each in told)


def _pem(certificate: x509.Certificate) -> bytes:
    from cryptography.hazmat.primitives.serialization import Encoding

    return certificate.public_bytes(Encoding.PEM)


def _pem_of_key(key: EllipticCurvePrivateKey) -> bytes:
    from cryptography.hazmat.primitives import serialization as form

    return key.private_bytes(form.Encoding.PEM, form.PrivateFormat.PKCS8, form.NoEncryption())
