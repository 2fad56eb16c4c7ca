#!/bin/sh
# The first process on the emulated PC. Loads the modules, mounts the host's files and runs the command with those as its root.
export PATH=/bin
mount -t proc proc /proc
mount -t sysfs sys /sys
mount -t devtmpfs dev /dev
while read -r module; do
  insmod "/modules/$module.ko" || echo "module $module cannot be loaded"
done </modules/order
ip link set lo up
ip link add vcan0 type vcan && ip link set vcan0 up
if [ -e /sys/class/net/eth0 ]; then
  # The addresses that QEMU's user network gives out.
  ip link set eth0 up
  ip addr add 10.0.2.15/24 dev eth0
fi
files="trans=virtio,version=9p2000.L,msize=262144"
mount -t 9p -o "ro,$files,cache=loose" host /host
mount -t proc proc /host/proc
mount -t sysfs sys /host/sys
mount -t tmpfs run /host/run
mount -t devtmpfs dev /host/dev
mkdir -p /host/dev/pts /host/dev/shm /host/run/shared /host/run/scratch
mount -t devpts pts /host/dev/pts
mount -t tmpfs shm /host/dev/shm
mount -t 9p -o "$files" shared /host/run/shared && [ -d /sys/class/net/can1 ] && touch /host/run/shared/started
chroot /host /bin/bash -c 'bash /run/shared/run >/run/shared/out 2>/run/shared/err </dev/null; echo $? >/run/shared/code'
echo o >/proc/sysrq-trigger
sleep 10
