"""kill -9 of a worker in mid-run: the command still ends with the same answer, or a clear error;
it never hangs, and no process is left behind. Ctrl-C: ends soon, nothing left, nothing written."""

import os
import pathlib
import signal
import subprocess
import sys
import tempfile
import time

PROGRAM, DEMO = (str(pathlib.Path(argument).resolve()) for argument in sys.argv[1:3])
COMMAND = [PROGRAM, "margins", DEMO, "--angles", "4", "--json"]


def workers_of(pid):
    """Process ids of the children named firstglow-worker."""
    found = []
    for entry in pathlib.Path("/proc").iterdir():
        if not entry.name.isdigit():
            continue
        try:
            stat = (entry / "stat").read_text()
        except OSError:
            continue
        name = stat[stat.index("(") + 1:stat.rindex(")")]
        parent = int(stat[stat.rindex(")") + 2:].split()[1])
        if parent == pid and name.startswith("firstglow-work"):
            found.append(int(entry.name))
    return found


def alive_of(pids):
    """Those that still run: a zombie that init has not reaped yet is dead."""
    alive = []
    for pid in pids:
        try:
            stat = pathlib.Path(f"/proc/{pid}/stat").read_text()
        except OSError:
            continue
        if stat[stat.rindex(")") + 2] != "Z":
            alive.append(pid)
    return alive


def wait_for_workers(process):
    for _ in range(400):
        workers = workers_of(process.pid)
        if workers or process.poll() is not None:
            return workers
        time.sleep(0.005)
    return []


def check(condition, message):
    if not condition:
        print("FAULT:", message)
        sys.exit(1)


def kills_leave_the_answer():
    undisturbed = subprocess.run(COMMAND, capture_output=True, timeout=300, check=False)
    check(undisturbed.returncode in (0, 1), f"margins ended with {undisturbed.returncode}")
    process = subprocess.Popen(COMMAND, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    killed = 0
    for _ in range(3):
        workers = wait_for_workers(process)
        if workers:
            os.kill(workers[0], signal.SIGKILL)
            killed += 1
        time.sleep(0.3)
    out, err = process.communicate(timeout=300)
    check(killed == 3, f"only {killed} workers could be killed")
    check(process.returncode == undisturbed.returncode,
          f"ended with {process.returncode} instead of {undisturbed.returncode}: {err[-300:]}")
    check(out == undisturbed.stdout, "another answer after the kills")
    print("3 workers killed, same answer")


def interrupt_leaves_nothing():
    with tempfile.TemporaryDirectory() as name:
        csv = pathlib.Path(name) / "waves.csv"
        process = subprocess.Popen([PROGRAM, "margins", DEMO, "--csv", str(csv)],
                                   stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        workers = wait_for_workers(process)
        check(workers, "no worker was seen")
        time.sleep(0.3)
        process.send_signal(signal.SIGINT)
        start = time.monotonic()
        process.communicate(timeout=60)
        check(process.returncode == 130, f"interrupt ended with {process.returncode}")
        check(time.monotonic() - start < 20, "the interrupt took too long")
        time.sleep(0.2)
        alive = alive_of(workers)
        check(not alive, f"workers left: {alive}")
        check(not list(pathlib.Path(name).iterdir()), "a file was left")
    print("interrupted, nothing left")


def parent_takes_its_workers_along():
    process = subprocess.Popen(COMMAND, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    workers = wait_for_workers(process)
    check(workers, "no worker was seen")
    process.kill()
    process.wait()
    time.sleep(0.5)
    alive = alive_of(workers)
    check(not alive, f"workers outlived their parent: {alive}")
    print("parent killed, workers gone")


kills_leave_the_answer()
interrupt_leaves_nothing()
parent_takes_its_workers_along()
