"""Files tried in a process of its own first: damage can end or hang the library's process, and nobody can catch that.

Starting that process costs as much as reading an hour of driving, so it stays for a while for the next file.
"""

from __future__ import annotations

import atexit
import json
import subprocess
import sys
from pathlib import Path
from threading import Lock, Timer
from typing import IO, cast

from dwellwright.errors import InputFault

LONGEST, SLOWEST = 20.0, 2e6
"""A file has so long to be read through, and beyond it a second for so many bytes. [s], [byte/s] (assumed)"""
STAYS = 60.0
"""The process waits so long for another file. [s]"""
EVERY_FILE = """
import json, os, sys
said = os.fdopen(os.dup(1), "w", encoding="utf-8")
os.dup2(2, 1)  # a library's own prints are no answer
for line in sys.stdin:
    try:
        read(*json.loads(line))
        end = "sound"
    except fatal:
        end = "fatal"
    except Exception as fault:
        end = "named " + " ".join(f"{type(fault).__name__}: {fault}".split())[:160]
    print(end, file=said, flush=True)
"""
READ_PARQUET = """
import polars
from polars.selectors import numeric
fatal = polars.exceptions.PanicException
needed = [numeric().sum(), (~numeric()).hash().sum()]  # every row: the last one alone is found without the others
def read(path):
    polars.scan_parquet(path).select(needed).collect(engine="streaming")
"""
UNPACK_MDF = """
import numpy
from asammdf import MDF
fatal = ()
def read(path, into):
    columns, told = {}, []
    with MDF(path) as mdf:
        for signal in mdf.iter_channels(skip_master=True):
            samples, time = signal.samples, signal.timestamps
            if samples.dtype.kind in "biuf" and samples.ndim == time.ndim == 1 and len(samples) == len(time):
                columns[f"time{len(told)}"], columns[f"value{len(told)}"] = time, samples
                told.append([signal.name, signal.unit])
    numpy.savez(into, told=numpy.array(told, dtype=str).reshape(-1, 2), **columns)
"""
"""What it can read it puts into an archive, so that we need not open such a file ourselves."""
SOUND, NAMED, ENDLESS = "sound", "named", "endless"
"""What the process says of a file that does no harm; of a fault it can name, it says what it is."""


class ForeReader:
    """A process that reads files before we do, one after another.

    Args:
        kind: of the files, in words.
        program: what it runs: for each line in, a list of paths in JSON, it says one word.
        longest: time it has for a small file. [s]
    """

    def __init__(self, kind: str, program: str, longest: float = LONGEST) -> None:
        self._kind, self._program, self._longest = kind, program, longest
        self._process: subprocess.Popen[str] | None = None
        self._leaving: Timer | None = None
        self._alone = Lock()
        atexit.register(self.leave)

    def refuse_fatal(self, path: Path, *into: Path) -> str:
        """Have the file read through once at arm's length; what the library has against it, empty for nothing.

        Args:
            path: the file.
            into: where the program puts what it read, if it does.

        Raises:
            InputFault: reading it ends the process, or never ends.
        """
        word, _, fault = (said := self.word(path, *into)).partition(" ")
        if word not in (SOUND, NAMED):
            raise InputFault(
                f"the {self._kind} file is damaged",
                where=path.name,
                wanted="a file that can be read through",
                got="one whose reading does not end" if said == ENDLESS else "one that stops its reader",
                remedy="Export the recording again, or export it as CSV.",
            )
        return fault

    def word(self, path: Path, *into: Path) -> str:
        """What it says of a file; nothing when that ended it, `ENDLESS` when it took too long."""
        with self._alone:
            fresh = self._process is None
            word = self._asked(path, *into)
            if not word and not fresh:  # it may have died of something else
                word = self._asked(path, *into)
            self._leave_later()
            return word

    def begin(self) -> None:
        """Start the process for a file that is soon to come."""
        with self._alone:
            self._started()
            self._leave_later()

    def leave(self) -> None:
        """End the process; the next file starts another."""
        with self._alone:
            self._end()

    def _leave_later(self) -> None:
        if self._leaving:
            self._leaving.cancel()
        self._leaving = Timer(STAYS, self.leave)
        self._leaving.daemon = True
        self._leaving.start()

    def _asked(self, path: Path, *into: Path) -> str:
        process = self._started()
        path_in, word_out = cast(IO[str], process.stdin), cast(IO[str], process.stdout)
        late = Timer(self._longest + _size(path) / SLOWEST, process.kill)
        late.start()
        try:
            path_in.write(json.dumps([str(one.resolve()) for one in (path, *into)]) + "\n")
            path_in.flush()
            word = word_out.readline().strip()
        except OSError:  # it is gone
            word = ""
        in_time = late.is_alive()
        late.cancel()
        if not word:
            self._end()
        return word if word or in_time else ENDLESS

    def _started(self) -> subprocess.Popen[str]:
        self._process = self._process or subprocess.Popen(  # noqa: S603 - our own interpreter and program
            [sys.executable, "-c", self._program],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, encoding="utf-8",
            errors="replace",
        )  # fmt: skip
        return self._process

    def _end(self) -> None:
        process, self._process = self._process, None
        if process:
            process.kill()
            process.communicate()


def _size(path: Path) -> int:
    """Of a file, 0 where there is none. [byte]"""
    try:
        return path.stat().st_size
    except OSError:
        return 0


PARQUET = ForeReader("Parquet", READ_PARQUET + EVERY_FILE)
MDF = ForeReader("MDF", UNPACK_MDF + EVERY_FILE)
SIGNS = {b"PAR1": PARQUET, b"MDF     ": MDF, b"UnFinMF ": MDF}
"""How their files begin."""


def make_ready(path: Path) -> None:
    """Start the process that a file will need, so that it starts while we import what reads the file ourselves."""
    with path.open("rb") as file:
        head = file.read(8)
    for sign, reader in SIGNS.items():
        if head.startswith(sign):
            reader.begin()
