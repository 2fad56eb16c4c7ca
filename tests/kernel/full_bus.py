#!/usr/bin/env python3
"""On the emulated PC: boat traffic at the rate of a full bus through `barrico run`, store and page on. No frame may be lost.

usage: full_bus.py BARRICO CANDUMP_LOG SECONDS

The log is repeated, paced to 1,900 frames a second: 131 bit times for an 8-byte frame without stuffing, at 250 kbit/s. A unit's status message goes
along, four frames of it every 2.5 s, so that one unit is running. The page answers on port 8080 of the guest's network address meanwhile, through a relay.
Prints one `name = value unit` a line; ends with 1 if a frame is missing.
"""

import pathlib
import socket
import struct
import sys
import threading
import time

import guest

RATE = 1900
STATUS_EVERY_S = 2.5
# PGN 130567, priority 6, from address 35: four frames of a fast packet.
STATUS_ID = 0x19FE0723


def traffic(log):
    """The frames of a candump log."""
    frames = []
    for line in pathlib.Path(log).read_text().splitlines():
        identifier, data = line.split()[2].split("#")
        if len(identifier) == 8 and not identifier.startswith("2"):
            frames.append(guest.frame(int(identifier, 16), bytes.fromhex(data)))
    return frames


def status(sequence):
    # State 2 is "running"; salinity 300 ppm, system high pressure 55 bar, product flow 80 L/h, run time 1 h; all else is not available.
    payload = struct.pack("<BBBBHHHHhHhhI", 0xC2, 0xFF, 0xFF, 0xFF, 300, 0xFFFF, 0xFFFF, 0xFFFF, 0x7FFF, 5500, 800, 0x7FFF, 3600)
    frames = [guest.frame(STATUS_ID, bytes([sequence << 5, 24]) + payload[:6])]
    for number, at in enumerate(range(6, 24, 7), 1):
        frames.append(guest.frame(STATUS_ID, bytes([sequence << 5 | number]) + payload[at:at + 7].ljust(7, b"\xff")))
    return frames


def relay():
    """Port 8080 of every address is the page's, for the host to reach."""
    server = socket.create_server(("0.0.0.0", 8080))
    while True:
        asking, _ = server.accept()
        threading.Thread(target=pass_on, args=(asking,), daemon=True).start()


def pass_on(asking):
    with asking, socket.create_connection(("127.0.0.1", 8470)) as page:
        page.sendall(asking.recv(65536))
        while piece := page.recv(65536):
            asking.sendall(piece)


def send(can, frames, seconds):
    """Sends paced frames; gives their number and the longest time that the sender itself was late."""
    begun, sent, late, sequence, next_status = time.monotonic(), 0, 0.0, 0, 0.0
    while (passed := time.monotonic() - begun) < seconds:
        due = int(passed * RATE)
        late = max(late, (due - sent) / RATE)
        if next_status <= passed:
            for frame in status(sequence):
                can.send(frame)
                sent += 1
            sequence = (sequence + 1) % 8
            next_status += STATUS_EVERY_S
        while sent < due:
            can.send(frames[sent % len(frames)])
            sent += 1
        time.sleep(0.002)
    return sent, late


def main():
    program, log, seconds = sys.argv[1], sys.argv[2], float(sys.argv[3])
    frames = traffic(log)
    barrico = guest.Barrico(program, "vcan0")
    guest.wait_for("the interface", lambda: "vcan0 is up" in guest.state()["source"]["text"])
    threading.Thread(target=relay, daemon=True).start()
    can = guest.open_can("vcan0")
    before = barrico.cpu_s()
    sent, late = send(can, frames, seconds)
    guest.wait_for("the last frame", lambda: sent <= guest.metric("barrico_frames_total") + guest.metric("barrico_bus_frames_lost_total"))
    # The counter of the kernel is looked at twice a second.
    time.sleep(1)
    used = barrico.cpu_s() - before
    handled, lost = guest.metric("barrico_frames_total"), guest.metric("barrico_bus_frames_lost_total")
    barrico.stop()
    print(f"full_bus_frames = {sent} frames")
    print(f"full_bus_rate = {sent / seconds:.0f} frames/s")
    print(f"full_bus_frames_lost = {lost} frames")
    print(f"full_bus_sender_late_ms = {late * 1000:.0f} ms")
    print(f"full_bus_emulated_cpu_percent = {100 * used / seconds:.1f} %")
    if lost != 0 or handled != sent:
        sys.exit(f"{sent} frames sent, {handled} handled, {lost} lost by the kernel's count")


main()
