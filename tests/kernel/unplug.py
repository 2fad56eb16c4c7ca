#!/usr/bin/env python3
"""On the emulated PC: a real driver (kvaser_pci, two cards on one bus). The link goes down and up, the card is pulled out and put back.

usage: unplug.py BARRICO

barrico runs on can0, frames come from can1. After each change the page must say what is the matter, and frames must arrive again without a restart.
"""

import sys
import threading
import time

import guest

BIT_RATE = "type can bitrate 250000 restart-ms 100"
# PGN 127505, priority 6, from address 18.
FRAME = guest.frame(0x19F21112, bytes(8))


def up(interface):
    guest.ip(f"link set {interface} {BIT_RATE}")
    guest.ip(f"link set {interface} up")


def says(words):
    """Waits until the page says it, and tells how long that took."""
    _, seconds = guest.wait_for(f"`{words}`", lambda: words in guest.state()["source"]["text"])
    print(f"seen after {seconds:.1f} s: {words}")
    return seconds


def frames_arrive():
    before = guest.metric("barrico_frames_total")
    guest.wait_for("frames", lambda: before < guest.metric("barrico_frames_total"))


def chatter():
    can = guest.open_can("can1")
    while True:
        try:
            can.send(FRAME)
        except OSError:
            pass  # nobody acknowledges while the other card is away: the queue is full
        time.sleep(0.02)


def main():
    up("can1")
    threading.Thread(target=chatter, daemon=True).start()
    barrico = guest.Barrico(sys.argv[1], "can0")
    says("can0 is down; bring it up: `ip link set can0 up type can bitrate 250000`")
    up("can0")
    says("can0 is up")
    frames_arrive()
    for _ in range(2):
        guest.ip("link set can0 down")
        says("can0 is down")
        guest.ip("link set can0 up")
        says("can0 is up")
        frames_arrive()
    with open("/sys/class/net/can0/device/remove", "w") as file:
        file.write("1")
    says("there is no CAN interface can0")
    with open("/sys/bus/pci/rescan", "w") as file:
        file.write("1")
    says("can0 is down")
    up("can0")
    says("can0 is up")
    frames_arrive()
    barrico.stop()


main()
