"""Is every source file short enough to be read in one sitting?"""

import tree

THINK, SPLIT = 300, 500


def lint(root):
    faults, remarks = [], []
    for path in tree.files(root):
        if path.suffix not in (".hpp", ".cpp", ".py", ".h"):
            continue
        lines = tree.text(root, path).count("\n")
        if lines > SPLIT:
            faults.append(f"{path}:{SPLIT}: {lines} lines, more than {SPLIT}; split it by concept")
        elif lines > THINK:
            remarks.append(f"{path}: {lines} lines, more than {THINK}; think of splitting it")
    return faults, remarks


if __name__ == "__main__":
    tree.main(lint, __doc__)
