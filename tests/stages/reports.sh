# A tenth of every report, with a seed that changes from commit to commit, so that each run looks at other cases.
set -eu
source tests/stages/lib.sh
seed=$((16#$(git rev-parse --short=6 HEAD 2>/dev/null || echo 000007)))
for name in $(report_names); do
  if [ -z "${BARRICO_DATA:-}" ] && grep -q BARRICO_DATA "tests/report.d/$name"; then
    say "report $name: skipped, no recordings"
    continue
  fi
  echo "--- $name, seed $seed"
  ./tests/report "$name" --tenth --seed "$seed" >"$LOGS/report-$name.txt" || fail "report $name"
  cat "$LOGS/report-$name.txt"
  # A line that a program cannot read back is no figure.
  if grep -vnE '^[a-z0-9_]+ = [-+]?[0-9.]+(e[-+]?[0-9]+)? [^ ]+$' "$LOGS/report-$name.txt"; then
    fail "report $name: the lines above are not of the form 'name = value unit'"
  fi
  [ -s "$LOGS/report-$name.txt" ] || fail "report $name printed nothing"
  while read -r line; do say "$name: $line"; done <"$LOGS/report-$name.txt"
done
