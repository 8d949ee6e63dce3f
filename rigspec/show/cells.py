"""Text made safe for a terminal, and how many character cells it takes there."""

from __future__ import annotations

VARIATION_SELECTORS = "\ufe0e\ufe0f"  # invisible; terminals disagree about how wide they make the character before them


def glyph(char: str) -> str:
    """What to show for one character: itself, or an escape such as ``\\x1b`` where it would act or stay unseen."""
    if char in VARIATION_SELECTORS:
        return ""
    return char if char.isprintable() else ascii(char)[1:-1]


def visible(text: str) -> str:
    """Text from outside (a path, a source) with nothing in it that a terminal obeys or hides."""
    return text if text.isascii() and text.isprintable() else "".join(map(glyph, text))


def prose(text: str) -> str:
    """Words on one line: every kind of white space becomes a blank, the rest as ``visible``."""
    return text if text.isascii() and text.isprintable() else visible("".join(" " if c.isspace() else c for c in text))


def cell_width(text: str) -> int:
    """Cells that visible text takes: two for wide East Asian characters and emoji, none for combining marks.

    Source: Unicode Standard Annex 11 (East Asian Width); ambiguous characters such as Ω and ± count as narrow.
    """
    if text.isascii():
        return len(text)
    from unicodedata import category, east_asian_width

    def width(char: str) -> int:
        if category(char) in ("Mn", "Me") or "\u1160" <= char <= "\u11ff":  # Hangul vowels join the consonant before
            return 0
        return 2 if east_asian_width(char) in "WF" else 1

    return sum(map(width, text))


def pad(text: str, width: int, *, right: bool = False) -> str:
    """Text with blanks behind it (``right``: before it) up to ``width`` cells."""
    blanks = " " * (width - cell_width(text))
    return blanks + text if right else text + blanks


def wrap(text: str, width: int) -> list[str]:
    """Prose broken at blanks into lines of at most ``width`` cells; a longer word stays whole so it can be copied."""
    lines: list[str] = []
    used = 0
    for word in prose(text).split():
        size = cell_width(word)
        if lines and used + 1 + size <= width:
            lines[-1] += " " + word
            used += 1 + size
        else:
            lines.append(word)
            used = size
    return lines
