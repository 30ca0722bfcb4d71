"""The light page's icon, drawn without any picture library: a disc of two halves on paper."""
from __future__ import annotations

import struct
import zlib

from acidbase_lib.teaching.theme import PALETTE

_SHARE = 0.38  # the disc's radius, as a share of the side: whole also where a phone rounds it off
_GAP = 0.02


def icon_png(side: int) -> bytes:
    """Return the icon as a PNG file of two colors on white.

    Parameters
    ----------
    side : int
        Width and height. [pixels]

    Notes
    -----
    A palette picture after the PNG specification (W3C 2003, sections 11.2.2 to 11.2.5).
    """
    header = struct.pack(">2I5B", side, side, 8, 3, 0, 0, 0)
    colors = b"".join(bytes.fromhex(PALETTE[name].removeprefix("#"))
                      for name in ("paper", "acid-mark", "alkaline-mark"))
    lines = b"".join(b"\0" + _line(side, row) for row in range(side))
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        _chunk(kind, data) for kind, data in ((b"IHDR", header), (b"PLTE", colors),
                                              (b"IDAT", zlib.compress(lines, 9)), (b"IEND", b"")))


def _line(side: int, row: int) -> bytes:
    middle, radius, gap = side / 2, _SHARE * side, _GAP * side
    across = int(max(0.0, radius**2 - (row + 0.5 - middle) ** 2) ** 0.5 - gap)
    edge = int(middle - gap)
    if across <= 0:
        return bytes(side)
    half = min(across, edge)
    left = bytes(edge - half) + b"\x01" * half
    return left + bytes(side - 2 * edge) + b"\x02" * half + bytes(edge - half)


def _chunk(kind: bytes, data: bytes) -> bytes:
    return (struct.pack(">I", len(data)) + kind + data
            + struct.pack(">I", zlib.crc32(kind + data)))
