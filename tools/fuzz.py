"""Feed every reader broken files: `python tools/fuzz.py --seconds 600`; one line per reader, exit 1 if any fell.

Each case is a file of `tests/corpus/<reader>` mutated: bytes flipped, pieces cut, doubled, swapped with another file,
cells replaced. A reader may answer or refuse with one `InputFault` whose message is one bounded line; anything else
(another exception, a case longer than `LONGEST`, more memory than `MEMORY`, a dead process) is a finding: its
bytes are kept in the folder given by --keep. What was found and mended belongs into the corpus, which a test replays.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path
from types import FrameType
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
CORPUS = ROOT / "tests" / "corpus"
sys.path[:0] = [str(ROOT), str(ROOT / "src")]

LONGEST = 30
"""Seconds one case may take before it counts as a hang."""
MEMORY = 4 << 30
"""Address space of a reader's process [bytes]; most of it is libraries and their threads."""
LONGEST_MESSAGE = 3100
"""Characters that a refusal may have."""
MOST_STEPS = 6
"""Mutations of one case, one after the other."""
MOST_KEPT = 20
"""Different findings kept of one reader."""
TOKENS = (
    b"nan", b"-inf", b"1e308", b"1e-320", b"", b"0", b"-1", b"1,5", b"1.5", b'"', b"''", b"\x00", b"\xef\xbb\xbf",
    b"\xff\xfe", b",", b";", b"\t", b"\n", b"\r", b"10:00:01", b"2024-02-30T25:00:00", "\u0661".encode(), b"%",
    b"99999999999999999999", b"time_s", b"mm", b"thou", b"deg", b"\xf0\x9f\x94\xa7", b"\xc3\x28", b"(", b")", b"=1+1",
)  # fmt: skip


def _read_sound(path: Path) -> None:
    from dwellwright.service.files import read_file

    read_file(path)


def _read_trace(path: Path) -> None:
    from dwellwright.evidence.trace import observations, read_trace, summarize

    observations(summarize(read_trace(path)))


def _read_gas(path: Path) -> None:
    from dwellwright.evidence import gas
    from dwellwright.evidence.gas.causes import gas_causes
    from dwellwright.evidence.gas.idle_test import idle_test

    options, readings = gas.gas_options(), gas.read_gas(path)
    gas.observations(readings)
    gas_causes(readings[0], options)
    from dwellwright.catalogue.idle_limits import idle_limits

    idle_test(readings, next(iter(idle_limits().values())), options)


def _read_gauges(path: Path) -> None:
    from dwellwright.evidence import gauge

    gauge.observations(gauge.read_gauges(path))


def _read_study(path: Path) -> None:
    from dwellwright.evidence.gauge.study_file import read_study, study_of

    study_of(read_study(path))


def _read_map(path: Path) -> None:
    from dwellwright.evidence.trace import ColumnMap

    ColumnMap.from_json(path.read_text(encoding="utf-8", errors="surrogateescape"))


def _read_sheet(path: Path) -> None:
    from dwellwright.service.sheets import check_sheet

    check_sheet(path)


READERS: dict[str, Callable[[Path], None]] = {
    "sound": _read_sound, "scope": _read_sound, "trace": _read_trace, "parquet": _read_trace, "mdf": _read_trace,
    "gas": _read_gas, "gauges": _read_gauges, "study": _read_study, "map": _read_map, "sheet": _read_sheet,
}  # fmt: skip
"""Readers by the folder of the corpus that holds their files."""


def seeds(reader: str) -> list[Path]:
    """The corpus of a reader."""
    return sorted(path for path in (CORPUS / reader).iterdir() if path.is_file())


def mutated(content: bytes, others: list[bytes], dice: random.Random) -> bytes:
    """A file with up to `MOST_STEPS` things wrong with it."""
    data = bytearray(content)
    for _ in range(dice.randint(1, MOST_STEPS)):
        data = _step(data, others, dice)
    return bytes(data)


def _step(data: bytearray, others: list[bytes], dice: random.Random) -> bytearray:
    size = len(data)
    at = dice.randrange(min(size, 200) if size and dice.random() < 0.5 else size + 1) if size else 0
    span = min(size - at, 1 << dice.randrange(12))
    kind = dice.randrange(8)
    if kind == 0 and size:
        data[min(at, size - 1)] ^= 1 << dice.randrange(8)
    elif kind == 1:
        del data[at : at + span]
    elif kind == 2:
        data[at:at] = data[at : at + span] * dice.randint(1, 4)
    elif kind == 3:
        data[at : at + dice.randrange(8)] = dice.choice(TOKENS)
    elif kind == 4:
        other = dice.choice(others)
        start = dice.randrange(len(other) + 1)
        data[at : at + span] = other[start : start + span]
    elif kind == 5:
        del data[at:]
    elif kind == 6:
        data[at : at + 4] = dice.choice((0, 1, 2**31 - 1, 2**32 - 1, 2**15)).to_bytes(4, "little")
    else:
        _swap_cell(data, dice)
    return data


