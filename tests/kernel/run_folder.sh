# Sourced by uml.sh and qemu.sh: the folder that a guest and its starter share.
# shellcheck shell=bash
#
#   run      the command with this shell's environment, as a bash script
#   started  written by the guest just before the command begins
#   out err  what the command printed
#   code     its exit code
#   console  what the guest's kernel said

make_run_folder() {
  folder=$(mktemp -d "${TMPDIR:-/tmp}/barrico-guest.XXXXXX")
  {
    declare -px | grep -vE '^declare -[a-z]*x[a-z]* (PWD|OLDPWD|TMPDIR|SHLVL|_|LD_LIBRARY_PATH)='
    echo 'export TMPDIR=/run/scratch'
    printf 'cd %q || exit 98\n' "$PWD"
    printf '%q ' "$@"
    echo
  } >"$folder/run"
}

# report NAME: prints what the command printed and ends with its exit code. 99: it never ended. 97: the guest never began it.
report() {
  [ ! -f "$folder/out" ] || cat "$folder/out"
  [ ! -f "$folder/err" ] || cat "$folder/err" >&2
  [ -s "$folder/code" ] && return "$(cat "$folder/code")"
  echo "$1: the guest gave no exit code; the end of its console:" >&2
  tail -n 30 "$folder/console" >&2
  if [ -e "$folder/started" ]; then return 99; else return 97; fi
}

# try_start START NAME COMMAND...: starts a guest until the command begins in it, three times at most. A command that began is never tried again.
try_start() {
  local start=$1 name=$2 code
  shift 2
  for _ in 1 2 3; do
    make_run_folder "$@"
    "$start"
    report "$name" && code=0 || code=$?
    rm -rf "$folder"
    [ "$code" -eq 97 ] || return "$code"
    echo "$name: starting once more" >&2
  done
  return 97
}
