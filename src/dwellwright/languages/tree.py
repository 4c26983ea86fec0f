"""Facts in another language: the texts of a tree of JSON values, for the papers."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from dwellwright.languages.catalogue import translated


def translated_tree(value: Any, own: Collection[str] = ()) -> Any:
    """The same tree with its texts in the language spoken now.

    Args:
        value: JSON values.
        own: keys whose texts somebody typed, or that name something; all below them is passed on as it is.
    """
    if isinstance(value, str):
        return translated(value)
    if isinstance(value, Mapping):
        return {key: part if key in own else translated_tree(part, own) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [translated_tree(part, own) for part in value]
    return value
