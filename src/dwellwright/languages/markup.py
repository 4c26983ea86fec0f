"""A page in another language: its texts and spoken attributes are translated, its elements stay.

What people typed stands in an element with `translate="no"` (HTML, 3.2.6.2) and is passed on as it is; so are code,
scripts, styles and the fields' contents.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable

TAG = re.compile(r"<!--.*?-->|<(?:[^<>\"']|\"[^\"]*\"|'[^']*')*>", re.DOTALL)
ATTRIBUTE = re.compile(r'(\s(?:title|alt|aria-label|aria-description|placeholder|data-say-\w+)=")([^"]+)(")')
NAME = re.compile(r"<(/?)([a-zA-Z][\w-]*)")
VERBATIM = frozenset({"script", "style", "textarea", "pre", "code", "kbd", "samp"})
"""Elements whose contents are no sentences."""

VOID = frozenset(
    {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}
)
KEPT = re.compile(r'\stranslate="no"')

Say = Callable[[str], str]


def translated_page(page: str, say: Say) -> str:
    """The page with every text passed through `say`.

    >>> translated_page('<p title="Dwell">Dwell <b translate="no">Dwell</b></p>', str.upper)
    '<p title="DWELL">DWELL <b translate="no">Dwell</b></p>'
    """
    parts: list[str] = []
    end, kept, depth = 0, "", 0
    for tag in TAG.finditer(page):
        text = page[end : tag.start()]
        parts.append(text if kept else translated_text(text, say))
        end, words = tag.end(), tag[0]
        name = NAME.match(words)
        if name is None:
            parts.append(words)
            continue
        if kept:
            depth += (-1 if name[1] else 1) if name[2] == kept and not words.endswith("/>") else 0
            kept = kept if depth else ""
        elif name[2] in VERBATIM or KEPT.search(words):
            kept, depth = ("", 0) if name[1] or name[2] in VOID or words.endswith("/>") else (name[2], 1)
            words = words if KEPT.search(words) else _attributes(words, say)
        else:
            words = _attributes(words, say)
        parts.append(words)
    parts.append(translated_text(page[end:], say))
    return "".join(parts)


def translated_text(text: str, say: Say) -> str:
    """A text between two elements, its character references read and written again."""
    if not text or text.isspace():
        return text
    plain = html.unescape(text)
    said = say(plain)
    return text if said == plain else html.escape(said, quote=False)


def _attributes(tag: str, say: Say) -> str:
    if '="' not in tag:
        return tag
    return ATTRIBUTE.sub(lambda one: one[1] + html.escape(say(html.unescape(one[2]))) + one[3], tag)
