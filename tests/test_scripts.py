"""`run` and `test` set themselves up, anywhere, and leave nothing broken behind.

A small project with one dependency stands in for the real one; the scripts are the real ones.
Its dependency is a wheel on disk, so that nothing is fetched.
"""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
SCRIPTS = ("run", "test", "tools/environment.sh", "tools/environment.py")

MAIN = """
import os, sys, tiny
print(os.getcwd(), *(sys.argv[1:] or [tiny.VERSION]), sep="|")
sys.exit(int(os.environ.get("ENDS_WITH", "0")))
"""
PROJECT = """
[project]
name = "spawnwright"
version = "0"
dependencies = ["{dependency}"]
[project.optional-dependencies]
test = []
"""
BROKEN_VENV = """
import pathlib, sys
if __name__ == "__main__":
    pathlib.Path(sys.argv[1], "bin").mkdir(parents=True)
    sys.exit("The virtual environment was not created successfully because ensurepip is not "
             "available.")
"""
NO_PIP_FROM_AFAR = {"PIP_INDEX_URL": "http://127.0.0.1:9/simple", "PIP_CONFIG_FILE": "/dev/null",
                    "PIP_RETRIES": "1", "PIP_FIND_LINKS": ""}  # fmt: skip


def wheel(folder: Path, version: str) -> Path:
    """A package of one line, as pip takes it."""
    file = folder / f"tiny-{version}-py3-none-any.whl"
    info = f"tiny-{version}.dist-info"
    with zipfile.ZipFile(file, "w") as made:
        made.writestr("tiny.py", f"VERSION = {version!r}\n")
        made.writestr(
            f"{info}/METADATA", f"Metadata-Version: 2.1\nName: tiny\nVersion: {version}\n"
        )
        made.writestr(
            f"{info}/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n"
        )
        made.writestr(
            f"{info}/RECORD", f"tiny.py,,\n{info}/METADATA,,\n{info}/WHEEL,,\n{info}/RECORD,,\n"
        )
    return file


def project(folder: Path, dependency: str) -> Path:
    """The scripts beside a small project, in a folder whose name is no easy one."""
    for script in SCRIPTS:
        (folder / script).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / script, folder / script)
    package = folder / "src" / "spawnwright"
    package.mkdir(parents=True)
    (package / "__main__.py").write_text(MAIN, encoding="utf-8")
    (folder / "constraints.txt").write_text("tiny<3\n", encoding="utf-8")
    (folder / "pyproject.toml").write_text(PROJECT.format(dependency=dependency), encoding="utf-8")
    return folder


