"""Makes the environment that `run` and `test` need, in `.venv` beside them.

Called by environment.sh when there is something to do; standard library only. The project itself
is not installed: its code is found by its path, which works in a folder of any name.

`.venv/complete` says that the environment was whole once, so that it may be brought up to date in
place; one without it is what an interrupted first set-up left behind, and is made anew.
`.venv/ready-run` and `.venv/ready-test` hold the state of pyproject.toml and constraints.txt that
they were made for.
"""

from __future__ import annotations

import contextlib
import fcntl
import os
import shutil
import signal
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent.parent
FOLDER = ROOT / ".venv"
PYTHON = FOLDER / "bin" / "python"
LOCK = ROOT / ".venv.lock"

NO_VENV = """\
This Python ({python}) cannot make environments: its venv or ensurepip module is missing.
  Debian, Ubuntu, WSL  sudo apt install python3-venv
                       (if that does not help: sudo apt install python{minor}-venv)
  Fedora               sudo dnf install python3 python3-pip
  openSUSE             sudo zypper install python3 python3-pip
  Mac                  brew install python3, or the installer from python.org
  any                  a Python of your own: pyenv install 3.13 && pyenv shell 3.13
Then run this again; nothing was left behind."""

NO_NETWORK = """\
The packages that Spawnwright needs could not be fetched; is there a network connection?
They are fetched once, about 70 MB. Run this again when there is one; nothing was left half done."""

_NETWORK_SIGNS = (
    "NewConnectionError",
    "NameResolutionError",
    "ConnectTimeout",
    "ReadTimeout",
    "Max retries exceeded",
    "Network is unreachable",
    "Temporary failure in name resolution",
    "Connection refused",
    "ProxyError",
    "from versions: none",
)


class Failed(Exception):
    """Set-up cannot go on; the text says why and what would do."""


def main(wanted: str, purpose: str, quietly: bool) -> None:
    """Bring `.venv` to the state that `wanted` names, for `purpose`: "run" or "test"."""

    def say(text: str) -> None:
        if not quietly:
            print(f"spawnwright: {text}", file=sys.stderr, flush=True)

    signal.signal(signal.SIGTERM, _stop)
    signal.signal(signal.SIGHUP, _stop)
    with _locked(say):
        ready = FOLDER / f"ready-{purpose}"
        if PYTHON.exists() and ready.is_file() and ready.read_text().strip() == wanted:
            return  # another run has done it while this one waited
        complete = FOLDER / "complete"
        if not (complete.is_file() and _works()):
            say("setting up in .venv; this happens once and takes about half a minute ...")
            _make(purpose)
            complete.touch()
        else:
            say("bringing .venv up to date ...")
            _install(purpose)
        _mark(ready, wanted)
        if purpose == "test":
            _mark(FOLDER / "ready-run", wanted)
        say("set up.")


def _stop(*_: object) -> NoReturn:
    raise KeyboardInterrupt


@contextlib.contextmanager
def _locked(say: object) -> Iterator[None]:
    """Hold the lock; the system lets go of it when a holder ends, however it ends."""
    with LOCK.open("w") as file:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("another run is setting up in this folder; waiting for it ...")  # type: ignore
            fcntl.flock(file, fcntl.LOCK_EX)
        yield


def _works() -> bool:
    """Whether the interpreter in `.venv` starts and has pip; not after its Python was removed."""
    with contextlib.suppress(OSError):
        return subprocess.run([PYTHON, "-c", "import pip"], capture_output=True).returncode == 0
    return False


def _make(purpose: str) -> None:
    try:
        shutil.rmtree(FOLDER, ignore_errors=True)
        # The name with its version, so that `.venv` breaks, and is made anew, when the system
        # replaces this Python by a newer one.
        named = Path(sys.base_prefix, "bin", f"python3.{sys.version_info.minor}")
        base = str(named) if named.is_file() else sys.executable
        made = subprocess.run([base, "-m", "venv", FOLDER], capture_output=True, text=True)
        if made.returncode:
            minor = f"3.{sys.version_info.minor}"
            output = made.stdout + made.stderr
            if "ensurepip" in output or "No module named" in output:
                raise Failed(NO_VENV.format(python=base, minor=minor))
            raise Failed(f"The environment could not be made:\n{output.strip()}")
        _install(purpose)
    except BaseException:
        shutil.rmtree(FOLDER, ignore_errors=True)
        raise


def _install(purpose: str) -> None:
    """Install what the project names, in the exact versions of constraints.txt."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = list(project["dependencies"])
    if purpose == "test":
        needed += project["optional-dependencies"]["test"]
    own = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    pip = [PYTHON, "-m", "pip", "install", "--quiet", "--no-input", "--disable-pip-version-check"]
    done = subprocess.run(
        [*pip, "-c", ROOT / "constraints.txt", *needed],
        env=own | {"PIP_USER": "0"},
        capture_output=True,
        text=True,
        errors="replace",
    )
    if done.returncode:
        output = (done.stdout + done.stderr).strip()
        last = "\n".join(output.splitlines()[-8:])
        if any(sign in output for sign in _NETWORK_SIGNS):
            raise Failed(f"{NO_NETWORK}\n\nWhat pip said:\n{last}")
        raise Failed(f"The packages could not be installed. What pip said:\n{last}")


def _mark(file: Path, wanted: str) -> None:
    new = file.with_suffix(".new")
    new.write_text(f"{wanted}\n")
    new.replace(file)


if __name__ == "__main__":
    try:
        main(sys.argv[1], sys.argv[2], "--quietly" in sys.argv[3:])
    except Failed as reason:
        sys.exit(f"spawnwright: {reason}")
    except KeyboardInterrupt:
        sys.exit("spawnwright: set-up was stopped; nothing was left half done.")
