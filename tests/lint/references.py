"""Is every source that is cited as [KEY] listed in docs/references.md?"""

import re

import tree

LIST = "docs/references.md"
SCANNED = {".cpp", ".hpp", ".md", ".py", ".yaml", ".yml", ".json", ".csv", ".txt"}
# A key: capitals, digits, dots and hyphens, at least four characters, two of them letters.
# Not a subscript (no word before it), not a link (no parenthesis after it).
CITED = re.compile(r"(?<![\w\])\[])\[([A-Z0-9][A-Z0-9.-]{2,}[A-Z0-9])\](?!\()")
ENTRY = re.compile(r"^(?:[*-] )?\[([A-Z0-9][A-Z0-9.-]+)\] ", re.M)
# Names that stand for "some key" in explanations, and character sets of regular expressions.
NOT_KEYS = re.compile(r"KEY(-\d+)?$|A-Z|0-9")


def looks_like_key(word):
    return len(re.findall("[A-Z]", word)) >= 2 and not NOT_KEYS.match(word)


def lint(root):
    if not (root / LIST).is_file():
        return [f"{LIST}:1: the list of sources is missing"], []
    entries = ENTRY.findall(tree.text(root, LIST))
    faults = [f"{LIST}:1: [{key}] is listed twice"
              for key in sorted(set(entries)) if entries.count(key) > 1]
    used = set()
    for path in tree.files(root):
        if path.suffix not in SCANNED or str(path) == LIST or path.parts[:2] == ("tests", "lint"):
            continue
        source = tree.text(root, path)
        for match in CITED.finditer(source):
            key = match.group(1)
            if not looks_like_key(key):
                continue
            used.add(key)
            if key not in entries:
                line = source.count("\n", 0, match.start()) + 1
                faults.append(f"{path}:{line}: [{key}] is not in {LIST}; add the source there")
    unused = sorted(set(entries) - used)
    return faults, [f"not cited yet: {', '.join(unused)}"] if unused else []


if __name__ == "__main__":
    tree.main(lint, __doc__)
