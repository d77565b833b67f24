"""Do includes run only downwards through the rooms, without rings, and do the guests stay put?"""

import re

import tree

# From the ground up. A file may include its own room and every room before it.
ROOMS = ["core", "netlists", "sim/engine", "sim/envelope", "sim/studies", "sim/report", "sim/app"]

# Guest header -> (files that may include it, in words). Tests may include any of them.
GUESTS = [
    (r"<ngspice/sharedspice\.h>", r"^sim/engine/ngspice_session\.cpp$",
     "sim/engine/ngspice_session.cpp"),
    (r"<yaml-cpp/", r"^core/.*\.cpp$", "the .cpp files of core/"),
    (r"<CLI/", r"^sim/app/", "sim/app/"),
    (r"<fmt/", r"\.cpp$", ".cpp files"),
]

INCLUDE = re.compile(r'^\s*#\s*include\s*(<[^>]+>|"[^"]+")', re.M)


def room_of(path):
    for rank, room in enumerate(ROOMS):
        if str(path).startswith(room + "/"):
            return rank
    return None


def includes(source):
    for match in INCLUDE.finditer(tree.without_comments(source)):
        yield source.count("\n", 0, match.start(1)) + 1, match.group(1)


def judge_own(path, line, name, known):
    """Faults of one include of a header of ours."""
    here, there = room_of(path), room_of(name)
    if name not in known:
        yield f'{path}:{line}: "{name}" is not in the tree; write the path from the top folder'
    elif here is not None and there is None:
        yield f'{path}:{line}: "{name}" lies in no room; only {", ".join(ROOMS)} may be included'
    elif here is not None and there > here:
        yield (f'{path}:{line}: {ROOMS[here]} includes "{name}", upwards; '
               f"move what both need into {ROOMS[here]} or below")


def judge_guest(path, line, name):
    for pattern, allowed, words in GUESTS:
        if re.match(pattern, name) and not re.search(allowed, str(path)) \
                and path.parts[0] != "tests":
            yield f"{path}:{line}: {name} may be included by {words} only"


def rings(graph):
    """Each ring of headers once, as a list of names."""
    done, found = set(), []

    def visit(node, trail):
        if node in trail:
            found.append(trail[trail.index(node):] + [node])
        elif node not in done:
            for target in sorted(graph.get(node, ())):
                visit(target, trail + [node])
            done.add(node)

    for node in sorted(graph):
        visit(node, [])
    return found


def lint(root):
    paths = [p for p in tree.files(root) if p.suffix in (".hpp", ".cpp", ".h")]
    known, graph, faults = {str(p) for p in paths}, {}, []
    for path in paths:
        if path.parts[0] in ("core", "netlists", "sim") and room_of(path) is None:
            faults.append(f"{path}:1: lies in no room; rooms are {', '.join(ROOMS)}")
        for line, name in includes(tree.text(root, path)):
            if name.startswith("<"):
                faults += judge_guest(path, line, name)
                continue
            faults += judge_own(path, line, name.strip('"'), known)
            if path.suffix != ".cpp":
                graph.setdefault(str(path), set()).add(name.strip('"'))
    faults += [f"{ring[0]}:1: ring of headers: {' -> '.join(ring)}" for ring in rings(graph)]
    return faults, []


if __name__ == "__main__":
    tree.main(lint, __doc__)
