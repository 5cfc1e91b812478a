"""The program in a process of its own, which can be ended and started again at the same address, on the same data."""

import contextlib
import os
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

ROOT = Path(__file__).parent.parent
RUN = "from rillwright.cli.main import run; run()"


class Program:
    """`rillwright serve`, with further words, on a port that was free when this was made."""

    def __init__(self, folder, *words):
        self._words = words
        self._port = _free_ports(3)
        self.folder = folder
        self._process = None
        self.address = f"http://127.0.0.1:{self._port}"

    def start(self):
        words = ["serve", "--port", str(self._port), "--data", str(self.folder), *self._words]
        self._process = subprocess.Popen(
            [sys.executable, "-c", RUN, *words],
            env={**os.environ, "PYTHONPATH": str(ROOT / "src")},
            stdout=subprocess.DEVNULL,
        )
        for _ in range(600):
            with contextlib.suppress(OSError), urllib.request.urlopen(f"{self.address}/api/health"):
                return
            assert self._process.poll() is None, "the program ended before it answered"
            time.sleep(0.1)
        raise AssertionError("the program does not answer")

    def stop(self):
        if self._process is not None:
            self._process.terminate()
            self._process.wait(20)
            self._process = None

    def kill(self):
        """End it at once, wherever it is (SIGKILL)."""
        self._process.kill()
        self._process.wait(20)
        self._process = None


def _free_ports(count):
    """First of so many ports in a row that are free."""
    while True:
        with contextlib.ExitStack() as held:
            first = held.enter_context(socket.socket())
            first.bind(("127.0.0.1", 0))
            port = first.getsockname()[1]
            with contextlib.suppress(OSError, OverflowError):
                for further in range(1, count):
                    held.enter_context(socket.socket()).bind(("0.0.0.0", port + further))
                return port
