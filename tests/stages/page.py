"""Looks at the page as a phone and as a laptop do, with and without JavaScript, in a headless Chromium.

usage: page.py URL FOLDER     pictures and texts go to FOLDER; exit status 1 and one line per problem when something is wrong

Drives the browser through its debugging pipe (JSON messages, each ended by a zero byte, on file descriptors 3 and 4), so that
nothing but Python's own library is needed. What it checks is what any visitor would notice: a running unit with a number, no
sideways scrolling, no error in the console, nothing asked from another host, and, with JavaScript, values that move by
themselves. It does not judge looks: the pictures are for a person.
"""

import base64
import json
import os
import pathlib
import re
import select
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.parse

WIDTHS_PX = {390: "phone", 1280: "laptop"}
# The demo starts its unit within seconds; a loaded machine gets ten times that.
WAIT_S = 60
# Background services of the browser would only try to reach hosts that are not there.
FLAGS = """--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-background-networking
--disable-component-update --disable-sync --hide-scrollbars --remote-debugging-pipe""".split()


class Browser:
    """One headless browser. `call` waits for the answer and keeps the events that come before it."""

    def __init__(self):
        self.profile = tempfile.mkdtemp(prefix="page-test-")
        to_read, self.to_browser = os.pipe()
        self.from_browser, to_write = os.pipe()

        def place_pipes():
            # High numbers first: the pipes themselves may be 3 or 4.
            read, write = os.dup2(to_read, 103), os.dup2(to_write, 104)
            os.dup2(read, 3)
            os.dup2(write, 4)

        self.process = subprocess.Popen(
            ["chromium", *FLAGS, f"--user-data-dir={self.profile}", "about:blank"],
            preexec_fn=place_pipes, pass_fds=(3, 4), stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        os.close(to_read)
        os.close(to_write)
        self.rest = b""
        self.last_id = 0
        self.events = []

    def receive(self, seconds):
        """The next message, or None when none comes in time."""
        end = time.monotonic() + seconds
        while b"\0" not in self.rest:
            ready, _, _ = select.select([self.from_browser], [], [], max(0, end - time.monotonic()))
            if not ready:
                return None
            piece = os.read(self.from_browser, 1 << 20)
            if not piece:
                sys.exit("the browser ended by itself")
            self.rest += piece
        message, self.rest = self.rest.split(b"\0", 1)
        return json.loads(message)

    def call(self, method, session=None, **params):
        self.last_id += 1
        message = {"id": self.last_id, "method": method, "params": params}
        if session:
            message["sessionId"] = session
        os.write(self.to_browser, json.dumps(message).encode() + b"\0")
        while True:
            answer = self.receive(WAIT_S)
            if answer is None:
                sys.exit(f"the browser did not answer {method} within {WAIT_S} s")
            if answer.get("id") == self.last_id:
                if "error" in answer:
                    sys.exit(f"{method}: {answer['error']}")
                return answer["result"]
            self.events.append(answer)

    def close(self):
        self.process.terminate()
        self.process.wait()
        shutil.rmtree(self.profile, ignore_errors=True)


class View:
    """One tab of a given width."""

    def __init__(self, browser, width_px, scripts):
        self.browser = browser
        target = browser.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = browser.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")
        self.call("Emulation.setDeviceMetricsOverride", width=width_px, height=844 if width_px < 700 else 800,
                  deviceScaleFactor=2 if width_px < 700 else 1, mobile=width_px < 700)
        self.call("Emulation.setScriptExecutionDisabled", value=not scripts)

    def call(self, method, **params):
        return self.browser.call(method, self.session, **params)

    def open(self, url):
        self.call("Page.navigate", url=url)
        end = time.monotonic() + WAIT_S
        while time.monotonic() < end:
            if self.evaluate("document.readyState") == "complete" and self.evaluate("location.href") != "about:blank":
                return
            time.sleep(0.1)
        sys.exit(f"{url} did not load within {WAIT_S} s")

    def evaluate(self, expression):
        return self.call("Runtime.evaluate", expression=expression, returnByValue=True)["result"].get("value")

    def text(self):
        return self.evaluate("document.body.innerText") or ""

    def picture(self, path):
        data = self.call("Page.captureScreenshot", format="png", captureBeyondViewport=True)["data"]
        path.write_bytes(base64.b64decode(data))

    def complaints(self, origin):
        """Console errors, failed requests, and requests to anyone but `origin`, since this tab was opened."""
        found = []
        for event in (e for e in self.browser.events if e.get("sessionId") == self.session):
            params = event.get("params", {})
            match event.get("method"):
                case "Runtime.exceptionThrown":
                    found.append("exception: " + params["exceptionDetails"].get("text", ""))
                case "Runtime.consoleAPICalled" if params["type"] in ("error", "warning", "assert"):
                    found.append("console: " + str([a.get("value") for a in params["args"]]))
                case "Log.entryAdded" if params["entry"]["level"] == "error":
                    found.append("console: " + params["entry"]["text"] + " " + params["entry"].get("url", ""))
                case "Network.requestWillBeSent":
                    url = params["request"]["url"]
                    if not url.startswith((origin, "data:", "about:")):
                        found.append("asks another host: " + url)
                case "Network.responseReceived" if params["response"]["status"] >= 400:
                    found.append(f"{params['response']['status']}: {params['response']['url']}")
        return list(dict.fromkeys(found))  # each once, however often the page was loaded


def shows_running_unit(text):
    """A state and an output, as words: what a person on board looks for first."""
    return re.search(r"\brunning\b", text, re.I) and re.search(r"\d[\d., ]*\s*L/h", text)


def until(condition, seconds, between=lambda: None):
    end = time.monotonic() + seconds
    while not condition():
        if time.monotonic() > end:
            return False
        time.sleep(0.5)
        between()
    return True


def look(browser, url, folder, width_px, scripts):
    name = f"page-{width_px}-{WIDTHS_PX[width_px]}{'' if scripts else '-without-javascript'}"
    problems = []
    view = View(browser, width_px, scripts)
    view.open(url)
    # Without JavaScript a person presses reload.
    reload = (lambda: None) if scripts else (lambda: view.open(url))
    if not until(lambda: shows_running_unit(view.text()), WAIT_S, reload):
        problems.append("no running unit with an output in L/h")
    if scripts:
        before = view.text()
        if not until(lambda: view.text() != before, WAIT_S):
            problems.append("nothing on the page moves by itself")
    width_of_page = view.evaluate("document.documentElement.scrollWidth")
    if width_of_page > width_px:
        problems.append(f"scrolls sideways: {width_of_page} px wide")
    if not view.evaluate("document.title"):
        problems.append("has no title")
    if not view.evaluate("document.documentElement.lang"):
        problems.append("does not say its language")
    problems += view.complaints("{0.scheme}://{0.netloc}/".format(urllib.parse.urlsplit(url)))
    view.picture(folder / f"{name}.png")
    (folder / f"{name}.txt").write_text(view.text())
    print(f"{name}: {len(view.text())} characters, {width_of_page} px wide")
    return [f"{name}: {problem}" for problem in problems]


def main():
    url, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    browser = Browser()
    try:
        problems = [p for width_px in WIDTHS_PX for scripts in (True, False) for p in look(browser, url, folder, width_px, scripts)]
    finally:
        browser.close()
    print("\n".join(problems))
    sys.exit(1 if problems else 0)


if __name__ == "__main__":
    main()
