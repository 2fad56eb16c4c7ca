# The page of a running demo, as a phone and a laptop see it, with and without JavaScript. Pictures go to target/test-logs/.
set -eu
source tests/stages/lib.sh
need chromium chromium fonts-dejavu-core
need python3 python3
cargo build --locked -p barrico

# Port 0: the system chooses a free one, and the demo says which.
demo_log=$LOGS/page-demo.log
state=$(mktemp -d)
XDG_STATE_HOME=$state "$TARGET/debug/barrico" demo --bind 127.0.0.1:0 >"$demo_log" 2>&1 &
demo=$!
trap 'kill "$demo" 2>/dev/null || true; wait "$demo" 2>/dev/null || true; rm -rf "$state"' EXIT

url=
for _ in $(seq 100); do
  url=$(grep -m 1 -oE 'http://127\.0\.0\.1:[0-9]+/' "$demo_log") && break
  kill -0 "$demo" 2>/dev/null || { cat "$demo_log"; fail "the demo ended by itself"; }
  sleep 0.2
done
[ -n "$url" ] || { cat "$demo_log"; fail "the demo did not say within 20 s where its page is"; }

python3 tests/stages/page.py "$url" "$LOGS" || fail "the page at $url; see the lines above and the pictures in $LOGS"
# A demo that dies of what a visitor does would otherwise go unseen.
kill -0 "$demo" 2>/dev/null || { cat "$demo_log"; fail "the demo ended while it was looked at"; }
say "page seen at 390 and 1280 px, with and without JavaScript: pictures in $LOGS"