def environment(**changes: str) -> dict[str, str]:
    """The environment, with this Python first on the PATH, and without what tests bring in."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTHON")}
    path = f"{Path(sys.base_prefix) / 'bin'}:{kept['PATH']}"
    return kept | NO_PIP_FROM_AFAR | {"PATH": path} | changes


def run(
    folder: Path, *arguments: str, script: str = "run", cwd: Path | None = None, **changes: str
):
    return subprocess.run(
        [str(folder / script), *arguments],
        cwd=cwd or folder,
        env=environment(**changes),
        capture_output=True,
        encoding="utf-8",
        stdin=subprocess.DEVNULL,
    )


@pytest.fixture(scope="module")
def first_calls(tmp_path_factory) -> tuple[Path, list[tuple[int, str, str]]]:
    """A project on which two first calls were made at once, and how they went."""
    folder = tmp_path_factory.mktemp("scripts") / "my łąka źdźbło"
    folder.mkdir()
    project(folder, f"tiny @ {wheel(folder, '1.0').as_uri()}")
    calls = [
        subprocess.Popen([str(folder / "run"), name], cwd=folder, env=environment(LC_ALL="C"),
                         stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8")
        for name in ("a", "b")
    ]  # fmt: skip
    return folder, [(*call.communicate(timeout=300), call.returncode)[::-1] for call in calls]


@pytest.fixture
def ready(first_calls) -> Path:
    """A project that is set up."""
    return first_calls[0]


@pytest.fixture
def fresh(tmp_path) -> Path:
    """A project that is not set up."""
    folder = tmp_path / "a b"
    folder.mkdir()
    return project(folder, f"tiny @ {wheel(folder, '1.0').as_uri()}")


def test_two_first_calls_at_once_make_one_environment_and_both_answer(first_calls):
    """In a path with a space and letters beyond ASCII, under LC_ALL=C; the second call waits."""
    folder, ((code_a, err_a, out_a), (code_b, err_b, out_b)) = first_calls

    assert (code_a, out_a) == (0, f"{folder}|a\n")
    assert (code_b, out_b) == (0, f"{folder}|b\n")
    assert (err_a + err_b).count("setting up in .venv") == 1
    assert (err_a + err_b).count("another run is setting up") == 1


def test_the_second_call_says_nothing_but_its_answer(ready):
    """Nothing is checked but two short files."""
    second = run(ready, "a b", "--json")

    assert (second.stdout, second.stderr) == (f"{ready}|a b|--json\n", "")


def test_paths_are_read_from_the_caller_s_folder(ready, tmp_path):
    """Also through a link, from elsewhere, with files there that are named like modules."""
    (tmp_path / "tiny.py").write_text("raise SystemExit('a stranger')\n")
    (tmp_path / "link").symlink_to(Path(os.path.relpath(ready / "run", tmp_path)))

    called = run(tmp_path, "x", script="link", cwd=tmp_path)

    assert called.stdout == f"{tmp_path}|x\n"


def test_the_program_s_exit_code_is_that_of_the_script(ready):
    """1 and 2 mean something."""
    assert run(ready, ENDS_WITH="1").returncode == 1


def test_a_change_of_dependencies_is_taken_up_in_place(ready):
    """Silently under --json."""
    before = (ready / ".venv/pyvenv.cfg").stat().st_mtime_ns
    newer = wheel(ready, "2.0").as_uri()
    (ready / "pyproject.toml").write_text(PROJECT.format(dependency=f"tiny @ {newer}"))

    updated = run(ready, "--json")

    assert (updated.stdout, updated.stderr) == (f"{ready}|--json\n", "")
    assert run(ready).stdout == f"{ready}|2.0\n"
    assert (ready / ".venv/pyvenv.cfg").stat().st_mtime_ns == before


def test_a_python_that_was_removed_is_replaced(ready):
    """As after an upgrade of the system."""
    (ready / ".venv/bin/python").unlink()
    (ready / ".venv/bin/python").symlink_to("/nowhere/python3.9")

    again = run(ready, "x")

    assert (again.returncode, again.stdout) == (0, f"{ready}|x\n")


def test_an_interrupted_set_up_leaves_nothing_broken(fresh):
    """The next call starts over, whether or not the one before could clean up."""
    for how in (signal.SIGINT, signal.SIGTERM, signal.SIGKILL):
        code, out, err = interrupted(fresh, how)

        assert (code != 0, out) == (True, "")
        assert (fresh / ".venv").exists() is (how == signal.SIGKILL)
        assert "Traceback" not in err

    assert run(fresh).stdout == f"{fresh}|1.0\n"


def interrupted(folder: Path, how: signal.Signals) -> tuple[int, str, str]:
    """A first call, ended while it makes the environment: exit code, output, errors."""
    call = subprocess.Popen([str(folder / "run")], cwd=folder, env=environment(),
                            stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8",
                            start_new_session=True)  # fmt: skip
    said = call.stderr.readline()
    while not (folder / ".venv" / "pyvenv.cfg").exists() and call.poll() is None:
        time.sleep(0.01)
    os.killpg(call.pid, how)
    out, err = call.communicate(timeout=60)
    return call.returncode, out, said + err


def test_without_a_network_it_says_so_and_leaves_nothing(tmp_path):
    """One clear sentence, also under --json, on standard error."""
    folder = project(tmp_path, "tiny==1.0")

    failed = run(folder, "--json")

    assert (failed.returncode, failed.stdout) == (2, "")
    assert "could not be fetched; is there a network connection?" in failed.stderr
    assert not (folder / ".venv").exists()


def test_without_the_venv_module_it_says_every_way_to_get_it(fresh, tmp_path):
    """As on a fresh Debian, where `python3 -m venv` leaves a broken folder behind."""
    hidden = tmp_path / "hidden"
    hidden.mkdir()
    (hidden / "ensurepip.py").write_text("raise ModuleNotFoundError('ensurepip')\n")
    (hidden / "venv.py").write_text(BROKEN_VENV)

    failed = run(fresh, "--json", PYTHONPATH=str(hidden))

    assert (failed.returncode, failed.stdout) == (2, "")
    assert "sudo apt install python3-venv" in failed.stderr
    assert "brew install python3" in failed.stderr
    assert not (fresh / ".venv").exists()


def test_without_a_new_enough_python_it_says_what_is_needed(fresh, tmp_path):
    """Old ones, and names that lead nowhere, are passed over."""
    tools = tmp_path / "bin"
    tools.mkdir()
    for name in ("bash", "env", "dirname", "readlink", "cat", "cksum"):
        (tools / name).symlink_to(shutil.which(name) or "")
    for name in ("python3", "python3.11"):
        (tools / name).write_text("#!/bin/bash\nexit 1\n")
        (tools / name).chmod(0o755)

    failed = subprocess.run([str(fresh / "run")], env={"PATH": str(tools)}, capture_output=True,
                            encoding="utf-8")  # fmt: skip

    assert failed.returncode == 2
    assert "Python 3.11 or newer is needed" in failed.stderr


def test_test_passes_its_arguments_to_pytest(ready):
    """`./test FILE` looks at that file alone; here at none, since pytest is not among the needs."""
    done = run(ready, "some_file.py", script="test")

    assert "No module named pytest" in done.stderr
    assert done.returncode == 1


@pytest.mark.parametrize("script", ["run", "test", ".ci/run", "tools/environment.sh"])
def test_a_script_is_sound_shell(script):
    """Parses; can be executed; needs nothing newer than bash 3.2."""
    text = (ROOT / script).read_text(encoding="utf-8")
    parsed = subprocess.run(["bash", "-n", str(ROOT / script)], capture_output=True, text=True)
    too_new = ["mapfile", "readarray", "declare -A", "local -n", "${!", ",,}", "^^}", "|&", "&>>",
               "readlink -f", "realpath", "sed -i", "[[ -v"]  # fmt: skip

    assert (parsed.returncode, parsed.stderr) == (0, "")
    assert not [each for each in too_new if each in text]
    if not script.endswith(".sh"):
        assert os.access(ROOT / script, os.X_OK)
        assert text.startswith("#!/usr/bin/env bash\n")


def test_every_need_is_pinned_and_no_address_is_named():
    """constraints.txt holds exact versions of what pyproject.toml names, and nothing else."""
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"].values()
    needs = [*project["dependencies"], *(need for extra in extras for need in extra)]
    lines = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pins = dict(line.split("==") for line in lines if line and not line.startswith("#"))

    def plain(need: str) -> str:
        return re.split(r"[\[>]", need)[0].lower().replace("_", "-")

    pinned = {plain(name) for name in pins}
    assert {plain(need) for need in needs} <= pinned
    assert all(version[0].isdigit() and " " not in version for version in pins.values())
    assert all(">=" in need for need in needs)
