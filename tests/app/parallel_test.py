"""Do shards made by GNU parallel on this machine give the bits of one run?

usage: parallel_test.py PROGRAM SOURCE
"""

import os
import subprocess
import sys
import tempfile

DRAWS = "24"


def run(arguments, **more):
    done = subprocess.run(arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE, check=False, **more)
    if done.returncode not in (0, 1):
        sys.exit(f"{arguments}: code {done.returncode}\n{done.stderr.decode()}")
    return done.stdout


def main():
    program, source = sys.argv[1:]
    rig = os.path.join(source, "scenarios/wrenfield-75/rig.yaml")
    with tempfile.TemporaryDirectory() as folder:
        whole = run([program, "spread", rig, "--draws", DRAWS, "--csv", "whole.csv"], cwd=folder)
        run(["parallel", "--jobs", "2", program, "spread", rig, "--draws", DRAWS, "--shard", "{}/4", "--workers", "1",
             ">", "part{}.csv", ":::", "1", "2", "3", "4"], cwd=folder)
        parts = [f"part{i}.csv" for i in (4, 2, 1, 3)]
        merged = run([program, "spread", rig, "--csv", "merged.csv", "--merge", *parts], cwd=folder)
        if merged != whole:
            sys.exit("the page of the merged shards is not that of one run")
        with open(os.path.join(folder, "whole.csv"), "rb") as one, open(os.path.join(folder, "merged.csv"), "rb") as two:
            if one.read() != two.read():
                sys.exit("the draws of the merged shards are not those of one run")
        lost = subprocess.run([program, "spread", rig, "--merge", *parts[:3]], capture_output=True, check=False, cwd=folder)
        if lost.returncode != 3 or b"none of these files" not in lost.stderr:
            sys.exit(f"a missing shard was not refused: {lost.returncode} {lost.stderr.decode()}")


if __name__ == "__main__":
    main()
