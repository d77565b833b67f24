"""Is every source file as clang-format 14 would write it? Skipped (77) without that version."""

import re
import shutil
import subprocess
import sys

import tree

SKIPPED = 77


def formatter():
    for name in ("clang-format-14", "clang-format"):
        program = shutil.which(name)
        if program:
            said = subprocess.run([program, "--version"], capture_output=True, text=True,
                                  check=False).stdout
            if re.search(r"version 14\.", said):
                return program
    return None


def lint(root):
    program = formatter()
    if program is None:
        print("skipped: clang-format 14 is not installed (apt-get install clang-format-14)")
        sys.exit(SKIPPED)
    paths = [str(path) for path in tree.files(root) if path.suffix in (".hpp", ".cpp", ".h")]
    if not paths:
        return [], []
    run = subprocess.run([program, "--dry-run", "-Werror", "--style=file", *paths], cwd=root,
                         capture_output=True, text=True, check=False)
    places = re.findall(r"^(\S+?):(\d+):\d+: error", run.stderr, re.M)
    first = {}
    for path, line in places:
        first.setdefault(path, line)
    faults = [f"{path}:{line}: not formatted; run {program.rsplit('/', 1)[-1]} -i {path}"
              for path, line in first.items()]
    if run.returncode != 0 and not faults:
        faults = [f".:1: {run.stderr.strip()}"]
    return faults, []


if __name__ == "__main__":
    tree.main(lint, __doc__)
