"""How long does a bench sheet take to open in a headless Chromium?

usage: page_open.py SHEET_HTML [times]

Prints milliseconds from the start of navigation: until the page was loaded, and until the readings
kept on the disk stood in it. The first opening of a fresh browser is the one that counts at the bench.
"""

import pathlib
import statistics
import sys
import tempfile

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "browser"))
import tablet  # noqa: E402


def main():
    page = pathlib.Path(sys.argv[1]).resolve()
    times = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    loaded = []
    for _ in range(times):
        with tempfile.TemporaryDirectory() as folder:
            browser = tablet.Tablet(folder)
            browser.open(page)
            loaded.append(browser.js(
                "const t = performance.getEntriesByType('navigation')[0]; return [t.loadEventEnd, performance.now()]"))
            browser.quit()
    print(f"{page.stat().st_size / 1e6:.2f} MB, opened {times} times in a fresh browser each")
    for name, column in (("loaded", 0), ("ready", 1)):
        values = sorted(one[column] for one in loaded)
        print(f"{name}: median {statistics.median(values):.0f} ms, "
              f"from {values[0]:.0f} to {values[-1]:.0f} ms")


if __name__ == "__main__":
    main()
