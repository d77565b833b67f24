"""Every scenario that ships runs clean: each command answers, no run fails, its lesson is found.

usage: scenario_test.py FIRSTGLOW SCENARIO_FOLDER
"""

import json
import pathlib
import subprocess
import sys

PROGRAM, FOLDER = sys.argv[1], pathlib.Path(sys.argv[2])
RECORD = str(FOLDER / "rig.yaml")

# What a person must find in each rig: (rule, part) over its limit. Harmless rigs have none.
LESSONS = {
    "wrenfield-75": ("capacitor-surge-volts", "C1"),
    "marlow-60": ("capacitor-working-volts", "C2"),
    "pellwick-bias": ("capacitor-working-volts", "C4"),
    "larkmoor-120": ("capacitor-working-volts", "C1"),
    "harrowgate-300": ("capacitor-surge-volts", "C2"),
    "pinfold-30": ("rectifier-input-capacitor", "V1"),
}


def answer(command, *options):
    done = subprocess.run([PROGRAM, command, RECORD, "--json", *options], capture_output=True,
                          text=True, check=False, timeout=280)
    if done.returncode not in (0, 1, 4):
        sys.exit(f"{command} ended with {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)


def failed_runs(findings):
    return [finding["note"] for finding in findings
            if finding["rule"] == "simulation" and finding["note"]]


def main():
    if not (FOLDER / "README.md").read_text(encoding="utf-8").startswith("# "):
        sys.exit("the README has no title")
    answer("check")
    margins = answer("margins", "--angles", "4")["findings"]
    failed = failed_runs(margins)
    if failed:
        sys.exit("margins: " + "; ".join(failed))
    over = {(finding["rule"], finding["part"]) for finding in margins
            if finding["verdict"] == "unsafe"}
    lesson = LESSONS.get(FOLDER.name)
    if lesson is not None and lesson not in over:
        sys.exit(f"the lesson {lesson} is not found; over are {sorted(over)}")
    ladder = answer("rampup", "--steps", "30,117")
    steps = [step for stage in ladder["passes"] for step in stage["steps"]]
    failed = [step["failure"] for step in steps if step["failure"]]
    if failed or not steps:
        sys.exit("rampup: " + "; ".join(failed))
    print(f"{len(margins)} findings, {len(over)} over, {len(steps)} steps")


if __name__ == "__main__":
    main()
