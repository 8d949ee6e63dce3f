"""The mark in a made file by which it is known again: rigspec made it, and nobody has changed it since.

It is a comment, or what the form has for one: a chunk of text in PNG, a head without a column in CSV. With it stands a
digest of all the rest.
"""

from __future__ import annotations

import re
from hashlib import sha256
from zlib import crc32

_MADE = b"made by rigspec "
_DIGITS = 16
_CHARSET = b'<meta charset="utf-8">\n'
_PNG_HEAD = 33  # bytes: the signature and the chunk that has to come first
_AROUND = {
    ".svg": (b"<!-- ", b" -->\n"),
    ".html": (b'<meta name="generator" content="', b'">\n'),
    ".md": (b"\n<!-- ", b" -->\n"),
    ".csv": (b",", b""),
    ".pdf": (b"% ", b"\n"),
    ".png": (b"tEXtSoftware\0", b""),
}


def sealed(data: bytes, ending: str, name: str = "") -> bytes:
    """The file with its mark; with a ``name`` it is known under that name only."""
    if ending == ".csv":  # every row has the column
        head, end, rows = data.partition(b"\n")
        data = head + end + rows.replace(b"\n", b",\n")
    at = _place(data, ending)
    first, last = _AROUND[ending]
    mark = first + _MADE + _digest(data, name) + last
    if ending == ".png":
        mark = (len(mark) - 4).to_bytes(4, "big") + mark + crc32(mark).to_bytes(4, "big")
    return data[:at] + mark + data[at:]


def is_sealed(data: bytes, ending: str, name: str = "") -> bool:
    """Is this as it was made here, under this name?"""
    first, last = (re.escape(each) for each in _AROUND[ending])
    chunk = b"(?s:.{4})" if ending == ".png" else b""
    pattern = chunk + first + re.escape(_MADE) + b"([0-9a-f]{%d})" % _DIGITS + last + chunk
    return any(
        _digest(data[: each.start()] + data[each.end() :], name) == each[1] for each in re.finditer(pattern, data)
    )


def _place(data: bytes, ending: str) -> int:
    if ending == ".svg":
        return data.index(b"\n") + 1 if data.startswith(b"<?xml") else 0
    if ending == ".html":
        return data.index(_CHARSET) + len(_CHARSET)
    if ending == ".csv":
        return data.index(b"\n")
    return _PNG_HEAD if ending == ".png" else len(data)


def _digest(data: bytes, name: str) -> bytes:
    return sha256(name.encode() + b"\0" + data).hexdigest()[:_DIGITS].encode()