def _swap_cell(data: bytearray, dice: random.Random) -> None:
    """Another word in the place of one cell of a table."""
    cuts = [index for index, byte in enumerate(data[:20_000]) if byte in b",;\t\n"]
    if len(cuts) > 1:
        place = dice.randrange(len(cuts) - 1)
        data[cuts[place] + 1 : cuts[place + 1]] = dice.choice(TOKENS)


class Hang(BaseException):
    """A case took too long; no reader can catch it by accident."""


@contextmanager
def time_limit(seconds: int) -> Iterator[None]:
    """Raise `Hang` in the block after so many seconds."""

    def ring(_: int, __: FrameType | None) -> None:
        raise Hang

    before = signal.signal(signal.SIGALRM, ring)
    signal.alarm(seconds)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def finding(reader: str, path: Path) -> str:
    """What is wrong with how a reader met a file; empty where nothing is."""
    from dwellwright.errors import InputFault

    try:
        with time_limit(LONGEST):
            READERS[reader](path)
    except InputFault as fault:
        if len(fault.message) > LONGEST_MESSAGE or not fault.message.isprintable():
            return f"long or unprintable message: {len(fault.message)} characters, {fault.message[:160]!r}"
    except Hang:
        return f"hang: more than {LONGEST} s"
    except BaseException as fault:  # a reader written in another language raises past Exception
        if isinstance(fault, KeyboardInterrupt):
            raise
        last = traceback.extract_tb(fault.__traceback__)[-1]
        return f"{type(fault).__name__} at {Path(last.filename).name}:{last.lineno}: {str(fault)[:160]}"
    return ""


def worker(reader: str, seconds: float, seed: int, scratch: str) -> None:
    """Run one reader for so long, in a process of its own; the case in hand always lies in `scratch`."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    dice, start, runs = random.Random(seed), time.monotonic(), 0
    files = seeds(reader)
    contents = [path.read_bytes() for path in files]
    for path in files:
        _warmed(reader, path)
    found: dict[str, str] = {}
    slowest = 0.0
    while time.monotonic() - start < seconds:
        pick = dice.randrange(len(contents))
        case = mutated(contents[pick], contents, dice)
        path = Path(scratch) / f"case{files[pick].suffix}"
        path.write_bytes(case)
        began = time.monotonic()
        what = finding(reader, path)
        slowest, runs = max(slowest, time.monotonic() - began), runs + 1
        if what and what.split(":")[0] not in {one.split(":")[0] for one in found.values()}:
            name = f"{sha256(case).hexdigest()[:12]}{path.suffix}"
            shutil.copy(path, Path(scratch) / f"found-{name}")
            found[name] = what
        if runs % 50 == 0 or what:
            _note(scratch, runs, found, slowest)
    _note(scratch, runs, found, slowest)


def _warmed(reader: str, path: Path) -> None:
    """Meet a file without a limit: what is imported and compiled for it must not be torn by the first case's clock."""
    from dwellwright.errors import InputFault

    with suppress(InputFault):
        READERS[reader](path)


def _note(scratch: str, runs: int, found: dict[str, str], slowest: float) -> None:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    facts = {"runs": runs, "findings": found, "peak_mb": round(peak), "slowest_s": round(slowest, 2)}
    draft = Path(scratch) / "note.tmp"
    draft.write_text(json.dumps(facts), encoding="utf-8")
    os.replace(draft, Path(scratch) / "note.json")


def report(reader: str, seconds: float, seed: int, keep: Path) -> dict[str, Any]:
    """Fuzz one reader and return runs, findings, peak memory and the slowest case."""
    with tempfile.TemporaryDirectory(prefix="fuzz-") as scratch:
        process = multiprocessing.get_context("spawn").Process(
            target=worker, args=(reader, seconds, seed, scratch)
        )
        process.start()
        process.join(seconds + 4 * LONGEST)
        if process.is_alive():
            process.kill()
            process.join()
        note = Path(scratch) / "note.json"
        facts: dict[str, Any] = json.loads(note.read_text()) if note.exists() else {"runs": 0, "findings": {}}
        kept = list(Path(scratch).glob("found-*"))
        if process.exitcode != 0:
            facts["findings"]["last-case"] = f"the process died with {process.exitcode}"
            kept += list(Path(scratch).glob("case*"))
        for path in kept[:MOST_KEPT]:
            keep.mkdir(parents=True, exist_ok=True)
            shutil.copy(path, keep / f"{reader}-{path.name.removeprefix('found-')}")
    return {"reader": reader, **facts}


def main() -> int:
    """Run what was asked for and print a line per reader."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("readers", nargs="*", default=[], help=f"of: {', '.join(READERS)}; all otherwise")
    parser.add_argument("--seconds", type=float, default=60.0, help="for each reader")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--keep", type=Path, default=Path("fuzz-found"), help="folder for files that fell a reader"
    )
    asked = parser.parse_args()
    bad = 0
    for reader in asked.readers or READERS:
        facts = report(reader, asked.seconds, asked.seed, asked.keep)
        bad += len(facts["findings"])
        print(json.dumps(facts), flush=True)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
