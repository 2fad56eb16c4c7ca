#!/usr/bin/env python3
"""Writes the first file system of the emulated PC.

usage: initramfs.py OUTPUT MODULE_TREE BUSYBOX INIT

It holds busybox, the init script and the wanted kernel modules with all that they depend on, in the order in which they must be loaded. A module
names its dependencies itself, in a string `depends=`; the package has no index of them. The format is cpio's "newc" (cpio(5)), uncompressed: what
an emulated processor need not unpack starts sooner.
"""

import os
import pathlib
import stat
import subprocess
import sys

# The virtio ones do not name virtio_pci, yet find no device without it.
WANTED = ["can", "can_dev", "can_raw", "vcan", "kvaser_pci", "virtio_pci", "virtio_net", "9pnet_virtio", "9p"]
FOLDERS = ["bin", "dev", "proc", "sys", "host", "modules"]


class Archive:
    def __init__(self):
        self.bytes = bytearray()
        self.entries = 0

    def add(self, name, mode, data=b"", device=(0, 0)):
        self.entries += 1
        fields = [self.entries, mode, 0, 0, 1, 0, len(data), 0, 0, *device, len(name) + 1, 0]
        self.bytes += b"070701" + b"".join(b"%08X" % field for field in fields) + name.encode() + b"\0"
        self.bytes += bytes(-len(self.bytes) % 4) + data
        self.bytes += bytes(-len(self.bytes) % 4)


def depends(module):
    data = module.read_bytes()
    start = data.find(b"\0depends=") + len(b"\0depends=")
    return [name for name in data[start:data.index(b"\0", start)].decode().replace("-", "_").split(",") if name]


def in_order(wanted, modules):
    order = []

    def place(name):
        if name not in order:
            for needed in depends(modules[name]):
                place(needed)
            order.append(name)

    for name in wanted:
        place(name)
    return order


def main():
    output, tree, busybox, init = map(pathlib.Path, sys.argv[1:])
    modules = {path.stem.replace("-", "_"): path for path in tree.rglob("*.ko")}
    missing = [name for name in WANTED if name not in modules]
    if missing:
        sys.exit(f"the kernel package has no module {', '.join(missing)}")
    archive = Archive()
    for folder in FOLDERS:
        archive.add(folder, stat.S_IFDIR | 0o755)
    archive.add("dev/console", stat.S_IFCHR | 0o600, device=(5, 1))
    archive.add("bin/busybox", stat.S_IFREG | 0o755, busybox.read_bytes())
    for applet in subprocess.run([busybox, "--list"], capture_output=True, text=True, check=True).stdout.split():
        if applet != "busybox":
            archive.add(f"bin/{applet}", stat.S_IFLNK | 0o777, b"busybox")
    order = in_order(WANTED, modules)
    for name in order:
        archive.add(f"modules/{name}.ko", stat.S_IFREG | 0o644, modules[name].read_bytes())
    archive.add("modules/order", stat.S_IFREG | 0o644, ("\n".join(order) + "\n").encode())
    archive.add("init", stat.S_IFREG | 0o755, init.read_bytes())
    archive.add("TRAILER!!!", 0)
    output.write_bytes(archive.bytes)


main()
