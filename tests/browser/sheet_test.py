"""The bench sheet in a browser: kept, judged, exported, read back; nothing runs but its own script.

usage: sheet_test.py FIRSTGLOW SOURCE_FOLDER FOLDER make | test [unittest arguments]

`make` writes the sheets into FOLDER, `test` opens them; FOLDER/node_modules holds axe-core.
"""

import html
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

import tablet

FIRSTGLOW, SOURCE, FOLDER = sys.argv[1], pathlib.Path(sys.argv[2]), pathlib.Path(sys.argv[3])
RECORD = SOURCE / "scenarios/wrenfield-75/rig.yaml"
SMALL = SOURCE / "scenarios/pellwick-bias/rig.yaml"
NASTY = "</script><script>window.ran=1</script><img src=x onerror='window.ran=1'>\"&amp;"


def hostile_record(folder):
    """A small rig with markup in every field of free text."""
    text = SMALL.read_text(encoding="utf-8")
    quoted = json.dumps(NASTY)
    text = re.sub(r"(?m)^( *)(name|description|note):.*(?:\n\1 +\S.*)*$",
                  lambda m: m.group(0) if m.group(2) == "name" and m.group(1)
                  else f"{m.group(1)}{m.group(2)}: {quoted}", text)
    record = pathlib.Path(folder) / "hostile.yaml"
    record.write_text(text, encoding="utf-8")
    return record


def readings(record, file):
    done = subprocess.run([FIRSTGLOW, "readings", str(record), str(file), "--json"],
                          capture_output=True, text=True, check=False, timeout=280)
    answer = json.loads(done.stdout) if done.stdout else {}
    return done.returncode, answer, done.stderr


def marks(answer):
    filled = answer["dead"] + [r for step in answer["steps"] for r in step["readings"]]
    return {reading["id"]: reading["mark"] for reading in filled}


def text_for(blank, where):
    """What a meter would show there: in the middle of the band, above it, above the stop limit."""
    low, high = float(blank["low"]), float(blank["high"])
    value = {"inside": (low + high) / 2.0,
             "outside": high + 0.3 * (float(blank["above"]) - high if blank["above"] else 1.0),
             "stop": float(blank["above"] or 0.0) * 1.01 + 0.01}[where]
    return f"{value:.9g}"


class OnTheTablet(unittest.TestCase):
    """One browser for all tests of a class; each test begins with an empty sheet."""

    @classmethod
    def setUpClass(cls):
        cls.work = tempfile.TemporaryDirectory()
        cls.page = FOLDER / "demo/bench-sheet.html"
        cls.tablet = tablet.Tablet(cls.work.name)

    @classmethod
    def tearDownClass(cls):
        cls.tablet.quit()
        cls.work.cleanup()

    def setUp(self):
        self.tablet.open(self.page)
        self.tablet.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": []})
        self.forget()
        self.assertEqual([b["value"] for b in self.tablet.blanks() if b["value"]], [])

    def forget(self):
        """Empties all that the browser keeps, and opens the page anew."""
        self.tablet.forget()
        self.tablet.open(self.page)

    def step(self, prefix="tubes-out/lamp/"):
        """Blanks of the highest step of a pass that has a band and a stop limit."""
        every = [b for b in self.tablet.blanks() if b["id"].startswith(prefix)]
        top = max(float(b["id"].split("/")[2]) for b in every)
        return [b for b in every if float(b["id"].split("/")[2]) == top]

    def filled_step(self):
        """Something of every kind: inside, outside, beyond a stop limit, no number, a setting."""
        step = self.step()
        judged = [b for b in step if b["low"] and not b["setting"]]
        texts = {b["id"]: text_for(b, "inside") for b in judged}
        stop = next(b for b in judged if b["above"])
        texts[stop["id"]] = text_for(stop, "stop")
        outside = next(b for b in judged if not b["above"] and not b["checks"])
        texts[outside["id"]] = text_for(outside, "outside")
        odd = next(b for b in judged if b["id"] not in (stop["id"], outside["id"]) and not b["checks"])
        texts[odd["id"]] = "about 12"
        setting = next(b for b in step if b["setting"])
        texts[setting["id"]] = setting["expected"]
        self.tablet.fill(texts)
        return {stop["id"]: "stop", outside["id"]: "outside", odd["id"]: "no number",
                setting["id"]: "setting"}

    def state(self):
        return {b["id"]: (b["value"], b["mark"]) for b in self.tablet.blanks() if b["value"]}


