"""Every scenario that ships answers: it is read, has a README, and no step of its ramp fails.

Their lessons are held by tests/studies/*_scenarios_test.cpp.

usage: scenario_test.py FIRSTGLOW SCENARIO_FOLDER
"""

import json
import pathlib
import subprocess
import sys

PROGRAM, FOLDER = sys.argv[1], pathlib.Path(sys.argv[2])
RECORD = str(FOLDER / "rig.yaml")

def answer(command, *options):
    done = subprocess.run([PROGRAM, command, RECORD, "--json", *options], capture_output=True,
                          text=True, check=False, timeout=280)
    if done.returncode not in (0, 1, 4):
        sys.exit(f"{command} ended with {done.returncode}: {done.stderr}")
    return json.loads(done.stdout)


def main():
    if not (FOLDER / "README.md").read_text(encoding="utf-8").startswith("# "):
        sys.exit("the README has no title")
    answer("check")
    ladder = answer("rampup", "--steps", "117", "--lamp", "none")
    steps = [step for stage in ladder["passes"] for step in stage["steps"]]
    failed = [step["failure"] for step in steps if step["failure"]]
    if failed or not steps:
        sys.exit("rampup: " + "; ".join(failed))
    print(f"{len(steps)} steps")


if __name__ == "__main__":
    main()
