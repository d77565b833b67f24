"""Text in a record file must never act: each line that makes a plain ngspice run a command, write
or read a file is put wherever a record takes text, and the program is run on it.

The lines are the thirteen effective ones measured on libngspice 39.3 (shell in .control, back
quotes, unixcom, *# comments, *ng_script title, includes, wrdata, codemodel, start files,
filesource, command separators, quit, endless loops). For each: nothing is created, nothing of a
secret file is shown, and the program ends in time with a clear message (3) or a run (0, 1, 4).
"""

import pathlib
import subprocess
import sys
import tempfile

PROGRAM, DEMO = (str(pathlib.Path(argument).resolve()) for argument in sys.argv[1:3])
ENDINGS = {0, 1, 3, 4}
SECRET = "hush-19530312"


def injections(mark, secret):
    """The lines; `mark` is a file that must not appear, `secret` one that must not be read."""
    return [
        f".control\nshell touch {mark}\n.endc",
        f".control\necho `touch {mark}`\n.endc",
        f".control\nset unixcom\ntouch {mark}\n.endc",
        f"*# shell touch {mark}",
        f"*ng_script\nshell touch {mark}",
        f".include {secret}",
        f".lib {secret} section",
        f"*# wrdata {mark} v(n1)",
        f"*# echo hi > {mark}",
        f"*# codemodel {secret}",
        f'.model fs filesource(file="{secret}")',
        f"1k ; shell touch {mark}",
        "*# quit",
        ".control\nwhile 1\nend\n.endc",
    ]


def yaml_text(text):
    """A double-quoted YAML scalar."""
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def places(demo):
    """(name, function that puts a text into the demo record)."""

    def swap(old, new_for):
        assert demo.count(old) >= 1, old
        return lambda text: demo.replace(old, new_for(text))

    return [
        ("name", swap("name: Wrenfield 75", lambda t: f"name: {yaml_text(t)}")),
        ("description", swap("description: 75 W AM/CW transmitter, rebuilt plate supply with silicon rectifiers",
                             lambda t: f"description: {yaml_text(t)}")),
        ("note", swap("note: oscillator and buffer", lambda t: f"note: {yaml_text(t)}")),
        ("designator", swap("\n  R3:", lambda t: f"\n  {yaml_text(t)}:")),
        ("node", swap("SCREEN", yaml_text)),
        ("chassis", swap("CHASSIS", yaml_text)),
        ("winding", swap("heater: {nodes: [H1", lambda t: f"{yaml_text(t)}: {{nodes: [H1")),
        ("kind", swap("kind: fuse", lambda t: f"kind: {yaml_text(t)}")),
        ("type", swap("type: 1N4007, in_series", lambda t: f"type: {yaml_text(t)}, in_series")),
        ("value", swap("value: 25k", lambda t: f"value: {yaml_text('25k ' + t)}")),
        ("tolerance", swap("tolerance: 15 %\n", lambda t: f"tolerance: {yaml_text(t)}\n")),
        ("key", swap("rated_current: 200 mA}", lambda t: f"{yaml_text(t)}: 200 mA}}")),
        ("role", swap("role: bleeder", lambda t: f"role: {yaml_text(t)}")),
        ("when", swap("when: key_down", lambda t: f"when: {yaml_text(t)}")),
        ("comment", swap("# Wrenfield 75:", lambda t: "# " + t.replace("\n", "\n# ") + "\n#")),
        ("raw line", swap("parts:\n", lambda t: t + "\nparts:\n")),
    ]


def run(command, folder):
    return subprocess.run([PROGRAM, *command], cwd=folder, capture_output=True, text=True,
                          errors="replace", timeout=120, check=False)


def fault_of(result, mark, where):
    if mark.exists():
        return f"{where}: the file was created"
    if SECRET in result.stdout + result.stderr:
        return f"{where}: the secret was shown"
    if result.returncode not in ENDINGS:
        return f"{where}: ended with {result.returncode}: {result.stderr[-300:]}"
    if result.returncode == 3 and "rig.yaml:" not in result.stderr:
        return f"{where}: refused without a position: {result.stderr[-300:]}"
    return None


def main():
    demo = pathlib.Path(DEMO).read_text(encoding="utf-8")
    faults = []
    runs = 0
    refused = 0
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        mark = folder / "mark"
        secret = folder / "secret"
        secret.write_text(SECRET + "\n", encoding="utf-8")
        rig = folder / "rig.yaml"
        for place, put in places(demo):
            for line in injections(mark, secret):
                rig.write_text(put(line), encoding="utf-8")
                for command in (["netlist", "rig.yaml"],
                                ["rampup", "rig.yaml", "--steps", "30", "--stage", "rectifier",
                                 "--lamp", "none"]):
                    result = run(command, folder)
                    runs += 1
                    refused += result.returncode == 3
                    fault = fault_of(result, mark, f"{place} {line!r} {command[0]}")
                    if fault:
                        faults.append(fault)
                        mark.unlink(missing_ok=True)
                    if result.returncode == 3:
                        break  # the reader refused it: the other command would too
        left = sorted(path.name for path in folder.iterdir())
        if left != ["rig.yaml", "secret"]:
            faults.append(f"left behind: {left}")
    print("\n".join(faults[:20]))
    print(f"{runs} runs, {refused} refused, {len(faults)} faults")
    if refused == 0 or refused == runs:
        print("suspicious: either everything or nothing was refused")
        return 1
    return 1 if faults else 0


sys.exit(main())
