"""A Parquet file tried in a process of its own first: damage can end the library's process, which nobody can catch.

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

LONGEST = 120.0
"""A file not read through in this time is not a recording of a drive. [s]"""
STAYS = 60.0
"""The process waits so long for another file. [s]"""
READ_THROUGH = """
import json, sys, polars
from polars.selectors import numeric
read = [numeric().sum(), (~numeric()).hash().sum()]  # needs every row; the last one alone is found without the others
for line in sys.stdin:
    try:
        polars.scan_parquet(json.loads(line)).select(read).collect(engine="streaming")
        end = "sound"
    except polars.exceptions.PanicException:
        end = "fatal"
    except Exception:
        end = "named"
    print(end, flush=True)
"""
SURVIVED = ("sound", "named")
"""What the process says of a file that does no harm; what it can name, the reader meets again."""


class ForeReader:
    """A process that reads files before we do, one after another.

    Args:
        program: what it runs: for each line in, a path in JSON, it says one word.
        longest: time it has for a file. [s]
    """

    def __init__(self, program: str = READ_THROUGH, longest: float = LONGEST) -> None:
        self._program, self._longest = program, longest
        self._process: subprocess.Popen[str] | None = None
        self._leaving: Timer | None = None
        self._alone = Lock()
        atexit.register(self.leave)

    def word(self, path: Path) -> str:
        """What it says of a file; nothing when that ended it, "endless" when it took too long."""
        with self._alone:
            if self._leaving:
                self._leaving.cancel()
            fresh = self._process is None
            word = self._asked(path)
            if not word and not fresh:  # it may have died of something else
                word = self._asked(path)
            self._leaving = Timer(STAYS, self.leave)
            self._leaving.daemon = True
            self._leaving.start()
            return word

    def leave(self) -> None:
        """End the process; the next file starts another."""
        with self._alone:
            self._end()

    def _asked(self, path: Path) -> str:
        process = self._process = self._process or subprocess.Popen(  # noqa: S603 - our own interpreter and program
            [sys.executable, "-c", self._program],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        )  # fmt: skip
        path_in, word_out = cast(IO[str], process.stdin), cast(IO[str], process.stdout)
        late = Timer(self._longest, process.kill)
        late.start()
        try:
            path_in.write(json.dumps(str(path.resolve())) + "\n")
            path_in.flush()
            word = word_out.readline().strip()
        except OSError:  # it is gone
            word = ""
        in_time = late.is_alive()
        late.cancel()
        if not word:
            self._end()
        return word if word or in_time else "endless"

    def _end(self) -> None:
        process, self._process = self._process, None
        if process:
            process.kill()
            process.communicate()


_first = ForeReader()


def refuse_fatal(path: Path, reader: ForeReader = _first) -> None:
    """Have the file read through once at arm's length.

    Args:
        path: the file.
        reader: the process that does; for tests.

    Raises:
        InputFault: reading it ends the process, or never ends.
    """
    word = reader.word(path)
    if word not in SURVIVED:
        raise InputFault(
            "the Parquet file is damaged",
            where=path.name,
            wanted="a file that can be read through",
            got=f"one not read in {LONGEST:.0f} s" if word == "endless" else "one that stops its reader",
            remedy="Export the recording again, or export it as CSV.",
        )
