# No compiler or clippy warning, in tests and examples too.
set -eu
source tests/stages/lib.sh
cargo clippy --locked --workspace --all-targets -- -D warnings
