#!/usr/bin/env bash
# Run every check of the project, in an environment of its own, with nothing asked.
#
#   bash tests/run.sh          format, lint, types, tests, and the window's tests on a virtual screen
#   bash tests/run.sh --slow   the same, and the tests marked slow
#
# The environment is .venv-test beside pyproject.toml; it is made anew when pyproject.toml changes.
# On Debian and Ubuntu, as root, missing system packages are installed; elsewhere they are named.
# A check that fails does not keep the later ones from running; the exit code is 0 only if all passed.
# PYTHON names another Python (3.11 or later) to make the environment from.

set -uo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.." || exit 1

pytest_options=()
for option in "$@"; do
  case "$option" in
    --slow) pytest_options+=(--slow) ;;
    -h | --help) sed -n '2,11s/^# \{0,1\}//p' "${BASH_SOURCE[0]}"; exit 0 ;;
    *) echo "tests/run.sh knows --slow and --help, not '$option'." >&2; exit 2 ;;
  esac
done

environment=.venv-test
base_python=${PYTHON:-python3}
scratch=$(mktemp -d)
screen_pids=()
summary=()
failed_checks=0

tidy_up() {
  for pid in ${screen_pids[@]+"${screen_pids[@]}"}; do
    kill "$pid" 2>/dev/null
    wait "$pid" 2>/dev/null
  done
  rm -rf "$scratch"
}
trap tidy_up EXIT
trap 'exit 130' INT TERM

say() { printf '\n== %s\n' "$*"; }

# --- What the system must have -----------------------------------------------------------------

# Shared library, and the Debian package that brings it.
libraries='libglib-2.0.so.0 libglib2.0-0
libGL.so.1 libgl1
libGLX_mesa.so.0 libglx-mesa0
libEGL.so.1 libegl1
libxkbcommon.so.0 libxkbcommon0
libxkbcommon-x11.so.0 libxkbcommon-x11-0
libfontconfig.so.1 libfontconfig1
libdbus-1.so.3 libdbus-1-3
libxcb-cursor.so.0 libxcb-cursor0
libxcb-icccm.so.4 libxcb-icccm4
libxcb-image.so.0 libxcb-image0
libxcb-keysyms.so.1 libxcb-keysyms1
libxcb-randr.so.0 libxcb-randr0
libxcb-render-util.so.0 libxcb-render-util0
libxcb-shape.so.0 libxcb-shape0'

missing_packages() {
  local known library package
  known=$(PATH="$PATH:/sbin:/usr/sbin" ldconfig -p 2>/dev/null)
  while read -r library package; do
    case "$known" in *"$library "*) ;; *) echo "$package" ;; esac
  done <<<"$libraries"
  command -v Xvfb >/dev/null || echo xvfb
  # The window's tests read printed pages back as pictures where pdftoppm is there.
  command -v pdftoppm >/dev/null || echo poppler-utils
  "$base_python" -c 'import ensurepip, venv' 2>/dev/null || echo python3-venv
}

prepare_system() {
  [ "$(uname -s)" = Linux ] || return 0
  local missing
  mapfile -t missing < <(missing_packages)
  [ "${#missing[@]}" -gt 0 ] || return 0
  if [ "$(id -u)" -eq 0 ] && command -v apt-get >/dev/null; then
    say "system packages: installing ${missing[*]}"
    export DEBIAN_FRONTEND=noninteractive
    apt-get update -qq </dev/null &&
      apt-get install -y -qq --no-install-recommends "${missing[@]}" </dev/null \
        >"$scratch/apt.log" 2>&1
    local code=$?
    [ "$code" -eq 0 ] || tail -n 20 "$scratch/apt.log" 2>/dev/null
    mapfile -t missing < <(missing_packages)
    [ "${#missing[@]}" -gt 0 ] || return 0
  fi
  say "system packages: missing, by their Debian names: ${missing[*]}"
  echo "Install them (Debian, Ubuntu: apt-get install ${missing[*]}) and run this again;"
  echo "going on with what is here."
}

# --- The environment ---------------------------------------------------------------------------

require_python() {
  command -v "$base_python" >/dev/null ||
    { echo "No $base_python here: install Python 3.11 or later." >&2; exit 1; }
  "$base_python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
    { echo "$("$base_python" -V) is too old: Python 3.11 or later is needed (PYTHON=...)." >&2; exit 1; }
}

environment_mark() {
  "$base_python" - <<'END'
import hashlib, os, pathlib, sys
made_from = pathlib.Path("pyproject.toml").read_bytes() + (sys.version + os.getcwd()).encode()
print(hashlib.sha256(made_from).hexdigest())
END
}

