# Licences, bans and sources with cargo-deny where somebody has installed it. Building it takes longer than all our tests, so
# it is not installed here: the same lists of .deny.toml are checked by tests/tidy.rs in the stage `tests`.
set -eu
source tests/stages/lib.sh
if cargo deny --version >/dev/null 2>&1; then
  cargo deny --locked check licenses bans sources
  say "cargo-deny: licences, bans and sources agree with .deny.toml"
else
  say "cargo-deny is not installed; tests/tidy.rs checks the lists of .deny.toml"
fi
