"""The sentences of the pages' scripts: written as say`...` there, looked up in a table that the page gets."""

from __future__ import annotations

import re
from itertools import count

from dwellwright.languages.catalogue import catalogue
from dwellwright.languages.language import spoken

SAID = re.compile(r"\bsay`((?:[^`\\]|\\.)*)`")


def script_sentences(script: str) -> tuple[str, ...]:
    """What a script says, its values as slots.

    >>> script_sentences("say`${pulses} pulses`; say`Stopped.`")
    ('{0} pulses', 'Stopped.')
    """
    return tuple(dict.fromkeys(_slotted(one) for one in SAID.findall(script)))


def script_words(script: str) -> dict[str, str]:
    """What a script says in the language spoken now, by the English sentence; only what differs."""
    listed = catalogue(spoken()).exact
    return {one: listed[one] for one in script_sentences(script) if one in listed}


def _slotted(template: str) -> str:
    """A template of a script with its `${...}` replaced by numbered slots."""
    number, depth, out, place = count(), 0, "", 0
    while place < len(template):
        if depth == 0 and template.startswith("${", place):
            out += f"{{{next(number)}}}"
            depth, place = 1, place + 2
            continue
        one = template[place]
        if depth:
            depth += {"{": 1, "}": -1}.get(one, 0)
        else:
            out += one
        place += 1
    return out
