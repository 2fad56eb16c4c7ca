#!/usr/bin/env python3
"""Plays a serial CAN adapter: one end of a terminal is the kernel's slcan driver, the other end is this program.

Prints the name of the interface that the driver made. Then takes orders, one a line, and answers each with one line:

    send TEXT   the adapter says TEXT: a frame (T, 8 hex digits, length, data) or a state (sb256256: bus-off)
    stall       the adapter takes nothing any more
    go on       it takes again
    count       how many frames it has taken

Ends with its standard input. The line discipline is gone with it, as when the adapter is unplugged.
"""

import fcntl
import os
import select
import sys
import termios
import tty

N_SLCAN = 17  # linux/tty.h
SIOCGIFNAME = 0x8910  # linux/sockios.h


def main():
    ours, drivers = os.openpty()
    tty.setraw(drivers)
    fcntl.ioctl(drivers, termios.TIOCSETD, N_SLCAN.to_bytes(4, sys.byteorder))
    name = fcntl.ioctl(drivers, SIOCGIFNAME, bytes(40)).split(b"\0")[0].decode()
    print(name, flush=True)

    frames, stalled, line, orders = 0, False, b"", b""
    while True:
        wanted = [0] if stalled else [0, ours]
        ready, _, _ = select.select(wanted, [], [])
        if ours in ready:
            for byte in os.read(ours, 256):
                line += bytes([byte])
                if byte == 13:
                    frames += line[:1] in (b"T", b"t")
                    line = b""
        if 0 in ready:
            piece = os.read(0, 4096)
            if not piece:
                return
            orders += piece
            while b"\n" in orders:
                order, orders = orders.split(b"\n", 1)
                answer = "done"
                if order.startswith(b"send "):
                    os.write(ours, order[5:] + b"\r")
                elif order == b"count":
                    answer = str(frames)
                else:
                    stalled = order == b"stall"
                print(answer, flush=True)


main()
