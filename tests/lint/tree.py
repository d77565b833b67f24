"""Which files belong to the project, and how does a lint report? Shared by the lints here."""

import argparse
import pathlib
import re
import subprocess
import sys

NOT_OURS = {"build", ".git", ".cache"}


def files(root):
    """Paths of the project's files relative to `root`: git's list, else a walk without build/."""
    listed = subprocess.run(
        ["git", "-c", "safe.directory=*", "-C", str(root), "ls-files", "-z", "--cached",
         "--others", "--exclude-standard"],
        capture_output=True, text=True, check=False) if (root / ".git").exists() else None
    if listed and listed.returncode == 0:
        names = [name for name in listed.stdout.split("\0") if name]
    else:
        names = [str(path.relative_to(root)) for path in root.rglob("*")
                 if path.is_file() and not NOT_OURS & set(path.relative_to(root).parts)]
    return sorted(pathlib.PurePosixPath(name) for name in set(names) if (root / name).is_file())


def text(root, path):
    return (root / path).read_text(encoding="utf-8", errors="replace")


def without_comments(source):
    """C++ source with comments blanked, line numbers kept; strings stay."""
    def blank(match):
        found = match.group(0)
        return re.sub(r"[^\n]", " ", found) if found.startswith("/") else found
    return re.sub(r'"(?:\\.|[^"\\\n])*"|//[^\n]*|/\*.*?\*/', blank, source, flags=re.S)


def main(lint, doc):
    """Runs lint(root) -> (faults, remarks); a fault is a line `path:line: message`."""
    parser = argparse.ArgumentParser(description=doc)
    parser.add_argument("root", type=pathlib.Path, help="top folder of the project")
    faults, remarks = lint(parser.parse_args().root.resolve())
    for remark in remarks:
        print(f"remark: {remark}")
    for fault in faults:
        print(fault)
    print(f"{len(faults)} fault(s)")
    sys.exit(1 if faults else 0)
