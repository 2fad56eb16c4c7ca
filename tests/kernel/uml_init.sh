#!/bin/bash
# The first process inside User-Mode Linux. The root is the host's file system, read-only; only /run is writable.
mount -t proc proc /proc
mount -t sysfs sys /sys
mount -t tmpfs run /run
# /dev is the kernel's own and nearly empty.
mkdir -p /run/shared /run/scratch /dev/pts /dev/shm
mount -t devpts pts /dev/pts
mount -t tmpfs shm /dev/shm
argument() { sed -n "s/.*$1=\([^ ]*\).*/\1/p" /proc/cmdline; }
mount -t hostfs -o "$(argument barrico_folder)" none /run/shared
modules=$(argument barrico_modules)
busybox=$(argument barrico_busybox)
for module in net/can/can drivers/net/can/dev/can-dev net/can/can-raw drivers/net/can/vcan drivers/net/can/slcan/slcan; do
  "$busybox" insmod "$modules/$module.ko" || echo "module $module cannot be loaded"
done
"$busybox" ip link set lo up
"$busybox" ip link add vcan0 type vcan && "$busybox" ip link set vcan0 up && touch /run/shared/started
bash /run/shared/run >/run/shared/out 2>/run/shared/err </dev/null
echo $? >/run/shared/code
echo o >/proc/sysrq-trigger
sleep 10
