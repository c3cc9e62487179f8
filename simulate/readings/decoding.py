"""Bytes of a text that is not in UTF-8, where it can be told what it is in."""

from __future__ import annotations

ENCODINGS = {"utf-16": "UTF-16", "utf-16-le": "UTF-16", "utf-16-be": "UTF-16", "cp1252": "Windows-1252"}
"""Those that are read beside UTF-8, and what they are called."""
_BOMS = (b"\xff\xfe", b"\xfe\xff")
_WESTERN = frozenset("\u00b5\u00b0\u00b1\u00b2\u00b3\u00b7\u00a0\u00a7\u00a3\u00bc\u00bd\u00be\u20ac\u2026\u2013\u2014\u2018\u2019\u201c\u201d\u201e\u0160\u0161\u017d\u017e\u0152\u0153\u0178")
"""What a table typed in western Europe holds beside the letters from \u00c0 to \u00ff."""
_LETTERS = frozenset(map(chr, range(0xC0, 0x100))) - {"\u00d7", "\u00f7"}


def encoding_of(data: bytes) -> str | None:
    """Tell which encoding a text is in.

    Parameters
    ----------
    data : bytes

    Returns
    -------
    str or None
        ``"utf-8"``, ``"utf-16"``, ``"utf-16-le"``, ``"utf-16-be"``, ``"cp1252"``, or None where it cannot be told.

    Notes
    -----
    UTF-16 shows by its mark, or by a null in every other byte. What is no UTF-8 is taken for Windows-1252 where every
    character that it then holds beside ASCII is a western letter or sign; whether it is another western encoding that
    has them in the same place makes no difference.

    Examples
    --------
    >>> encoding_of("gap_\u00b5m".encode("cp1252")), encoding_of("gap".encode("utf-16-le")), encoding_of(b"\\x81\\x8d")
    ('cp1252', 'utf-16-le', None)
    """
    if data.startswith(_BOMS):
        return "utf-16" if _decodes(data, "utf-16") else None
    if b"\0" in data:
        for start, name in ((1, "utf-16-le"), (0, "utf-16-be")):
            nulls = data[start::2].count(0)
            if len(data) % 2 == 0 and nulls > 0.9 * len(data) / 2 and b"\0" not in data[1 - start::2] and _decodes(data, name):
                return name
        return None
    if _decodes(data, "utf-8"):
        return "utf-8"
    if _decodes(data, "cp1252"):
        beyond = {one for one in data.decode("cp1252") if ord(one) > 127}
        return "cp1252" if beyond <= _WESTERN | _LETTERS else None
    return None


def in_utf8(data: bytes) -> bytes:
    """Return a text in UTF-8, or the bytes as they are where it cannot be told what they are in.

    Parameters
    ----------
    data : bytes

    Returns
    -------
    bytes

    Examples
    --------
    >>> in_utf8(b"gap_\\xb5m")
    b'gap_\\xc2\\xb5m'
    """
    name = encoding_of(data)
    return data if name in (None, "utf-8") else data.decode(name).encode("utf-8", "surrogatepass")


def _decodes(data: bytes, name: str) -> bool:
    try:
        data.decode(name)
    except UnicodeDecodeError:
        return False
    return True
