"""The command itself: what it opens, over which protocol, and that it stops at a word."""

from __future__ import annotations

import os
import signal
import socket
import ssl
import subprocess
import sys
import time
from contextlib import contextmanager

import pytest

from tests.browser.conftest import free_port
from tests.test_house_rules import ROOT


@contextmanager
def running(home, *options):
    """The command, ended with Ctrl-C; gives the process."""
    process = subprocess.Popen(
        [sys.executable, "-m", "spawnwright", "serve", *options], cwd=ROOT, text=True,
        env=os.environ | {"SPAWNWRIGHT_HOME": str(home), "PYTHONPATH": str(ROOT / "src")},
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    try:
        yield process
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate()


def asked(port, host, context=None, path="/health"):
    """The first line of an answer, or nothing while none comes."""
    request = f"GET {path} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n".encode()
    for _ in range(100):
        try:
            with socket.create_connection(("127.0.0.1", port), 5) as plain:
                if context is None:
                    plain.sendall(request)
                    return plain.recv(100).split(b"\r\n")[0].decode()
                with context.wrap_socket(plain, server_hostname=host.split(":")[0]) as secure:
                    secure.sendall(request)
                    return secure.recv(100).split(b"\r\n")[0].decode()
        except ConnectionRefusedError:
            time.sleep(0.1)
    return ""


def told(process, sig=signal.SIGINT):
    """What it said, after it was asked to stop."""
    process.send_signal(sig)
    out, err = process.communicate(timeout=15)
    assert process.returncode == 0, err
    return out + err


def test_by_https_phones_and_this_machine_have_a_port_each(tmp_path):
    """Phones by our own certificate; this machine by plain http, on loopback only."""
    pytest.importorskip("cryptography", reason="the package cryptography is not installed")
    port = free_port()
    options = ("--lan", "--https", "--name", "bench.local", "--port", str(port))
    with running(tmp_path, *options) as process:
        assert asked(port, f"127.0.0.1:{port}") == "HTTP/1.1 200 OK"
        trusting = ssl.create_default_context(cafile=tmp_path / "keys" / "authority.pem")
        host = f"bench.local:{port + 1}"
        assert asked(port + 1, host, trusting) == "HTTP/1.1 200 OK"
        assert asked(port + 1, host, trusting, "/history").split()[1] == "303"
        with pytest.raises(ssl.SSLCertVerificationError):
            asked(port + 1, host, ssl.create_default_context())
        # At another number of this machine nothing listens.
        with socket.socket() as probe:
            assert probe.connect_ex(("127.0.0.2", port)) != 0
        said = told(process)
    assert f"https://bench.local:{port + 1}/ca/" in said
    assert "Everything that was kept is in the book" in said


def test_plain_http_on_the_network_says_what_it_means(tmp_path):
    """Paired phones only, and that others can listen."""
    port = free_port()
    with running(tmp_path, "--lan", "--name", "bench.local", "--port", str(port)) as process:
        assert asked(port, f"bench.local:{port}", path="/history").split()[1] == "303"
        assert asked(port, f"evil.example:{port}").split()[1] == "400"
        said = told(process, signal.SIGTERM)
    assert f"http://bench.local:{port}/" in said
    assert "can listen" in said


def test_keys_are_forgotten_by_the_command(tmp_path, capsys, monkeypatch):
    """And it says so."""
    from datetime import UTC, datetime

    from spawnwright.cli import main
    from spawnwright.web.keys import Keys

    pytest.importorskip("cryptography", reason="the package cryptography is not installed")
    monkeypatch.setenv("SPAWNWRIGHT_HOME", str(tmp_path))
    Keys(tmp_path / "keys").ready(("bench.local",), (), datetime.now(UTC))
    for said in ("deleted", "no keys"):
        with pytest.raises(SystemExit) as end:
            main(["serve", "--forget-keys"])
        assert end.value.code == 0
        assert said in capsys.readouterr().out
    assert not (tmp_path / "keys").exists()
