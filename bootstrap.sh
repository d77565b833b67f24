#!/bin/sh
# From a bare Debian 12 to a running firstglow: packages, build, demo or tests.
# Run it as root or as a user who may use sudo; run it again as often as you like.
set -u

usage() {
  cat <<'TEXT'
usage: sh bootstrap.sh demo | test | setup | help

  demo    build firstglow and ask it five questions about the rig in scenarios/wrenfield-75
  test    build everything with warnings as errors and run all tests
  setup   install the Debian packages that `demo` and `test` need, and stop there
  help    this text

Packages are looked for first; apt-get runs only when one is missing (as root or through sudo).
FIRSTGLOW_JOBS=N limits the compiler jobs that run at the same time.

Exit codes: 0 done, 2 usage, 10 not a Debian system, 11 no right to install packages,
12 package sources not reached, 13 packages not installed, 14 configure failed, 15 build failed,
16 a demo command failed; `test` otherwise ends with the code of ctest.
TEXT
}

# What the program itself is made of; Debian 12 names.
build_packages='g++ cmake ninja-build pkgconf libngspice0-dev libseccomp-dev libeigen3-dev
  libyaml-cpp-dev libfmt-dev nlohmann-json3-dev libcli11-dev libssl-dev libpugixml-dev libmimalloc-dev'
# What `sheet` draws its pictures with when it is there.
picture_packages='gnuplot-nox graphviz'
# What only the tests need: test framework, a second circuit simulator, the lint and schema scripts,
# a browser for the sheet; npm, which fetches axe-core for it, only where there is none.
test_packages='libgtest-dev parallel libgmock-dev libsundials-dev gnucap gnucap-default-plugins0 python3-yaml python3-jsonschema
  chromium chromium-driver python3-selenium'
command -v npm >/dev/null 2>&1 || test_packages="$test_packages npm"

say() { printf 'bootstrap: %s\n' "$*"; }

