#!/usr/bin/env bash
# Fetches a Linux kernel with CAN and what runs it, from Debian's packages, into a cache; installs nothing and needs no root.
#
#   fetch.sh uml    User-Mode Linux: a kernel that is an ordinary program (42 MB)
#   fetch.sh qemu   an emulated PC and Debian's own kernel (90 MB more)
#
# The cache is $BARRICO_KERNELS, or barrico-kernels in the user's cache folder. What is there is not fetched again. Only when apt has no
# package lists at all are they fetched, which needs root.
set -euo pipefail
what=$1
cache=${BARRICO_KERNELS:-${XDG_CACHE_HOME:-$HOME/.cache}/barrico-kernels}
mkdir -p "$cache/packages"
# One at a time: two stages may start together.
exec 9>"$cache/lock"
flock 9
cd "$cache/packages"

have_lists() { apt-cache show busybox-static >/dev/null 2>&1; }

# take PACKAGE...: downloads what is not there yet.
take() {
  local package
  for package in "$@"; do
    compgen -G "${package}_*.deb" >/dev/null && continue
    have_lists || apt-get update -qq || { echo "no package lists: run apt-get update as root" >&2; exit 1; }
    # A list that is older than the archive names files that are gone.
    apt-get download -qq "$package" 2>/dev/null || { apt-get update -qq && apt-get download -qq "$package"; }
  done
}

# unpack PACKAGE FOLDER [PATTERN...]: the files of a package, or those that match.
unpack() {
  local package=$1 folder=$2
  shift 2
  mkdir -p "$folder"
  dpkg-deb --fsys-tarfile "$(compgen -G "${package}_*.deb" | tail -n 1)" | tar -x -C "$folder" --wildcards "$@"
}

take busybox-static
[ -x "$cache/busybox/bin/busybox" ] || unpack busybox-static "$cache/busybox" ./bin/busybox

if [ "$what" = uml ] && [ ! -e "$cache/uml/complete" ]; then
  take user-mode-linux
  unpack user-mode-linux "$cache/uml" './usr/bin/*' './usr/lib/uml/modules/*/kernel/net/can*' './usr/lib/uml/modules/*/kernel/drivers/net/can*'
  touch "$cache/uml/complete"
fi

if [ "$what" = qemu ] && [ ! -e "$cache/qemu/complete" ]; then
  kernel=$(apt-cache depends linux-image-amd64 | sed -n 's/ *Depends: \(linux-image-[0-9]\)/\1/p' | head -n 1)
  if [ -z "$kernel" ]; then
    take linux-image-amd64
    kernel=$(apt-cache depends linux-image-amd64 | sed -n 's/ *Depends: \(linux-image-[0-9]\)/\1/p' | head -n 1)
  fi
  take "$kernel"
  modules='./lib/modules/*/kernel'
  unpack "$kernel" "$cache/kernel" './boot/vmlinuz*' "$modules/net/*" "$modules/drivers/net/*" "$modules/drivers/virtio/*" \
    "$modules/fs/9p/*" "$modules/fs/netfs/*" "$modules/fs/fscache/*"
  # Not installed: beside a newer qemu from elsewhere that would remove packages of the machine's owner.
  mapfile -t needed < <(apt-get install --no-install-recommends -s qemu-system-x86 | awk '/^Inst/ { print $2 }')
  [ ${#needed[@]} -gt 0 ] || needed=(qemu-system-x86 qemu-system-common qemu-system-data seabios)
  take "${needed[@]}"
  for package in "${needed[@]}"; do unpack "$package" "$cache/qemu"; done
  # An emulated processor needs seconds to unpack the kernel: it is unpacked here, once.
  python3 - "$(compgen -G "$cache/kernel/boot/vmlinuz-*" | tail -n 1)" "$cache/qemu/vmlinux" <<'P'
import lzma
import sys

image = open(sys.argv[1], "rb").read()
start = image.find(b"\xfd7zXZ\0")
if start < 0:
    sys.exit("no xz stream in the kernel image")
open(sys.argv[2], "wb").write(lzma.LZMADecompressor(format=lzma.FORMAT_XZ).decompress(image[start:]))
P
  touch "$cache/qemu/complete"
fi
echo "$cache"