prepare_environment() {
  local mark
  mark=$(environment_mark)
  if [ "$(cat "$environment/made-from" 2>/dev/null)" != "$mark" ]; then
    say "environment: making $environment ($("$base_python" -V)); this takes a few minutes"
    rm -rf "$environment"
    "$base_python" -m venv "$environment" || return 1
    "$(in_environment python)" -m pip install --quiet --disable-pip-version-check \
      --editable '.[test]' </dev/null || return 1
    echo "$mark" >"$environment/made-from"
  fi
}

in_environment() {
  if [ -d "$environment/Scripts" ]; then
    echo "$environment/Scripts/$1"
  else
    echo "$environment/bin/$1"
  fi
}

# --- The virtual screens -----------------------------------------------------------------------

start_screens() { # one for each process of the window's tests
  [ "$(uname -s)" = Linux ] || return 0 # elsewhere there is a screen
  command -v Xvfb >/dev/null || { echo "Xvfb is missing: no virtual screen."; return 1; }
  local screens=()
  for number in 1 2; do
    start_screen "$number" || return 1
    screens+=("$DISPLAY")
  done
  export LOWCROWN_TEST_SCREENS="${screens[*]}" # tests/conftest.py shares them out
}

start_screen() { # number
  local shown=$scratch/display-$1 log=$scratch/screen-$1.log
  Xvfb -displayfd 3 -screen 0 1600x1200x24 -nolisten tcp 3>"$shown" >"$log" 2>&1 </dev/null &
  screen_pids+=($!)
  for _ in $(seq 200); do
    if [ -s "$shown" ]; then
      DISPLAY=":$(tr -d '[:space:]' <"$shown")"
      export DISPLAY
      return 0
    fi
    kill -0 "${screen_pids[-1]}" 2>/dev/null || break
    sleep 0.1
  done
  echo "The virtual screen did not start:"
  cat "$log"
  return 1
}

# --- The checks --------------------------------------------------------------------------------

check() { # name, command...
  local name=$1 started=$SECONDS code
  shift
  say "$name"
  "$@" </dev/null
  code=$?
  note "$name" "$code" "$((SECONDS - started))"
}

note() { # name, exit code, seconds
  local word=passed
  if [ "$2" -ne 0 ]; then
    word="FAILED ($2)"
    failed_checks=$((failed_checks + 1))
  fi
  summary+=("$(printf '%-14s %-12s %4d s' "$1" "$word" "$3")")
}

plain_tests() {
  env -u DISPLAY -u WAYLAND_DISPLAY QT_QPA_PLATFORM=offscreen \
    "$python" -m pytest -q -n 2 -m 'not window' ${pytest_options[@]+"${pytest_options[@]}"} \
    2>&1 | tee "$scratch/plain.log"
}

window_tests() {
  start_screens || return 1
  local processes=(-n 0)
  # Two where each has a screen of its own; a file's tests stay together, as they share jobs.
  [ -z "${LOWCROWN_TEST_SCREENS:-}" ] || processes=(-n 2 --dist loadfile)
  # Drawn by the processor, so that every machine draws the same.
  env -u WAYLAND_DISPLAY LIBGL_ALWAYS_SOFTWARE=1 QT_QPA_PLATFORM="${window_platform}" \
    "$python" -m pytest -q "${processes[@]}" -m window tests ${pytest_options[@]+"${pytest_options[@]}"} \
    2>&1 | tee "$scratch/window.log"
  local code=$?
  if [ "$code" -eq 5 ]; then # pytest's word for: none collected
    echo "No window tests here."
    return 0
  fi
  return "$code"
}

count() { # word: how many tests the two runs gave it
  cat "$scratch/plain.log" "$scratch/window.log" 2>/dev/null |
    grep -E ' in [0-9.]+s' | grep -Eo "[0-9]+ $1" | awk '{n += $1} END {print n + 0}'
}

require_python
prepare_system
prepare_environment || { echo "The environment could not be made; nothing was checked." >&2; exit 1; }
python=$(in_environment python)
window_platform=
[ "$(uname -s)" = Linux ] && window_platform=xcb

# One thread each: two test processes share the cores, and sums come out the same every time.
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1
# Many tests start the program anew: keep what Python compiled, wherever that is switched off.
unset PYTHONDONTWRITEBYTECODE
export XDG_RUNTIME_DIR="$scratch/runtime"
mkdir -m 700 "$XDG_RUNTIME_DIR"

check format "$python" -m ruff format --check .
check lint "$python" -m ruff check .
check types "$python" -m mypy --strict --num-workers 2
check tests plain_tests
check 'window tests' window_tests

say summary
printf '%s\n' "${summary[@]}"
echo "$(count passed) passed, $(($(count failed) + $(count error))) failed, $(count skipped) skipped"
[ "$failed_checks" -eq 0 ]
