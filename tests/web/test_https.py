"""Keys for https: trusted for this machine, refused for any other place, renewed by themselves."""

from __future__ import annotations

import hashlib
import ssl
import stat
from datetime import UTC, datetime, timedelta

import pytest

from spawnwright.errors import BadFile, Contradiction, Unusable
from spawnwright.web import keys as keys_module
from spawnwright.web import network
from spawnwright.web.desk import LOOPBACK, Address
from spawnwright.web.keys import Keys
from spawnwright.web.network import Opening, opened_address, said_of

pytest.importorskip("cryptography", reason="the package cryptography is not installed")

NOW = datetime.now(UTC)
"""The ssl module goes by the machine's own clock."""
NAMES, NUMBERS = ("bench.local", "laptop.local"), ("192.168.1.7", "10.0.0.3")


@pytest.fixture
def keys(tmp_path):
    """Fresh keys."""
    made = Keys(tmp_path / "keys")
    assert made.ready(NAMES, NUMBERS, NOW)
    return made


def shake_hands(keys: Keys, asked: str) -> str:
    """What a browser that trusts the authority says when it asks for a name: nothing if all well.

    The ssl module checks chain, times, use and names, name constraints included.
    """
    trusting = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    trusting.load_verify_locations(cadata=keys.authority())
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = trusting.wrap_bio(to_client, to_server, server_hostname=asked)
    server = keys.context().wrap_bio(to_server, to_client, server_side=True)
    waiting = [client, server]
    for _ in range(10):
        for each in list(waiting):
            try:
                each.do_handshake()
                waiting.remove(each)
            except ssl.SSLWantReadError:
                continue
            except ssl.SSLCertVerificationError as refusal:
                return refusal.verify_message
        if not waiting:
            return ""
    raise AssertionError("the handshake does not end")


@pytest.mark.parametrize("asked", [*NAMES, *NUMBERS])
def test_this_machine_is_trusted(keys, asked):
    """By each of its names and numbers."""
    assert shake_hands(keys, asked) == ""


def test_a_name_that_the_certificate_does_not_have_is_not(keys):
    """As for any certificate."""
    assert "Hostname mismatch" in shake_hands(keys, "other.local")
    assert "IP address mismatch" in shake_hands(keys, "192.168.1.8")


@pytest.mark.parametrize(
    "place", ["bank.example", "local", "other.local", "xbench.local", "203.0.113.5", "172.32.0.1"]
)
def test_the_authority_vouches_for_no_other_place(keys, place):
    """Not even if somebody steals its key: its own certificate forbids it."""
    keys.issue([place], NOW)

    assert shake_hands(keys, place) == "permitted subtree violation"


def test_the_authority_makes_no_further_authorities(keys):
    """Path length 0, critical, as are the name constraints."""
    from cryptography import x509

    there = x509.load_der_x509_certificate(keys.authority())
    basic = there.extensions.get_extension_for_class(x509.BasicConstraints)
    limits = there.extensions.get_extension_for_class(x509.NameConstraints)

    assert (basic.critical, basic.value.ca, basic.value.path_length) == (True, True, 0)
    assert limits.critical


def test_phones_take_the_certificate(keys):
    """P-256, at most 397 days, names in the subjectAltName, for servers."""
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec

    leaf = x509.load_pem_x509_certificate(keys.certificate.read_bytes())
    use = leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value

    assert isinstance(leaf.public_key().curve, ec.SECP256R1)
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc <= timedelta(days=397)
    assert [each.dotted_string for each in use] == ["1.3.6.1.5.5.7.3.1"]  # RFC 5280: serverAuth


def test_keys_are_for_their_owner_only(keys):
    """Folder and files."""
    assert stat.S_IMODE(keys.folder.stat().st_mode) == 0o700
    for each in keys.folder.iterdir():
        assert stat.S_IMODE(each.stat().st_mode) == 0o600


def test_they_are_renewed_when_they_end_soon_or_fit_no_more(keys):
    """The authority stays, so that no phone has to be told again."""
    authority = keys.authority()
    assert not keys.ready(NAMES, NUMBERS, NOW)
    assert not keys.ready(NAMES, NUMBERS, NOW + timedelta(days=359))
    assert keys.ready(NAMES, NUMBERS, NOW + timedelta(days=361))
    assert keys.ready(NAMES, ("192.168.7.7",), NOW)
    assert shake_hands(keys, "192.168.7.7") == ""
    assert "mismatch" in shake_hands(keys, "192.168.1.7")
    keys.certificate.write_text("damaged")
    assert keys.ready(NAMES, NUMBERS, NOW)
    assert keys.authority() == authority


def test_a_name_that_phones_do_not_know_is_refused(keys):
    """They would refuse the connection without a word."""
    with pytest.raises(Contradiction, match=r"not as other\.local.*--forget-keys"):
        keys.ready(("other.local",), NUMBERS, NOW)
    assert not keys.ready(NAMES[:1] + NAMES[1:] + ("later.local",), NUMBERS, NOW)


