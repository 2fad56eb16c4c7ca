# The CAN interface against a real Linux kernel: every test of tests/can_bus.rs and tests/nodes_on_can.rs inside User-Mode Linux, then a full bus and a real driver on an
# emulated PC. Both come from Debian's packages and run as ordinary programs; nothing is installed but `ip` and Python.
set -eu
source tests/stages/lib.sh
need ip iproute2
need python3 python3
need curl curl
[ "$(uname -m)" = x86_64 ] || fail "User-Mode Linux and the emulated PC are for x86_64"
runner=$PWD/tests/kernel/uml.sh
target=$(realpath "$TARGET")

started=$SECONDS
log=$LOGS/can-uml.log
KERNEL_TIMEOUT=900 REQUIRE_CAN=1 CARGO_TARGET_X86_64_UNKNOWN_LINUX_GNU_RUNNER=$runner \
  cargo test --locked -p barrico --test can_bus --test nodes_on_can -- --test-threads 1 2>&1 | tee "$log"
[ "${PIPESTATUS[0]}" -eq 0 ] || fail "tests on a real kernel inside User-Mode Linux"
say "User-Mode Linux: $(sed -n 's/^test result: //p' "$log" | tr '\n' ' '), $((SECONDS - started)) s in all"

# Debug build: ten times slower than what is shipped, so a frame lost there would be lost here.
started=$SECONDS
cargo build --locked -p barrico
KERNEL_TIMEOUT=600 tests/kernel/qemu.sh python3 tests/kernel/unplug.py "$target/debug/barrico" 2>&1 | tee "$LOGS/can-unplug.log"
[ "${PIPESTATUS[0]}" -eq 0 ] || fail "a card unplugged and put back"
say "emulated PC: card down, up, unplugged, put back, $((SECONDS - started)) s"

if [ -z "${BARRICO_DATA:-}" ]; then
  say "full bus: skipped, no recordings"
  exit 0
fi
started=$SECONDS
# A free port of this machine for the guest's page.
port=$(python3 -c 'import socket; s = socket.create_server(("127.0.0.1", 0)); print(s.getsockname()[1])')
page=$LOGS/can-page.txt
rm -f "$page"
# The page is asked for from outside while the bus is full.
(until curl -sf -m 20 -H 'Host: 127.0.0.1:8470' "http://127.0.0.1:$port/" -o "$page"; do sleep 1; done) &
asking=$!
trap 'kill "$asking" 2>/dev/null || true' EXIT
GUEST_PORT=8080:$port KERNEL_TIMEOUT=600 tests/kernel/qemu.sh python3 tests/kernel/full_bus.py "$target/debug/barrico" \
  "$BARRICO_DATA/nmea2000/boat-a-socketcan-60s.log" 60 2>&1 | tee "$LOGS/can-full-bus.log"
[ "${PIPESTATUS[0]}" -eq 0 ] || fail "full bus on the emulated PC"
grep -q trial "$page" || fail "the page of the emulated PC was not reached from outside"
say "full bus: $(tr '\n' ';' <"$LOGS/can-full-bus.log") page reached; $((SECONDS - started)) s"
