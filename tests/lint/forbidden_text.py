"""Does a file hold something that may not be committed: places of one machine, unsafe idioms?"""

import re

import tree

TEXT = {".cpp", ".hpp", ".h", ".py", ".sh", ".md", ".yaml", ".yml", ".json", ".txt", ".cmake",
        ".supp", ".csv", ""}
CODE = {".cpp", ".hpp", ".h"}
ROOMS = ("core", "netlists", "sim")

# Every text file. The brackets keep these lines from matching themselves.
ANYWHERE = [
    (re.compile(r"(?<![\w.$}])/(?:[h]ome|[w]ork|[r]oot|[U]sers|[m]nt|[t]mp/wt)/"),
     "path of one machine; derive it from the source folder or the environment"),
    (re.compile(r"(?:deb\.[d]ebian\.org|[p]ypi\.org|registry\.[n]pmjs|[a]rtifactory"
                r"|\b[p]kg\.dev\b|snapshot\.[d]ebian)"),
     "host of a package registry; use what the machine has configured"),
    (re.compile(r"-f[f]ast-math|-O[f]ast"),
     "breaks the checks for finite values"),
]
# Code of the rooms, comments left out.
IN_ROOMS = [
    (re.compile(r"\bsafe to touch\b"), "never to be said; name volts, time and assumption"),
    (re.compile(r"quiet_NaN|signaling_NaN|\bNAN\b|std::nanf?\("),
     "no not-a-number for 'unknown': use std::optional"),
    (re.compile(r"\bprintf\s*\(|std::cout|std::cerr|std::exit\b"),
     "libraries never print or exit; return a value or throw"),
]
TO_STRING = re.compile(r"std::to_string\(([^;]*)")
UNIT_SUFFIX = r"\b\w+_(?:v|a|s|f|h|w|j|k|hz|ohm|vpp|vpk|vdc|vrms|deg|c)\b"


def to_string_of_double(source, argument):
    """A guess from the text: SI value, unit suffix, decimal literal, or a name declared double."""
    if re.search(r"\.si\(\)|\d\.\d|" + UNIT_SUFFIX, argument):
        return True
    return any(re.search(r"\b(?:double|float)\s+&?\s*" + re.escape(name) + r"\b", source)
               for name in re.findall(r"\b[a-z_]\w*\b", argument))


def in_rooms(path, source):
    """(line, message) of each fault that only code of the rooms can have."""
    code = tree.without_comments(source)
    rules = IN_ROOMS if not str(path).startswith("sim/app/") and "worker" not in path.name \
        else IN_ROOMS[:2]
    for pattern, message in rules:
        for match in pattern.finditer(code):
            yield code.count("\n", 0, match.start()) + 1, f"{match.group(0)!r}: {message}"
    for match in TO_STRING.finditer(code):
        if to_string_of_double(code, match.group(1).split("\n")[0]):
            yield (code.count("\n", 0, match.start()) + 1,
                   "std::to_string of a double keeps six decimals whatever the size; use fmt")


def lint(root):
    faults = []
    for path in tree.files(root):
        if path.suffix not in TEXT or path.name == "LICENSE":
            continue
        source = tree.text(root, path)
        for pattern, message in ANYWHERE:
            for match in pattern.finditer(source):
                line = source.count("\n", 0, match.start()) + 1
                faults.append(f"{path}:{line}: {match.group(0)!r}: {message}")
        if path.suffix in CODE and path.parts[0] in ROOMS:
            faults += [f"{path}:{line}: {message}" for line, message in in_rooms(path, source)]
    return faults, []


if __name__ == "__main__":
    tree.main(lint, __doc__)
