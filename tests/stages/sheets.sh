# Every document that a person prints, from the samples: one page on A4 and US letter (two for a comparison with its annex), no sideways scrolling on a phone. Pictures go to target/test-logs/.
set -eu
source tests/stages/lib.sh
need chromium chromium fonts-dejavu-core
need python3 python3
cargo build --locked -p barrico
barrico=$TARGET/debug/barrico
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

documents=()
for sample in daemon/examples/*.toml; do
  name=$(basename "$sample" .toml)
  # A history of its own, empty: the machine's would change the documents.
  settings=$folder/$name.toml
  { cat "$sample"; printf '\n[folders]\nstate = "%s"\nruntime = "%s"\n' "$folder/$name-state" "$folder/$name-run"; } >"$settings"
  for kind in table handover; do
    "$barrico" --settings "$settings" expect --"$kind" --html "$folder/$kind-$name.html" >"$folder/$kind-$name.txt"
    documents+=("$folder/$kind-$name.html=1")
  done
done

# The handover sheet of a boat with a log: more rows.
settings=$folder/gauges-only-hand-set.toml
for day in 1 2 3; do
  "$barrico" --settings "$settings" log add --at "2026-05-0$day 09:00" --feed-pressure '55 bar' --inlet-pressure '0.4 bar' --product-flow "7$day L/h" \
    --concentrate-flow '255 L/h' --product-conductivity '520 uS/cm' --feed-temperature '22 C' --feed-salinity '36 g/kg' --supply-current '9.1 A' \
    --prefilter-inlet-pressure '1.1 bar' --prefilter-differential-pressure '0.2 bar' --concentrate-pressure '54.6 bar' >"$folder/log.txt"
done
"$barrico" --settings "$settings" expect --handover --html "$folder/handover-with-log.html" >"$folder/handover-with-log.txt"
grep -q 'From the last 3 runs' "$folder/handover-with-log.txt" || fail "the handover sheet does not use the log"
documents+=("$folder/handover-with-log.html=1")

"$barrico" report --acceptance --case daemon/examples/cases/acceptance.json --html "$folder/acceptance.html" >"$folder/acceptance.txt" ||
  fail "the sample of an acceptance does not meet the minimum, exit status $?"
documents+=("$folder/acceptance.html=1")

"$barrico" compare --example --html "$folder/comparison.html" >"$folder/comparison.txt"
"$barrico" compare --example --annex --html "$folder/comparison-annex.html" >>"$folder/comparison.txt"
documents+=("$folder/comparison.html=1" "$folder/comparison-annex.html=2")

python3 tests/stages/sheets.py "$LOGS" "${documents[@]}" || fail "documents; see the lines above and the pictures in $LOGS"
say "${#documents[@]} documents printed on A4 and US letter, no page more than meant: PDFs and pictures in $LOGS"
