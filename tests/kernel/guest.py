"""What the scenarios on the emulated PC share: frames, links, and a running barrico with its page."""

import json
import os
import pathlib
import socket
import struct
import subprocess
import sys
import tempfile
import time
import urllib.request

PATIENCE_S = 60
PAGE = "http://127.0.0.1:8470"

# An invented unit; round figures.
SETTINGS = """
[boat]
id = "trial"

[page]
bind = "127.0.0.1:8470"

[bus]
interface = "%s"

[folders]
state = "%s/state"
runtime = "%s/run"

[units.main]
pressure_control = "regulated"
set_pressure = "55 bar"

[units.main.pump]
kind = "plunger"
flow = "6 L/min"
rated_pressure = "60 bar"

[units.main.drive]
kind = "hydraulic"

[[units.main.elements]]
size = "2540"
area = "2.8 m2"
nominal_flow = "2.6 m3/d"
nominal_rejection = "99.4 %%"

[units.main.limits]
feed_pressure = "65 bar"
"""

READINGS = """
[[units.main.readings]]
quantity = "%s"
from = "nmea2000"
pgn = 130567
"""
QUANTITIES = ["operating_state", "feed_pressure", "product_flow", "product_salinity"]


def frame(identifier, data):
    """struct can_frame of linux/can.h, with the flag of a 29-bit identifier."""
    return struct.pack("=IB3x8s", identifier | 0x80000000, len(data), data)


def open_can(interface):
    can = socket.socket(socket.AF_CAN, socket.SOCK_RAW, socket.CAN_RAW)
    can.bind((interface,))
    return can


def ip(arguments):
    subprocess.run(["ip", *arguments.split()], check=True)


def get(path):
    with urllib.request.urlopen(PAGE + path, timeout=10) as answer:
        return answer.read().decode()


def state():
    return json.loads(get("/api/state.json"))


def metric(name):
    """A counter of the page's metrics."""
    return next(int(float(line.split()[1])) for line in get("/metrics").splitlines() if line.startswith(name + " "))


def wait_for(what, look):
    """Waits until `look` gives something true, and gives it back with the seconds it took."""
    begun = time.monotonic()
    while time.monotonic() - begun < PATIENCE_S:
        try:
            found = look()
        except (OSError, ValueError):
            found = None
        if found:
            return found, time.monotonic() - begun
        time.sleep(0.1)
    sys.exit(f"{what} did not come within {PATIENCE_S} s")


class Barrico:
    """`barrico run` on an interface, store and page on."""

    def __init__(self, program, interface):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        text = SETTINGS % (interface, self.folder, self.folder) + "".join(READINGS % name for name in QUANTITIES)
        settings = self.folder / "barrico.toml"
        settings.write_text(text)
        self.log = self.folder / "log"
        self.process = subprocess.Popen([program, "run", "--trust-system-date", "--settings", settings], stderr=self.log.open("w"))
        try:
            wait_for("the page", lambda: get("/metrics"))
        except SystemExit:
            print(self.log.read_text())
            raise

    def cpu_s(self):
        """Processor time so far, all threads."""
        fields = pathlib.Path(f"/proc/{self.process.pid}/stat").read_text().rsplit(")", 1)[1].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def stop(self):
        self.process.terminate()
        code = self.process.wait(timeout=PATIENCE_S)
        if code != 0:
            sys.exit(f"barrico ended with {code}:\n{self.log.read_text()}")