def test_a_new_authority_is_made_before_the_old_one_ends(keys):
    """Ten years on; a leaf never lasts longer than what vouches for it."""
    authority = keys.authority()
    assert keys.ready(NAMES, NUMBERS, NOW + timedelta(days=3650 - 389))
    assert keys.authority() != authority


def test_forgotten_keys_are_gone(keys):
    """And new ones are trusted by nobody yet."""
    authority = keys.authority()
    assert keys.forget()
    assert not keys.folder.exists()
    assert keys.authority() is None
    assert not keys.forget()
    keys.ready(NAMES, NUMBERS, NOW)
    assert keys.authority() != authority


def test_a_damaged_authority_is_not_replaced_in_silence(keys):
    """Phones trust it; the grower decides."""
    (keys.folder / "authority.pem").write_text("damaged")

    with pytest.raises(BadFile, match="--forget-keys"):
        keys.ready(NAMES, NUMBERS, NOW)


def test_without_the_package_it_is_said_what_to_install(tmp_path, monkeypatch):
    """All else works without it."""
    import sys

    monkeypatch.setitem(sys.modules, "cryptography", None)

    with pytest.raises(Unusable, match="install cryptography"):
        Keys(tmp_path / "keys").ready(NAMES, NUMBERS, NOW)
    assert list(tmp_path.iterdir()) == []


def test_only_the_certificate_is_handed_out(desk, client, keys):
    """Its key lies beside it and stays there."""
    assert client.get("/ca/spawnwright.crt").status_code == 404
    desk.keys = keys
    desk.address = Address(hosts=(*LOOPBACK, *NAMES), is_lan=True, scheme="https", secure_port=8378)
    handed = client.get("/ca/spawnwright.crt")

    assert handed.content == keys.authority()
    assert handed.headers["content-type"] == "application/x-x509-ca-cert"
    page = client.get("/ca/").text
    told = hashlib.sha256(handed.content).hexdigest().upper()
    assert told in page.replace(" ", "")
    for path in ("/ca/authority.key", "/ca/bench.key", "/ca/%2e%2e/keys/authority.key", "/keys"):
        assert client.get(f"http://127.0.0.1:8377{path}").status_code == 404


def test_nothing_is_open_unless_said():
    """Loopback names and port only."""
    assert opened_address(8377, Opening()) == Address(8377)
    assert len(said_of(Address(8377))) == 1


def test_what_is_opened_is_said(monkeypatch):
    """The addresses, that phones must be paired, and that plain http can be listened to."""
    monkeypatch.setattr(network, "own_numbers", lambda: ("192.168.1.7",))
    monkeypatch.setattr(network, "own_names", lambda: ("laptop.local",))
    plain = opened_address(8377, Opening(True, name="Bench.local"))
    secure = opened_address(8377, Opening(True, True))

    assert plain.hosts == (*LOOPBACK, "bench.local", "laptop.local", "192.168.1.7")
    assert plain.for_phones == "http://bench.local:8377/"
    assert plain.by_number == "http://192.168.1.7:8377/"
    assert secure.for_phones == "https://laptop.local:8378/"
    assert secure.home == "http://127.0.0.1:8377/"
    told = "\n".join(said_of(plain))
    for part in ("bench.local:8377", "192.168.1.7:8377", "/phones", "can listen", "--https"):
        assert part in told
    told = "\n".join(said_of(secure))
    assert "https://laptop.local:8378/ca/" in told
    assert "can listen" not in told


@pytest.mark.parametrize(
    ("opening", "said"),
    [
        (Opening(is_secure=True), "add --lan"),
        (Opening(name="bench.local"), "add --lan"),
        (Opening(True, name="bank.example"), "no name within a network"),
        (Opening(True, name="-x.local"), "no name within a network"),
        (Opening(True, name="a b.local"), "no name within a network"),
        (Opening(True, name="local"), "no name within a network"),
        (Opening(True, name="com"), "no name within a network"),
        (Opening(True, name="home.arpa"), "no name within a network"),
        (Opening(True, at="203.0.113.5"), "no number of a network of your own"),
        (Opening(True, at="127.0.0.1"), "no number of a network of your own"),
        (Opening(True, at="10.255.255.1"), "does not have the number"),
    ],
)
def test_what_cannot_be_opened_is_refused(opening, said):
    """A name on the internet is never one of ours."""
    with pytest.raises(Unusable, match=said):
        opened_address(8377, opening)


def test_the_limits_are_those_of_private_networks():
    """RFC 1918 section 3 and RFC 3927 section 1, to the last number."""
    inside = ("10.0.0.0", "10.255.255.255", "172.16.0.0", "172.31.255.255", "192.168.255.255")
    outside = (
        "9.255.255.255",
        "11.0.0.0",
        "172.15.255.255",
        "172.32.0.0",
        "192.169.0.0",
        "x",
        "::1",
    )

    assert all(map(network.is_own_network, inside))
    assert not any(map(network.is_own_network, outside))
    assert keys_module.LEAF_DAYS + 1 <= 397
