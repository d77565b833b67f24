"""A headless Chromium with a bench sheet in it, as the browser tests use it."""

import json
import os
import pathlib
import shutil
import signal
import subprocess
import sys
import time

try:
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service
    from selenium.webdriver.common.by import By
    from selenium.webdriver.support.ui import WebDriverWait
except ImportError:
    sys.exit("python3-selenium is missing; sh bootstrap.sh setup installs it")

FLAGS = ["--headless=new", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync",
         "--hide-scrollbars", "--window-size=800,1280"]


def program(*names):
    for name in names:
        found = shutil.which(name)
        if found:
            return found
    sys.exit(f"{names[0]} is missing; sh bootstrap.sh setup installs it")


class Tablet:
    """One browser with a profile of its own; what it stores outlives a restart."""

    def __init__(self, folder):
        self.folder = pathlib.Path(folder)
        self.downloads = self.folder / "downloads"
        self.profile = self.folder / "profile"
        self.downloads.mkdir(parents=True)
        self.driver = None
        self.start()

    def start(self):
        options = webdriver.ChromeOptions()
        for flag in FLAGS + [f"--user-data-dir={self.profile}"]:
            options.add_argument(flag)
        if os.geteuid() == 0:
            options.add_argument("--no-sandbox")  # Chromium refuses to sandbox root
        options.binary_location = program("chromium")
        options.add_experimental_option(
            "prefs", {"download.default_directory": str(self.downloads)})
        options.set_capability("goog:loggingPrefs", {"performance": "ALL", "browser": "ALL"})
        self.driver = webdriver.Chrome(options=options, service=Service(program("chromedriver")))

    def open(self, page):
        self.driver.get(pathlib.Path(page).as_uri())
        self.wait(lambda: self.js("return document.documentElement.dataset.tablet") == "ready")

    def forget(self):
        """Empties both stores of the page."""
        self.driver.execute_async_script("""
            const done = arguments[0];
            const request = indexedDB.open("firstglow-readings", 1);
            request.onsuccess = () => {
              const act = request.result.transaction("sheets", "readwrite");
              act.objectStore("sheets").clear();
              act.oncomplete = () => { localStorage.clear(); request.result.close(); done(); };
            };""")

    def js(self, script, *arguments):
        return self.driver.execute_script(script, *arguments)

    def wait(self, condition, seconds=10):
        WebDriverWait(self.driver, seconds, poll_frequency=0.05).until(lambda _: condition())

    def cut_power(self):
        """Every process of this browser dies at once, as in a power cut."""
        self.wait(lambda: self.bar().get_attribute("data-on-disk") == "yes")
        mine = f"--user-data-dir={self.profile}"
        for entry in pathlib.Path("/proc").iterdir():
            try:
                if entry.name.isdigit() and mine in (entry / "cmdline").read_text().split("\0"):
                    os.kill(int(entry.name), signal.SIGKILL)
            except (OSError, UnicodeDecodeError):
                continue
        self.driver.service.stop()
        for lock in self.profile.glob("Singleton*"):
            lock.unlink()
        self.start()

    def bar(self):
        return self.driver.find_element(By.ID, "readings-bar")

    def press(self, label):
        for button in self.driver.find_elements(By.CSS_SELECTOR, "#readings-bar button"):
            if button.text.startswith(label):
                button.click()
                return
        raise AssertionError(f"no button {label}")

    def export(self, ending):
        """Presses the button and gives the file that came."""
        before = set(self.downloads.iterdir())
        self.press(f"Export {ending.upper()}")
        fresh = []

        def arrived():
            fresh[:] = [f for f in self.downloads.iterdir()
                        if f not in before and f.suffix == f".{ending}"]
            return bool(fresh) and fresh[0].stat().st_size > 0
        self.wait(arrived)
        time.sleep(0.05)
        return fresh[0]

    def blanks(self):
        """Every blank for a number: its data attributes, value and mark."""
        return self.js("""
            return [...document.querySelectorAll("input[data-blank]")].map((input) => ({
              id: input.dataset.blank, unit: input.dataset.unit, value: input.value,
              setting: input.dataset.setting !== undefined,
              low: input.dataset.low, expected: input.dataset.expected, high: input.dataset.high,
              above: input.dataset.stopAbove, checks: JSON.parse(input.dataset.checks || "[]"),
              mark: document.getElementById("mark-" + input.dataset.blank).dataset.mark || ""}));""")

    def write(self, name, text):
        """As a person would, key by key."""
        field = self.driver.find_element(By.ID, f"blank-{name}")
        field.clear()
        field.send_keys(text)

    def fill(self, texts):
        """Many blanks at once, each with the event a keystroke gives."""
        self.js("""
            for (const [id, text] of Object.entries(arguments[0])) {
              const field = document.getElementById("blank-" + id);
              field.value = text;
              field.dispatchEvent(new Event("input", {bubbles: true}));
            }""", texts)

    def network(self):
        """Addresses that were asked for since the last call."""
        asked = []
        for line in self.driver.get_log("performance"):
            message = json.loads(line["message"])["message"]
            if message["method"] == "Network.requestWillBeSent":
                asked.append(message["params"]["request"]["url"])
        return asked

    def quit(self):
        self.driver.quit()


def make_sheet(firstglow, record, folder):
    """The page of `firstglow sheet`, without paper."""
    done = subprocess.run(
        [firstglow, "sheet", record, "-o", str(folder), "--no-pdf", "--date", "2026-01-02"],
        capture_output=True, text=True, check=False, timeout=280)
    if done.returncode not in (0, 1, 4):
        sys.exit(f"sheet ended with {done.returncode}: {done.stderr}")
    return pathlib.Path(folder) / "bench-sheet.html"
