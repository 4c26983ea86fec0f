"""One call of the program: what was given wrong becomes a message and exit code 2, never a traceback."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

from dwellwright.cli.app import app
from dwellwright.errors import InputFault
from dwellwright.languages.catalogue import translated

BAD_INPUT = 2
INTERRUPTED = 130


def exit_code(arguments: Sequence[str]) -> int:
    """Run the command line and return its exit code: 0 done, 2 bad input, 130 interrupted."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure and (stream.encoding or "").lower().replace("-", "") != "utf8":
            reconfigure(errors="replace")  # a terminal without ± or λ shows ?, and the program goes on
    try:
        app(list(arguments), prog_name="dwellwright")
    except InputFault as fault:
        print(f"dwellwright: {translated(fault.message)}", file=sys.stderr)
        return BAD_INPUT
    except KeyboardInterrupt:
        print("dwellwright: interrupted", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except SystemExit as leaving:
        return leaving.code if isinstance(leaving.code, int) else 0
    return 0
