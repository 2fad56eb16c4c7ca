# Unit, property, scenario and end-to-end tests, then the examples in the documentation (nextest does not run those).
set -eu
source tests/stages/lib.sh
if ! cargo nextest --version >/dev/null 2>&1; then
  echo "installing cargo-nextest: each test in its own process, with a time limit"
  cargo install --locked cargo-nextest || echo "cargo-nextest cannot be had: cargo test runs the tests instead"
fi
log=$LOGS/tests-run.log
if cargo nextest --version >/dev/null 2>&1; then
  cargo nextest run --locked --workspace 2>&1 | tee "$log"
  [ "${PIPESTATUS[0]}" -eq 0 ] || exit 1
  say "$(grep -E '^ *Summary' "$log" | tail -n 1 | sed 's/^ *//')"
else
  cargo test --locked --workspace --all-targets 2>&1 | tee "$log"
  [ "${PIPESTATUS[0]}" -eq 0 ] || exit 1
  say "$(awk '/^test result:/ { p += $4; f += $6 } END { print p + 0 " passed; " f + 0 " failed" }' "$log")"
fi
cargo test --locked --workspace --doc
