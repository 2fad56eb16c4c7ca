#!/usr/bin/env bash
# uml.sh COMMAND ARGUMENTS...: runs it as root inside User-Mode Linux, with the CAN interface vcan0 up.
#
# The guest's files are the host's, read-only; TMPDIR is writable. Output and exit code come back, so this serves as a cargo runner. No root is
# needed on the host. KERNEL_TIMEOUT: seconds until the guest is ended (default 300).
set -u
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
source "$here/run_folder.sh"
cache=$("$here/fetch.sh" uml) || exit 97
modules=$(compgen -G "$cache/uml/usr/lib/uml/modules/*/kernel")

start_uml() {
  timeout -k 5 "${KERNEL_TIMEOUT:-300}" "$cache/uml/usr/bin/linux.uml" root=none rootfstype=hostfs rootflags=/ ro mem=256M \
    init="$here/uml_init.sh" barrico_folder="$folder" barrico_modules="$modules" barrico_busybox="$cache/busybox/bin/busybox" \
    uml_dir="$folder" umid=guest con=null con0=null,fd:1 quiet loglevel=3 </dev/null >"$folder/console" 2>&1
}

try_start start_uml uml "$@"
