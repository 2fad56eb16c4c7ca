# Every sample of a settings file passes `barrico check`, as a person's own file would.
set -eu
source tests/stages/lib.sh
cargo build --locked -p barrico
shopt -s nullglob
samples=(daemon/examples/*.toml systemd/barrico.toml)
for sample in "${samples[@]}"; do
  echo "--- $sample"
  "$TARGET/debug/barrico" check --settings "$sample" || fail "barrico check --settings $sample"
done
comparisons=(daemon/examples/compare/*.toml)
for sample in "${comparisons[@]}"; do
  "$TARGET/debug/barrico" compare "$sample" --json >/dev/null || fail "barrico compare $sample"
done
[ ${#comparisons[@]} -ge 1 ] || fail "no sample of a comparison"
# Two elements regulated, belt-driven fixed valve, energy recovery, gauges only; and the one that systemd starts with.
[ ${#samples[@]} -ge 5 ] || fail "${#samples[@]} samples, 5 are expected: ${samples[*]}"
say "${#samples[@]} sample settings checked"
