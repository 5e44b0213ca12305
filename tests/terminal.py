"""Interviews in a pseudo-terminal, as a person has them: RODSET=target/debug/rodset python3 tests/terminal.py

Each reply waits until the prompt is there. Only the standard library is used.
"""

import fcntl
import os
import pathlib
import pty
import re
import select
import signal
import struct
import sys
import tempfile
import termios
import time

PROGRAM = os.path.abspath(os.environ["RODSET"])
PATIENCE = 20.0


def converse(folder, replies, columns=80, **variables):
    """Runs an interview; what the terminal was sent, and how the program ended."""
    child, terminal = pty.fork()
    if child == 0:
        for name in ["NO_COLOR", "CLICOLOR_FORCE", "CLICOLOR", "COLUMNS"]:
            os.environ.pop(name, None)
        os.environ.update(TERM="xterm-256color", **variables)
        os.chdir(folder)
        # The size is set by the other end, before anything is asked.
        time.sleep(0.2)
        os.execv(PROGRAM, [PROGRAM, "interview", "--axle", "rods", "--points", "my-car.toml"])
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 50, columns, 0, 0))
    said, seen, left, begun = "", 0, list(replies), time.monotonic()
    while time.monotonic() - begun < PATIENCE:
        ready, _, _ = select.select([terminal], [], [], 0.3)
        if ready:
            try:
                said += os.read(terminal, 4096).decode(errors="replace")
            except OSError:
                break
        elif left and "> " in said[seen:]:
            seen = len(said)
            os.write(terminal, left.pop(0).encode())
    else:
        os.kill(child, signal.SIGKILL)
        said += "\n(it had to be killed)"
    _, status = os.waitpid(child, 0)
    return said, os.waitstatus_to_exitcode(status)


def plain(said):
    return re.sub("\x1b\\[[0-9;?]*[A-Za-z]", "", said)


def expect(said, condition, what):
    if not condition:
        sys.exit(f"{what}:\n{plain(said)}")
    print(f"{what}: as it should")


def main():
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "my-car.toml"
        said, status = converse(folder, ["Mill car\r", "\r", "30, 12\r", "29 1/2 in, 12 1/4 in\r", "\r", "-1.1", "\x03"])
        written = file.read_text()
        expect(
            said,
            status == 3 and "you mean inches" in plain(said) and "To go on:" in said
            and '"29 1/2 in", "12 1/4 in"' in written and "\ncamber" not in written,
            "asked again after a refusal, stopped by Ctrl-C",
        )
        said, status = converse(folder, ["-1.1\r", "\x1b", "\x7f2\r", "stop\r"])
        expect(said, status == 3 and "\ncamber = -1.2 " in file.read_text() and "\ntoe" not in file.read_text(),
               "gone on, back with Esc, the old answer changed")
        expect(said, "\x1b[36m" in said, "colour")
        said, status = converse(folder, ["?\r", "stop\r"], columns=44, NO_COLOR="1")
        lines = plain(said).replace("\r\n", "\n").split("\n")
        expect(said, status == 3 and not re.search("\x1b\\[[0-9;]*m", said)
               and all(len(line.split("\r")[-1].rstrip()) <= 44 for line in lines),
               "no colour where none is wanted, narrow")


main()
