"""Does the program, seen from the shell, give the right exit code and output and nothing else?

usage: command_test.py FIRSTGLOW SOURCE_DIR CASE
"""

import csv
import os
import pty
import signal
import subprocess
import sys
import tempfile
import time
import unittest

PROGRAM, SOURCE, CASE = sys.argv[1:]
COMMANDS = ["new", "swap", "drawer", "lines", "reform", "clock", "stacks", "age", "check", "rampup", "course", "margins", "bleed", "spread",
            "stick", "inrush", "sheet", "readings", "netlist", "schema"]
DEMO = os.path.join(SOURCE, "scenarios/wrenfield-75/rig.yaml")


def run(*arguments, **options):
    environment = dict(os.environ, LC_ALL="C")
    return subprocess.run([PROGRAM, *arguments], capture_output=True, text=True, check=False,
                          env=environment, timeout=300, **options)


class CommandTest(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = folder.name

    def path(self, name, text=None):
        path = os.path.join(self.folder, name)
        if text is not None:
            with open(path, "w", encoding="utf-8") as stream:
                stream.write(text)
        return path

    def expect(self, code, *arguments, stderr=None, **options):
        done = run(*arguments, **options)
        self.assertEqual(done.returncode, code, done.stderr)
        if stderr is not None:
            self.assertIn(stderr, done.stderr)
        if code in (2, 3, 70):
            self.assertEqual(done.stdout, "", "an error prints no answer")
            for line in done.stderr.splitlines():
                self.assertTrue(line.startswith("firstglow: "), line)
        return done

    # ---- usage: 2 ----
    def test_usage_errors_end_with_two(self):
        self.expect(2, stderr="subcommand is required")
        self.expect(2, "nonsense", DEMO, stderr="'nonsense' is no command")
        self.expect(2, "netlist", stderr="RIG")
        self.expect(2, "netlist", DEMO, "--nonsense")
        self.expect(2, "netlist", DEMO, "--stage", "tube_out", stderr="nearest: tubes_out")
        self.expect(2, "netlist", DEMO, "--lamp", "60", stderr="no unit")
        self.expect(2, "netlist", DEMO, "--lamp", "60 V", stderr="--lamp")
        self.expect(2, "netlist", DEMO, "--variac", "600V", stderr="out of reach")
        self.expect(2, "netlist", DEMO, "--angle", "361")

    def test_usage_error_shows_no_control_character(self):
        done = self.expect(2, "non\x1b[2Jsense", DEMO)
        self.assertNotIn("\x1b", done.stderr)

    def test_usage_errors_of_rampup_end_with_two(self):
        self.expect(2, "rampup", DEMO, "--steps", "10,abc", stderr="--steps")
        self.expect(2, "rampup", DEMO, "--steps", "500", stderr="out of reach")
        self.expect(2, "rampup", DEMO, "--workers", "9")
        self.expect(2, "rampup", DEMO, "--lamp", "none", "--lamp-only")

    def test_help_and_version_end_with_zero(self):
        self.assertIn("Exit codes", self.expect(0, "--help").stdout)
        self.assertRegex(self.expect(0, "--version").stdout, r"^firstglow \d+\.\d+\.\d+\n$")
        for command in COMMANDS:
            for line in self.expect(0, command, "--help").stdout.splitlines():
                self.assertLessEqual(len(line), 80, line)

    # ---- input: 3 ----
    def test_missing_file_ends_with_three(self):
        self.expect(3, "netlist", self.path("none.yaml"), stderr="none.yaml")
        self.expect(3, "netlist", self.folder)

    def test_bad_file_names_line_and_column_of_every_fault(self):
        with open(DEMO, encoding="utf-8") as stream:
            text = stream.read()
        bad = self.path("bad.yaml", text.replace("rating: 3 A", "rating: 3 V")
                        .replace("value: 10 H", "valeu: 10 H"))
        done = self.expect(3, "netlist", bad)
        for fault in (r"bad\.yaml:\d+:\d+: .*3 V", r"bad\.yaml:\d+:\d+: .*valeu"):
            self.assertRegex(done.stderr, fault)
        self.assertGreaterEqual(len(done.stderr.splitlines()), 2, "one line per fault")

    def test_file_that_is_no_text_ends_with_three(self):
        path = self.path("noise.yaml")
        with open(path, "wb") as stream:
            stream.write(bytes(range(256)) * 8)
        done = self.expect(3, "netlist", path)
        self.assertNotIn("\x1b", done.stderr)

    # ---- answers ----
    def test_netlist_prints_a_deck(self):
        done = self.expect(0, "netlist", DEMO, "--stage", "tubes-out", "--variac", "60V",
                           "--lamp", "60 W", "--line", "127V")
        self.assertTrue(done.stdout.rstrip().endswith(".end"))
        self.assertIn("lamp in series: 60 W", done.stdout)

    def test_schema_prints_json(self):
        self.assertTrue(self.expect(0, "schema").stdout.startswith("{"))

    def test_check_of_the_demo_ends_with_zero(self):
        done = self.expect(0, "check", DEMO)
        self.assertIn("OHMMETER TO CHASSIS", done.stdout)
        self.fits_page(done.stdout)

    def test_margins_of_the_demo_finds_the_hidden_mistake(self):
        done = self.expect(1, "margins", DEMO, "--angles", "4")
        self.assertIn("RESULT: UNSAFE", done.stdout)
        self.assertRegex(done.stdout, r"C1: peak volts")
        self.assertEqual(done.stderr, "", "no progress in a pipe")
        self.fits_page(done.stdout)

    def test_inrush_csv_is_whole_and_readable(self):
        path = self.path("inrush.csv", "old\n")
        done = run("inrush", DEMO, "--angles", "4", "--csv", path)
        self.assertIn(done.returncode, (0, 4), done.stderr)
        with open(path, newline="", encoding="utf-8") as stream:
            rows = list(csv.reader(stream, strict=True))
        self.assertEqual(rows[0], ["trace", "unit", "time_s", "value"])
        self.assertGreater(len(rows), 100)
        for row in rows[1:]:
            self.assertEqual(len(row), 4)
            float(row[2]), float(row[3])
        self.assertEqual(os.listdir(self.folder), ["inrush.csv"], "no temporary file is left")

    def test_bleed_says_time_rebound_and_assumption(self):
        done = run("bleed", DEMO, "--limit", "30V")
        self.assertIn(done.returncode, (0, 1), done.stderr)
        self.assertIn("below 30 V", done.stdout)
        self.assertIn("REBOUND", done.stdout)
        self.fits_page(done.stdout)

    def test_rampup_takes_steps_stages_and_lamp(self):
        done = run("rampup", DEMO, "--steps", "30,60V", "--stage", "filter", "--lamp", "100W")
        self.assertIn(done.returncode, (0, 1), done.stderr)
        self.assertIn("SHEET 1 of 2: plus filter, LAMP IN SERIES", done.stdout)
        self.fits_page(done.stdout)
        done = run("rampup", DEMO, "--steps", "30", "--stage", "filter", "--lamp", "none")
        self.assertIn("SHEET 1 of 1: plus filter, no lamp", done.stdout)

    # ---- electrolytics ----
    def test_reform_gives_a_programme_that_judges_nothing(self):
        done = self.expect(0, "reform", DEMO, "C1")
        self.assertIn("FORMING ON THE BENCH", done.stdout)
        self.assertIn("GIVE UP", done.stdout)
        self.fits_page(done.stdout)
        self.expect(2, "reform", DEMO, "R1", stderr="no electrolytic")
        self.expect(2, "reform", DEMO, "--limit", "0.02cv", stderr="no leakage limit")
        self.expect(2, "reform", DEMO, "--lamp", "60W", stderr="--in-set")

    def test_reform_reads_a_log(self):
        log = os.path.join(SOURCE, "tests/report/forming.csv")
        table = self.path("fit.csv", "old")
        done = run("reform", DEMO, "C1", "--log", log, "--csv", table)
        self.assertIn(done.returncode, (0, 1, 4), done.stderr)
        self.assertIn("READINGS AND BEST CURVE", done.stdout)
        self.assertIn("2 readings of earlier steps are left out", done.stdout)
        self.fits_page(done.stdout)
        with open(table, newline="", encoding="utf-8") as stream:
            rows = list(csv.reader(stream, strict=True))
        self.assertEqual(rows[0], ["time_s", "read_a", "curve_a"])
        self.assertEqual(len(rows), 7)
        self.expect(2, "reform", DEMO, "--log", log, stderr="needs a PART")

    def test_reform_names_every_fault_of_a_log(self):
        log = self.path("bad.csv", "time [min],current [mA]\n0,1\n1,x\n2,-3\n")
        done = self.expect(3, "reform", DEMO, "C1", "--log", log)
        self.assertRegex(done.stderr, r"bad\.csv:3:3: 'x' is no current")
        self.assertRegex(done.stderr, r"bad\.csv:4:3: '-3' is no current")
        self.assertEqual(len(done.stderr.splitlines()), 2, "one line per fault")
        self.expect(3, "reform", DEMO, "C1", "--log", self.path("none.csv"), stderr="none.csv")

    def test_clock_names_an_open_bleeder(self):
        done = self.expect(1, "clock", DEMO, "600V@0s", "300V@1.4s", "75V@4.2s")
        self.assertIn("R3 open", done.stdout)
        self.fits_page(done.stdout)
        self.expect(2, "clock", DEMO, "600V", stderr="no reading")
        self.expect(2, "clock", DEMO, "600V@1s", "700V@2s", stderr="lower")
        self.expect(2, "clock", DEMO, "600V@0s", stderr="later than 0 s")
        self.expect(2, "clock", DEMO, "60V@1s", "--node", "B", stderr="no node")

    def sheet_without_solver(self, folder, *arguments, **environment):
        """A sheet whose studies all fail at once: quick, and it must say so."""
        environment = dict(os.environ, FIRSTGLOW_WORKER=self.path("no-worker"), **environment)
        done = subprocess.run([PROGRAM, "sheet", DEMO, "-o", folder, *arguments], check=False,
                              capture_output=True, text=True, env=environment, timeout=100)
        self.assertEqual(done.returncode, 4, done.stdout + done.stderr)
        self.assertIn("NO VERDICT", done.stdout)
        with open(os.path.join(folder, "bench-sheet.html"), encoding="utf-8") as stream:
            return done.stdout, stream.read()

    def test_sheet_is_one_whole_file_and_nothing_else(self):
        folder = self.path("sheet")
        os.mkdir(folder)
        with open(os.path.join(folder, "bench-sheet.pdf"), "w", encoding="utf-8") as stream:
            stream.write("of an older record")
        _, page = self.sheet_without_solver(folder, "--date", "2026-11-28", "--no-pdf")
        self.assertEqual(os.listdir(folder), ["bench-sheet.html"],
                         "no part of a file, and no paper of an older record")
        self.assertTrue(page.startswith("<!DOCTYPE html>"))
        self.assertTrue(page.rstrip().endswith("</html>"))
        self.assertTrue("NO PREDICTION for any step of this stage" in page)
        _, again = self.sheet_without_solver(folder, "--date", "2026-11-28", "--no-pdf")
        self.assertTrue(page == again, "the same record and date give the same bytes")

    def test_sheet_says_where_a_picture_is_missing(self):
        said, page = self.sheet_without_solver(self.path("sheet"), PATH=self.folder)
        self.assertIn("chromium is not installed", said)
        self.assertTrue("No picture here: dot is not installed." in page)
        self.assertTrue("No picture here: gnuplot is not installed." in page)

    def test_sheet_refuses_a_folder_that_cannot_be_made(self):
        self.expect(2, "sheet", DEMO, "-o", self.path("no/such/folder"), stderr="is no folder")

    def test_stacks_and_age_fit_the_page(self):
        for command in ("stacks", "age"):
            done = run(command, DEMO)
            self.assertIn(done.returncode, (0, 1, 4), done.stderr)
            self.assertIn("RESULT", done.stdout)
            self.fits_page(done.stdout)

    # ---- other parts ----
    def test_new_writes_a_form_that_is_a_valid_record(self):
        form = self.path("form.yaml")
        self.expect(0, "new", "plate-supply-with-bias", form)
        with open(form, encoding="utf-8") as stream:
            self.assertIn("# choke: ", stream.read())
        self.expect(0, "netlist", form)
        self.expect(2, "new", "plate-supply-with-bias", form, stderr="is there already")
        self.expect(2, "new", "plate-suply-with-bias", self.path("b.yaml"), stderr="did you mean")
        self.assertEqual(os.listdir(self.folder), ["form.yaml"])

    # The demo and the twelve circuits a plate, screen, bias or heater supply of these rigs can have.
    def test_new_knows_every_kind_of_supply(self):
        kinds = ("plate-supply-with-bias", "choke-input-mercury", "choke-input-vacuum", "capacitor-input", "economy-tap",
                 "voltage-doubler", "kilowatt-bridge", "bias-half-wave", "screen-dropper", "screen-regulated", "clamp-tube",
                 "modulator", "one-transformer")
        for kind in kinds:
            form = self.path(kind + ".yaml")
            self.expect(0, "new", kind, form)
            with open(form, encoding="utf-8") as stream:
                self.assertGreater(sum(line.lstrip().startswith("#") for line in stream), 20, kind)
            self.expect(0, "netlist", form)

    def test_swap_refuses_what_is_no_change(self):
        self.expect(2, "swap", DEMO, "D1", stderr="'D1' is no change")
        self.expect(3, "swap", DEMO, "D9=1N4007", stderr="no part of this record")
        self.expect(3, "swap", DEMO, "C1.value=10 V", stderr="rig.yaml:")

    # 6.5 V at 117 V on the primary, 6.3 V rated: the highest line is too high for the heaters.
    def test_lines_names_the_right_line_and_the_winding(self):
        done = run("lines", DEMO)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("rated volts on a line of 119 V", done.stdout)
        self.fits_page(done.stdout)

    def test_course_says_how_long_to_wait(self):
        done = run("course", DEMO, "--steps", "60,120", "--dwell", "30s", "--off", "60s", "--every", "15s")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertIn("HOW LONG TO WAIT", done.stdout)
        self.assertIn("off", done.stdout)
        self.fits_page(done.stdout)
        self.expect(2, "course", DEMO, "--dwell", "2s", stderr="longer than --turn")
        self.expect(2, "course", DEMO, "--every", "5V", stderr="--every")

    def fits_page(self, text):
        for line in text.splitlines():
            self.assertLessEqual(len(line), 80, line)
        self.assertNotIn("\x1b", text)

    # ---- output that cannot be written, interrupts ----
    def test_csv_that_cannot_be_written_ends_with_two_before_the_work(self):
        self.expect(2, "inrush", DEMO, "--csv", self.path("no/such/folder.csv"))
        self.expect(2, "inrush", DEMO, "--csv", "/dev/null", stderr="no regular file")
        with open(DEMO, encoding="utf-8") as stream:
            record = self.path("record.yaml", stream.read())
        self.expect(2, "inrush", record, "--csv", record, stderr="record file itself")

    def test_full_standard_output_ends_with_two(self):
        with open("/dev/full", "w", encoding="ascii") as full:
            done = subprocess.run([PROGRAM, "netlist", DEMO], stdout=full, stderr=subprocess.PIPE,
                                  text=True, check=False)
        self.assertEqual(done.returncode, 2, done.stderr)

    def test_reader_that_goes_away_is_no_error(self):
        read_end, write_end = os.pipe()
        os.close(read_end)
        done = subprocess.run([PROGRAM, "netlist", DEMO], stdout=write_end,
                              stderr=subprocess.PIPE, text=True, check=False)
        os.close(write_end)
        self.assertEqual((done.returncode, done.stderr), (0, ""))

    def test_interrupt_ends_with_130_and_leaves_nothing(self):
        path = self.path("margins.csv")
        child = subprocess.Popen([PROGRAM, "margins", DEMO, "--angles", "72", "--csv", path],
                                 stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        time.sleep(0.7)
        child.send_signal(signal.SIGINT)
        out, err = child.communicate(timeout=20)
        self.assertEqual(child.returncode, 130, err)
        self.assertEqual(out, "")
        self.assertIn("nothing was written", err)
        self.assertEqual(os.listdir(self.folder), [])

    def test_missing_worker_is_no_verdict(self):
        environment = dict(os.environ, FIRSTGLOW_WORKER=self.path("no-worker"))
        done = subprocess.run([PROGRAM, "margins", DEMO, "--angles", "4"], capture_output=True,
                              text=True, check=False, env=environment, timeout=100)
        self.assertEqual(done.returncode, 4, done.stdout[-500:] + done.stderr)

    def test_progress_is_shown_on_a_terminal_only(self):
        parent, terminal = pty.openpty()
        child = subprocess.Popen([PROGRAM, "margins", DEMO], stdout=subprocess.DEVNULL,
                                 stderr=terminal)
        os.close(terminal)
        seen = b""
        try:
            while chunk := os.read(parent, 1000):
                seen += chunk
        except OSError:
            pass
        os.close(parent)
        child.wait(timeout=60)
        if seen:
            self.assertRegex(seen.decode(), r"\d+ of \d+ runs done")
            self.assertTrue(seen.endswith(b"\r"), "the line is wiped at the end")


if __name__ == "__main__":
    unittest.main(argv=["command_test.py", f"CommandTest.{CASE}", "-v"])
