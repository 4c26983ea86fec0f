"""A QR code as SVG."""

from __future__ import annotations

import io

import segno

from dwellwright.errors import InputFault

LONGEST_LINK = 1200
"""Characters that still make a QR code a telephone reads at 24 mm."""


def qr_svg(link: str) -> bytes:
    """A QR code that holds a link, dark on nothing.

    Raises:
        InputFault: the link is too long to be read by a telephone.
    """
    if len(link) > LONGEST_LINK:
        raise InputFault("the link is too long for a QR code", wanted=f"at most {LONGEST_LINK} characters",
                         got=f"{len(link)}")  # fmt: skip
    sink = io.BytesIO()
    segno.make(link, micro=False, error="m").save(sink, kind="svg", border=2, dark="#1c2830", xmldecl=False)
    return sink.getvalue()