# stop CODE MESSAGE [LOG]: the end, with the last lines of a log when there is one.
stop() {
  if [ $# -gt 2 ] && [ -s "$3" ]; then
    tail -n 15 "$3" | sed 's/^/    /' >&2
    printf 'bootstrap: the whole log is in %s\n' "$3" >&2
  fi
  printf 'bootstrap: %s\n' "$2" >&2
  exit "$1"
}

# Prints those of its arguments that are not installed, on one line.
missing_of() {
  missing=''
  for package in "$@"; do
    state=$(dpkg-query -W -f='${db:Status-Status}' "$package" 2>/dev/null)
    [ "$state" = installed ] || missing="$missing $package"
  done
  printf '%s' "${missing# }"
}

# Sets as_root to the prefix that makes a command run as root ('' when we are root).
find_root_right() {
  as_root=''
  [ "$(id -u)" -eq 0 ] && return
  command -v sudo >/dev/null 2>&1 || stop 11 \
    "these packages are missing: $1. You are not root and sudo is not installed; become root and run this again."
  sudo -n true 2>/dev/null || sudo -v || stop 11 \
    "these packages are missing: $1. sudo did not let you install them; become root and run this again."
  as_root='sudo'
}

apt() {
  $as_root env DEBIAN_FRONTEND=noninteractive LC_ALL=C apt-get -q -y \
    -o DPkg::Lock::Timeout=120 -o Acquire::Retries=2 "$@"
}

# need PACKAGE...: silent when every package is there already.
need() {
  # shellcheck disable=SC2015  # the end is meant when either is missing
  command -v dpkg-query >/dev/null 2>&1 && command -v apt-get >/dev/null 2>&1 || stop 10 \
    "this script knows Debian 12 only (no dpkg-query or apt-get here). Install what stands for: $*; then see DEVELOPERS.md for the build commands."
  wanted=$(missing_of "$@")
  [ -n "$wanted" ] || return 0
  find_root_right "$wanted"
  log=build/bootstrap-apt.log
  say "installing: $wanted"
  reached=yes
  # Without this option apt-get update calls it a success when no source could be reached.
  apt -o APT::Update::Error-Mode=any update >"$log" 2>&1 || reached=no
  # shellcheck disable=SC2086  # a list of words on purpose
  if ! apt --no-install-recommends install $wanted >>"$log" 2>&1; then
    [ $reached = yes ] || stop 12 \
      "apt-get could not reach the package sources. Check the network and /etc/apt, then run this again." "$log"
    stop 13 "apt-get could not install: $wanted." "$log"
  fi
  # shellcheck disable=SC2086
  wanted=$(missing_of $wanted)
  [ -z "$wanted" ] || stop 13 "apt-get said yes but these are still missing: $wanted." "$log"
}

# configure PRESET [CMAKE ARGUMENT...]: only when that build folder is not there yet; afterwards
# ninja itself configures again whenever a CMake file has changed.
configure() {
  preset=$1
  [ -f "build/$preset/build.ninja" ] && return
  log=build/bootstrap-configure.log
  say "configuring build/$preset"
  cmake --preset "$@" >"$log" 2>&1 || stop 14 \
    "CMake could not configure preset '$preset'." "$log"
}

# build PRESET TARGET...
build() {
  preset=$1
  shift
  quiet='--quiet'
  [ -t 1 ] && quiet=''
  if ninja -C "build/$preset" -n "$@" 2>/dev/null | grep -q 'no work to do'; then
    return
  fi
  say "building in build/$preset (the first time takes some minutes)"
  # shellcheck disable=SC2086
  ninja -C "build/$preset" $quiet ${FIRSTGLOW_JOBS:+-j "$FIRSTGLOW_JOBS"} "$@" || stop 15 \
    "the build in build/$preset failed; the compiler's message stands above."
}

# ask COMMAND: one question about the demo rig. Code 1 means "something is unsafe", a finding;
# code 4 "no verdict", which the report explains (inrush: the core's own saturation is not modelled).
ask() {
  rig=scenarios/wrenfield-75/rig.yaml
  printf '\n$ firstglow %s %s\n\n' "$1" "$rig"
  build/dev/bin/firstglow "$1" "$rig"
  code=$?
  case $code in
    0) ;;
    1) found_unsafe="$found_unsafe $1" ;;
    4) withheld="$withheld $1" ;;
    *) stop 16 "'firstglow $1' ended with code $code; only 0, 1 and 4 are expected here." ;;
  esac
}

# The bench sheet of the demo rig, as one file for tablet and paper.
write_sheet() {
  printf '\n$ firstglow sheet %s -o build/demo-sheet\n\n' "$rig"
  build/dev/bin/firstglow sheet "$rig" -o build/demo-sheet
  code=$?
  case $code in
    0 | 1 | 4) ;;
    *) stop 16 "'firstglow sheet' ended with code $code; only 0, 1 and 4 are expected here." ;;
  esac
}

demo() {
  # shellcheck disable=SC2086
  need $build_packages $picture_packages
  configure dev -DBUILD_TESTING=OFF
  build dev firstglow firstglow-worker
  found_unsafe=''
  withheld=''
  for question in check rampup margins inrush bleed; do
    ask $question
  done
  write_sheet
  printf '\n'
  [ -z "$found_unsafe" ] || say \
    "exit code 1 (something is unsafe) from:$found_unsafe. That is the lesson of this rig, not a failure: read what it found above."
  [ -z "$withheld" ] || say \
    "exit code 4 (no verdict) from:$withheld. An answer is withheld because something is not known: the report says what."
}

run_tests() {
  # shellcheck disable=SC2086
  need $build_packages $picture_packages $test_packages
  configure ci
  build ci all all_verify_interface_header_sets
  exec ctest --preset ci
}

cd "$(dirname "$0")" || exit 70
mkdir -p build || stop 14 "cannot make the folder 'build' here."
# shellcheck disable=SC2086
case "${1:-help}" in
  demo) demo ;;
  test) run_tests ;;
  setup) need $build_packages $picture_packages $test_packages ;;
  help | -h | --help) usage ;;
  *) usage >&2; exit 2 ;;
esac
