# Shared by tests/all and the stages; sourced from the top of the tree, runs nothing by itself.
# shellcheck shell=bash

TARGET=${CARGO_TARGET_DIR:-target}
export LOGS=$TARGET/test-logs
# Snapshots are compared, never rewritten, and colours do not help in a log.
export INSTA_UPDATE=no CARGO_TERM_COLOR=never

# say TEXT: a line that tests/all repeats under the stage's result.
say() { printf '== %s\n' "$*"; }

fail() {
  printf 'FAILED: %s\n' "$*" >&2
  exit 1
}

# Points BARRICO_DATA at the recordings, or leaves it unset where they are absent. In CI they must be there.
find_data() {
  if [ -z "${BARRICO_DATA:-}" ] && [ -d ../shared/data ]; then
    BARRICO_DATA=$(cd ../shared/data && pwd)
  fi
  if [ -n "${BARRICO_DATA:-}" ]; then
    [ -d "$BARRICO_DATA" ] || { echo "BARRICO_DATA names $BARRICO_DATA, which is not a folder" >&2; return 1; }
    export BARRICO_DATA
  elif [ "${CI:-}" = true ]; then
    echo "CI=true, but there are no recordings: set BARRICO_DATA or put them in ../shared/data" >&2
    return 1
  else
    echo "no recordings (BARRICO_DATA is unset, ../shared/data is absent): tests that need them are skipped"
  fi
}

# need COMMAND PACKAGE...: installs the Debian packages when the command is missing.
need() {
  local command=$1 as_root=()
  shift
  command -v "$command" >/dev/null && return
  command -v apt-get >/dev/null || fail "'$command' is missing and there is no apt-get: install it (in Debian: $*)"
  if [ "$(id -u)" -ne 0 ]; then
    command -v sudo >/dev/null || fail "'$command' is missing and neither root nor sudo is at hand: apt-get install $*"
    as_root=(sudo)
  fi
  echo "installing $*"
  "${as_root[@]}" apt-get update -q || fail "apt-get update"
  "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -q --no-install-recommends "$@" ||
    fail "apt-get install $*"
  command -v "$command" >/dev/null || fail "the packages $* do not bring '$command'"
}

# The reports there are: the programs in tests/report.d.
report_names() {
  local path names=()
  for path in tests/report.d/*; do
    [ -f "$path" ] && [ -x "$path" ] && names+=("$(basename "$path")")
  done
  echo "${names[*]}"
}