class SheetTest(OnTheTablet):
    def test_keeps_values_and_marks_over_a_reload(self):
        expected = self.filled_step()
        before = self.state()
        for name, mark in expected.items():
            self.assertEqual(before[name][1], mark, name)
        self.assertIn("inside", [mark for _, mark in before.values()])
        self.tablet.open(self.page)
        self.assertEqual(self.state(), before)

    def test_loses_nothing_when_the_power_is_cut(self):
        blank = next(b for b in self.step() if b["low"])
        self.tablet.write(blank["id"], "0,39")
        self.tablet.fill({"front/line": "118"})
        self.tablet.cut_power()
        self.tablet.open(self.page)
        self.assertEqual(self.state()[blank["id"]][0], "0,39")
        self.assertEqual(self.tablet.js("return document.getElementById('blank-front/line').value"), "118")

    def test_exports_what_readings_judges_alike(self):
        self.filled_step()
        shown = {name: mark for name, (_, mark) in self.state().items()}
        for ending in ("json", "csv"):
            code, answer, errors = readings(RECORD, self.tablet.export(ending))
            self.assertEqual(code, 1, errors)
            self.assertEqual(marks(answer), shown, ending)
            self.assertFalse(answer["sheet"]["record_changed"])
            self.assertEqual(answer["without_place"], [])

    def test_gives_exit_code_nought_when_all_is_inside(self):
        # Without the variac's own reading: the middle of a band over the whole line need not be
        # in the band per volt.
        self.tablet.fill({b["id"]: text_for(b, "inside") for b in self.step()
                          if b["low"] and not b["id"].endswith(("lamp-V", "mains-A"))})
        if any(mark != "inside" for _, mark in self.state().values()):
            self.fail(str(self.state()))
        code, answer, errors = readings(RECORD, self.tablet.export("json"))
        self.assertEqual((code, answer["verdict"]), (0, "safe"), errors)

    def test_reminds_until_everything_is_exported(self):
        asks = """const event = new Event("beforeunload", {cancelable: true});
                  window.dispatchEvent(event); return event.defaultPrevented;"""
        self.assertFalse(self.tablet.js(asks))
        blank = next(b for b in self.step() if b["low"])
        self.tablet.write(blank["id"], "5")
        self.assertIn("NOT EXPORTED", self.tablet.bar().text)
        self.assertTrue(self.tablet.js(asks))
        self.tablet.export("json")
        self.assertNotIn("NOT EXPORTED", self.tablet.bar().text)
        self.assertFalse(self.tablet.js(asks))
        self.tablet.write(blank["id"], "6")
        self.assertIn("NOT EXPORTED", self.tablet.bar().text)

    def test_reads_its_export_back(self):
        self.filled_step()
        before = self.state()
        file = self.tablet.export("json")
        self.forget()
        self.assertEqual(self.state(), {})
        self.tablet.driver.find_element(By.CSS_SELECTOR, "input[type=file]").send_keys(str(file))
        self.tablet.wait(lambda: "Read back" in self.tablet.driver.find_element(By.CLASS_NAME, "bar-note").text)
        self.assertEqual(self.state(), before)

    def test_keeps_readings_that_a_new_sheet_has_no_place_for(self):
        blanks = [b for b in self.step() if b["low"]][:2]
        self.tablet.fill({b["id"]: text_for(b, "inside") for b in blanks})
        kept, lost = blanks[0]["id"], blanks[1]["id"]
        page = self.page.read_text(encoding="utf-8")
        record = re.search(r"record&quot;:&quot;([0-9a-f]+)", page).group(1)
        other = page.replace(record, "0" * len(record))
        escaped = html.escape(lost)
        other = other.replace(f'data-blank="{escaped}"', 'data-blank="gone/gone"').replace(
            f'id="mark-{escaped}"', 'id="mark-gone/gone"')
        changed = pathlib.Path(self.work.name) / "changed.html"
        changed.write_text(other, encoding="utf-8")
        self.tablet.open(changed)
        self.assertEqual(self.state(), {})
        self.tablet.press("Take them over")
        self.assertEqual(list(self.state()), [kept])
        self.assertIn("without a place on this sheet: 1", self.tablet.bar().text)
        exported = json.loads(self.tablet.export("json").read_text(encoding="utf-8"))
        self.assertEqual([entry["id"] for entry in exported["without_place"]], [lost])

    def test_says_when_nothing_can_be_kept(self):
        refuse = """Storage.prototype.setItem = () => { throw new Error("refused"); };
                    Object.defineProperty(window, "indexedDB", {get() { throw new Error("refused"); }});"""
        added = self.tablet.driver.execute_cdp_cmd(
            "Page.addScriptToEvaluateOnNewDocument", {"source": refuse})
        try:
            self.tablet.open(self.page)
            self.assertIn("NOTHING IS KEPT", self.tablet.bar().text)
        finally:
            self.tablet.driver.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)

    def test_judges_by_the_law_of_the_terminal(self):
        cases = json.loads((SOURCE / "tests/browser/law_cases.json").read_text(encoding="utf-8"))
        for one in cases["written"]:
            got = self.tablet.js("return tabletLaw.readWritten(arguments[0], arguments[1])",
                                 one["text"], one["unit"])
            self.assertEqual(got["value"], one["value"], one)
            self.assertEqual(got["fault"] == "", one["value"] is not None, one)
        for one in cases["judged"]:
            got = self.tablet.js("return tabletLaw.judge(arguments[0], arguments[1])",
                                 one["limits"], one["value"])
            self.assertEqual(got, one["judgement"], one)
        for one in cases["checks"]:
            got = self.tablet.js("""const values = arguments[0].values;
                return tabletLaw.derived(arguments[0], arguments[0].value, (id) => values[id] ?? null)""", one)
            self.assertEqual(got, one["figure"], one)

    def test_carries_every_kind_of_stop_limit_of_the_ladder(self):
        # Stop limits find their blanks by the words of the ramp-up study; this fails when those drift.
        step = self.step()
        limited = {check["kind"] for b in step for check in b["checks"]
                   if check.get("stop_above") is not None}
        self.assertEqual(limited, {"per", "share", "times"})
        self.assertTrue(next(b for b in step if b["id"].endswith("/mains-A"))["above"])

    def test_shows_markup_of_a_record_as_text(self):
        self.tablet.open(FOLDER / "hostile/bench-sheet.html")
        self.assertIsNone(self.tablet.js("return window.ran ?? null"))
        self.assertEqual(self.tablet.js("return document.querySelectorAll('img').length"), 0)
        self.assertEqual(self.tablet.js("return document.scripts.length"), 1)
        self.assertIn(NASTY, self.tablet.js("return document.body.textContent"))

    def test_runs_no_other_script_and_asks_for_nothing(self):
        self.tablet.network()
        self.tablet.open(self.page)
        asked = [url for url in self.tablet.network() if not url.startswith(("blob:", "data:"))]
        self.assertEqual(asked, [self.page.as_uri()])
        refused = self.tablet.driver.execute_async_script("""
            const done = arguments[0];
            const seen = [];
            document.addEventListener("securitypolicyviolation", (e) => seen.push(e.effectiveDirective));
            const script = document.createElement("script");
            script.textContent = "window.ran = 1";
            document.body.append(script);
            document.body.insertAdjacentHTML("beforeend", "<b onclick='window.ran = 1' id='b'>b</b>");
            document.getElementById("b").click();
            fetch("http://127.0.0.1:9/").catch(() => 0).then(() => setTimeout(() => done(
              [window.ran ?? null, seen]), 50));""")
        self.assertIsNone(refused[0])
        self.assertTrue({"connect-src", "script-src-elem", "script-src-attr"} <= set(refused[1]), refused)

    def test_needs_no_sideways_scroll_on_a_small_tablet(self):
        self.filled_step()
        width = self.tablet.js("return [document.scrollingElement.scrollWidth, window.innerWidth]")
        self.assertLessEqual(width[0], width[1])
        cut_off = self.tablet.js("""
            return [...document.querySelectorAll("table, figure, section")]
              .filter((e) => e.getBoundingClientRect().right > window.innerWidth + 1)
              .map((e) => `${e.tagName} in ${e.closest("section").id}`)""")
        self.assertEqual(cut_off, [])

    def test_is_reached_by_keyboard_alone(self):
        every = self.tablet.js("""
            window.reached = new Set();
            document.addEventListener("focusin", (event) => window.reached.add(event.target));
            window.wanted = [...document.querySelectorAll("a[href], button, input, textarea, summary")]
              .filter((e) => e.tabIndex >= 0 && e.checkVisibility());
            return window.wanted.length;""")
        self.assertGreater(every, 50)
        self.tablet.driver.find_element(By.TAG_NAME, "body").send_keys(Keys.TAB * (every + 5))
        left = self.tablet.js("return window.wanted.filter((e) => !window.reached.has(e)).map((e) => e.outerHTML)")
        self.assertEqual(left, [])

    def test_prints_what_was_written_without_the_bar(self):
        blank = next(b for b in self.step() if b["low"])
        self.tablet.write(blank["id"], text_for(blank, "inside"))
        self.tablet.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        self.assertFalse(self.tablet.bar().is_displayed())
        field = self.tablet.driver.find_element(By.ID, f"blank-{blank['id']}")
        self.assertTrue(field.is_displayed())
        self.assertEqual(field.value_of_css_property("color"), "rgba(0, 0, 0, 1)")


class SheetAxeTest(OnTheTablet):
    def test_has_no_serious_finding_of_axe(self):
        self.filled_step()
        axe = (FOLDER / "node_modules/axe-core/axe.min.js").read_text(encoding="utf-8")
        self.tablet.driver.execute_script(axe)
        for scheme in ("light", "dark"):
            self.tablet.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {
                "features": [{"name": "prefers-color-scheme", "value": scheme}]})
            found = self.tablet.driver.execute_async_script(
                "axe.run().then((r) => arguments[0](r.violations.map((v) => "
                "[v.impact, v.id, v.nodes.length, v.nodes[0].html, v.nodes[0].failureSummary])))")
            grave = [v for v in found if v[0] in ("serious", "critical")]
            self.assertEqual(grave, [], scheme)


if __name__ == "__main__":
    if sys.argv[4] == "make":
        tablet.make_sheet(FIRSTGLOW, str(RECORD), FOLDER / "demo")
        tablet.make_sheet(FIRSTGLOW, str(hostile_record(FOLDER)), FOLDER / "hostile")
    else:
        unittest.main(argv=sys.argv[:1] + sys.argv[5:])
