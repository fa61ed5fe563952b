# Sourced by run and test, which set `root`: gives `python`, an interpreter that has what they need.
# bash 3.2 and POSIX tools only. The work itself, when there is any, is in environment.py.

python=$root/.venv/bin/python

# prepare run|test [--quietly]
prepare() {
  local wanted
  wanted=$(cat "$root/pyproject.toml" "$root/constraints.txt" | cksum)
  if [ -x "$python" ] && [ "$(cat "$root/.venv/ready-$1" 2>/dev/null)" = "$wanted" ]; then
    return
  fi
  find_python
  "$found" "$root/tools/environment.py" "$wanted" "$@" >&2 </dev/null || exit 2
}

# Sets `found`: the newest Python that is new enough and can make environments.
find_python() {
  local name
  found=
  for name in python3.14 python3.13 python3.12 python3.11 python3; do
    "$name" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1 || continue
    if "$name" -c 'import ensurepip, venv' >/dev/null 2>&1; then
      found=$name
      return
    fi
    found=${found:-$name}
  done
  if [ -z "$found" ]; then
    cat >&2 <<'TEXT'
spawnwright: Python 3.11 or newer is needed, and none was found on the PATH.
  Debian, Ubuntu, WSL  sudo apt install python3 python3-venv
  Fedora               sudo dnf install python3
  Mac                  brew install python3, or the installer from python.org
  any                  a newer Python beside the old one: pyenv install 3.13
Then run this again.
TEXT
    exit 2
  fi
}
