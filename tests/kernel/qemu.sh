#!/usr/bin/env bash
# qemu.sh COMMAND ARGUMENTS...: runs it as root on an emulated PC, with vcan0 up and two emulated CAN cards on one bus, can0 and can1 (down).
#
# The guest's files are the host's, read-only; TMPDIR is writable. Output and exit code come back. No root and no hardware support are needed.
#   GUEST_PORT=8080:18080   the guest's port 8080 answers on the host's 127.0.0.1:18080
#   KERNEL_TIMEOUT          seconds until the guest is ended (default 300)
set -u
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
source "$here/run_folder.sh"
cache=$("$here/fetch.sh" qemu) || exit 97
qemu=$cache/qemu
python3 "$here/initramfs.py" "$cache/initramfs.$$" "$(compgen -G "$cache/kernel/lib/modules/*/kernel")" "$cache/busybox/bin/busybox" \
  "$here/qemu_init.sh" || exit 97
trap 'rm -f "$cache/initramfs.$$"' EXIT

network=()
if [ -n "${GUEST_PORT:-}" ]; then
  network=(-netdev "user,id=net,restrict=on,hostfwd=tcp:127.0.0.1:${GUEST_PORT#*:}-:${GUEST_PORT%:*}" -device virtio-net-pci,netdev=net)
fi

start_qemu() {
  LD_LIBRARY_PATH=$qemu/usr/lib/x86_64-linux-gnu:$qemu/lib/x86_64-linux-gnu \
    timeout -k 5 "${KERNEL_TIMEOUT:-300}" "$qemu/usr/bin/qemu-system-x86_64" -L "$qemu/usr/share/qemu" -L "$qemu/usr/share/seabios" \
    -L "$qemu/usr/lib/ipxe/qemu" -M pc -accel tcg,thread=multi -cpu max -smp 2 -m 384 -nodefaults -no-reboot -display none -serial stdio \
    -kernel "$qemu/vmlinux" -initrd "$cache/initramfs.$$" \
    -append "console=ttyS0 quiet loglevel=3 panic=-1 mitigations=off random.trust_cpu=on tsc=reliable" \
    -object can-bus,id=wire -device kvaser_pci,canbus=wire -device kvaser_pci,canbus=wire "${network[@]}" \
    -virtfs local,path=/,mount_tag=host,security_model=none,multidevs=remap,readonly=on \
    -virtfs local,path="$folder",mount_tag=shared,security_model=none </dev/null >"$folder/console" 2>&1
}

try_start start_qemu qemu "$@"
