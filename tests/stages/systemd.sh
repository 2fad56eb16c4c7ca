# The systemd unit is one that systemd understands, where systemd is there to ask.
set -eu
source tests/stages/lib.sh
if ! command -v systemd-analyze >/dev/null; then
  say "systemd is not here: its unit was not verified"
  exit 0
fi
# The program and its user exist only on an installed machine: the copy names commands that exist everywhere.
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
sed 's|/usr/bin/barrico|/bin/true|; s|^User=.*|User=root|; s|^Group=.*|Group=root|' systemd/barrico.service >"$work/barrico.service"
systemd-analyze verify --man=no "$work/barrico.service" 2>&1 | tee "$work/said"
[ "${PIPESTATUS[0]}" -eq 0 ] || fail "systemd-analyze verify"
# An unknown key is only a warning to systemd, and to us a hardening line that does nothing.
if grep -q 'barrico.service' "$work/said"; then fail "systemd-analyze verify complains"; fi
systemd-analyze security --offline=true --threshold=20 "$work/barrico.service" | tail -n 1 | tee "$work/score"
[ "${PIPESTATUS[0]}" -eq 0 ] || fail "the unit is more exposed than it was"
say "systemd: unit verified"
