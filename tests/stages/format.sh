# The code is formatted as .rustfmt.toml says.
set -eu
source tests/stages/lib.sh
cargo fmt --all --check -- --color never
